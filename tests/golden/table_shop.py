"""The invented shop in which the table of real jobs is worked, so that every figure goes by hand.

Each operation takes 1 minute a unit and 1/2 minute to set up, so that a job's minutes are the sum
of its units (times the quantity) and half a minute for each operation. Prices are those of
`tests/domain/bench_shop.py`: moulding 6.00 a foot (at least 24), mats 18, 26 or 40 up to 36, 50 and
more united inches, each further window 4, a groove 5.50, glazing 9.20 a square foot (up to the next
0.25), mount board 0.30 for the first 20 united inches and 0.20 for the rest, backing 24 a sheet by
its share, fillet 3.00 a foot and 5 a job, hardware 3.50, supplies 0.75 a square foot, hinges 2.50,
spacer 0.90 a foot, work 0.90 a minute begun.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache
from typing import Any

from schemas.jobs import JOB
from schemas.wire.document import read
from service.domain.estimates.calculation import Basis, JobEstimate, estimate_job
from service.domain.jobs.assembly import assemble
from service.domain.materials.catalogue import Catalogue, Consumable
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import Bench, Method
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket
from tests.domain.bench_shop import inch, moulding
from tests.domain.tickets.shop_jobs import every_material

MOUNTINGS = (
    Method("corners", "paper corners", "hinged_mounts"),
    Method("laced", "laced over the mount board", "laced_mounts"),
    Method("stretched", "stretched on bars", "stretched_mounts"),
    Method("floated", "hidden hinges", "float_mounts", wait="the paste is dry"),
)
BOX = moulding("BOX", "1", "1/4", rabbet_depth=inch("3"))
DEEP = moulding("DEEP", "1", "1/4", rabbet_depth=inch("1 1/2"))
SPACERS = tuple(
    Consumable(code=f"SPACER{deep}", description="", thickness=inch(deep), group="spacer")
    for deep in ("1/2", "2")
)


KINDS = {"metric shop": "metric", "shop without stops": "lines"}
"""The jobs that come into a shop of another kind."""


@cache
def shop(kind: str = "") -> Basis:
    """Return the shop; `metric` has a ruler in millimetres, `lines` works without stops."""
    given: dict[str, Any] = {}
    if kind == "metric":
        given["ruler"] = Ruler("mm", Length.millimetres(1))
    if kind == "lines":
        given["bench"] = Bench(stops=False)
    plain = every_material(**given)
    own = replace(plain.shop, mounting=(*plain.shop.mounting, *MOUNTINGS))
    items = {**plain.catalogue.items, **{item.code: item for item in (*SPACERS, BOX, DEEP)}}
    return replace(plain, shop=own, catalogue=Catalogue(items, plain.catalogue.costs))


def worked(job: Mapping[str, Any], kind: str = "") -> tuple[JobEstimate, CutTicket]:
    """Return a job document worked out in the shop, and its ticket."""
    basis = shop(kind)
    spec = read(JOB, job, unit="mm" if kind == "metric" else "in")
    made = estimate_job(assemble(spec, basis.shop, basis.catalogue), basis)
    return made, make_ticket(made, basis.shop)
