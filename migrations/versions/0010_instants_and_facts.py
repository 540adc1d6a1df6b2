"""Instants of changes in their order; facts of what was sold before there were facts.

Each shop's quotes and items keep the instant of their last change, which later ones never go below;
it begins with the latest one there is that is not ahead of the clock. A quote that changed before
it was stored, by another node's clock, is put right.

What was sold before level 0007 is told by the stored answers of accepted quotes, which hold every
line, discount, tax and material; the facts come to the same as if they had been noted then.

Revision ID: 0010
Revises: 0009
"""

from __future__ import annotations

import json
import zlib
from collections.abc import Iterable, Sequence
from datetime import UTC, datetime
from fractions import Fraction
from math import lcm
from typing import Any

import sqlalchemy as sa
from alembic import op
from sqlalchemy.dialects import postgresql

revision = "0010"
down_revision = "0009"
branch_labels = None
depends_on = None

INSTANT = sa.String(27).with_variant(postgresql.TIMESTAMP(timezone=True), "postgresql")
AT_ONCE = 200
FEE = "fee"
MILLION = 1_000_000

_counters = sa.table("counters", *map(sa.column, ("shop_id", "series", "last_value", "stamped_at")))
_quotes = sa.table(
    "quotes",
    *map(sa.column, ("id", "shop_id", "status", "revision", "created_at", "updated_at")),
)
_revisions = sa.table(
    "quote_revisions", *map(sa.column, ("quote_id", "revision", "result", "papers", "costs"))
)
_papers = sa.table("papers", sa.column("digest"), sa.column("document"))
_tickets = sa.table("cut_tickets", *map(sa.column, ("quote_id", "created_at", "updated_at")))
_items = sa.table("items", *map(sa.column, ("shop_id", "updated_at")))
_sales = sa.table(
    "sales",
    *map(
        sa.column,
        (
            *("quote_id", "shop_id", "accepted_at", "withdrawn_at", "currency"),
            *("total_minor", "tax_minor", "cost_minor", "cost_currency"),
        ),
    ),
)
_parts = sa.table("sale_parts", *map(sa.column, ("quote_id", "component", "item", "net_minor")))
_materials = sa.table(
    "sale_materials", *map(sa.column, ("quote_id", "item", "basis", "millionths"))
)


def upgrade() -> None:
    op.add_column("counters", sa.Column("stamped_at", INSTANT, nullable=True))
    connection = op.get_bind()
    early = _quotes.c.updated_at < _quotes.c.created_at
    connection.execute(sa.update(_quotes).where(early).values(updated_at=_quotes.c.created_at))
    _begin_instants(connection)
    _note_sales(connection)


def downgrade() -> None:
    """The facts stay: they are as true at the level before."""
    op.get_bind().execute(sa.delete(_counters).where(_counters.c.series == "item"))
    with op.batch_alter_table("counters") as batch:
        batch.drop_column("stamped_at")


def _begin_instants(connection: sa.Connection) -> None:
    now: Any = datetime.now(UTC)
    if connection.dialect.name == "sqlite":
        now = now.replace(tzinfo=None).isoformat(timespec="microseconds") + "Z"
    for series, table in (("quote", _quotes), ("item", _items)):
        c = table.c
        latest = (
            sa.select(c.shop_id, sa.func.max(c.updated_at).label("at"))
            .where(c.updated_at <= now)
            .group_by(c.shop_id)
        )
        for row in connection.execute(latest).all():
            mine = _counters.c.shop_id == row.shop_id, _counters.c.series == series
            done = connection.execute(sa.update(_counters).where(*mine).values(stamped_at=row.at))
            if not done.rowcount:
                first = {"shop_id": row.shop_id, "series": series, "last_value": 10_000}
                connection.execute(sa.insert(_counters).values(**first, stamped_at=row.at))


def _note_sales(connection: sa.Connection) -> None:
    """Note the sale of every accepted quote that has none: those that have tickets."""
    noted = sa.exists().where(_sales.c.quote_id == _quotes.c.id)
    sold = sa.exists().where(_tickets.c.quote_id == _quotes.c.id)
    missing = sa.select(_quotes.c.id).where(sold, ~noted).order_by(_quotes.c.id)
    ids = list(connection.execute(missing).scalars())
    for start in range(0, len(ids), AT_ONCE):
        _note_some(connection, ids[start : start + AT_ONCE])


def _note_some(connection: sa.Connection, ids: Sequence[str]) -> None:
    taken = sa.and_(
        _revisions.c.quote_id == _quotes.c.id, _revisions.c.revision == _quotes.c.revision
    )
    wanted = (
        sa.select(
            *(_quotes.c.id, _quotes.c.shop_id, _quotes.c.status),
            *(_revisions.c.result, _revisions.c.papers, _revisions.c.costs),
            sa.func.min(_tickets.c.created_at).label("accepted_at"),
            sa.func.max(_tickets.c.updated_at).label("withdrawn_at"),
        )
        .join(_revisions, taken)
        .join(_tickets, _tickets.c.quote_id == _quotes.c.id)
        .where(_quotes.c.id.in_(ids))
        .group_by(
            *(_quotes.c.id, _quotes.c.shop_id, _quotes.c.status),
            *(_revisions.c.result, _revisions.c.papers, _revisions.c.costs),
        )
    )
    rows = connection.execute(wanted).all()
    shops = _shops(connection, {_shop_paper(row.papers) for row in rows})
    for row in rows:
        _note(connection, row, shops[_shop_paper(row.papers)])


def _read(stored: str | bytes) -> dict[str, Any]:
    """Read a stored document; a later release keeps it compressed in SQLite."""
    found: dict[str, Any] = json.loads(
        zlib.decompress(stored) if isinstance(stored, bytes) else stored
    )
    return found


def _note(connection: sa.Connection, row: Any, shop: dict[str, Any]) -> None:
    result, cost = _read(row.result), _read(row.costs).get("cost")
    totals = result["totals"]
    tax = _tax(totals)
    sale = {
        "quote_id": row.id,
        "shop_id": row.shop_id,
        "accepted_at": row.accepted_at,
        "withdrawn_at": row.withdrawn_at if row.status == "withdrawn" else None,
        "currency": result["currency"],
        "total_minor": _minor(totals["total"]),
        "tax_minor": tax,
        "cost_minor": None if cost is None else _minor(cost),
        "cost_currency": shop["currency"],
    }
    connection.execute(sa.insert(_sales), sale)
    for table, found in ((_parts, _sold(result, shop)), (_materials, _used(result))):
        if found:
            connection.execute(sa.insert(table), [{"quote_id": row.id, **one} for one in found])


def _sold(result: dict[str, Any], shop: dict[str, Any]) -> list[dict[str, Any]]:
    """What the shop keeps of each item in each component, without tax and after every discount."""
    lines = [line for job in result["jobs"] for line in job["lines"]]
    kept: dict[tuple[str, str], int] = {}
    for line, net in zip(lines, _nets(result, shop), strict=True):
        key = line["component"], line.get("item") or ""
        kept[key] = kept.get(key, 0) + net
    return [{"component": c, "item": i, "net_minor": net} for (c, i), net in kept.items()]


def _nets(result: dict[str, Any], shop: dict[str, Any]) -> list[int]:
    totals, left, lines = result["totals"], list[int](), list[dict[str, Any]]()
    for job in result["jobs"]:
        own = job["lines"]
        amounts = [_minor(line["amount"]) for line in own]
        named = job.get("discounts", ())
        of_quantity = _minor(job["discount"]) - sum(_minor(one["amount"]) for one in named)
        _take_off(amounts, own, of_quantity, "")
        for one in named:
            _take_off(amounts, own, _minor(one["amount"]), one.get("component", ""))
        left += amounts
        lines += own
    for one in totals.get("discounts", ()):
        _take_off(left, lines, _minor(one["amount"]), "")
    if not totals["tax_included"] or not any(left):
        return left
    taken = _tax_in_price(shop, totals.get("tax_place", ""))
    weights = [
        minor * taken.get(line.get("tax_category", ""), Fraction(1))
        for minor, line in zip(left, lines, strict=True)
    ]
    return _shared(_minor(totals["total"]) - _tax(totals), weights)


def _take_off(left: list[int], lines: Sequence[dict[str, Any]], off: int, component: str) -> None:
    """Take a discount off the lines that it is of; fees are never reduced."""
    if not off:
        return
    places = [
        place
        for place, line in enumerate(lines)
        if line["component"] != FEE and component in ("", line["component"])
    ]
    shares = _shared(off, [Fraction(left[place]) for place in places])
    for place, share in zip(places, shares, strict=True):
        left[place] -= share


def _shared(minor: int, weights: Sequence[Fraction]) -> list[int]:
    """In proportion to weights, adding up exactly (largest remainder, first on a tie)."""
    scale = lcm(*(weight.denominator for weight in weights))
    whole = [int(weight * scale) for weight in weights]
    total = sum(whole)
    shares = [minor * weight // total for weight in whole]
    order = sorted(range(len(whole)), key=lambda i: (-(minor * whole[i] % total), i))
    for i in order[: minor - sum(shares)]:
        shares[i] += 1
    return shares


def _tax_in_price(shop: dict[str, Any], place: str) -> dict[str, Fraction]:
    """The part of a price that is left without its tax, for each tax category."""
    percents: dict[str, Fraction] = {}
    for rate in shop.get("taxation", {}).get("rates", ()):
        if rate.get("place", "") == place:
            category = rate.get("category", "")
            percents[category] = percents.get(category, Fraction(0)) + Fraction(rate["percent"])
    return {category: 100 / (100 + percent) for category, percent in percents.items()}


def _tax(totals: dict[str, Any]) -> int:
    if totals["tax"] is not None:
        return _minor(totals["tax"])
    return sum(_minor(tax["amount"]) for tax in totals["taxes"])


def _used(result: dict[str, Any]) -> list[dict[str, Any]]:
    """How much of each item was used, on each basis."""
    used: dict[tuple[str, str], int] = {}
    for job in result["jobs"]:
        for material in job["materials"]:
            key = material["item"], material["basis"]
            used[key] = used.get(key, 0) + int(Fraction(material["quantity"]) * MILLION)
    return [{"item": i, "basis": b, "millionths": n} for (i, b), n in used.items()]


def _minor(text: str) -> int:
    """An amount in minor units; its text has all of its currency's decimals."""
    return int(text.replace(".", ""))


def _shop_paper(papers: str) -> str:
    """The digest of the shop's settings among the papers that a quote rests on."""
    return next(p.partition(":")[2] for p in papers.split() if p.startswith("shop:"))


def _shops(connection: sa.Connection, digests: Iterable[str]) -> dict[str, dict[str, Any]]:
    wanted = sa.select(_papers).where(_papers.c.digest.in_(sorted(digests)))
    return {row.digest: json.loads(row.document) for row in connection.execute(wanted)}
