"""Days of a quote, in the shop's own time zone."""

from datetime import UTC, date, datetime

from service.domain.quote import shop_day, valid_until
from tests.domain.bench_shop import basis
from tests.domain.jobs import SHOP


def test_a_quotes_day_is_the_shops_and_not_the_servers():
    # 03:30 in UTC is still the evening before in New York, five hours behind in winter.
    night = datetime(2026, 11, 26, 3, 30, tzinfo=UTC)
    assert shop_day(SHOP.shop, night) == date(2026, 11, 25)
    assert shop_day(basis(time_zone="Europe/London").shop, night) == date(2026, 11, 26)


def test_a_quote_holds_for_the_shops_days():
    assert valid_until(SHOP.shop, date(2026, 11, 25)) == date(2026, 12, 25)
    assert valid_until(basis(quote_valid_days=0).shop, date(2026, 1, 1)) == date(2026, 1, 1)
