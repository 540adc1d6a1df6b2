"""Databases and documents for the measurements; everything in them is invented."""

from __future__ import annotations

import copy
import json
from dataclasses import replace
from pathlib import Path

from service.app.keys.access import create_key
from service.cli.load_demo import load as load_demo
from service.demo import demo_catalogue, demo_document
from service.domain.materials.catalogue import Moulding
from service.persistence.sql.level import migrate
from service.settings import Settings
from service.wiring import wire


def documents(many: int) -> list[bytes]:
    """The contract's own example (two mats, glazing, frame) in many sizes."""
    made = []
    for step in range(many):
        document = copy.deepcopy(demo_document("jobs/harbour_etching"))
        artwork = document["jobs"][0]["artwork"]
        artwork["width"] = f"{8 + step // 16} {1 + 2 * (step % 8)}/16"
        artwork["height"] = f"{10 + step // 12} {1 + 2 * (step % 4)}/8"
        made.append(json.dumps(document).encode())
    return made


def prepared(folder: Path, scope: str, mouldings: int = 0, url: str = "") -> tuple[str, str]:
    """A migrated database with the demo shop; its address, and a key.

    Args:
        folder: where a SQLite file is put, unless `url` names a database.
        scope: of the key.
        mouldings: so many more, made from the demo's with other codes and widths.
        url: an empty database to use.
    """
    address = url or f"sqlite:///{folder / 'bench.sqlite3'}"
    wiring = wire(Settings.read({"DATABASE_URL": address}))
    migrate(wiring.engine.url)
    with wiring.units.writing() as uow:
        shop = load_demo(uow, wiring)
        if mouldings:
            uow.catalogue.put(shop, _more_mouldings(mouldings), wiring.clock())
            for moulding in _more_mouldings(mouldings):
                costs = demo_catalogue().costs[moulding.code.rsplit("-", 1)[0]]
                own = [replace(cost, item=moulding.code) for cost in costs]
                uow.catalogue.put_costs(shop, moulding.code, own)
        issued = create_key(uow, shop, "bench", [scope], wiring.clock())
        uow.commit()
    wiring.close()
    return address, issued.token


def _more_mouldings(many: int) -> list[Moulding]:
    own = [m for m in demo_catalogue().of_type(Moulding) if not m.floater]
    return [replace(own[n % len(own)], code=f"{own[n % len(own)].code}-{n}") for n in range(many)]
