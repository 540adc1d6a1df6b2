"""Bench time: minutes from drivers, exactly."""

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from service.domain.errors import BadValue
from service.domain.labour.standard import (
    Hour,
    LabourStandard,
    Operation,
    bench_minutes,
    bench_time,
    hourly_cost,
    total_minutes,
)
from service.domain.shop import DRIVERS, STANDS_IN
from tests.domain.sample_jobs import SHOP

F = Fraction
MINUTES = st.fractions(0, 30, max_denominator=60)


def standard(*operations: tuple[str, Fraction, Fraction]) -> LabourStandard:
    """A standard of (driver, minutes a unit, set-up) operations."""
    made = (Operation(driver, driver, driver, each, up) for driver, each, up in operations)
    return LabourStandard("test", F(30), tuple(made))


def test_minutes_are_set_up_and_unit_minutes_by_units_and_quantity():
    (time,) = bench_time(standard(("bevel_cuts", F("0.5"), F(2))), {"bevel_cuts": 800}, 12)
    assert time.units == 8
    assert time.minutes == 2 + F("0.5") * 8 * 12


def test_identical_pieces_share_their_set_ups():
    bench = standard(("bevel_cuts", F("0.5"), F(2)))
    one, many = (bench_time(bench, {"bevel_cuts": 400}, n) for n in (1, 12))
    assert total_minutes(many) == 12 * total_minutes(one) - 11 * 2


def test_an_operation_without_units_takes_no_time_not_even_its_set_up():
    bench = standard(("glass_pieces", F(1), F(5)), ("rails", F(2), F(1)))
    times = bench_time(bench, {"rails": 400}, 1)
    assert [time.operation.driver for time in times] == ["rails"]
    assert total_minutes(bench_time(bench, {}, 1)) == 0


@given(
    st.lists(st.tuples(st.sampled_from(sorted(DRIVERS)), MINUTES, MINUTES), max_size=8),
    st.dictionaries(st.sampled_from(sorted(DRIVERS)), st.integers(0, 100_000)),
    st.integers(1, 50),
)
def test_the_sum_is_exact_whatever_the_minutes(operations, drivers, quantity):
    times = bench_time(standard(*operations), drivers, quantity)
    by = {driver for driver, _, _ in operations}
    counted: dict[str, int] = {}
    for driver, hundredths in drivers.items():
        stood_for = driver if driver in by else STANDS_IN.get(driver, driver)
        counted[stood_for] = counted.get(stood_for, 0) + hundredths
    by_hand = sum(
        (up + each * F(counted[driver], 100) * quantity
         for driver, each, up in operations if counted.get(driver)), F(0)
    )  # fmt: skip
    assert total_minutes(times) == by_hand == sum((time.minutes for time in times), F(0))


def test_a_standard_older_than_a_driver_times_it_by_the_one_that_it_came_from():
    # Polycarbonate was timed by scoring passes before it had saw cuts of its own.
    old = standard(("acrylic_scores", F("0.4"), F(1)), ("glass_scores", F("0.75"), F(0)))
    assert bench_minutes(old, {"plastic_saw_cuts": 200}, 1) == 1 + 2 * F("0.4")
    assert bench_minutes(old, {"laminated_cuts": 200, "glass_scores": 100}, 1) == 3 * F("0.75")
    assert total_minutes(bench_time(old, {"plastic_saw_cuts": 200}, 2)) == 1 + 4 * F("0.4")
    new = standard(("acrylic_scores", F("0.4"), F(1)), ("plastic_saw_cuts", F(2), F(3)))
    assert bench_minutes(new, {"plastic_saw_cuts": 200}, 1) == 3 + 2 * 2


def test_what_stands_in_is_a_driver_that_a_standard_can_time():
    assert {*STANDS_IN, *STANDS_IN.values()} <= set(DRIVERS)
    assert not set(STANDS_IN) & set(STANDS_IN.values())


def test_an_unknown_driver_and_minutes_below_nothing_are_refused():
    for driver, each, up in (("magic", 1, 0), ("rails", -1, 0), ("rails", 1, -1)):
        with pytest.raises(BadValue):
            Operation("op", "op", driver, F(each), F(up))


@pytest.mark.parametrize(
    ("wages", "overhead", "hours", "cents"),
    [
        (F(0), F(12_000), F(300), "40.00"),  # F1: published, signsofthetimes.com
        (F("26.50") * 160, F(15_700, 3), F(160), "59.21"),  # F2: published, woodweb.com 2006
        (F(0), F(100_000 - 25_000), F(20 * 4 * 8), "117.19"),  # F3: published, woodweb.com 2009
    ],
)
def test_the_published_hourly_costs(wages, overhead, hours, cents):
    assert round(hourly_cost(wages, overhead, hours), 2) == F(cents)


def test_there_is_no_hourly_cost_without_hours():
    with pytest.raises(BadValue):
        hourly_cost(F(1), F(1), F(0))


def test_the_cost_of_an_hour_is_what_its_parts_come_to():
    # By hand: (900 + 300) / 40 = 30 an hour. Neither wages nor overhead has to be there.
    assert Hour(F(900), F(300), F(40)).cost() == 30
    assert Hour(F(0), F(300), F(40)).cost() == F("7.5")
    assert Hour(F(900), F(0), F(40)).cost() == F("22.5")
    hour = Hour(F(900), F(300), F(40))
    assert LabourStandard("test", F(30), (), hour).cost_per_hour == 30
    with pytest.raises(BadValue, match="another cost") as refused:
        LabourStandard("test", F(31), (), hour)
    assert refused.value.where == "/cost_per_hour"


@pytest.mark.parametrize(
    ("wages", "overhead", "hours", "where"),
    [
        (F(-1, 100), F(300), F(40), "/wages"),
        (F(900), F(-1, 100), F(40), "/wages"),
        (F(900), F(300), F(0), "/productive_hours"),
        (F(900), F(300), F(-40), "/productive_hours"),
    ],
)
def test_an_hour_of_less_than_nothing_is_refused(wages, overhead, hours, where):
    with pytest.raises(BadValue) as refused:
        Hour(wages, overhead, hours)
    assert refused.value.where == where


def test_the_minutes_without_their_rows_are_those_of_the_rows():
    # By hand: 2 + 1/2 x 8 x 12 = 50 for the windows; 1 + 1/3 x 4 x 12 = 17 for the rails.
    bench = standard(("bevel_cuts", F("0.5"), F(2)), ("rails", F(1, 3), F(1)), ("job", F(9), F(9)))
    drivers = {"bevel_cuts": 800, "rails": 400, "job": 0}
    assert bench_minutes(bench, drivers, 12) == 67
    assert [time.minutes for time in bench_time(bench, drivers, 12)] == [50, 17]
    assert bench_minutes(bench, {}, 12) == 0


def test_a_standard_times_every_driver_that_the_invented_shop_has():
    assert {operation.driver for operation in SHOP.standard.operations} == set(DRIVERS)
