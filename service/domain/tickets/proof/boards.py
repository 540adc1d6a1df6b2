"""The proof of a ticket: simulate exactly its steps, turn the boards over, and measure.

It keeps its own model of the bench (the set-up, the size of each board, what is fixed to what) in
integer ticks. It shares no code with the making of tickets, and is not given the windows: it
reconstructs them from the cuts, as strokes with two ends that close to rectangles.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import field

from service.domain.jobs.cut_list import Piece
from service.domain.measure.length import Length
from service.domain.tickets.instructions import Cut, SizeCut, Step
from service.domain.tickets.model import (
    CutTicket,
    MatPiece,
    RodPiece,
    SheetPiece,
    TicketNotProved,
)
from service.domain.tickets.proof.frames import frame_faults
from service.domain.value import dataclass

Point = tuple[int, int]
Stroke = tuple[Point, Point]
Rectangle = tuple[int, int, int, int]
"""Left, top, right, bottom."""
TURNS: Mapping[tuple[int, int], tuple[int, int]] = {
    (0, -1): (1, 0),
    (1, 0): (0, 1),
    (0, 1): (-1, 0),
    (-1, 0): (0, -1),
}
"""Each direction of travel (y runs down) and the one after a right turn."""


@dataclass(slots=True)
class BoardOnBench:
    """One board during the simulation."""

    sizes: dict[str, int] = field(default_factory=dict)
    strokes: list[Stroke] = field(default_factory=list)
    fixed_to: int = 0

    def sized(self) -> bool:
        """Return True if both size cuts are done."""
        return len(self.sizes) == 2


@dataclass(frozen=True, slots=True)
class ProvedMat:
    """The result of one mat: its blank and its openings, seen from the front."""

    piece: int
    width: int
    height: int
    openings: tuple[Rectangle, ...]

    def borders(self) -> tuple[int, int, int, int]:
        """Return top, right, bottom and left, in ticks, around all openings together."""
        left, top = min(o[0] for o in self.openings), min(o[1] for o in self.openings)
        right, bottom = max(o[2] for o in self.openings), max(o[3] for o in self.openings)
        return top, self.width - right, self.height - bottom, left


def prove(ticket: CutTicket, ordered: Sequence[Piece]) -> tuple[ProvedMat, ...]:
    """Simulate the ticket and compare the result with the cut list.

    Raises:
        TicketNotProved: the result differs from the order, or a step cannot be done in its place.
    """
    bench = Rehearsal(ticket)
    for step in ticket.steps:
        bench.work(step)
    if len(ticket.pieces) != len(ordered):
        raise TicketNotProved("the ticket has not the pieces of the cut list")
    proved = []
    for piece, wanted in zip(ticket.pieces, ordered, strict=True):
        _same(piece.quantity, wanted.quantity, f"the quantity of piece {piece.number}")
        _same(piece.item, wanted.item.code, f"the item of piece {piece.number}")
        if isinstance(piece, SheetPiece):
            bench.compare_size(piece, wanted)
        if isinstance(piece, MatPiece):
            proved.append(bench.openings(piece))
            _compare_openings(proved[-1], wanted)
        elif isinstance(piece, RodPiece):
            _same(piece.length, wanted.length, f"the length of piece {piece.number}")
    for fault in frame_faults(ticket):
        raise TicketNotProved(fault)
    return tuple(proved)


def _same(found: object, wanted: object, what: str) -> None:
    if found != wanted:
        raise TicketNotProved(
            f"{what} would come out as {found}, not {wanted}",
            facts={"found": str(found), "wanted": str(wanted)},
        )


def _compare_openings(proved: ProvedMat, wanted: Piece) -> None:
    asked = Counter(
        (w.x.ticks, w.y.ticks, w.x.ticks + w.size.width.ticks, w.y.ticks + w.size.height.ticks)
        for w in wanted.windows
    )
    _same(Counter(proved.openings), asked, f"the openings of piece {proved.piece}")


class Rehearsal:
    """The simulated bench: the set-up, and the boards."""

    __slots__ = ("boards", "by_number", "stands", "ticket")

    def __init__(self, ticket: CutTicket) -> None:
        self.ticket = ticket
        self.by_number = {piece.number: piece for piece in ticket.pieces}
        self.boards: dict[int, BoardOnBench] = {
            piece.number: BoardOnBench() for piece in ticket.pieces if isinstance(piece, SheetPiece)
        }
        self.stands: dict[str, Length | str] = {}

    def work(self, step: Step) -> None:
        """Do one step: of each part first its changes, then its cuts; or the fixing."""
        for part in step.parts:
            for change in part.changes:
                self.stands[change.what] = change.to
            for size_cut in part.size_cuts:
                self.size(size_cut)
            for cut in part.cuts:
                self.cut(cut)
        if step.work == "fix_under_mat":
            self.fix(*step.pieces)

    def size(self, cut: SizeCut) -> None:
        """Cut a sheet to its width or height: at the stop if one is used, else to the mark."""
        board = self.boards[cut.piece]
        if cut.across in board.sizes or board.strokes or board.fixed_to:
            raise TicketNotProved(f"piece {cut.piece} is sized again or too late")
        if cut.by in ("straightedge", "ordered"):
            board.sizes[cut.across] = cut.length.ticks
            return
        if cut.by == "saw":
            fence = self.stands.get("panel_fence")
            if not isinstance(fence, Length):
                raise TicketNotProved(f"piece {cut.piece} is sawn without a fence")
            board.sizes[cut.across] = fence.ticks
            return
        if (self.stands.get("slip_sheet"), self.stands.get("guide")) != ("out", "off"):
            raise TicketNotProved(f"piece {cut.piece} is sized with slip sheet or guide in the way")
        at = self.stands.get("arm_stop") if cut.by == "stop" else cut.length
        if not isinstance(at, Length):
            raise TicketNotProved(f"piece {cut.piece} is sized without a stop")
        board.sizes[cut.across] = at.ticks

    def fix(self, upper: int, under: int) -> None:
        """Fix an under mat centred to the mat above it, its trim inside the top mat's edges."""
        over, board = self.boards[upper], self.boards[under]
        if not over.sized() or not board.sized():
            raise TicketNotProved(f"piece {under} is fixed before it is sized")
        self.openings(self._mat(upper))
        board.fixed_to = over.fixed_to or upper

    def _mat(self, number: int) -> MatPiece:
        piece = self.by_number[number]
        if not isinstance(piece, MatPiece):
            raise TicketNotProved(f"piece {number} is no mat")
        return piece

    def under_guide(self, mat: MatPiece) -> tuple[int, int, int, int]:
        """Return width and height of what lies under the guide, and the mat's own offset on it."""
        board = self.boards[mat.number]
        if not board.sized():
            raise TicketNotProved(f"piece {mat.number} is cut before it is sized")
        wide, high = board.sizes["width"], board.sizes["height"]
        if mat.edges == "own":
            return wide, high, 0, 0
        if not board.fixed_to:
            raise TicketNotProved(f"piece {mat.number} is cut before it is fixed to the top mat")
        over = self.boards[board.fixed_to].sizes
        trim = mat.trim.ticks
        _same((wide + 2 * trim, high + 2 * trim), (over["width"], over["height"]), "the trim")
        return over["width"], over["height"], trim, trim

    def cut(self, cut: Cut) -> None:
        """Make one stroke between its ends, at the guide's current setting."""
        mat = self._mat(cut.piece)
        wide, high, _, _ = self.under_guide(mat)
        setting = self._setting(cut, mat)
        if self.ticket.stops and cut.by != "straightedge":
            _same(self.stands.get("start_stop"), cut.start.distance, "the start stop")
            _same(self.stands.get("end_stop"), cut.stop.distance, "the end stop")
        along = []
        for end in (cut.start, cut.stop):
            far = end.side in ("right", "bottom")
            whole = wide if end.side in ("left", "right") else high
            along.append(whole - end.distance.ticks if far else end.distance.ticks)
        if cut.side in ("left", "right"):
            x = setting if cut.side == "left" else wide - setting
            stroke = ((x, along[0]), (x, along[1]))
        else:
            y = setting if cut.side == "top" else high - setting
            stroke = ((along[0], y), (along[1], y))
        self.boards[cut.piece].strokes.append(stroke)

    def _setting(self, cut: Cut, mat: MatPiece) -> int:
        """Return the stroke's distance from the edge, after checking blade, slip sheet and face."""
        if (mat.bevel == "reverse") != (mat.lies == "face_up"):
            raise TicketNotProved(f"the bevel of piece {mat.number} would lean the wrong way")
        if cut.by == "straightedge":
            return cut.setting.ticks
        if self.stands.get("slip_sheet") != "in":
            raise TicketNotProved(f"piece {mat.number} is cut without a slip sheet")
        leaning = self.stands.get("head") in ("bevel head", "thick-board bevel head")
        if leaning == (mat.bevel == "straight"):
            raise TicketNotProved(f"piece {mat.number} is cut with the wrong head")
        guide = self.stands.get("guide")
        if cut.by == "line":
            _same(guide, "off", "the guide for a cut to a drawn line")
            return cut.setting.ticks
        if not isinstance(guide, Length):
            raise TicketNotProved(f"piece {mat.number} is cut to a guide that is off")
        return guide.ticks

    def compare_size(self, piece: SheetPiece, wanted: Piece) -> None:
        """Refuse a sheet whose size differs from the cut list."""
        size = wanted.size
        asked = {"width": size.width.ticks, "height": size.height.ticks} if size else {}
        _same(self.boards[piece.number].sizes, asked, f"the size of piece {piece.number}")

    def openings(self, mat: MatPiece) -> ProvedMat:
        """Return a mat's openings, seen from the front, from its own blank's left and top edges."""
        wide, _, from_left, from_top = self.under_guide(mat)
        board = self.boards[mat.number]
        lying = list(_rectangles(board.strokes, mat.number))
        for window in mat.windows:
            if window.other_cutter:
                on, size = window.as_it_lies, window.as_it_lies.size
                x, y = on.x.ticks, on.y.ticks
                lying.append((x, y, x + size.width.ticks, y + size.height.ticks))
        if mat.lies == "face_down":
            lying = [(wide - right, top, wide - left, low) for left, top, right, low in lying]
        front = tuple(
            (left - from_left, top - from_top, right - from_left, low - from_top)
            for left, top, right, low in lying
        )
        return ProvedMat(mat.number, board.sizes["width"], board.sizes["height"], front)


def _rectangles(strokes: Iterable[Stroke], piece: int) -> Iterable[Rectangle]:
    """Return the rectangles that strokes close to, each traversed with the waste on the right."""
    open_ones: dict[tuple[Point, tuple[int, int]], Point] = {}
    for start, end in strokes:
        key = (start, _direction(start, end, piece))
        if key in open_ones:
            raise TicketNotProved(f"piece {piece} is cut twice along one line")
        open_ones[key] = end
    while open_ones:
        (first, direction), at = open_ones.popitem()
        corners = [first]
        for _ in range(3):
            corners.append(at)
            direction = TURNS[direction]
            following = open_ones.pop((at, direction), None)
            if following is None:
                raise TicketNotProved(f"the cuts of piece {piece} do not meet in a corner")
            at = following
        if at != first:
            raise TicketNotProved(f"the cuts of piece {piece} do not close to a rectangle")
        xs, ys = {x for x, _ in corners}, {y for _, y in corners}
        yield min(xs), min(ys), max(xs), max(ys)


def _direction(start: Point, end: Point, piece: int) -> tuple[int, int]:
    across, down = end[0] - start[0], end[1] - start[1]
    if (across == 0) == (down == 0):
        raise TicketNotProved(f"a cut of piece {piece} has no length")
    return (across > 0) - (across < 0), (down > 0) - (down < 0)
