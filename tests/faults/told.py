"""What a database says at the end, held to what its callers were told on the way."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import orjson
from sqlalchemy import Engine, func, select, text

from service.domain.quotes.numbers import FIRST_SERIAL, quote_number
from service.persistence.events.tables import events
from service.persistence.quotes import quote_revisions, quotes

Figures = dict[str, Any]


def compared(engine: Engine, answers: Iterable[bytes]) -> Figures:
    """Figures that are all 0 or True where nothing was lost, doubled or changed."""
    told = [orjson.loads(answer) for answer in answers]
    with engine.connect() as connection:
        rows = connection.execute(select(quotes.c.id, quotes.c.serial)).all()
        stored = {row.id: quote_number(row.serial) for row in rows}
        serials = sorted(row.serial for row in rows)
        created = select(events.c.subject_id).where(events.c.kind == "quote.created")
        noted = list(connection.execute(created).scalars())
        revisions = select(func.count()).select_from(quote_revisions)
        kept = connection.execute(revisions).scalar_one()
    return {
        "quotes stored": len(rows),
        "acknowledged": len(told),
        "acknowledged and lost": sum(stored.get(each["id"]) != each["number"] for each in told),
        "acknowledged twice": len(told) - len({each["id"] for each in told}),
        "stored and never acknowledged": len(stored.keys() - {each["id"] for each in told}),
        "numbers given twice": len(serials) - len(set(serials)),
        "numbers left out": 0
        if not serials
        else serials[-1] - FIRST_SERIAL + 1 - len(set(serials)),
        "quotes without their one event": len(set(stored) ^ set(noted))
        + len(noted)
        - len(set(noted)),
        "quotes without their one revision": abs(kept - len(rows)),
    }


def sound(engine: Engine) -> str:
    """What SQLite says of its file: "ok"."""
    with engine.connect() as connection:
        said = connection.execute(text("PRAGMA integrity_check")).scalar_one()
        broken = connection.execute(text("PRAGMA foreign_key_check")).all()
    return str(said) if not broken else f"{len(broken)} references to nothing"


def faults_of(figures: Figures, *allowed: str) -> list[str]:
    """The figures that should be 0 and are not."""
    free = {"quotes stored", "acknowledged", *allowed}
    return [f"{name}: {value}" for name, value in figures.items() if name not in free and value]


def table(title: str, figures: Figures) -> str:
    """The figures in two columns."""
    lines = [title, *(f"  {name:<36}{value!s:>12}" for name, value in figures.items())]
    return "\n".join(lines) + "\n"
