"""What a sale keeps of each line: whatever is taken off and however tax is laid, it adds up."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

from hypothesis import given, settings
from hypothesis import strategies as st

from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Estimate, estimate_request, money_of
from service.domain.estimates.costs import job_cost
from service.domain.jobs.job import Conditions, Discount
from service.domain.materials.catalogue import Catalogue
from service.domain.prices.totals import line_nets
from service.domain.quotes.sale import MILLION, sale_of
from service.domain.shop import Taxation, TaxRate
from tests.domain.bench_shop import ITEMS, basis
from tests.domain.sample_jobs import PLAIN, spec

ITEMS_BY_CODE = {item.code: item for item in ITEMS}
OFF = st.builds(
    Discount,
    reason=st.just("friend"),
    percent=st.sampled_from([Fraction(1, 3), Fraction(5), Fraction(25, 2), Fraction(100)]),
)
SPECS = st.lists(
    st.builds(
        lambda quantity, discounts: spec(quantity=quantity, discounts=tuple(discounts)),
        st.sampled_from([1, 2, 7, 25]),
        st.lists(OFF, max_size=2),
    ),
    min_size=1,
    max_size=3,
)
CONDITIONS = st.builds(
    Conditions,
    discounts=st.lists(OFF, max_size=2).map(tuple),
    exempt=st.sampled_from(["", "certificate 7"]),
)


def taxed(*, included: bool, rounded: str = "invoice") -> Taxation:
    rates = tuple(
        TaxRate(category=category, name=category, percent=Fraction(percent))
        for category, percent in (("goods", "6.25"), ("labour", "19"))
    )
    return Taxation(included=included, rounded=rounded, rates=rates)  # type: ignore[arg-type]


def nets(done: Estimate) -> tuple[int, ...]:
    pairs = [(job.lines, money_of(job)) for job in done.jobs]
    return line_nets(pairs, done.totals, done.basis.shop.taxation, done.conditions)


@settings(max_examples=60, deadline=None)
@given(SPECS, CONDITIONS, st.booleans(), st.sampled_from(["invoice", "line"]))
def test_lines_add_up_to_what_is_kept(specs, conditions, included, rounded) -> None:
    shop = basis(taxation=taxed(included=included, rounded=rounded))
    try:
        done = estimate_request(specs, shop, conditions)
    except JobRefused:  # more was taken off than there was
        return
    kept = nets(done)
    assert len(kept) == sum(len(job.lines) for job in done.jobs)
    assert min(kept) >= 0
    assert sum(kept) == done.totals.net().minor
    sale = sale_of(done)
    assert sum(part.net for part in sale.parts) == sale.total.minor - sale.tax.minor
    assert len({(part.component, part.item) for part in sale.parts}) == len(sale.parts)


def test_included_tax_is_taken_out_of_each_line_by_its_own_rate() -> None:
    """100.00 with 6.25 % in it is 94.12 without, with 19 % in it 84.03 (100/1.19; plain sums)."""
    done = estimate_request([PLAIN], basis(taxation=taxed(included=True)))
    for line, net in zip(done.jobs[0].lines, nets(done), strict=True):
        percent = Decimal("6.25") if line.rule.tax_category == "goods" else Decimal(19)
        exact = Decimal(line.amount.minor) / (1 + percent / 100)
        assert abs(Decimal(net) - exact) <= 1


def test_without_discounts_and_tax_a_line_keeps_its_amount() -> None:
    done = estimate_request([PLAIN, PLAIN], basis(taxation=Taxation()))
    assert list(nets(done)) == [line.amount.minor for job in done.jobs for line in job.lines]


def test_the_cost_is_the_sum_of_the_costs_of_all_jobs_as_shown() -> None:
    done = estimate_request([PLAIN, spec(quantity=3)], basis())
    one, three = [job_cost(job, done.basis).total for job in done.jobs]
    assert one is not None
    assert three is not None
    assert sale_of(done).cost == one + three


def test_a_cost_that_is_not_known_is_not_guessed() -> None:
    shop = basis()
    costs = {code: known for code, known in shop.catalogue.costs.items() if code != "WHITE"}
    done = estimate_request([PLAIN], replace(shop, catalogue=Catalogue(ITEMS_BY_CODE, costs)))
    assert sale_of(done).cost is None


def test_material_is_told_for_all_pieces_of_all_jobs() -> None:
    one, many = (
        {(use.item, use.basis): use.millionths for use in sale_of(done).materials}
        for done in (
            estimate_request([PLAIN], basis()),
            estimate_request([PLAIN, spec(quantity=2)], basis()),
        )
    )
    assert many == {key: 3 * millionths for key, millionths in one.items()}
    assert all(millionths % (MILLION // 4) == 0 for millionths in one.values() if millionths > 0)
