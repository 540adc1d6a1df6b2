"""Jobs of a large file of documents: each distinct job is calculated and written once.

A shop's jobs are much alike: a file of thousands of documents repeats the same job in the same size
under other references. Two jobs are the same if everything read is equal except their labels;
anything else is calculated separately.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from msgspec import Raw

from schemas.estimates.answer import job_document
from schemas.wire.figures import Figures
from schemas.wire.record import encode
from service.domain.estimates.calculation import (
    Basis,
    Estimate,
    JobEstimate,
    estimate_request,
    total_of,
)
from service.domain.jobs.job import JobSpec
from service.domain.quotes.life import QuoteRequest

MOST = 500
"""The number of jobs cached; beyond it all are dropped. A plain job takes some 30 kB."""
MOST_PARTS = 10_000
"""The total parts of cached jobs (`JobSpec.parts`); one with many windows counts as many jobs."""
MOST_BYTES = 8_388_608
"""The total bytes of cached job documents."""
LOOKED_AT = 1_000
"""The number of documents after which caching stops unless one in twenty is a repeat."""


class RepeatedJobs:
    """Calculates documents that share a basis; for one file and one thread."""

    def __init__(self, basis: Basis) -> None:
        self.basis = basis
        self._figures = Figures(basis.shop.ruler)
        self._done: dict[JobSpec, JobEstimate] = {}
        self._written: dict[tuple[int, JobSpec], bytes] = {}
        self._seen = self._repeats = self._parts = self._bytes = 0
        self._known = False

    def estimate(self, request: QuoteRequest) -> Estimate:
        """Return the same as `estimate_request`.

        Raises:
            JobRefused: with the faults of every job, pointers from the document's root.
        """
        self._known = False
        rare = self._seen >= LOOKED_AT and self._repeats * 20 < self._seen
        if rare or request.conditions.level:
            return estimate_request(request.jobs, self.basis, request.conditions)
        self._seen += 1
        specs = [_unnamed(spec) for spec in request.jobs]
        known = [self._done[spec] for spec in specs if spec in self._done]
        if len(known) == len(specs):
            self._known = True
            self._repeats += 1
            totals = total_of(known, self.basis, request.conditions)
            return Estimate(self.basis, tuple(known), totals, request.conditions)
        done = estimate_request(request.jobs, self.basis, request.conditions)
        self._keep(specs, done.jobs)
        return done

    def _keep(self, specs: Sequence[JobSpec], done: Sequence[JobEstimate]) -> None:
        parts = sum(spec.parts() for spec in specs)
        if len(self._done) >= MOST or self._parts + parts > MOST_PARTS:
            self._done.clear()
            self._written.clear()
            self._parts = self._bytes = 0
        if parts <= MOST_PARTS:
            self._done.update(zip(specs, done, strict=True))
            self._parts += parts

    def documents(self, request: QuoteRequest, done: Estimate) -> Sequence[Raw]:
        """Return the documents of the jobs just calculated, each under its own label.

        Empty for a job seen for the first time: most of those never recur.
        """
        if not self._known:
            return ()
        return [
            Raw(_labelled(spec.label) + self._rest(n, spec, job))
            for n, (spec, job) in enumerate(zip(request.jobs, done.jobs, strict=True))
        ]

    def _rest(self, position: int, spec: JobSpec, done: JobEstimate) -> bytes:
        """Return a job's document after its label; it contains its own position among the jobs."""
        key = position, _unnamed(spec)
        rest = self._written.get(key)
        if rest is None:
            document = job_document(done, position, self._figures, self.basis.shop)
            rest = encode(document)[len(_labelled(document.label)) :]
            self._bytes += len(rest)
            if self._bytes > MOST_BYTES:
                self._written.clear()
                self._bytes = len(rest)
            self._written[key] = rest
        return rest


def _labelled(label: str) -> bytes:
    """Return the beginning of a job's document: its label, which is the first field."""
    return b'{"label":' + encode(label)


def _unnamed(spec: JobSpec) -> JobSpec:
    return replace(spec, label="") if spec.label else spec
