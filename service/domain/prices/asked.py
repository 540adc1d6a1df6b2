"""Lines that a document asks for by themselves: services of the price list, and free lines.

A service is a rule of the component `service`; its `item` is the code by which it is asked for
(`delivery`), its `description` the text of the line, and the quantity is the one asked for, in
units of the rule's basis. A free line has a price of its own (component `sundry`). Both stand
outside of quantity breaks, and outside of discounts that do not name their component: what was
agreed for them is agreed.
"""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.errors import Fault, JobRefused
from service.domain.jobs.asked import AskedLine
from service.domain.measure.money import Currency
from service.domain.prices.lines import Line, price_line
from service.domain.prices.lists import SERVICE, SUNDRY, PriceList, PriceRule


def price_asked(asked: Sequence[AskedLine], price_list: PriceList) -> list[Line]:
    """Return the lines asked for; a service has one for each charge of its rules.

    Raises:
        JobRefused: a service that is not on the list.
    """
    lines: list[Line] = []
    faults: list[Fault] = []
    for position, each in enumerate(asked):
        pointer = f"/lines/{position}"
        if not each.service:
            lines.append(_line(free_rule(each), each, pointer, price_list.currency))
            continue
        rules = price_list.rules_for(SERVICE, each.service, "")
        if not rules:
            known = ", ".join(price_list.services()) or "none"
            told = f"price list {price_list.code} has no service {each.service}; it has {known}"
            faults.append(Fault(f"{pointer}/service", "unknown_service", told))
        lines += [
            _line(rule, each, pointer, price_list.currency)
            for rule in rules
            if each.quantity > rule.above
        ]
    if faults:
        raise JobRefused(faults)
    return lines


def free_rule(asked: AskedLine) -> PriceRule:
    """Return the rule of a free line: its own price, on no list and so without a code."""
    return PriceRule(
        code="",
        component=SUNDRY,
        basis="piece",
        method="rate",
        rate=asked.unit_price or asked.quantity * 0,
        tax_category=asked.tax_category,
    )


def _line(rule: PriceRule, asked: AskedLine, pointer: str, currency: Currency) -> Line:
    return price_line(
        rule=rule,
        component=rule.component,
        item=asked.service,
        description=asked.description or rule.description or asked.service,
        pointer=pointer,
        layer=0,
        basis=rule.basis,
        quantity=asked.quantity - rule.above,
        rate=rule.rate,
        pieces=1,
        currency=currency,
    )
