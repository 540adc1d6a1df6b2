"""Requests of every kind that a shop sends, no two alike; the same ones from the same seed."""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from service.demo import demo_catalogue, demo_jobs
from service.domain.materials.catalogue import Board, Fillet, Glazing, Moulding

BULK = "application/x-ndjson"


@dataclass(frozen=True, slots=True)
class Sent:
    """One request; `QUOTE` in its path stands for the number of a quote that is there."""

    method: str
    path: str
    body: bytes = b""
    kind: str = "application/json"
    accept: str = "application/json"


QUOTE = "{quote}"


class Varied:
    """Makes requests; what they ask for differs from one to the next in nearly every figure."""

    def __init__(self, seed: int) -> None:
        self._draw = random.Random(seed)
        catalogue = demo_catalogue()
        self._boards = [i.code for i in catalogue.of_type(Board) if "mat" in i.uses]
        self._mouldings = [
            i.code for i in catalogue.of_type(Moulding) if not (i.floater or i.discontinued)
        ]
        self._glazing = [i.code for i in catalogue.of_type(Glazing)]
        self._fillets = [i.code for i in catalogue.of_type(Fillet)]
        self._count = 0

    def __iter__(self) -> Iterator[Sent]:
        kinds = list(_SHARES)
        weights = list(_SHARES.values())
        while True:
            self._count += 1
            (kind,) = self._draw.choices(kinds, weights)
            yield getattr(self, f"_{kind}")()

    def document(self) -> dict[str, Any]:
        """A document of one to three jobs."""
        jobs = [self._job() for _ in range(self._draw.choice((1, 1, 1, 2, 3)))]
        return {"units": "in", "reference": f"V-{self._count}", "jobs": jobs}

    def _length(self, least: int, most: int) -> str:
        draw = self._draw
        if draw.random() < 0.5:
            return f"{draw.randint(least, most)} {draw.choice((1, 3, 5, 7, 9, 11, 13, 15))}/16"
        return f"{draw.randint(least * 254, most * 254) / 10} mm"

    def _job(self) -> dict[str, Any]:
        draw = self._draw
        mats: list[dict[str, Any]] = [
            {"board": draw.choice(self._boards), "border": self._length(1, 4)}
        ]
        for _ in range(draw.randint(0, 2)):
            mats.append({"board": draw.choice(self._boards), "reveal": f"{draw.randint(2, 9)} mm"})
        job: dict[str, Any] = {
            "label": f"picture {self._count}, {draw.random()}",
            "quantity": draw.choice((1, 1, 2, draw.randint(1, 500))),
            "artwork": {
                "width": self._length(3, 24),
                "height": self._length(3, 24),
                "kind": "paper",
            },
            "presentation": "overlap",
            "overlap": f"{draw.randint(20, 60) / 10} mm",
            "mats": mats,
            "glazing": {"sheet": draw.choice(self._glazing)},
            "backing": {"board": "BCK-FOAM316"},
            "frames": [{"moulding": draw.choice(self._mouldings)}],
            "finishing": ["wire"],
        }
        if draw.random() < 0.1:
            rows, columns = draw.randint(1, 4), draw.randint(1, 4)
            gutter = f"{draw.randint(10, 60)} mm"
            job["artwork"] = {"width": self._length(1, 6), "height": self._length(1, 6)}
            job["openings"] = {
                "arrangement": "grid",
                "rows": rows,
                "columns": columns,
                "gutter": gutter,
                "shape": draw.choice(("rectangle", "ellipse")),
            }
        if draw.random() < 0.2:
            mats[0]["fillet"] = draw.choice(self._fillets)
        return job

    def _posted(self, path: str, document: Any, **more: str) -> Sent:
        return Sent("POST", path, json.dumps(document).encode(), **more)

    def _estimate(self) -> Sent:
        return self._posted("/v1/estimates", self.document())

    def _demo(self) -> Sent:
        document = json.loads(
            json.dumps(self._draw.choice(list(demo_jobs().values())), default=str)
        )
        document["reference"] = f"V-{self._count}"
        return self._posted("/v1/estimates", document)

    def _quote(self) -> Sent:
        document = {**self.document(), "customer": {"name": f"Customer {self._count} (invented)"}}
        return self._posted("/v1/quotes", document)

    def _sweep(self) -> Sent:
        over = self._draw.choice(("mouldings", "glazing"))
        return self._posted("/v1/estimates/sweep", {"job": self._job(), "over": over})

    def _bulk(self) -> Sent:
        lines = [json.dumps(self.document()).encode() for _ in range(self._draw.randint(2, 30))]
        return Sent("POST", "/v1/estimates/bulk", b"\n".join(lines), BULK)

    def _read(self) -> Sent:
        return Sent("GET", f"/v1/quotes/{QUOTE}")

    def _workings(self) -> Sent:
        return Sent("GET", f"/v1/quotes/{QUOTE}/workings")

    def _page(self) -> Sent:
        return Sent("GET", f"/v1/quotes/{QUOTE}", accept="text/html")

    def _list(self) -> Sent:
        day = f"20{self._draw.randint(10, 26)}-0{self._draw.randint(1, 9)}-11T00:00:00Z"
        return Sent("GET", f"/v1/quotes?limit={self._draw.randint(1, 60)}&updated_since={day}")

    def _search(self) -> Sent:
        return Sent("GET", f"/v1/boards?q=board+{self._draw.random()}&limit=20")

    def _items(self) -> Sent:
        return Sent("GET", f"/v1/boards/{self._draw.choice(self._boards)}")

    def _events(self) -> Sent:
        return Sent("GET", f"/v1/events?limit={self._draw.randint(1, 50)}")

    def _bad(self) -> Sent:
        document = self.document()
        document["jobs"][0]["artwork"]["width"] = f"{self._draw.random()} spans"
        document[f"field {self._count}"] = 1
        return self._posted("/v1/estimates", document)

    def _nowhere(self) -> Sent:
        return Sent("GET", f"/v1/nothing/{self._count}")

    def _unknown(self) -> Sent:
        return Sent("GET", f"/v1/quotes/Q{self._draw.randint(100_000, 9_999_999)}")

    def _metrics(self) -> Sent:
        return Sent("GET", "/metrics")


_SHARES = {
    "estimate": 55,
    "demo": 8,
    "quote": 8,
    "sweep": 3,
    "bulk": 1,
    "read": 6,
    "workings": 2,
    "page": 1,
    "list": 3,
    "search": 3,
    "items": 3,
    "events": 1,
    "bad": 3,
    "nowhere": 1,
    "unknown": 1,
    "metrics": 1,
}
"""How many of a hundred requests are of each kind."""
