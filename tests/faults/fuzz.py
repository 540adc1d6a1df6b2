"""Random texts for the two readers of free text: the length grammar and the CSV reader.

    python -m tests.faults.fuzz MINUTES [SEED]

Whatever is read must be a length on the grid and within its bounds, and must be the same when it is
written out and read again; whatever is not must be refused by name, at once. A CSV file gives rows
or faults with a line and a column, and never an exception. CI runs the same checks for a moment
(`tests/faults/test_fuzz.py`).
"""

from __future__ import annotations

import csv
import io
import sys
import time
from collections import Counter
from collections.abc import Callable
from fractions import Fraction

from hypothesis import HealthCheck, given, seed, settings
from hypothesis import strategies as st

from schemas.prices.csv import ITEM_FILES, ORDER, SCHEMAS, item_cells, rows_of, table_of
from service.demo import demo_catalogue
from service.domain.errors import BadLength
from service.domain.measure.length import LONGEST, Length
from service.domain.measure.parse import LONGEST_TEXT, read_length, read_size
from service.persistence.materials.catalogue import KINDS

TICKS = {
    "in": Fraction(406_400),
    "ft": Fraction(4_876_800),
    "mm": Fraction(16_000),
    "cm": Fraction(160_000),
    "m": Fraction(16_000_000),
}
"""1/16 µm in each unit: 1 in is 25.4 mm by the international agreement of 1959."""
SLOW = 0.5
"""Seconds of work after which a single text took too long."""
SEEN: Counter[str] = Counter()

_digits = st.text("0123456789", min_size=1, max_size=9)
_mark = st.sampled_from(
    ["/", ".", " ", "-", "–", "⁄", ",", "e", "x", "×", "by", "*", "''", "+", ""]
)
_unit = st.sampled_from(
    ["in", "in.", "inch", '"', "″", "”", "ft", "'", "′", "mm", "cm", "m", "IN", "Feet", "yd", "µm"]
)
_odd = st.sampled_from(
    ["½", "⅜", "¼", "㎜", "٣", "１", "\u00a0", "\u2009", "\0", "\n", "\ud800", "²"]
)
_pieces = st.one_of(_digits, _digits, _mark, _unit, _odd, st.text(max_size=3))
LENGTHS = st.one_of(
    st.lists(_pieces, max_size=9).map("".join),
    st.builds("{} {}/{}{}".format, _digits, _digits, _digits, _unit),
    st.builds("{}.{} {}".format, _digits, _digits, _unit),
    st.builds("{} ft {}".format, _digits, _digits),
    st.text(max_size=LONGEST_TEXT + 2),
)
_cell = st.one_of(
    LENGTHS, st.sampled_from(['"', '""', '"a', ",", ";", "'", "=1+1", "yes", "96 in"])
)
_line = st.lists(_cell, max_size=14).map(",".join)


def _written(cells: list[str]) -> str:
    out = io.StringIO()
    csv.writer(out, lineterminator="").writerow([c.replace("\0", "") for c in cells])
    return out.getvalue()


_sound = st.lists(_cell, max_size=14).map(_written)
LINES = st.lists(st.one_of(_line, _sound), max_size=6)


def check_length(text: str, unit: str) -> None:
    """A text gives a sound length or a refusal, quickly."""
    begun = time.process_time()
    try:
        length = read_length(text, unit)
    except BadLength as refused:
        told = refused.message
    else:
        told = ""
        _sound_length(length, text, unit)
    SEEN["lengths refused" if told else "lengths read"] += 1
    assert len(told) < 300
    assert time.process_time() - begun < SLOW, text


def _sound_length(length: Length, text: str, unit: str) -> None:
    assert type(length.ticks) is int
    assert 0 <= length.ticks <= LONGEST
    assert any(c.isdigit() or c in "¼½¾⅓⅔⅛⅜⅝⅞⅐⅑⅒⅕⅖⅗⅘⅙⅚" for c in text)
    whole, part = divmod(length.ticks, 16_000)  # every tick is a whole number of 1/16000 mm
    again = f"{whole}.{part * 10**7 // 16_000:07d} mm"
    assert read_length(again, unit) == length
    assert read_size(f"{again} x {again}", unit).width == length


def check_mixed(whole: int, over: int, under: int, unit: str) -> None:
    """What is written as a mixed number is what `Fraction` says it is, or refused."""
    exact = (whole + Fraction(over, under)) * TICKS[unit]
    text = f"{whole} {over}/{under} {unit}"
    try:
        length = read_length(text, "in")
    except BadLength:
        assert exact.denominator != 1 or exact > LONGEST or over >= under or len(text) > 40, text
        SEEN["fractions refused"] += 1
        return
    SEEN["fractions read"] += 1
    assert length.ticks == exact, text


def check_csv(name: str, header: list[str], lines: list[str], unit: str) -> None:
    """A file gives rows, each of them read or faulty at a place; nothing else comes out."""
    text = "\n".join([",".join(header), *lines])
    begun = time.process_time()
    for row in rows_of(name, io.StringIO(text, newline=""), unit):
        SEEN["rows refused" if row.faults else "rows read"] += 1
        assert row.line >= 1
        assert (row.value is None) == bool(row.faults)
        for fault in row.faults:
            assert fault.detail
            assert fault.line == row.line
    assert time.process_time() - begun < SLOW, text


def check_torn(data: bytes) -> None:
    """Bytes that are no file at all."""
    for name in ORDER:
        with io.TextIOWrapper(io.BytesIO(data), encoding="utf-8-sig", newline="") as file:
            for row in rows_of(name, file, "in"):
                assert row.faults or row.value is not None
    SEEN["torn files"] += 1


def _headers(name: str) -> st.SearchStrategy[list[str]]:
    own = list(table_of(name))
    return st.one_of(st.just(own), st.permutations(own), st.lists(_cell, max_size=5))


_ITEMS = {
    name: [
        item_cells(name, i) for i in demo_catalogue().items.values() if KINDS[type(i)].name == kind
    ]
    for name, kind in ITEM_FILES.items()
}
"""The demo shop's items as rows."""


@st.composite
def _nearly_sound(draw: st.DrawFn) -> tuple[str, list[str], list[str]]:
    """Rows of the demo shop in which up to two cells are something else."""
    name = draw(st.sampled_from(sorted(_ITEMS)))
    lines = []
    for row in draw(st.lists(st.sampled_from(_ITEMS[name]), min_size=1, max_size=4)):
        cells = list(row)
        for _ in range(draw(st.integers(0, 2))):
            cells[draw(st.integers(0, len(cells) - 1))] = draw(_cell)
        lines.append(_written(cells))
    return name, list(table_of(name)), lines


FILES = st.one_of(
    _nearly_sound(),
    st.sampled_from(list(SCHEMAS)).flatmap(
        lambda name: st.tuples(st.just(name), _headers(name), LINES)
    ),
)
UNITS = st.sampled_from(["in", "mm", "cm"])


def rounds(examples: int, start: int | None) -> list[Callable[[], None]]:
    """The four checks, each over so many examples; derandomised where there is no seed."""
    same = settings(
        max_examples=examples,
        derandomize=start is None,
        database=None,
        deadline=None,
        suppress_health_check=list(HealthCheck),
    )
    number = st.integers(0, 9_999)
    under = st.one_of(st.sampled_from([2, 4, 8, 16, 32, 64, 127, 128]), st.integers(1, 9_999))
    made = [
        given(LENGTHS, UNITS)(check_length),
        given(st.integers(0, 99), number, under, st.sampled_from(list(TICKS)))(check_mixed),
        given(FILES, UNITS)(lambda file, unit: check_csv(*file, unit)),
        given(st.binary(max_size=200))(check_torn),
    ]
    if start is None:
        return [same(each) for each in made]
    return [seed(start)(same(each)) for each in made]


def main(minutes: float, start: int) -> None:
    """Run rounds until the time is over, and print what came of them."""
    ends = time.monotonic() + minutes * 60
    turn = 0
    while time.monotonic() < ends:
        for check in rounds(500, start + turn):
            check()
        turn += 1
    sys.stdout.write(
        f"{minutes:g} minutes ({time.process_time():.0f} s of processor time), {turn} rounds "
        f"from seed {start}: nothing broke\n"
    )
    for what, count in sorted(SEEN.items()):
        sys.stdout.write(f"  {what:<20}{count:>12,}\n")


if __name__ == "__main__":
    given_ = sys.argv[1:]
    main(float(given_[0]) if given_ else 10, int(given_[1]) if given_[1:] else 1)
