"""Real jobs, each worked by hand in `real_jobs.csv`: one row a job, with the working in it.

Sizes and moulding are sums in inches (of the metric shop in millimetres) that this test works out;
`tan` is the tangent of 22.5°. `units` are the units of bench work of one piece in the order of the
labour standard, `lines` the amounts of the quote in its order. `because` says what is particular
to the job, and names the source: "common practice, no source" where there is none. The jobs are
in `table_jobs.py`, the shop with its prices and minutes in `table_shop.py`.
"""

from __future__ import annotations

import ast
import csv
import re
from fractions import Fraction
from pathlib import Path

import pytest

from service.domain.estimates.calculation import JobEstimate
from service.domain.measure.length import Length, Size
from service.domain.tickets.model import CutTicket
from tests.golden.table_jobs import JOBS
from tests.golden.table_shop import KINDS, worked

TABLE = Path(__file__).with_name("real_jobs.csv").read_text(encoding="utf-8")
ROWS = {row["job"]: row for row in csv.DictReader(TABLE.splitlines())}
TAN = Fraction("0.414213562373095")
"""tan 22.5° = √2 - 1."""
Row = dict[str, str]


def value(text: str) -> Fraction:
    """Return a sum of the table: 2*(11 3/4 + 13 3/4) + 8*1 1/4."""
    whole = re.sub(r"(\d+) (\d+/\d+)", r"(\1+\2)", text)
    return _value(ast.parse(whole, mode="eval").body)


def _value(node: ast.expr) -> Fraction:
    if isinstance(node, ast.Constant):
        return Fraction(str(node.value))
    if isinstance(node, ast.Name):
        return TAN
    assert isinstance(node, ast.BinOp)
    left, right = _value(node.left), _value(node.right)
    return {
        ast.Add: lambda: left + right,
        ast.Sub: lambda: left - right,
        ast.Mult: lambda: left * right,
        ast.Div: lambda: left / right,
    }[type(node.op)]()


def said(text: str) -> tuple[Fraction, ...]:
    """Return the terms of a sum, each worked out."""
    return tuple(Fraction(term) for term in text.split(" + "))


@pytest.fixture(scope="module", params=list(ROWS))
def case(request: pytest.FixtureRequest) -> tuple[Row, JobEstimate, CutTicket]:
    name = request.param
    return ROWS[name], *worked(JOBS[name], KINDS.get(name, ""))


def measured(length: Length, row: Row) -> Fraction:
    metric = KINDS.get(row["job"]) == "metric"
    return length.in_millimetres() if metric else length.in_inches()


def is_size(size: Size | None, text: str, row: Row) -> bool:
    if size is None:
        return text == "none"
    wanted = [value(part) for part in text.split(" x ")]
    return [measured(size.width, row), measured(size.height, row)] == wanted


def test_the_sizes(case):
    row, made, _ = case
    sizes = made.sizes
    assert is_size(sizes.package, row["package"], row)
    if row["outside"] == "the package":
        assert sizes.outside == sizes.package
    else:
        assert is_size(sizes.outside, row["outside"], row)
    assert bool(row["opening"]) == bool(sizes.layers)
    if sizes.layers:
        window = sizes.layers[-1].windows[0].size
        assert is_size(window, row["opening"], row)


def test_the_moulding(case):
    row, made, _ = case
    wanted = [value(part) for part in row["moulding"].split(" | ") if part]
    found = [measured(frame.footage(), row) for frame in made.sizes.frames]
    assert len(found) == len(wanted)
    # A polygon's sides are whole sixteenths of a micrometre.
    near = Fraction(1, 100_000) if "tan" in row["moulding"] else 0
    assert all(abs(one - other) <= near for one, other in zip(found, wanted, strict=True))


def test_the_bench_work_and_its_minutes(case):
    row, made, ticket = case
    units = said(row["units"])
    assert tuple(time.units for time in made.times) == units
    minutes = sum(units) * made.job.quantity + Fraction(len(units), 2)
    assert made.minutes == ticket.minutes == minutes


def test_the_lines(case):
    row, made, _ = case
    amounts = said(row["lines"])
    assert tuple(line.amount.units() for line in made.lines) == amounts
    assert made.subtotal.units() == sum(amounts)


def test_the_ticket(case):
    row, _, ticket = case
    assert (len(ticket.steps), ticket.set_ups.changes) == (int(row["steps"]), int(row["set_ups"]))
    assert ticket.set_ups.proved


def test_every_job_is_in_the_table_once_and_says_why():
    assert list(ROWS) == list(JOBS)
    assert len(ROWS) >= 40
    assert all(row["because"] for row in ROWS.values())
