"""The cut list: every piece of a job with the size or length it is cut to.

Windows are measured from the left and top edges of the mat's own blank, seen from the front; an
under mat's blank is smaller than the package by its trim on every side.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from service.domain.jobs.frame import mitre_degrees
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Window
from service.domain.jobs.sizes import Layer, Sizes
from service.domain.materials.catalogue import AnyItem
from service.domain.measure.length import ZERO, Length, Size
from service.domain.value import dataclass


@dataclass(init=False, slots=True, unsafe_hash=True)
class Piece:
    """One row of the cut list. `quantity` counts the pieces of the whole job.

    Boards and glazing have a size, rails and fillets a length; a mat has windows, measured from its
    own left and top edges, seen from the front. `grooves` and `ruled_lines` are outlines round the
    windows, measured likewise.
    """

    part: Final[str]
    item: Final[AnyItem]
    quantity: Final[int]
    pointer: Final[str]
    size: Final[Size | None]
    length: Final[Length | None]
    layer: Final[int]
    side: Final[str]
    mitre: Final[Fraction | None]
    windows: Final[tuple[Window, ...]]
    trim: Final[Length]
    grooves: Final[tuple[Window, ...]]
    ruled_lines: Final[tuple[Window, ...]]

    def __init__(
        self,
        part: str,
        item: AnyItem,
        quantity: int,
        pointer: str,
        size: Size | None = None,
        length: Length | None = None,
        layer: int = 0,
        side: str = "",
        mitre: Fraction | None = None,
        windows: tuple[Window, ...] = (),
        trim: Length = ZERO,
        grooves: tuple[Window, ...] = (),
        ruled_lines: tuple[Window, ...] = (),
    ) -> None:
        self.part = part
        self.item = item
        self.quantity = quantity
        self.pointer = pointer
        self.size = size
        self.length = length
        self.layer = layer
        self.side = side
        self.mitre = mitre
        self.windows = windows
        self.trim = trim
        self.grooves = grooves
        self.ruled_lines = ruled_lines


def cut_list(job: Job, sizes: Sizes) -> tuple[Piece, ...]:
    """Return every piece to cut: mats from the glazing inwards, glazing, boards, rails, fillets."""
    return (*_sheet_pieces(job, sizes), *_rails(job, sizes), *_fillet_pieces(job, sizes))


def _sheet_pieces(job: Job, sizes: Sizes) -> Iterator[Piece]:
    many, package = job.quantity, sizes.package
    for position, layer in enumerate(sizes.layers):
        yield Piece(
            part="mat",
            item=layer.mat.board,
            quantity=many,
            pointer=f"/mats/{position}",
            size=layer.blank,
            layer=position + 1,
            windows=layer.on_blank(),
            trim=layer.trim,
            grooves=layer.round_windows(layer.mat.grooves),
            ruled_lines=layer.round_windows(layer.mat.ruled_lines),
        )
    if package is None:
        return
    if job.glazing:
        yield Piece(
            part="glazing",
            item=job.glazing.sheet,
            quantity=many,
            pointer="/glazing",
            size=package,
        )
    for part, board in (("mount", job.mount), ("backing", job.backing)):
        if board:
            pointer = "/mounting" if part == "mount" else "/backing"
            yield Piece(part=part, item=board, quantity=many, pointer=pointer, size=package)


def _rails(job: Job, sizes: Sizes) -> Iterator[Piece]:
    for position, frame in enumerate(sizes.frames):
        if frame.frame.own:
            continue
        mitre = mitre_degrees(frame.frame.sides)
        for side, many, length in frame.rails():
            yield Piece(
                part="rail",
                item=frame.frame.moulding,
                quantity=many * job.quantity,
                pointer=f"/frames/{position}",
                length=length,
                layer=position + 1,
                side=side,
                mitre=mitre,
            )


def _fillet_pieces(job: Job, sizes: Sizes) -> Iterator[Piece]:
    for position, layer in enumerate(sizes.layers):
        if layer.mat.fillet:
            for size, many in _alike(layer).items():
                yield from _four_lengths(
                    layer.mat.fillet, size, many * job.quantity, f"/mats/{position}", position + 1
                )
    for position, frame in enumerate(sizes.frames):
        if frame.frame.fillet:
            yield from _four_lengths(
                frame.frame.fillet, frame.rabbet, job.quantity, f"/frames/{position}", position + 1
            )


def _alike(layer: Layer) -> dict[Size, int]:
    counted: dict[Size, int] = {}
    for window in layer.windows:
        counted[window.size] = counted.get(window.size, 0) + 1
    return counted


def _four_lengths(
    item: AnyItem, size: Size, frames: int, pointer: str, layer: int
) -> Iterator[Piece]:
    for side, length in (("top", size.width), ("left", size.height)):
        yield Piece(
            part="fillet",
            item=item,
            quantity=2 * frames,
            pointer=f"{pointer}/fillet",
            length=length,
            layer=layer,
            side=side,
            mitre=Fraction(45),
        )
