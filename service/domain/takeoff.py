"""Take-off: what one framed piece of a job uses of each material."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from service.domain.catalogue import AnyItem, Catalogue, Hardware
from service.domain.job import Job
from service.domain.measure.area import square_feet
from service.domain.measure.length import Length, Size
from service.domain.opening import edge_length
from service.domain.shop import Method, Shop, SupplyUse
from service.domain.sizes import Sizes
from service.domain.use import Use


def package_uses(job: Job, sizes: Sizes) -> Iterator[Use]:
    """Mats, their fillets, glazing, mount and backing."""
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
            # The rule of the eight widths, here with the fillet's width: opening perimeter + 8·W.
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


def frame_uses(sizes: Sizes) -> Iterator[Use]:
    """Moulding by its footage, and rabbet fillets."""
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
    job: Job, outside: Size, weight: Fraction, shop: Shop, catalogue: Catalogue
) -> Iterator[Use]:
    """Supplies and hardware that the mounting and the finishing call for."""
    asked: list[tuple[str, Method, str]] = []
    if job.mounting:
        asked.append(("mounting", job.mounting, "/mounting/method"))
    asked.extend(("finishing", m, f"/finishing/{at}") for at, m in enumerate(job.finishing))
    for component, method, pointer in asked:
        for use in method.uses:
            item = _article(use, weight, shop, catalogue)
            if item is not None:
                named = "hardware" if isinstance(item, Hardware) else component
                yield _measured(use, item, named, pointer, outside)


def _article(use: SupplyUse, weight: Fraction, shop: Shop, catalogue: Catalogue) -> AnyItem | None:
    if use.item:
        return catalogue.items.get(use.item)
    return hardware_for(use.role, weight * shop.safety.hardware_factor, catalogue)


def hardware_for(role: str, load_kg: Fraction, catalogue: Catalogue) -> Hardware | None:
    """The weakest hardware of a role whose rating carries the load, or the strongest there is."""
    ladder = catalogue.hardware(role)
    strongest = ladder[-1] if ladder else None
    return next((item for item in ladder if item.rating_kg >= load_kg), strongest)


def _measured(use: SupplyUse, item: AnyItem, component: str, pointer: str, outside: Size) -> Use:
    if use.measure == "piece":
        return Use(component=component, item=item, pointer=pointer, count=use.per_unit)
    if use.measure == "square_foot":
        area = square_feet(outside) * use.per_unit
        return Use(component=component, item=item, pointer=pointer, area=area)
    run = outside.perimeter() if use.measure == "perimeter_foot" else outside.width
    return Use(component=component, item=item, pointer=pointer, feet=run.in_feet() * use.per_unit)
