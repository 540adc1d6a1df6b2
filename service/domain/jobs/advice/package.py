"""Advisories on the rest of the package: glazing, art, boards and their stock sheets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from service.domain.jobs.advice.advisory import Advisory, Checked
from service.domain.jobs.artwork import LOOSE_MEDIA, REPLACEABLE
from service.domain.jobs.depth import space
from service.domain.jobs.job import Job
from service.domain.jobs.mat import Placed
from service.domain.jobs.use import Use, stock_sheet
from service.domain.jobs.work import UNSEEN
from service.domain.jobs.working import sheet_work, sheets
from service.domain.materials.catalogue import AnyItem, Board, Consumable, Glazing
from service.domain.measure.length import Length, Size

MOST_NAMED = 3
"""How many items an advisory names at most that would do instead."""


def grades(checked: Checked, uses: Sequence[Use]) -> Iterator[Advisory]:
    """Warn of boards, and of supplies next to the art, below the requested preservation grade."""
    job, asked = checked.job, checked.job.preservation_grade
    if asked is None:
        return
    items: list[tuple[str, Board | Consumable | None]] = [
        (f"/mats/{position}/board", mat.board) for position, mat in enumerate(job.mats)
    ]
    items += [("/mounting/board", job.mount), ("/backing/board", job.backing)]
    # Hinges, tape and spacers touch the art or its air space; dust covers and wire are behind it.
    items += [
        (use.pointer, use.item)
        for use in uses
        if use.pointer.startswith(("/mounting/method", "/glazing/spacer"))
        and isinstance(use.item, Consumable)
    ]
    for pointer, item in items:
        if item and item.grade > asked:
            yield Advisory(
                "below_preservation_grade",
                "warning",
                f"{item.code} is of grade {item.grade}; grade {asked} was asked for "
                "(1 preserves most)",
                pointer,
            )


def glazing(checked: Checked) -> Iterator[Advisory]:
    """Yield advisories on glazing: oversized glass, contact, expansion, static, building codes."""
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
    if not job.mats and not choice.spacer and not _alone(job):
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
            f"the rabbet is {checked.text(sizes.allowance)} larger than the package, since a "
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


def _alone(job: Job) -> bool:
    """Return True if no art is known to lie under the glazing: a mirror, a lite, old contents."""
    if job.work in UNSEEN:
        return True
    if job.glazing and job.glazing.sheet.build == "mirror":
        return True
    return not (job.frames or job.mounting or job.mount or job.backing)


def depths(checked: Checked) -> Iterator[Advisory]:
    """Yield advisories on art that is deeper than the space it lies in, or near the glazing.

    Floated art without any space is warned of elsewhere: the glazing lies on it.
    """
    job, text = checked.job, checked.text
    if job.glazing is None:
        return
    placed = isinstance(job.openings, Placed)
    for position, artwork in enumerate(job.artworks()):
        room, deep = space(job, artwork), artwork.thickness
        if not room or not deep:
            continue
        least = deep
        if artwork.kind == "object":
            least = deep + checked.shop.sizing.object_clearance
        pointer = f"/openings/{position}/artwork" if placed else "/artwork"
        if deep > room:
            yield Advisory(
                "art_deeper_than_space",
                "stop",
                f"the art is {text(deep)} deep and the space between the glazing and the mount "
                f"{text(room)}; it needs {text(least)}: use a deeper spacer",
                f"{pointer}/thickness",
            )
        elif room < least:
            yield Advisory(
                "object_near_glazing",
                "warning",
                f"only {text(room - deep)} is left between the object and the glazing; a spacer "
                f"that gives {text(least)} in all keeps them apart",
                f"{pointer}/thickness",
            )


def art(checked: Checked) -> Iterator[Advisory]:
    """Warn of an irreversible mounting of an original."""
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


def ordered(checked: Checked) -> Iterator[Advisory]:
    """Note each sheet that the bench does not cut: it has to be ordered cut to size."""
    bench = checked.shop.bench
    for pointer, item, size in sheets(checked.job, checked.sizes):
        worked = sheet_work(item, size, bench)
        if worked.ordered:
            yield Advisory(
                "ordered_to_size",
                "info",
                f"{item.code} is ordered cut to size, since this bench does not cut "
                f"{worked.material.name} of this size",
                pointer,
            )


def stock(checked: Checked) -> Iterator[Advisory]:
    """Yield advisories on pieces that fit no stock sheet, or fit only against the grain."""
    for pointer, item, size in sheets(checked.job, checked.sizes):
        if stock_sheet(item, size) is not None:
            continue
        along = any(size.fits_in(sheet, turned=True) for sheet in item.sheets)
        yield Advisory(
            "grain_against_rotation" if along else "larger_than_stock_sheet",
            "stop",
            f"{item.code} has a grain, and the piece fits its sheets only against it; "
            f"{_instead(checked, item, size)}"
            if along
            else f"no stock sheet of {item.code} is large enough for {_text(checked, size)}; "
            f"{_largest(checked, item)}{_instead(checked, item, size)}",
            pointer,
        )


def _text(checked: Checked, size: Size) -> str:
    return f"{checked.text(size.width)} x {checked.text(size.height)}"


def _largest(checked: Checked, item: Board | Glazing) -> str:
    """Return what the largest sheet of an item is, in words."""
    return f"the largest is {_text(checked, item.by_area[-1])}: "


def _instead(checked: Checked, item: Board | Glazing, size: Size) -> str:
    """Return what the shop could do instead: up to three items that come large enough, or less."""
    found = [
        other.code
        for other in checked.catalogue.items.values()
        if not other.discontinued
        and _for_the_same(item, other)
        and stock_sheet(other, size) is not None
    ]
    named = f"take {' or '.join(found[:MOST_NAMED])}, " if found else ""
    return f"{named}split it into smaller pieces, or make it smaller"


def _for_the_same(item: Board | Glazing, other: AnyItem) -> bool:
    if isinstance(item, Board):
        return isinstance(other, Board) and set(item.uses) <= set(other.uses)
    return isinstance(other, Glazing) and item.build == other.build
