"""Choosing whole patterns, and following or stopping a long plan."""

import subprocess
import sys

import pytest

from service.domain.cutting.patterns.choice import Choice, cheapest, gathered, within_cost
from service.domain.cutting.patterns.master import Pattern, Task
from service.domain.cutting.sheets.plan import plan_sheets
from service.domain.cutting.sticks.plan import plan_sticks
from service.domain.cutting.watch import PlanCancelled, Watch
from tests.bench.cutting_instances import kept

TASK = Task((4, 4), (99, 99), (10, 25), (None, 1))
ONE_EACH = Pattern(0, (1, 1), largest=3, total=3, cuts=2)
TWO_OF_FIRST = Pattern(0, (2, 0), largest=1, total=1, cuts=1)
MANY = Pattern(1, (3, 4), largest=5, total=5, cuts=7)


def test_the_cheapest_whole_patterns_are_chosen_over_a_poor_start():
    start = gathered([ONE_EACH] * 4)
    found = cheapest(TASK, [ONE_EACH, TWO_OF_FIRST, MANY], start, 100)
    assert found.rank(TASK)[0] == 35
    assert not any(found.short(TASK))


def test_a_start_that_is_best_is_kept():
    start = gathered([MANY, ONE_EACH])
    assert cheapest(TASK, [ONE_EACH], start, 100) == start


def test_what_no_pattern_makes_is_short_at_its_penalty():
    found = cheapest(TASK, [TWO_OF_FIRST], Choice(()), 100)
    assert found.short(TASK) == [0, 4]
    assert found.rank(TASK)[0] == 20 + 4 * 99


def test_within_a_cost_the_largest_offcuts_are_chosen():
    # Of the two plans that cost 35, one leaves 5 + 3 and the other 5 + 1.
    found = within_cost(TASK, [ONE_EACH, TWO_OF_FIRST, MANY], 35, 100, unit=10)
    assert found.rank(TASK) == (35, -5, -8, 9)


def test_progress_is_reported_in_steps_that_end_at_the_total():
    job, seen = kept("shop_mat40d_rem"), []
    plan_sheets(job.stock, job.pieces, job.rules, Watch(lambda *step: seen.append(step)))
    assert len({total for _, total in seen}) == 1
    assert [done for done, _ in seen] == sorted(done for done, _ in seen)
    assert seen[-1][0] == seen[-1][1]


@pytest.mark.parametrize("name", ["shop_mat40d_rem", "shop_rail40b_rem"])
def test_a_plan_can_be_stopped(name):
    job, seen = kept(name), []
    planner = plan_sticks if "rail" in name else plan_sheets
    watch = Watch(lambda *step: seen.append(step), lambda: len(seen) >= 2)
    with pytest.raises(PlanCancelled) as stopped:
        planner(job.stock, job.pieces, job.rules, watch)
    assert stopped.value.code == "plan_cancelled"
    assert len(seen) == 2


def test_the_package_and_its_plans_load_without_the_solver():
    # The service's start must not pay for numpy and HiGHS; they load with the first plan.
    code = (
        "import sys, service.domain.cutting, service.domain.cutting.plan,"
        " service.domain.cutting.check, service.domain.cutting.steps;"
        "assert not {'numpy', 'highspy'} & set(sys.modules)"
    )
    subprocess.run([sys.executable, "-c", code], check=True)


def test_the_solver_prints_nothing():
    code = (
        "from service.domain.cutting.sticks.plan import plan_sticks;"
        "from service.domain.cutting.stock import StickPiece, StickStock;"
        "plan_sticks([StickStock('s', 10, 1)], [StickPiece('a', 3, 7), StickPiece('b', 4, 5)])"
    )
    done = subprocess.run([sys.executable, "-c", code], check=True, capture_output=True)
    assert (done.stdout, done.stderr) == (b"", b"")
