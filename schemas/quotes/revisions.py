"""Revisions of a stored quote: how they are shown, and the changes between two, in words.

Changes are derived from the two stored answers alone, so that they match what the customer saw.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, cast

import msgspec
import orjson
from msgspec import Raw

from schemas.estimates.shapes import Costs
from schemas.quotes.records import DatedRevision, QuoteHead, Revision
from schemas.quotes.shapes import Change, RevisionRow, RevisionTop
from schemas.wire.figures import instant, spliced
from schemas.wire.record import UNSET, Record

Answer = Mapping[str, Any]
SIZES = {
    "shows": "what shows of the art",
    "opening": "the opening",
    "package": "the package",
    "rabbet": "the rabbet",
    "frame_sight": "the frame's sight size",
    "outside": "the outside",
}
SUMS = {
    "subtotal": "the subtotal",
    "discount": "the discount",
    "tax": "the tax",
    "total": "the total",
}


class _Total(Record):
    """The total in a stored answer."""

    total: str


class _Stored(Record):
    """The parts of a stored answer that a list shows."""

    price_list: str
    currency: str
    totals: _Total


def revision_row(revision: DatedRevision) -> RevisionRow:
    """Return a revision as a list shows it."""
    answer = msgspec.json.decode(revision.result, type=_Stored)
    return RevisionRow(
        revision=revision.number,
        choice=revision.choice or None,
        created_at=instant(revision.created_at),
        price_list=answer.price_list,
        currency=answer.currency,
        total=answer.totals.total,
    )


def revision_document(head: QuoteHead, revision: DatedRevision, costs: bytes | None) -> bytes:
    """Return one whole revision: a head, then the unchanged bytes of its stored answer."""
    top = RevisionTop(
        id=head.id,
        number=head.number,
        revision=revision.number,
        created_at=instant(revision.created_at),
        costs=UNSET if costs is None else cast(Costs, Raw(costs)),
    )
    return spliced(top, revision.result)


def changes(before: Revision, after: Revision) -> tuple[Change, ...]:
    """Return the changes from one revision to the next, one sentence each, with its pointer."""
    was, now = orjson.loads(before.result), orjson.loads(after.result)
    told = [
        *_asked(orjson.loads(before.request), orjson.loads(after.request)),
        *_plain(was, now, "price_list", "the price list"),
        *_plain(was, now, "currency", "the currency"),
        *_jobs(was["jobs"], now["jobs"]),
        *_sums(was["totals"], now["totals"], ("subtotal", "discount", "tax", "total"), "/totals"),
    ]
    return tuple([Change(path, f"{text[0].upper()}{text[1:]}.") for path, text in told])


def _asked(was: Answer, now: Answer) -> Iterator[tuple[str, str]]:
    """Yield changes of the customer and reference; contact data are never repeated here."""
    old, new = was.get("reference") or "", now.get("reference") or ""
    if old != new:
        yield "/reference", f'the reference is "{new}" instead of "{old}"'
    before, after = was.get("customer") or {}, now.get("customer") or {}
    for name in ("name", "email", "telephone", "note"):
        if (before.get(name) or "") != (after.get(name) or ""):
            yield f"/customer/{name}", f"the customer's {name} is another"


def _plain(was: Answer, now: Answer, name: str, words: str) -> Iterator[tuple[str, str]]:
    if was[name] != now[name]:
        yield f"/{name}", f"{words} is {now[name]} instead of {was[name]}"


def _jobs(was: Sequence[Answer], now: Sequence[Answer]) -> Iterator[tuple[str, str]]:
    pairs, gone = _paired(was, now)
    for position, job in enumerate(now):
        path, name = f"/jobs/{position}", _name(job, position)
        old = pairs.get(position)
        if old is None:
            yield path, f"{name} is new, at {job['subtotal']}"
        else:
            for below, text in _job(was[old], job):
                yield path + below, f"{name}: {text}"
    for position in gone:
        yield "/jobs", f"{_name(was[position], position)} is gone"


def _paired(was: Sequence[Answer], now: Sequence[Answer]) -> tuple[dict[int, int], list[int]]:
    """Return each job's previous index, matched by label, then by order; and the removed jobs."""
    left = list(range(len(was)))
    pairs: dict[int, int] = {}
    for position, job in enumerate(now):
        same = next((at for at in left if job["label"] and was[at]["label"] == job["label"]), None)
        if same is not None:
            pairs[position] = same
            left.remove(same)
    for position in range(len(now)):
        if position not in pairs and left:
            pairs[position] = left.pop(0)
    return pairs, left


def _name(job: Answer, position: int) -> str:
    return f"job {position + 1} ({job['label']})" if job["label"] else f"job {position + 1}"


def _job(was: Answer, now: Answer) -> Iterator[tuple[str, str]]:
    for name in ("label", "quantity"):
        if was[name] != now[name]:
            yield f"/{name}", f"the {name} is {now[name]!s} instead of {was[name]!s}"
    for name, words in SIZES.items():
        old, new = was["sizes"][name], now["sizes"][name]
        if old != new:
            yield f"/sizes/{name}", f"{words} is {_size(new)} instead of {_size(old)}"
    yield from _lines(was["lines"], now["lines"])
    yield from _sums(was, now, ("subtotal", "discount"), "")
    yield from _advisories(was["advisories"], now["advisories"])


def _size(size: Answer | None) -> str:
    if size is None:
        return "none"
    return f"{size['width']['shop']} x {size['height']['shop']}"


def _lines(was: Sequence[Answer], now: Sequence[Answer]) -> Iterator[tuple[str, str]]:
    """Yield changes of each component's items and line amounts."""
    old, new = _by_part(was), _by_part(now)
    for key in [*new, *(key for key in old if key not in new)]:
        yield from (("/lines", text) for text in _part(key, old.get(key, []), new.get(key, [])))


def _by_part(lines: Sequence[Answer]) -> dict[str, list[Answer]]:
    found: dict[str, list[Answer]] = {}
    for line in lines:
        layer = f" {line['layer']}" if line.get("layer", 1) > 1 else ""
        found.setdefault(f"{line['component']}{layer}".replace("_", " "), []).append(line)
    return found


def _part(part: str, was: list[Answer], now: list[Answer]) -> Iterator[str]:
    old = [line for line in was if not any(_same(line, other) for other in now)]
    new = [line for line in now if not any(_same(line, other) for other in was)]
    for line in now:
        same = next((other for other in was if _same(line, other)), None)
        if same is not None and same["amount"] != line["amount"]:
            yield f"{part} {_item(line)} comes to {_sum(line)} instead of {_sum(same)}"
    for gone, come in zip(old, new, strict=False):
        before = f"{_item(gone)} ({gone['amount']})"
        yield f"{part} {_item(come)} ({come['amount']}) in place of {before}"
    for come in new[len(old) :]:
        yield f"{part} {_item(come)} is new, at {come['amount']}"
    for gone in old[len(new) :]:
        yield f"{part} {_item(gone)} ({gone['amount']}) is gone"


def _same(one: Answer, other: Answer) -> bool:
    return _item(one) == _item(other) and one["charge"] == other["charge"]


def _item(line: Answer) -> str:
    return str(line["item"] or line["description"])


def _sum(line: Answer) -> str:
    pieces = f" x {line['pieces']}" if line["pieces"] > 1 else ""
    basis = line["basis"].replace("_", " ")
    return f"{line['amount']} ({line['quantity']} {basis} at {line['rate']}{pieces})"


def _sums(was: Answer, now: Answer, names: Sequence[str], below: str) -> Iterator[tuple[str, str]]:
    for name in names:
        if was[name] != now[name]:
            new, old = (amount or "not known" for amount in (now[name], was[name]))
            yield f"{below}/{name}", f"{SUMS[name]} is {new} instead of {old}"


def _advisories(was: Sequence[Answer], now: Sequence[Answer]) -> Iterator[tuple[str, str]]:
    old = {(one["code"], one["message"]) for one in was}
    new = {(one["code"], one["message"]) for one in now}
    for one in now:
        if (one["code"], one["message"]) not in old:
            yield "/advisories", f"{one['severity']}: {one['message']}"
    for one in was:
        if (one["code"], one["message"]) not in new:
            yield "/advisories", f"no longer: {one['message']}"
