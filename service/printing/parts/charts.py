"""Small charts for a page: columns and bars to scale, as SVG without its own style or script.

Heights are exact, and written to a hundredth of a unit. A chart also gives its figures in words,
for people who cannot see it; its looks are set by the page's style sheet, by the classes `one`,
`two` and `over`.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from html import escape

from markupsafe import Markup

from service.domain.measure.rounding import decimal_text

WIDE, HIGH = 720, 270
LEFT, RIGHT, TOP, FOOT = 78, 8, 14, 54
MOST_LABELS = 9
"""The maximum number of labels side by side; of more only some are written."""
STEPS = (1, 2, 5)
BAR = 32
"""The height of a bar with its gap."""


@dataclass(frozen=True, slots=True)
class Series:
    """Figures of one kind, one for each place of the chart, none negative."""

    name: str
    kind: str
    values: tuple[Fraction, ...]


def columns(title: str, labels: Sequence[str], series: Sequence[Series]) -> Markup:
    """Return a chart with the columns of all series side by side, over a scale from zero."""
    top, step = scale(max((v for s in series for v in s.values), default=Fraction(0)))
    parts = [_head(title, HIGH, _told(labels, series))]
    for n in range(int(top / step) + 1):
        parts.append(_rule(n * step, top))
    place = Fraction(WIDE - LEFT - RIGHT, max(len(labels), 1))
    for at, label in enumerate(labels):
        left = LEFT + at * place
        parts += [_column(one.values[at], top, left, place, n, one, len(series))
                  for n, one in enumerate(series)]  # fmt: skip
        if at % (-(-len(labels) // MOST_LABELS)) == 0:
            parts.append(_text(left + place / 2, Fraction(HIGH - FOOT + 20), label, "middle"))
    parts.append(_key(series))
    parts.append("</svg>")
    return Markup("".join(parts))  # noqa: S704 — numbers, and words escaped here  # nosec B704


def bars(title: str, rows: Sequence[tuple[str, Fraction, str]]) -> Markup:
    """Return a chart of horizontal bars: a name, a figure, and its text."""
    top = max((figure for _, figure, _ in rows), default=Fraction(0)) or Fraction(1)
    high = BAR * len(rows) + 4
    told = "; ".join(f"{name} {shown}" for name, _, shown in rows)
    parts = [_head(title, high, told)]
    room = Fraction(WIDE - 330)
    for n, (name, figure, shown) in enumerate(rows):
        middle = Fraction(BAR * n + 2 + BAR // 2)
        width = room * max(figure, Fraction(0)) / top
        parts.append(_text(Fraction(0), middle + 6, name, "start"))
        parts.append(_box(Fraction(200), middle - 10, width, Fraction(20), "one"))
        parts.append(_text(206 + width, middle + 6, shown, "start"))
    parts.append("</svg>")
    return Markup("".join(parts))  # noqa: S704 — numbers, and words escaped here  # nosec B704


def scale(most: Fraction) -> tuple[Fraction, Fraction]:
    """Return a scale's end and interval: 1, 2 or 5 times a power of ten, 3 to 6 marks.

    >>> [str(part) for part in scale(Fraction(1234)) + scale(Fraction(7, 10)) + scale(Fraction(0))]
    ['1500', '500', '4/5', '1/5', '1', '1']
    """
    if most <= 0:
        return Fraction(1), Fraction(1)
    power = Fraction(1)
    while power > most / 5:
        power /= 10
    while power * 10 <= most / 5:
        power *= 10
    step = next(power * n for n in (*STEPS, 10) if power * n * 5 >= most)
    return -(-most // step) * step, step


def _told(labels: Sequence[str], series: Sequence[Series]) -> str:
    """Return the figures in words."""
    places = (
        f"{label}: " + ", ".join(f"{one.name} {_number(one.values[n])}" for one in series)
        for n, label in enumerate(labels)
    )
    return "; ".join(places)


def _head(title: str, high: int, told: str) -> str:
    return (
        f'<svg role="img" viewBox="0 0 {WIDE} {high}"><title>{escape(title)}</title>'
        f"<desc>{escape(told)}</desc>"
    )


def _rule(value: Fraction, top: Fraction) -> str:
    y = _height(value, top)
    line = f'<path class="rule" d="M{LEFT} {_unit(y)}H{WIDE - RIGHT}"/>'
    return line + _text(Fraction(LEFT - 6), y + 6, _number(value), "end")


def _height(value: Fraction, top: Fraction) -> Fraction:
    """Return the distance of a value from the top."""
    return TOP + (HIGH - TOP - FOOT) * (1 - value / top)


def _column(
    value: Fraction, top: Fraction, left: Fraction, place: Fraction, n: int, one: Series, many: int
) -> str:
    width = place * Fraction(4, 5) / many
    y = _height(value, top)
    x = left + place / 10 + n * width
    return _box(x, y, width, HIGH - FOOT - y, one.kind)


def _box(x: Fraction, y: Fraction, width: Fraction, height: Fraction, kind: str) -> str:
    return (
        f'<rect class="{kind}" x="{_unit(x)}" y="{_unit(y)}" width="{_unit(width)}" '
        f'height="{_unit(height)}"/>'
    )


def _text(x: Fraction, y: Fraction, text: str, anchor: str) -> str:
    return f'<text x="{_unit(x)}" y="{_unit(y)}" text-anchor="{anchor}">{escape(text)}</text>'


def _key(series: Sequence[Series]) -> str:
    """Return the legend below the chart."""
    parts, x = [], Fraction(LEFT)
    for one in series:
        parts.append(_box(x, Fraction(HIGH - 17), Fraction(14), Fraction(14), one.kind))
        parts.append(_text(x + 21, Fraction(HIGH - 4), one.name, "start"))
        x += 21 + 10 * len(one.name) + 24
    return "".join(parts)


def _unit(value: Fraction) -> str:
    return decimal_text(*Fraction(value).as_integer_ratio(), 2)


def _number(value: Fraction) -> str:
    return decimal_text(*value.as_integer_ratio(), 2)
