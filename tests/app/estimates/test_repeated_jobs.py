"""Jobs worked out once are told as if each had been worked out by itself."""

from __future__ import annotations

from dataclasses import replace

import pytest

from schemas.estimates.answer import estimate_document
from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from schemas.wire.figures import written
from service.app.estimates.repeated_jobs import LOOKED_AT, MOST, RepeatedJobs
from service.demo import demo_catalogue, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Basis, estimate_request

BASIS = Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())


def asked(*widths: int, **more: object):
    jobs = [
        {
            "label": f"picture {n}",
            "artwork": {"width": f"{width} mm", "height": "200 mm"},
            "presentation": "full_bleed",
        }
        for n, width in enumerate(widths)
    ]
    return read(QUOTE_REQUEST, {"jobs": jobs, **more}, unit="in")


def told(jobs: RepeatedJobs, request) -> bytes:
    done = jobs.estimate(request)
    return written(estimate_document(done, jobs.documents(request, done)))


def alone(request) -> bytes:
    return written(estimate_document(estimate_request(request.jobs, BASIS, request.conditions)))


@pytest.mark.parametrize("sizes", [7, 10_000])  # many repeats; none, so that it gives up looking
def test_every_document_is_told_as_it_alone_would_be(sizes: int) -> None:
    jobs = RepeatedJobs(BASIS)
    for step in range(LOOKED_AT + 50):
        width = 100 + step % sizes
        discounts = [{"percent": 5, "reason": "club"}] if step % 3 else []
        request = asked(width, width + step % 2, discounts=discounts)
        found = told(jobs, request)
        if step % 50 == 0 or step > LOOKED_AT - 5:
            assert found == alone(request)
    assert len(jobs._done) <= MOST + 2


def test_a_job_that_makes_no_sense_is_refused_every_time() -> None:
    jobs = RepeatedJobs(BASIS)
    bad = asked(100, 100)
    bad = replace(bad, jobs=(bad.jobs[0], replace(bad.jobs[1], backing="NONE")))
    for _ in range(2):
        with pytest.raises(JobRefused) as refused:
            jobs.estimate(bad)
        assert {fault.pointer for fault in refused.value.faults()} == {"/jobs/1/backing/board"}
        assert told(jobs, asked(100)) == alone(asked(100))
