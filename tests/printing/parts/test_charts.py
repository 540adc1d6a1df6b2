"""Charts: marks that read well, and columns whose heights are as their figures."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from xml.etree import ElementTree

from hypothesis import given
from hypothesis import strategies as st

from service.printing.parts.charts import Series, bars, columns, scale

FIGURES = st.fractions(min_value=0, max_value=10**9, max_denominator=100)


@given(FIGURES)
def test_a_scale_holds_the_figure_with_few_round_marks(most: Fraction) -> None:
    top, step = scale(most)
    assert top >= most
    assert top % step == 0
    assert 1 <= top / step <= 6
    assert str(step.limit_denominator()).strip("0/").lstrip("1") in ("", "0", "2", "5") or (
        Fraction(step.numerator, step.denominator) in (Fraction(1, 5), Fraction(1, 2)) or step < 1
    )


@given(st.lists(FIGURES, min_size=1, max_size=20))
def test_heights_are_in_proportion(values: list[Fraction]) -> None:
    drawn = columns("Test", [str(n) for n in range(len(values))],
                    [Series("one", "one", tuple(values))])  # fmt: skip
    rects = list(ElementTree.fromstring(drawn).iter("rect"))[: len(values)]  # noqa: S314
    top, _ = scale(max(values))
    for rect, value in zip(rects, values, strict=True):
        height = Fraction(Decimal(rect.get("height", "")))
        assert abs(height - 202 * value / top) <= Fraction(1, 100)


def test_names_are_shown_as_text() -> None:
    name = '<b>"&'
    for drawn in (
        columns(name, [name], [Series(name, "one", (Fraction(1),))]),
        bars(name, [(name, Fraction(1), name)]),
    ):
        root = ElementTree.fromstring(drawn)  # noqa: S314
        assert root.findtext("title") == name
        assert name in [text.text for text in root.iter("text")]


def test_a_chart_of_nothing_is_a_chart() -> None:
    ElementTree.fromstring(columns("Test", [], []))  # noqa: S314
    ElementTree.fromstring(bars("Test", []))  # noqa: S314
