"""What a good framer would say over the counter: checks made on every job.

Each advisory has a stable code, a severity (info, warning, stop) and a pointer. A `stop` refuses to
make a ticket, never a quote. Cautions about where a picture hangs defer to local building codes and
to licensed installers.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Literal

from service.domain.artwork import LOOSE_MEDIA, REPLACEABLE
from service.domain.catalogue import AnyItem, Board, Hardware
from service.domain.job import Job
from service.domain.measure.length import TICKS_PER_INCH, Length, Size
from service.domain.measure.rounding import decimal_text
from service.domain.opening import Grid
from service.domain.shop import Shop
from service.domain.sizes import Layer, Sizes
from service.domain.takeoff import carries, load_mg
from service.domain.use import Use, stock_sheet
from service.domain.weight import MG_PER_KG

Severity = Literal["info", "warning", "stop"]
DEEPEST_OFFSET_CLIP = Length.inches(Fraction(1, 2))
"""Offset clips bridge up to about this much (common practice, no source)."""


@dataclass(frozen=True, slots=True)
class Advisory:
    """One thing to say about a job."""

    code: str
    severity: Severity
    message: str
    pointer: str


@dataclass(frozen=True, slots=True)
class Checked:
    """What the checks look at."""

    job: Job
    sizes: Sizes
    shop: Shop
    weight_mg: int

    def said(self, length: Length) -> str:
        """A length on the shop's ruler, with its unit."""
        return self.shop.ruler.with_unit(length)


def advise(checked: Checked, uses: tuple[Use, ...]) -> tuple[Advisory, ...]:
    """Every advisory on a job, in the order of the document's parts."""
    found: list[Advisory] = []
    for check in (_openings, _bars, _reach, _glazing, _art, _grades):
        found.extend(check(checked))
    found.extend(frame_advisories(checked, uses))
    found.extend(_stock(checked))
    return tuple(found)


def frame_advisories(checked: Checked, uses: tuple[Use, ...]) -> Iterator[Advisory]:
    """The advisories that hang on the choice of moulding."""
    for check in (_borders, _rabbet, _lip, _slender, _heavy):
        yield from check(checked)
    yield from _hardware(checked, uses)


def _openings(checked: Checked) -> Iterator[Advisory]:
    job, sizes = checked.job, checked.sizes
    if job.presentation == "overlap" and not job.overlap:
        yield Advisory(
            "opening_not_smaller_than_art",
            "stop",
            "the window is as large as the art, which would fall through it; give an overlap",
            "/overlap",
        )
    for position, layer in enumerate(sizes.layers):
        for window in layer.on_blank():
            if (
                window.x.ticks <= 0
                or window.y.ticks <= 0
                or window.right() >= layer.blank.width
                or window.bottom() >= layer.blank.height
            ):
                yield Advisory(
                    "opening_larger_than_board",
                    "stop",
                    "a window reaches the edge of its board; widen the border",
                    f"/mats/{position}",
                )
                break


def _borders(checked: Checked) -> Iterator[Advisory]:
    sizes = checked.sizes
    if sizes.border is None or not sizes.frames:
        return
    lip = sizes.frames[0].frame.moulding.rabbet_width
    hidden = lip.ticks * 2 - sizes.allowance.ticks
    for side, border in sizes.border.each():
        if 2 * border.ticks <= hidden:
            yield Advisory(
                "border_narrower_than_lip",
                "warning",
                f"the frame's lip of {checked.said(lip)} hides the whole {side} border of "
                f"{checked.said(border)}",
                "/mats/0/border",
            )


def _bars(checked: Checked) -> Iterator[Advisory]:
    if not checked.sizes.layers or len(checked.sizes.layers[0].windows) < 2:
        return
    least = checked.shop.sizing.smallest_bar
    layout = checked.job.openings
    narrowest = layout.gutter if isinstance(layout, Grid) else _narrowest_bar(checked.sizes)
    if narrowest is not None and narrowest < least:
        yield Advisory(
            "bar_too_narrow",
            "warning",
            f"the bar between two windows is {checked.said(narrowest)}; below "
            f"{checked.said(least)} it tears",
            "/openings",
        )


def _narrowest_bar(sizes: Sizes) -> Length | None:
    windows, bars = sizes.layers[0].windows, []
    for position, one in enumerate(windows):
        for other in windows[:position]:
            across = max(one.x - other.right(), other.x - one.right())
            down = max(one.y - other.bottom(), other.y - one.bottom())
            if (across.ticks < 0) != (down.ticks < 0):
                bars.append(max(across, down))
    return min(bars, default=None)


def _reach(checked: Checked) -> Iterator[Advisory]:
    bench, sizes = checked.shop.bench, checked.sizes
    package = sizes.package
    if package is not None and package.longer() > bench.rail:
        yield Advisory(
            "beyond_bench_reach",
            "warning",
            f"{checked.said(package.longer())} is longer than the cutter's rail of "
            f"{checked.said(bench.rail)}; cut along a straightedge on the table, or send it out",
            "",
        )
    elif package is not None and package.shorter() > bench.squaring_arm:
        yield Advisory(
            "beyond_bench_reach",
            "info",
            f"{checked.said(package.shorter())} is more than the squaring arm's stop reaches "
            f"({checked.said(bench.squaring_arm)}); mark the size and cut to the mark",
            "",
        )
    for position, layer in enumerate(sizes.layers):
        yield from _layer_reach(checked, position, package or layer.blank)


def _layer_reach(checked: Checked, position: int, package: Size) -> Iterator[Advisory]:
    bench, layer, where = checked.shop.bench, checked.sizes.layers[position], f"/mats/{position}"
    if layer.mat.board.thickness > bench.thickest_bevel:
        yield Advisory(
            "beyond_bench_reach",
            "warning",
            f"{layer.mat.board.code} is thicker than a bevel can be cut here "
            f"({checked.said(bench.thickest_bevel)}); cut it straight or send it out",
            f"{where}/board",
        )
    if any(window.shape != "rectangle" for window in layer.windows):
        if layer.mat.fillet:
            yield Advisory(
                "fillet_in_shaped_opening",
                "stop",
                "a fillet is mitred from straight lengths and cannot line an ellipse or an arch; "
                "leave it out, or have one made to the shape",
                f"{where}/fillet",
            )
        yield Advisory(
            "shaped_opening",
            "info",
            "ellipses and arches need an oval cutter or a template; the straight-line cutter "
            "cannot make them",
            where,
        )
    widest = _widest_setting(layer, package)
    if widest > bench.widest_guide:
        yield Advisory(
            "beyond_bench_reach",
            "info",
            f"a setting of {checked.said(widest)} is more than the guide takes "
            f"({checked.said(bench.widest_guide)}); cut that side to a drawn line, guide off",
            where,
        )


def _widest_setting(layer: Layer, package: Size) -> Length:
    """The widest that the guide is set for the straight sides of a mat."""
    widest, across, down = 0, package.width.ticks, package.height.ticks
    for window in layer.windows:
        if window.shape == "rectangle":
            x, y, size = window.x.ticks, window.y.ticks, window.size
            right, bottom = across - x - size.width.ticks, down - y - size.height.ticks
            widest = max(widest, x, y, right, bottom)
    return Length(widest)


def _glazing(checked: Checked) -> Iterator[Advisory]:
    job, sizes, safety = checked.job, checked.sizes, checked.shop.safety
    choice, package = job.glazing, sizes.package
    if choice is None or package is None:
        return
    if not choice.plastic and not package.fits_in(safety.glass_largest, turned=True):
        yield Advisory(
            "glass_above_safe_size",
            "warning",
            "glass of this size is beyond what the shop cuts and carries safely; use acrylic",
            "/glazing/sheet",
        )
    if not job.mats and not choice.spacer:
        float_mount = job.presentation == "float"
        yield Advisory(
            "float_without_spacer" if float_mount else "glazing_touches_art",
            "warning",
            "without a mat or a spacer the glazing lies on the art; add a spacer",
            "/glazing/spacer",
        )
    if choice.plastic and sizes.allowance > checked.shop.sizing.allowance:
        yield Advisory(
            "plastic_clearance",
            "info",
            f"the rabbet is {checked.said(sizes.allowance)} larger than the package, since a "
            "plastic sheet of this length grows with warmth and damp",
            "/glazing/sheet",
        )
    if choice.plastic and any(artwork.kind in LOOSE_MEDIA for artwork in job.artworks()):
        yield Advisory(
            "static_lifts_media",
            "warning",
            "plastic glazing holds static, which lifts pastel and charcoal; use glass",
            "/glazing/sheet",
        )
    if not choice.plastic and package.longer() > Length.inches(24):
        yield Advisory(
            "check_building_code",
            "info",
            "by doors, stairs, beds or in public rooms local building codes decide the glazing; "
            "ask a licensed installer",
            "/glazing/sheet",
        )


def _art(checked: Checked) -> Iterator[Advisory]:
    job = checked.job
    if not job.mounting or job.mounting.reversible:
        return
    if any(artwork.kind not in REPLACEABLE for artwork in job.artworks()):
        yield Advisory(
            "method_unsuitable_for_art",
            "warning",
            f"{job.mounting.description} cannot be undone; originals want a mounting that can",
            "/mounting/method",
        )


def _grades(checked: Checked) -> Iterator[Advisory]:
    asked = checked.job.preservation_grade
    if asked is None:
        return
    job = checked.job
    boards: list[tuple[str, Board | None]] = [
        (f"/mats/{position}/board", mat.board) for position, mat in enumerate(job.mats)
    ]
    boards += [("/mounting/board", job.mount), ("/backing/board", job.backing)]
    for pointer, board in boards:
        if board and board.grade > asked:
            yield Advisory(
                "below_preservation_grade",
                "warning",
                f"{board.code} is of grade {board.grade}; grade {asked} was asked for "
                "(1 preserves most)",
                pointer,
            )


def _rabbet(checked: Checked) -> Iterator[Advisory]:
    sizes = checked.sizes
    if not sizes.frames or sizes.package is None:
        return
    depth, stack = sizes.frames[0].frame.moulding.rabbet_depth, sizes.stack_depth
    over = stack - depth
    if over.ticks > 0:
        way = "offset clips" if over <= DEEPEST_OFFSET_CLIP else "a rabbet extension"
        yield Advisory(
            "rabbet_too_shallow",
            "warning",
            f"the package is {checked.said(stack)} deep and the rabbet {checked.said(depth)}: "
            f"it stands out by {checked.said(over)}; use {way} of that much",
            "/frames/0",
        )
    elif -over < checked.shop.sizing.room_behind:
        yield Advisory(
            "little_room_behind",
            "info",
            f"only {checked.said(-over)} is left behind the package; points need "
            f"{checked.said(checked.shop.sizing.room_behind)}",
            "/frames/0",
        )


def _lip(checked: Checked) -> Iterator[Advisory]:
    job, sizes = checked.job, checked.sizes
    if not sizes.frames or job.mats or job.presentation != "float":
        return
    frame = sizes.frames[0]
    hidden = frame.holds.width - frame.sight.width
    if hidden.ticks >= 2 * job.float_margin.ticks:
        yield Advisory(
            "margin_under_lip",
            "warning",
            "the frame's lip covers the whole margin round the floated art; widen the margin",
            "/float_margin",
        )


def _slender(checked: Checked) -> Iterator[Advisory]:
    safety = checked.shop.safety
    for position, frame in enumerate(checked.sizes.frames):
        size, face = frame.holds.united_ticks(), frame.frame.moulding.face_width
        for over, least in safety.slender_face:
            inches, under = over.as_integer_ratio()
            if size * under > inches * TICKS_PER_INCH and face < least:
                yield Advisory(
                    "face_narrow_for_size",
                    "info",
                    f"a face of {checked.said(face)} is slender for this size; the rails may bow",
                    f"/frames/{position}/moulding",
                )
                break


def _heavy(checked: Checked) -> Iterator[Advisory]:
    safety, frames = checked.shop.safety, checked.sizes.frames
    if not frames:
        return
    if checked.weight_mg < MG_PER_KG * min(safety.slender_weight_kg, safety.heavy_kg):
        return
    kg = decimal_text(checked.weight_mg, MG_PER_KG, 1)
    slender = frames[-1].frame.moulding.face_width < safety.slender_face[0][1]
    if checked.weight_mg > safety.slender_weight_kg * MG_PER_KG and slender:
        yield Advisory(
            "heavy_for_moulding",
            "warning",
            f"about {kg} kg hangs on a slender moulding; its corners may open",
            f"/frames/{len(frames) - 1}/moulding",
        )
    if checked.weight_mg >= safety.installer_kg * MG_PER_KG:
        yield Advisory(
            "ask_installer",
            "warning",
            f"about {kg} kg with its frame: have it hung by a licensed installer, into structure",
            "",
        )
    elif checked.weight_mg >= safety.heavy_kg * MG_PER_KG:
        yield Advisory(
            "heavy", "info", f"about {kg} kg with its frame: two hands at each end, two hooks", ""
        )


def _hardware(checked: Checked, uses: tuple[Use, ...]) -> Iterator[Advisory]:
    weight, shop = checked.weight_mg, checked.shop
    for use in uses:
        if isinstance(use.item, Hardware) and not carries(use.item, weight, shop):
            load = load_mg(weight, shop)
            asked = decimal_text(load.numerator, load.denominator * MG_PER_KG, 1)
            yield Advisory(
                "heavy_for_hardware",
                "warning",
                f"{use.item.code} is the strongest {use.item.role} in the catalogue and is rated "
                f"below {asked} kg, the weight times the safety factor",
                use.pointer,
            )


def _stock(checked: Checked) -> Iterator[Advisory]:
    job, sizes = checked.job, checked.sizes
    sheets: list[tuple[str, AnyItem | None, Size | None]] = [
        (f"/mats/{position}/board", layer.mat.board, layer.blank)
        for position, layer in enumerate(sizes.layers)
    ]
    sheets.append(("/glazing/sheet", job.glazing.sheet if job.glazing else None, sizes.package))
    sheets.append(("/mounting/board", job.mount, sizes.package))
    sheets.append(("/backing/board", job.backing, sizes.package))
    for pointer, item, size in sheets:
        if item is None or size is None or stock_sheet(item, size) is not None:
            continue
        along = isinstance(item, Board) and any(size.fits_in(s, turned=True) for s in item.sheets)
        yield Advisory(
            "grain_against_rotation" if along else "larger_than_stock_sheet",
            "stop",
            f"{item.code} has a grain, and the piece fits its sheets only against it"
            if along
            else f"no stock sheet of {item.code} is large enough for "
            f"{checked.said(size.width)} x {checked.said(size.height)}",
            pointer,
        )
