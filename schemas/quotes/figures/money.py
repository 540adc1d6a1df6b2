"""Lines, discounts, tax, totals and the sale: kept, and made the domain's again."""

from __future__ import annotations

from schemas.quotes.figures import records as kept
from schemas.quotes.figures.jobs import exact, keep_discount, the_discount
from service.domain.measure.money import Currency, Money
from service.domain.prices.discounts import Reduction
from service.domain.prices.lines import Line, Slice
from service.domain.prices.lists import PriceList, PriceRule
from service.domain.prices.tax import Tax
from service.domain.prices.totals import Totals
from service.domain.quotes.sale import Sale, SoldPart, UsedMaterial
from service.domain.shop import TaxRate


def keep_line(line: Line) -> kept.Line:
    """Return a priced line to keep."""
    return kept.Line(
        component=line.component,
        rule=line.rule.code,
        basis=line.basis,
        quantity=str(line.quantity),
        rate=str(line.rate),
        each=line.each.minor,
        amount=line.amount.minor,
        item=line.item,
        description=line.description,
        pointer=line.pointer,
        layer=line.layer,
        slices=tuple(kept.Slice(str(part.quantity), str(part.rate)) for part in line.slices),
        pieces=line.pieces,
        set_up=line.set_up.minor,
        tax_category="" if line.rule.code else line.rule.tax_category,
        factor=str(line.factor),
    )


def the_line(line: kept.Line, price_list: PriceList) -> Line:
    """Return a kept line, with its rule of the price list."""
    currency = price_list.currency
    return Line(
        component=line.component,
        item=line.item,
        description=line.description,
        rule=_rule(line, price_list),
        pointer=line.pointer,
        layer=line.layer,
        basis=line.basis,
        quantity=exact(line.quantity),
        rate=exact(line.rate),
        slices=tuple(Slice(exact(part.quantity), exact(part.rate)) for part in line.slices),
        each=Money(line.each, currency),
        pieces=line.pieces,
        set_up=Money(line.set_up, currency),
        amount=Money(line.amount, currency),
        factor=exact(line.factor),
    )


def _rule(line: kept.Line, price_list: PriceList) -> PriceRule:
    """Return the rule of a kept line; a line with a price of its own has one of its own."""
    if line.rule:
        return next(rule for rule in price_list.rules if rule.code == line.rule)
    return PriceRule(
        code="",
        component=line.component,
        basis=line.basis,
        method="rate",
        rate=exact(line.rate),
        tax_category=line.tax_category,
    )


def keep_reduction(reduction: Reduction) -> kept.Reduction:
    """Return a discount that was taken off, to keep."""
    discount = keep_discount(reduction.discount)
    return kept.Reduction(discount, reduction.base.minor, reduction.amount.minor)


def the_reduction(reduction: kept.Reduction, currency: Currency) -> Reduction:
    """Return a kept discount that was taken off."""
    base, amount = Money(reduction.base, currency), Money(reduction.amount, currency)
    return Reduction(the_discount(reduction.discount), base, amount)


def keep_totals(totals: Totals) -> kept.Totals:
    """Return the totals of a document to keep."""
    tax = totals.tax
    return kept.Totals(
        subtotal=totals.subtotal.minor,
        discount=totals.discount.minor,
        tax=kept.Tax(
            total=tax.total.minor,
            exact=tuple(
                kept.TaxPart(rate.name, str(rate.percent), base, part, rate.category, rate.place)
                for rate, base, part in tax.exact
            ),
            unknown=tax.unknown,
            included=tax.included,
            amounts=tax.amounts,
        ),
        total=totals.total.minor,
        reductions=tuple(map(keep_reduction, totals.reductions)),
        off=tuple(off.minor for off in totals.off),
        relief=None if totals.relief is None else totals.relief.minor,
        lines=tuple(map(keep_line, totals.lines)),
    )


def the_totals(totals: kept.Totals, price_list: PriceList) -> Totals:
    """Return the kept totals of a document."""
    currency = price_list.currency
    return Totals(
        Money(totals.subtotal, currency),
        Money(totals.discount, currency),
        _tax(totals.tax, currency),
        Money(totals.total, currency),
        tuple(the_reduction(each, currency) for each in totals.reductions),
        tuple(Money(off, currency) for off in totals.off),
        None if totals.relief is None else Money(totals.relief, currency),
        tuple(the_line(line, price_list) for line in totals.lines),
    )


def _tax(tax: kept.Tax, currency: Currency) -> Tax:
    parts = (
        (
            TaxRate(
                category=part.category,
                name=part.name,
                percent=exact(part.percent),
                place=part.place,
            ),
            part.base,
            part.part,
        )
        for part in tax.exact
    )
    return Tax(Money(tax.total, currency), tuple(parts), tax.unknown, tax.included, tax.amounts)


def keep_sale(sale: Sale) -> kept.Sale:
    """Return what a sale would be, to keep."""
    return kept.Sale(
        cost=None if sale.cost is None else sale.cost.minor,
        parts=tuple((part.component, part.item, part.net) for part in sale.parts),
        materials=tuple((used.item, used.basis, used.millionths) for used in sale.materials),
    )


def the_sale(figures: kept.Figures, currency: Currency, own: Currency) -> Sale:
    """Return the kept sale; `own` is the shop's currency, in which its cost is."""
    sale = figures.sale
    return Sale(
        total=Money(figures.totals.total, currency),
        tax=Money(figures.totals.tax.total, currency),
        own=own,
        cost=None if sale.cost is None else Money(sale.cost, own),
        parts=tuple(SoldPart(*part) for part in sale.parts),
        materials=tuple(UsedMaterial(*used) for used in sale.materials),
    )
