"""Metrics for operators, in the text format of Prometheus: `/metrics`.

Every label has a fixed set of values: the existing routes, the HTTP methods, statuses. No id, shop
or key is ever a label, so the number of series does not grow with use. Under `framing-quotes serve`
the workers write their counts into files that they share, and any of them can answer for all (see
`service.cli.serve.worker_slots`); elsewhere the counts are those of the process.
"""

from __future__ import annotations

import os
import time
from collections.abc import Iterable
from functools import cache
from threading import Lock

from flask import Blueprint, Response, current_app
from prometheus_client import (
    CollectorRegistry,
    Counter,
    Histogram,
    disable_created_metrics,
    values,
)
from prometheus_client.core import CounterMetricFamily, GaugeMetricFamily, Metric
from prometheus_client.exposition import CONTENT_TYPE_PLAIN_0_0_4, generate_latest
from prometheus_client.multiprocess import MultiProcessCollector
from prometheus_client.registry import Collector

from service.api.http.context import wiring
from service.api.http.operation import OpenToAll
from service.persistence.sql.session import StorageUnavailable
from service.persistence.unit_of_work import UnitsOfWork

bp = Blueprint("metrics", __name__)
EXTENSION = "framing-quotes-stock"
FOLDER, SLOT = "PROMETHEUS_MULTIPROC_DIR", "WORKER_SLOT"
"""The variables naming the folder where workers share their counts, and this worker's slot."""
BUCKETS = (0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1, 2.5, 10)
METHODS = frozenset(("GET", "HEAD", "POST", "PUT", "PATCH", "DELETE", "OPTIONS"))
STOCK_SECONDS = 10
"""For how many seconds figures from the database are cached."""


class Figures:
    """The counts of this process, or of its slot among workers that share a folder."""

    def __init__(self, folder: str = "", slot: str = "") -> None:
        self._folder = folder
        self._registry = CollectorRegistry()
        if folder:
            # The library chooses between memory and files when first imported, which is before the
            # workers fork; so set it again here.
            values.ValueClass = values.MultiProcessValue(lambda: slot)  # type: ignore[no-untyped-call]
        disable_created_metrics()  # type: ignore[no-untyped-call]  # they double the lines
        self._requests = Counter(
            "framing_quotes_requests",
            "Requests answered, by the route that took them.",
            ("method", "route", "status"),
            registry=self._registry,
        )
        self._seconds = Histogram(
            "framing_quotes_request_seconds",
            "How long requests took, by route.",
            ("method", "route"),
            buckets=BUCKETS,
            registry=self._registry,
        )
        self._counters: dict[tuple[str, str, str], Counter] = {}
        self._clocks: dict[tuple[str, str], Histogram] = {}

    def count(self, method: str, route: str, status: str, seconds: float) -> None:
        """Count a response; route and status must come from a fixed set."""
        method = method if method in METHODS else "other"
        counter = self._counters.get((method, route, status))
        if counter is None:
            counter = self._requests.labels(method, route, status)
            self._counters[method, route, status] = counter
        clock = self._clocks.get((method, route))
        if clock is None:
            clock = self._clocks[method, route] = self._seconds.labels(method, route)
        counter.inc()
        clock.observe(seconds)

    def text(self) -> bytes:
        """Return the counts of all workers."""
        if not self._folder:
            return generate_latest(self._registry)
        registry = CollectorRegistry()
        MultiProcessCollector(registry, self._folder)  # type: ignore[no-untyped-call]
        return generate_latest(registry)


@cache
def figures() -> Figures:
    """Return the counts of this process; first called after the workers have forked."""
    folder = os.environ.get(FOLDER, "")
    return Figures(folder, os.environ.get(SLOT, str(os.getpid())))


class StockCollector(Collector):
    """The numbers of stored and waiting records; queried at most every few seconds."""

    def __init__(self, units: UnitsOfWork) -> None:
        self._units = units
        self._lock = Lock()
        self._at = float("-inf")
        self._found: tuple[Metric, ...] = ()

    def collect(self) -> Iterable[Metric]:
        """Yield the figures; cached ones while they are fresh enough or nothing answers."""
        with self._lock:
            if time.monotonic() - self._at >= STOCK_SECONDS:
                try:
                    self._found = tuple(self._asked())
                    self._at = time.monotonic()
                except StorageUnavailable:
                    self._found = (_database(0),)
        return self._found

    def _asked(self) -> Iterable[Metric]:
        with self._units.reading() as uow:
            stock, lag = uow.stock.now(), uow.events.lag()
        stored = CounterMetricFamily(
            "framing_quotes_stored", "What was ever stored, by series.", labels=["series"]
        )
        for series, number in sorted(stock.stored.items()):
            stored.add_metric([series], number)
        waiting = GaugeMetricFamily(
            "framing_quotes_tickets", "Bench tickets that are not done, by state.", labels=["state"]
        )
        for state, number in sorted(stock.waiting.items()):
            waiting.add_metric([state], number)
        held_back = GaugeMetricFamily(
            "framing_quotes_feed_lag_seconds",
            "For how long an open transaction has held back events of its shop; 0 if none does.",
            value=lag.total_seconds(),
        )
        return (_database(1), stored, waiting, held_back)


def _database(up: int) -> Metric:
    return GaugeMetricFamily(
        "framing_quotes_database_up", "Whether the database answers.", value=up
    )


@bp.get("/metrics")
@OpenToAll(
    "counts without ids; deploy/THREATS.md says who must not reach it",
    forms=("text/plain", "text/plain;version=0.0.4"),
)
def metrics() -> Response:
    """Return the figures of all workers."""
    body = figures().text() + generate_latest(_stock())
    return Response(body, content_type=CONTENT_TYPE_PLAIN_0_0_4)


def _stock() -> CollectorRegistry:
    """Return the figures of this application's database."""
    known = current_app.extensions
    if EXTENSION not in known:
        registry = CollectorRegistry()
        registry.register(StockCollector(wiring().units))
        known[EXTENSION] = registry
    found: CollectorRegistry = known[EXTENSION]
    return found
