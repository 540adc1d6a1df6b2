"""Take-off: what one framed piece of a job uses of each material."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.jobs.job import Job
from service.domain.jobs.mat import edge_length
from service.domain.jobs.sizes import Sizes
from service.domain.jobs.use import Use
from service.domain.materials.catalogue import AnyItem, Catalogue, Hardware
from service.domain.measure.area import SQUARE_TICKS_PER_SQUARE_FOOT
from service.domain.measure.length import TICKS_PER_FOOT, Length, Size
from service.domain.shop import Method, Shop, SupplyUse


def package_uses(job: Job, sizes: Sizes) -> Iterator[Use]:
    """Yield the mats, their fillets, glazing, mount and backing."""
    for position, layer in enumerate(sizes.layers):
        yield Use(
            component="mat",
            item=layer.mat.board,
            pointer=f"/mats/{position}",
            size=sizes.package,
            openings=len(layer.windows),
            layer=position + 1,
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
    if sizes.package is None:
        return
    boards = (
        ("glazing", job.glazing.sheet if job.glazing else None, "/glazing"),
        ("mounting", job.mount, "/mounting"),
        ("backing", job.backing, "/backing"),
    )
    for component, item, pointer in boards:
        if item:
            yield Use(component=component, item=item, pointer=pointer, size=sizes.package)
    if job.glazing and job.glazing.spacer_item:
        yield Use(
            component="finishing",
            item=job.glazing.spacer_item,
            pointer="/glazing/spacer",
            feet=sizes.package.perimeter().in_feet(),
        )


def frame_uses(sizes: Sizes) -> Iterator[Use]:
    """Yield moulding by its footage, and rabbet fillets."""
    for position, frame in enumerate(sizes.frames):
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
                footage=Length(frame.sight.perimeter().ticks + corners),
                layer=position + 1,
            )


def supply_uses(
    job: Job, outside: Size, weight_mg: int, shop: Shop, catalogue: Catalogue
) -> Iterator[Use]:
    """Yield the supplies and hardware that the mounting and the finishing require."""
    asked: list[tuple[str, Method, str]] = []
    if job.mounting:
        asked.append(("mounting", job.mounting, "/mounting/method"))
    asked.extend(("finishing", m, f"/finishing/{at}") for at, m in enumerate(job.finishing))
    for component, method, pointer in asked:
        for use in method.uses:
            item = _article(use, weight_mg, shop, catalogue)
            if item is not None:
                named = "hardware" if isinstance(item, Hardware) else component
                yield _measured(use, item, named, pointer, outside)


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


def _measured(use: SupplyUse, item: AnyItem, component: str, pointer: str, outside: Size) -> Use:
    if use.measure == "piece":
        return Use(component=component, item=item, pointer=pointer, pieces=use.per_unit)
    if use.measure == "square_foot":
        area = outside.width.ticks * outside.height.ticks * use.per_unit.numerator
        per = SQUARE_TICKS_PER_SQUARE_FOOT * use.per_unit.denominator
        return Use(component=component, item=item, pointer=pointer, area=Fraction(area, per))
    run = outside.perimeter() if use.measure == "perimeter_foot" else outside.width
    over, under = use.per_unit.as_integer_ratio()
    feet = Fraction(run.ticks * over, TICKS_PER_FOOT * under)
    return Use(component=component, item=item, pointer=pointer, feet=feet)
