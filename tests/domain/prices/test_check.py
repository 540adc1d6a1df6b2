"""The check of a price list: what it says of rules that do not do what they seem to."""

from dataclasses import replace
from datetime import date
from fractions import Fraction

from service.domain.materials.catalogue import Catalogue, ItemCost
from service.domain.measure.money import Currency
from service.domain.prices.check import Finding, check_prices
from service.domain.prices.lists import PriceList, PriceRule
from service.domain.shop import Taxation
from tests.domain.bench_shop import board, size
from tests.domain.sample_jobs import SHOP

F = Fraction


def found(
    *costs: ItemCost, currency: str = "USD", taxation: Taxation | None = None, **more: object
) -> list[Finding]:
    """What is said of one rule for the mat of one board."""
    given = {"code": "mat", "component": "mat", "basis": "sheet", "method": "rate", "rate": F(40)}
    prices = PriceList(
        "one", Currency(currency), date(2026, 1, 1), [PriceRule(**{**given, **more})]
    )
    shop = replace(SHOP.shop, taxation=taxation or Taxation())
    catalogue = Catalogue({"B": board("B", uses=("mat",))}, {"B": costs})
    return [each for each in check_prices(prices, shop, catalogue) if each.code != "no_labour"]


def test_a_larger_blank_that_is_cheaper_is_named():
    # By hand: 32 x 33 is over half of 32 x 40, so a whole sheet, 40.00. 33 x 33 is taken from
    # 40 x 60 and is under half of it, 20.00.
    (finding,) = found()
    assert (finding.code, finding.severity, finding.rule) == ("larger_is_cheaper", "warning", "mat")
    assert finding.detail == ("as mat, 32 x 33 in: the price is 40.00, and 20.00 one inch wider")


def test_a_cost_for_each_sheet_makes_it_dearer_again():
    costs = (
        ItemCost("B", "sheet", F(12), size("32 x 40")),
        ItemCost("B", "sheet", F(48), size("40 x 60")),
    )
    assert found(*costs, method="markup", rate=F(2)) == []


def test_a_markup_of_another_cost_is_named():
    (finding,) = found(ItemCost("B", "square_foot", F(2)), method="markup", rate=F(2))
    assert finding.code == "markup_of_other_cost"
    assert finding.detail == ("as mat it marks up the cost by square_foot: none by sheet is known")


def test_a_list_in_yen_warns_of_tax_line_by_line():
    by_line = Taxation(rounded="line")
    codes = {each.code for each in found(currency="JPY", taxation=by_line)}
    assert "tax_by_line" in codes
    assert "tax_by_line" not in {each.code for each in found(taxation=by_line)}
