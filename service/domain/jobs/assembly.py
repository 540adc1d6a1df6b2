"""Turns a requested job into one that can be made: finds items, fills in defaults, lists faults.

Checking does not stop at the first fault: each check appends to a list, and one `JobRefused`
carries them all, in document order.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TypeVar

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.frame import Frame
from service.domain.jobs.job import FrameSpec, GlazingChoice, GlazingSpec, Job, JobSpec
from service.domain.jobs.mat import Mat, MatSpec, Placed, Single
from service.domain.jobs.notes import Finding, Note
from service.domain.jobs.work import COUNTER, NAMED, OPENED, UNSEEN, work_faults
from service.domain.materials.catalogue import (
    AnyItem,
    Board,
    Catalogue,
    Consumable,
    Fillet,
    Glazing,
    Hardware,
    Item,
    Moulding,
)
from service.domain.measure.length import NO_SIDES, ZERO, Length, Sides, Size
from service.domain.shop import Method, Shop

ItemT = TypeVar("ItemT", bound=Item)
_KIND_NAMES = {
    Moulding: "moulding",
    Board: "board",
    Glazing: "glazing sheet",
    Fillet: "fillet",
    Hardware: "piece of hardware",
    Consumable: "supply",
}
NO_ART = Artwork(Size(Length.inches(1), Length.inches(1)))
"""Stands for the art of a job that has none; no figure follows from it."""
_OWN_LENGTHS = {"overlap": "overlap", "float": "float_margin", "floater": "gap"}


class Assembly:
    """One conversion of a spec to a job, collecting faults."""

    __slots__ = ("catalogue", "faults", "shop", "spec")

    def __init__(self, spec: JobSpec, shop: Shop, catalogue: Catalogue) -> None:
        self.spec, self.shop, self.catalogue = spec, shop, catalogue
        self.faults: list[Fault] = []

    def refuse(self, pointer: str, code: str, detail: str) -> None:
        """Add a fault."""
        self.faults.append(Fault(pointer, code, detail))

    def find(self, code: str, kind: type[ItemT], pointer: str) -> ItemT | None:
        """Return the item with this code if it is of the kind and still sold; else add a fault."""
        item = self.catalogue.items.get(code)
        name = _KIND_NAMES[kind]
        if item is None:
            self.refuse(pointer, "unknown_item", f"the catalogue has no {name} {code}")
        elif not isinstance(item, kind):
            self.refuse(pointer, "wrong_kind", f"{code} is not a {name}: {item.description}")
        elif item.discontinued:
            self.refuse(pointer, "discontinued", f"{code} is no longer sold")
        else:
            return item
        return None

    def inside(self) -> Size | None:
        """Return what the customer's frame holds: its rabbet less the allowance.

        The allowance goes by the rabbet here.
        """
        own = self.spec.own_frame
        if own is None or own.rabbet is None or self.spec.work not in OPENED:
            return None
        glazing = self.spec.glazing and self.catalogue.items.get(self.spec.glazing.sheet)
        plastic = isinstance(glazing, Glazing) and glazing.kind != "glass"
        return own.rabbet.grown(-self.shop.allowance_for(own.rabbet, plastic=plastic))

    def artwork(self) -> Artwork | None:
        """Return the job's artwork; windows placed by hand have their own.

        Of old contents that nobody measured it is what their frame holds; of a lite, its size.
        """
        spec, layout = self.spec, self.spec.openings
        if spec.work in COUNTER:
            return NO_ART
        stands_for = spec.cut_to or (self.inside() if spec.work in UNSEEN else None)
        if stands_for is not None and spec.artwork is None:
            return Artwork(stands_for)
        if spec.artwork is None and spec.work in NAMED:
            return None  # its own fault is named
        if self.spec.artwork is not None:
            return self.spec.artwork
        if isinstance(layout, Placed):
            return layout.windows[0].artwork
        self.refuse("/artwork", "missing", "say what is framed: its width and height")
        return None

    def lengths(self) -> dict[str, Length]:
        """Return overlap, float margin and gap: the presentation's own; the others add a fault."""
        own = _OWN_LENGTHS.get(self.spec.presentation)
        values = {}
        for name in _OWN_LENGTHS.values():
            given: Length | None = getattr(self.spec, name)
            if name == own:
                values[name] = getattr(self.shop.sizing, name) if given is None else given
            elif given is not None:
                self.refuse(
                    f"/{name}",
                    "not_for_presentation",
                    f"{name} has no meaning when the presentation is {self.spec.presentation}",
                )
        return values

    def mats(self) -> tuple[Mat, ...]:
        """Return the mats with their boards and fillets, top mat first."""
        made = []
        for layer, asked in enumerate(self.spec.mats):
            where = f"/mats/{layer}"
            board = self.find(asked.board, Board, f"{where}/board")
            fillet = asked.fillet and self.find(asked.fillet, Fillet, f"{where}/fillet")
            if board and "mat" not in board.uses:
                self.refuse(
                    f"{where}/board", "wrong_use", f"{board.code} is not sold as a mat board"
                )
            if layer and asked.border is not None:
                self.refuse(
                    f"{where}/border",
                    "border_under",
                    "only the top mat has a border; say how much of this one shows, in reveal",
                )
            if not layer and asked.reveal is not None:
                self.refuse(f"{where}/reveal", "reveal_on_top", "the top mat has no reveal")
            if board:
                reveal = self._reveal(asked, layer)
                self._rounds(asked, where)
                made.append(
                    Mat(
                        board,
                        asked.bevel,
                        reveal,
                        fillet or None,
                        asked.grooves,
                        asked.ruled_lines,
                    )
                )
        return tuple(made)

    def _rounds(self, asked: MatSpec, where: str) -> None:
        """Add a fault for each groove or ruled line that lies on another one of its kind."""
        for name, given in (("grooves", asked.grooves), ("ruled_lines", asked.ruled_lines)):
            for place, distance in enumerate(given):
                if distance in given[:place]:
                    with_unit = self.shop.ruler.with_unit(distance)
                    self.refuse(
                        f"{where}/{name}/{place}", "twice", f"{with_unit} stands here twice"
                    )

    def _reveal(self, asked: MatSpec, layer: int) -> Sides:
        if not layer:
            return NO_SIDES
        return Sides.all(self.shop.sizing.reveal) if asked.reveal is None else asked.reveal

    def border(self) -> Sides | None:
        """Return the top mat's border, or None with fit_to; a mat needs exactly one of them."""
        spec = self.spec
        if not spec.mats:
            for name, value in (("fit_to", spec.fit_to), ("bottom_weight", spec.bottom_weight)):
                if value is not None:
                    self.refuse(f"/{name}", "no_mat", f"{name} sets a mat's borders; add a mat")
            return None
        border = spec.mats[0].border
        if border is not None and spec.fit_to is not None:
            self.refuse(
                "/mats/0/border",
                "border_and_fit_to",
                "give the top mat a border or the job a fit_to size, not both",
            )
        if border is None and spec.fit_to is None:
            self.refuse(
                "/mats/0/border", "missing", "give the top mat a border, or the job a fit_to size"
            )
        if spec.bottom_weight is not None and spec.fit_to is None:
            self.refuse(
                "/bottom_weight",
                "bottom_weight_without_fit_to",
                "bottom_weight goes with fit_to; otherwise make the bottom border wider",
            )
        if spec.bottom_weight is not None and isinstance(spec.openings, Placed):
            self.refuse(
                "/bottom_weight",
                "bottom_weight_of_placed",
                "windows placed by hand stay where they are put; leave bottom_weight out",
            )
        return border

    def presentation(self) -> None:
        """Add a fault for each part that the presentation requires and lacks, or excludes."""
        spec, kind = self.spec, self.spec.presentation
        if kind == "overlap" and not spec.mats:
            self.refuse(
                "/mats",
                "needs_mat",
                "an overlap needs a mat; without one the presentation is full_bleed",
            )
        if kind in ("full_bleed", "floater") and spec.mats:
            self.refuse("/mats", "no_room_for_mat", f"a {kind} presentation has no mat")
        if kind == "floater" and spec.glazing is not None:
            self.refuse("/glazing", "no_room_for_glazing", "a floater frame holds no glazing")
        if kind == "floater" and not spec.frames:
            self.refuse("/frames", "needs_frame", "a floater presentation needs a floater frame")
        if kind == "floater":
            for where, board in (
                ("/mounting/board", spec.mounting.board if spec.mounting else ""),
                ("/backing/board", spec.backing),
            ):
                if board:
                    detail = "a floater frame holds the canvas alone, without boards behind it"
                    self.refuse(where, "no_room_for_board", detail)
        if not spec.mats and not isinstance(spec.openings, Single):
            self.refuse("/openings", "no_mat", "windows are cut in a mat; add one")

    def frames(self) -> tuple[Frame, ...]:
        """Return the frames, innermost first; the customer's own if they bring one."""
        own = self.spec.own_frame
        if own is not None:
            return (own.frame(),)
        made = []
        for position, asked in enumerate(self.spec.frames):
            where = f"/frames/{position}"
            moulding = self.find(asked.moulding, Moulding, f"{where}/moulding")
            fillet = asked.fillet and self.find(asked.fillet, Fillet, f"{where}/fillet")
            if moulding:
                self._fits(asked, moulding, position, where)
                self._joined(moulding, where)
                supply = asked.supply or moulding.supplies[0]
                made.append(Frame(moulding, supply, asked.sides, fillet or None))
        return tuple(made)

    def _fits(self, asked: FrameSpec, moulding: Moulding, position: int, where: str) -> None:
        if asked.supply and asked.supply not in moulding.supplies:
            self.faults.append(not_supplied(moulding, where))
        if asked.sides not in (4, 8, 12):
            self.refuse(f"{where}/sides", "sides", "a frame here has 4, 8 or 12 sides")
        elif asked.fillet and asked.sides != 4:
            self.refuse(f"{where}/fillet", "fillet_sides", "a fillet lines a frame of four sides")
        floater = self.spec.presentation == "floater" and position == 0
        if moulding.floater and not floater:
            self.refuse(
                f"{where}/moulding",
                "floater_profile",
                f"{moulding.code} is a floater profile: it has no lip to hold a package",
            )
        if floater and not moulding.floater:
            self.refuse(
                f"{where}/moulding",
                "not_a_floater",
                f"{moulding.code} is not a floater profile; its lip would cover the canvas",
            )

    def _joined(self, moulding: Moulding, where: str) -> None:
        for use in self.shop.joined_with(moulding.material):
            if use.item not in self.catalogue.items:
                self.refuse(
                    f"{where}/moulding",
                    "unknown_item",
                    f"a frame of {moulding.material} takes {use.item}, which the catalogue does "
                    "not have",
                )

    def glazing(self) -> GlazingChoice | None:
        """Return the glazing and its spacer."""
        asked = self.spec.glazing
        if asked is None:
            return None
        sheet = self.find(asked.sheet, Glazing, "/glazing/sheet")
        if asked.spacers:
            return self._stacked(asked, sheet)
        depth = asked.spacer or ZERO
        item = self._spacer(depth, "/glazing/spacer") if depth else None
        return GlazingChoice(sheet, depth, item) if sheet else None

    def _stacked(self, asked: GlazingSpec, sheet: Glazing | None) -> GlazingChoice | None:
        """Return glazing over spacers that are laid on one another."""
        if asked.spacer is not None:
            told = "give one spacer, or the spacers that are stacked, not both"
            self.refuse("/glazing/spacer", "spacer_and_spacers", told)
        found = [
            self._spacer(depth, f"/glazing/spacers/{at}") for at, depth in enumerate(asked.spacers)
        ]
        items = tuple([item for item in found if item is not None])
        whole = Length(sum(depth.ticks for depth in asked.spacers))
        return GlazingChoice(sheet, whole, stacked=items) if sheet else None

    def _spacer(self, depth: Length, pointer: str) -> Consumable | None:
        """Return the spacer of a depth; a shop without spacers as items has any depth."""
        spacers = self.catalogue.spacers()
        if spacers and depth not in spacers:
            with_unit = self.shop.ruler.with_unit
            known = ", ".join(with_unit(each) for each in sorted(spacers))
            self.refuse(
                pointer,
                "no_such_spacer",
                f"no spacer is {with_unit(depth)} deep; the catalogue has {known}",
            )
        return spacers.get(depth)

    def mounting(self) -> tuple[Method | None, Board | None]:
        """Return the mounting method and the mount board."""
        asked = self.spec.mounting
        if asked is None:
            return None, None
        method = self.shop.mounting_method(asked.method) if asked.method else None
        if asked.method and method is None:
            known = ", ".join(method.code for method in self.shop.mounting)
            self.refuse(
                "/mounting/method",
                "unknown_method",
                f"{asked.method} is not a way of mounting here; the shop has {known or 'none'}",
            )
        if method:
            self._supplied(method, "/mounting/method")
        board = self.find(asked.board, Board, "/mounting/board") if asked.board else None
        return method, board

    def finishing(self) -> tuple[Method, ...]:
        """Return the requested finishing."""
        made: list[Method] = []
        for position, code in enumerate(self.spec.finishing):
            method = self.shop.finish(code)
            if method is None:
                known = ", ".join(method.code for method in self.shop.finishing)
                self.refuse(
                    f"/finishing/{position}",
                    "unknown_finishing",
                    f"{code} is not a finishing here; the shop has {known or 'none'}",
                )
            elif method in made:
                self.refuse(f"/finishing/{position}", "twice", f"{code} stands here twice")
            else:
                self._supplied(method, f"/finishing/{position}")
                made.append(method)
        return tuple(made)

    def notes(self) -> tuple[Note, ...]:
        """Return the job's notes and those of its pieces, each with its pointer."""
        spec = self.spec
        about = [("", spec.notes)]
        about += [(f"/mats/{at}", mat.notes) for at, mat in enumerate(spec.mats)]
        about += [("/glazing", spec.glazing.notes)] if spec.glazing else []
        about += [("/mounting", spec.mounting.notes)] if spec.mounting else []
        about += [("/backing", spec.backing_notes)]
        about += [(f"/frames/{at}", frame.notes) for at, frame in enumerate(spec.frames)]
        return tuple([replace(n, pointer=where) for where, notes in about for n in notes])

    def condition(self) -> tuple[Finding, ...]:
        """Return the condition at intake, in the shop's terms."""
        made = []
        for position, found in enumerate(self.spec.condition):
            term = self.shop.condition_term(found.code)
            if term is None:
                known = ", ".join(term.code for term in self.shop.condition_terms)
                self.refuse(
                    f"/condition/{position}/code",
                    "unknown_condition",
                    f"{found.code} is not a term of condition here; the shop has {known or 'none'}",
                )
            else:
                made.append(replace(found, description=term.description))
        return tuple(made)

    def goods(self) -> tuple[tuple[AnyItem, int], ...]:
        """Return the goods that are sold: hardware, or what the shop has ready-made."""
        made: list[tuple[AnyItem, int]] = []
        kind: type[Item] = Hardware if self.spec.work == "hardware" else Consumable
        for position, good in enumerate(self.spec.goods):
            item = self.find(good.item, kind, f"/goods/{position}/item")
            if isinstance(item, Hardware | Consumable):
                made.append((item, good.quantity))
        return tuple(made)

    def _supplied(self, method: Method, pointer: str) -> None:
        for use in method.uses:
            if use.item and use.item not in self.catalogue.items:
                self.refuse(
                    pointer,
                    "unknown_item",
                    f"{method.code} uses {use.item}, which the catalogue does not have",
                )
            if use.role and not self.catalogue.hardware(use.role):
                self.refuse(
                    pointer,
                    "no_hardware",
                    f"{method.code} uses a {use.role}, and the catalogue has none",
                )


def not_supplied(moulding: Moulding, where: str) -> Fault:
    """Return the fault of a frame whose moulding is not sold in the way asked for."""
    offered = " or ".join(moulding.supplies)
    return Fault(f"{where}/supply", "not_supplied", f"{moulding.code} is supplied as {offered}")


def assemble(spec: JobSpec, shop: Shop, catalogue: Catalogue) -> Job:
    """Return the job that `spec` requests, with the shop's items and defaults.

    Raises:
        JobRefused: with every fault found, pointers relative to the job.
    """
    run = Assembly(spec, shop, catalogue)
    job = _made(run)
    if run.faults or job is None:
        raise JobRefused(run.faults)
    return job


def assembled_before(spec: JobSpec, shop: Shop, catalogue: Catalogue) -> Job | None:
    """Return a job that was accepted before, whatever this release would refuse in it.

    None if it has no artwork.
    """
    return _made(Assembly(spec, shop, catalogue))


def _made(run: Assembly) -> Job | None:
    """Return the job of a run, whose faults are then known; None without an artwork."""
    run.faults.extend(work_faults(run.spec))
    inside = run.inside() if run.spec.work == "new_mat" else None
    if inside is not None and not run.faults:
        run.spec = replace(run.spec, fit_to=inside)
    spec = run.spec
    artwork = run.artwork()
    run.presentation()
    lengths = run.lengths()
    mats, border = run.mats(), run.border()
    glazing = run.glazing()
    mounting, mount = run.mounting()
    backing = run.find(spec.backing, Board, "/backing/board") if spec.backing else None
    frames, finishing = run.frames(), run.finishing()
    condition = run.condition() if spec.condition else ()
    if artwork is None:
        return None
    return Job(
        label=spec.label,
        quantity=spec.quantity,
        artwork=artwork,
        presentation=spec.presentation,
        openings=spec.openings,
        mats=mats,
        border=border,
        fit_to=spec.fit_to,
        bottom_weight=spec.bottom_weight or ZERO,
        glazing=glazing,
        mounting=mounting,
        mount=mount,
        backing=backing,
        frames=frames,
        finishing=finishing,
        preservation_grade=spec.preservation_grade,
        fees=spec.fees,
        discounts=spec.discounts,
        overrides=spec.overrides,
        lines=spec.lines,
        notes=run.notes(),
        condition=condition,
        work=spec.work,
        own_frame=spec.own_frame,
        by_side=spec.by_side,
        goods=run.goods() if spec.goods else (),
        **lengths,
    )
