"""Take-off: what one framed piece of a job uses of each material."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.jobs.frame import FrameSizes
from service.domain.jobs.hanging import hung, outer_rails
from service.domain.jobs.job import Job
from service.domain.jobs.mat import edge_length
from service.domain.jobs.sizes import Sizes
from service.domain.jobs.use import Use
from service.domain.jobs.working import kerf
from service.domain.materials.catalogue import AnyItem, Catalogue, Hardware
from service.domain.measure.area import SQUARE_TICKS_PER_SQUARE_FOOT
from service.domain.measure.length import TICKS_PER_FOOT, Length, Size
from service.domain.measure.rounding import up
from service.domain.shop import FrameUse, Method, Shop, SupplyUse


def package_uses(job: Job, sizes: Sizes, shop: Shop) -> Iterator[Use]:
    """Yield the mats, their fillets, glazing, mount and backing."""
    for position, layer in enumerate(sizes.layers):
        yield Use(
            component="mat",
            item=layer.mat.board,
            pointer=f"/mats/{position}",
            size=layer.blank,
            openings=len(layer.windows),
            layer=position + 1,
            grooves=len(layer.windows) * len(layer.mat.grooves),
            ruled_lines=len(layer.windows) * len(layer.mat.ruled_lines),
            kerf=kerf(layer.mat.board, layer.blank, shop.bench),
        )
        if layer.mat.fillet:
            # The rule of eight widths with the fillet's width: opening perimeter + 8·W.
            edge = sum(edge_length(window).ticks for window in layer.windows)
            corners = 8 * layer.mat.fillet.width.ticks * len(layer.windows)
            yield Use(
                component="fillet",
                item=layer.mat.fillet,
                pointer=f"/mats/{position}/fillet",
                footage=Length(edge + corners),
                openings=len(layer.windows),
                layer=position + 1,
            )
    for position, (good, many) in enumerate(job.goods):
        sold = "hardware" if isinstance(good, Hardware) else "goods"
        yield Use(sold, good, f"/goods/{position}", pieces=Fraction(many))
    if sizes.package is None:
        return
    boards = (
        ("glazing", job.glazing.sheet if job.glazing else None, "/glazing"),
        ("mounting", job.mount, "/mounting"),
        ("backing", job.backing, "/backing"),
    )
    for component, item, pointer in boards:
        if item:
            size, cut = sizes.package, kerf(item, sizes.package, shop.bench)
            yield Use(component=component, item=item, pointer=pointer, size=size, kerf=cut)
    for position, spacer in enumerate(job.glazing.stacked if job.glazing else ()):
        feet = sizes.package.perimeter().in_feet()
        yield Use("finishing", spacer, f"/glazing/spacers/{position}", feet=feet)
    if job.glazing and job.glazing.spacer_item:
        yield Use(
            component="finishing",
            item=job.glazing.spacer_item,
            pointer="/glazing/spacer",
            feet=sizes.package.perimeter().in_feet(),
        )


def frame_uses(sizes: Sizes) -> Iterator[Use]:
    """Yield moulding by its footage, and rabbet fillets; a customer's own frame uses none."""
    for position, frame in enumerate(sizes.frames):
        if frame.frame.own:
            continue
        yield Use(
            component="frame",
            item=frame.frame.moulding,
            pointer=f"/frames/{position}",
            size=frame.holds,
            footage=frame.footage(),
            layer=position + 1,
            supply=frame.frame.supply,
        )
        if frame.frame.fillet:
            corners = 8 * frame.frame.fillet.width.ticks
            yield Use(
                component="fillet",
                item=frame.frame.fillet,
                pointer=f"/frames/{position}/fillet",
                footage=Length(frame.rabbet.perimeter().ticks + corners),
                layer=position + 1,
            )


def joining_uses(sizes: Sizes, shop: Shop, catalogue: Catalogue) -> Iterator[Use]:
    """Yield what each frame is joined and closed with, by the material of its moulding."""
    for position, frame in enumerate(sizes.frames):
        if frame.frame.own:
            continue
        for use in shop.joined_with(frame.frame.moulding.material):
            item, pieces = catalogue.items.get(use.item), joined_pieces(use, frame)
            if item is not None and pieces:
                yield Use("hardware", item, f"/frames/{position}", pieces=pieces)


def joined_pieces(use: FrameUse, frame: FrameSizes) -> Fraction:
    """Return how much a frame takes: for the frame, its corners, or each foot begun of its sides.

    Corners take nothing where the frame comes joined.
    """
    if use.measure == "frame":
        return use.per_unit
    if use.measure == "corner":
        return use.per_unit * (0 if frame.frame.supply == "join" else frame.frame.sides)
    feet = (
        max(Fraction(up(side.ticks, TICKS_PER_FOOT)), use.least) for side in frame.inner_sides()
    )
    return use.per_unit * sum(feet, Fraction(0))


def supply_uses(
    job: Job, sizes: Sizes, weight_mg: int, shop: Shop, catalogue: Catalogue
) -> Iterator[Use]:
    """Yield the supplies and hardware that the mounting and the finishing require.

    A mounting's are measured on each art, a finishing's on the outside, where a use of the shop
    does not name another thing that it covers.
    """
    asked: list[tuple[str, Method, str]] = []
    if job.mounting:
        asked.append(("mounting", job.mounting, "/mounting/method"))
    asked.extend(("finishing", m, f"/finishing/{at}") for at, m in enumerate(job.finishing))
    for component, method, pointer in asked:
        for use in method.uses:
            item = _article(use, weight_mg, shop, catalogue)
            if item is not None:
                named = "hardware" if isinstance(item, Hardware) else component
                if use.measure == "wire_foot":
                    found = hung(sizes.outside, shop.hanging, outer_rails(job))
                    feet = found.wire.in_feet() * use.per_unit
                    yield Use(component=named, item=item, pointer=pointer, feet=feet)
                else:
                    yield _measured(use, item, named, pointer, covered(use, component, job, sizes))


Covered = tuple[tuple[Size, int], ...]
"""Rectangles that a supply covers, and how many there are of each."""


def covered(use: SupplyUse, component: str, job: Job, sizes: Sizes) -> Covered:
    """Return what a supply of a mounting or a finishing covers."""
    covers = use.covers or ("art" if component == "mounting" else "outside")
    if covers == "art":
        counted: dict[Size, int] = {}
        for artwork, many in job.mounted():
            counted[artwork.size] = counted.get(artwork.size, 0) + many
        return tuple(counted.items())
    if covers == "rabbet" and sizes.frames:
        return ((sizes.frames[0].rabbet, 1),)
    return ((sizes.outside if covers == "outside" else sizes.ordered, 1),)


def _article(use: SupplyUse, weight_mg: int, shop: Shop, catalogue: Catalogue) -> AnyItem | None:
    if use.item:
        return catalogue.items.get(use.item)
    return hardware_for(use.role, weight_mg, shop, catalogue)


def load_mg(weight_mg: int, shop: Shop) -> Fraction:
    """Return the required hardware rating: the weight times the shop's safety factor."""
    return weight_mg * shop.safety.hardware_factor


def carries(item: Hardware, weight_mg: int, shop: Shop) -> bool:
    """Return True if the hardware's rating is at least the weight times the safety factor."""
    factor, under = shop.safety.hardware_factor.as_integer_ratio()
    return item.rating_mg * under >= weight_mg * factor


def hardware_for(role: str, weight_mg: int, shop: Shop, catalogue: Catalogue) -> Hardware | None:
    """Return the weakest hardware of a role that carries a weight, or the strongest there is."""
    ladder = catalogue.hardware(role)
    for item in ladder:
        if carries(item, weight_mg, shop):
            return item
    return ladder[-1] if ladder else None


def _measured(use: SupplyUse, item: AnyItem, component: str, pointer: str, over: Covered) -> Use:
    many = sum(count for _, count in over)
    openings = many if pointer == "/mounting/method" else 0
    if use.measure == "piece":
        pieces = use.per_unit * many
        return Use(component, item, pointer, pieces=pieces, openings=openings)
    units, per = use.per_unit.as_integer_ratio()
    if use.measure == "square_foot":
        area = sum(size.width.ticks * size.height.ticks * count for size, count in over)
        square_feet = Fraction(area * units, SQUARE_TICKS_PER_SQUARE_FOOT * per)
        return Use(component, item, pointer, area=square_feet, openings=openings)
    whole = use.measure == "perimeter_foot"
    run = sum((2 * s.united_ticks() if whole else s.width.ticks) * count for s, count in over)
    feet = Fraction(run * units, TICKS_PER_FOOT * per)
    return Use(component, item, pointer, feet=feet, openings=openings)
