"""Advisories on mats: their windows and bars, and whether the shop's equipment can cut them."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from service.domain.jobs.advice.advisory import Advisory, Checked, Severity
from service.domain.jobs.guide import setting_ticks
from service.domain.jobs.mat import Grid, Window
from service.domain.jobs.sizes import Sizes
from service.domain.jobs.working import sheet_work, sheets
from service.domain.measure.length import Length, Size

UNDER_THE_RAIL = ("blade", "scribe", "snap")


def openings(checked: Checked) -> Iterator[Advisory]:
    """Yield advisories on windows that are too large for the art or for their board."""
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
            if _reaches(window, layer.blank):
                yield Advisory(
                    "opening_larger_than_board",
                    "stop",
                    "a window reaches the edge of its board; widen the border",
                    f"/mats/{position}",
                )
                break


def bars(checked: Checked) -> Iterator[Advisory]:
    """Warn of bars between windows that would tear."""
    if not checked.sizes.layers or len(checked.sizes.layers[0].windows) < 2:
        return
    least = checked.shop.sizing.smallest_bar
    layout = checked.job.openings
    narrowest = layout.gutter if isinstance(layout, Grid) else _narrowest_bar(checked.sizes)
    if narrowest is not None and narrowest < least:
        yield Advisory(
            "bar_too_narrow",
            "warning",
            f"the bar between two windows is {checked.text(narrowest)}; below "
            f"{checked.text(least)} it tears",
            "/openings",
        )


def rounds(checked: Checked) -> Iterator[Advisory]:
    """Yield advisories on grooves and ruled lines that run off their board, meet, or are covered.

    What the frame covers of the top mat's is looked at with the frame.
    """
    for position, layer in enumerate(checked.sizes.layers):
        mat = layer.mat
        if not mat.grooves and not mat.ruled_lines:
            continue
        apart = _nearest(layer.windows)
        covered = mat.reveal.narrowest() if position else None
        for name, distances in (("grooves", mat.grooves), ("ruled_lines", mat.ruled_lines)):
            for place, by in enumerate(distances):
                told = None
                if any(_reaches(each, layer.blank) for each in layer.round_windows((by,))):
                    told = _BEYOND
                elif covered is not None and by >= covered:
                    told = _COVERED
                elif apart is not None and 2 * by >= apart:
                    told = _MEET
                if told:
                    yield Advisory(*told, f"/mats/{position}/{name}/{place}")


_BEYOND: tuple[str, Severity, str] = (
    "groove_beyond_board",
    "stop",
    "this runs off the mat; bring it nearer to the window",
)
_COVERED: tuple[str, Severity, str] = (
    "groove_covered",
    "warning",
    "the mat over this one covers it; widen the reveal",
)
_MEET: tuple[str, Severity, str] = (
    "grooves_meet",
    "warning",
    "those of two windows meet; widen the bar between the windows",
)


def _nearest(windows: tuple[Window, ...]) -> Length | None:
    """Return twice the distance at which outlines round two of the windows touch, at the least."""
    return min(
        (
            max(one.x - other.right(), other.x - one.right(),
                one.y - other.bottom(), other.y - one.bottom())
            for one, other in combinations(windows, 2)
        ),
        default=None,
    )  # fmt: skip


def _reaches(window: Window, blank: Size) -> bool:
    return (
        window.x.ticks <= 0
        or window.y.ticks <= 0
        or window.right() >= blank.width
        or window.bottom() >= blank.height
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


def reach(checked: Checked) -> Iterator[Advisory]:
    """Yield advisories on what the straight-line cutter cannot reach or cut, with alternatives."""
    bench, sizes = checked.shop.bench, checked.sizes
    package = sizes.package
    under_rail = any(
        sheet_work(item, size, bench).way in UNDER_THE_RAIL
        for _, item, size in sheets(checked.job, sizes)
    )
    if package is None or not under_rail:
        pass
    elif package.longer() > bench.rail:
        yield Advisory(
            "beyond_bench_reach",
            "warning",
            f"{checked.text(package.longer())} is longer than the cutter's rail of "
            f"{checked.text(bench.rail)}; cut along a straightedge on the table, or send it out",
            "",
        )
    elif package.shorter() > bench.squaring_arm:
        yield Advisory(
            "beyond_bench_reach",
            "info",
            f"{checked.text(package.shorter())} is more than the squaring arm's stop reaches "
            f"({checked.text(bench.squaring_arm)}); mark the size and cut to the mark",
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
            f"({checked.text(bench.thickest_bevel)}); cut it straight or send it out",
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
    widest = Length(max(setting_ticks(layer, package), default=0))
    if widest > bench.widest_guide:
        yield Advisory(
            "beyond_bench_reach",
            "info",
            f"a setting of {checked.text(widest)} is more than the guide takes "
            f"({checked.text(bench.widest_guide)}); cut that side to a drawn line, guide off",
            where,
        )
