"""Kept figures: nothing of a calculation is lost, and nothing of it can be changed."""

from __future__ import annotations

import json
from dataclasses import fields
from typing import Any

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from schemas.estimates.answer import estimate_document
from schemas.quotes.answer import costs_document
from schemas.quotes.figures import answered, records
from schemas.quotes.figures.answered import UNKNOWN, worked_as_answered
from schemas.quotes.figures.documents import Worked, keep, worked_now, worked_then
from schemas.quotes.figures.records import Kept, read_figures
from schemas.wire.figures import plain
from schemas.wire.record import encode
from service.domain.errors import JobRefused
from service.domain.estimates.calculation import Estimate, JobEstimate, estimate_request
from service.domain.estimates.costs import JobCost, UseCost
from service.domain.jobs.advice.advisory import Advisory
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.cut_list import Piece
from service.domain.jobs.frame import Frame, FrameSizes
from service.domain.jobs.hanging import Hung
from service.domain.jobs.job import Conditions, Discount, GlazingChoice, Job, JobSpec
from service.domain.jobs.mat import Grid, Mat, PlacedWindow, Single, Window
from service.domain.jobs.sizes import Layer, Sizes
from service.domain.jobs.use import Use
from service.domain.labour.standard import Operation, OperationTime, Scaled
from service.domain.prices.discounts import Reduction
from service.domain.prices.lines import Line, Slice
from service.domain.prices.tax import Tax
from service.domain.prices.totals import Totals
from service.domain.quotes.life import QuoteRequest
from service.domain.quotes.sale import Sale
from service.domain.shop import TaxRate
from tests.domain.bench_shop import special
from tests.domain.random_jobs import conditions, special_specs
from tests.proofs import examples

BASIS = special()
KEPT_AS: dict[type[Any], tuple[type[Kept], set[str]]] = {
    # Each with the names that are kept under others, which the comments give.
    Artwork: (records.Artwork, set()),
    PlacedWindow: (records.PlacedWindow, set()),
    Grid: (records.Layout, set()),
    Single: (records.Layout, set()),
    Mat: (records.Mat, set()),
    Frame: (records.Frame, {"own"}),  # the own frame of the job
    GlazingChoice: (records.Glazing, set()),
    Discount: (records.Discount, set()),
    Conditions: (records.Conditions, set()),
    Job: (records.Job, set()),
    Window: (records.Window, set()),
    Layer: (records.Layer, {"mat"}),  # the job's, by its place
    FrameSizes: (records.FrameSizes, {"frame"}),  # the job's, by its place
    Sizes: (records.Sizes, set()),
    Piece: (records.Piece, set()),
    Use: (records.Use, set()),
    Hung: (records.Hung, set()),
    UseCost: (records.Use, {"use", "known", "quantity", "pieces", "amount"}),  # cost_...
    Operation: (records.OperationTime, set()),
    Scaled: (records.OperationTime, set()),
    OperationTime: (records.OperationTime, {"operation"}),  # its own fields
    Slice: (records.Slice, set()),
    Line: (records.Line, set()),
    Reduction: (records.Reduction, set()),
    Advisory: (records.Advisory, set()),
    JobCost: (records.JobFigures, {"materials", "labour", "spent", "wages"}),  # uses, labour_cost
    JobEstimate: (records.JobFigures, set()),
    TaxRate: (records.TaxPart, set()),
    Tax: (records.Tax, set()),
    Totals: (records.Totals, set()),
    Sale: (records.Sale, {"total", "tax", "own"}),  # the totals', and the shop's currency
    Estimate: (records.Figures, {"basis"}),  # the papers
    Worked: (records.Figures, {"estimate", "costs"}),  # its jobs and totals
}


@pytest.mark.parametrize("of", KEPT_AS, ids=lambda of: of.__name__)
def test_every_field_of_the_domain_is_kept(of: type[Any]) -> None:
    record, otherwise = KEPT_AS[of]
    names = {field.name for field in fields(of)}
    assert otherwise <= names
    assert names - otherwise <= set(record.__struct_fields__)


def test_figures_cannot_be_changed() -> None:
    for record in Kept.__subclasses__():
        assert record.__struct_config__.frozen
    window = records.Window("rectangle", 1, 2, (3, 4))
    with pytest.raises(AttributeError):
        window.x = 5  # type: ignore[misc]


def _worked(specs: list[JobSpec], under: Conditions) -> Worked:
    try:
        return worked_now(estimate_request(specs, BASIS, under))
    except JobRefused:
        assume(False)
        raise


DOCUMENTS = st.lists(special_specs(), min_size=1, max_size=2)


@settings(max_examples=examples(1_000) // 6)
@given(DOCUMENTS, conditions())
def test_kept_figures_are_the_calculation_again(specs: list[JobSpec], under: Conditions) -> None:
    worked = _worked(specs, under)
    assert worked_then(read_figures(encode(keep(worked))), BASIS) == worked


@settings(max_examples=examples(1_000) // 6)
@given(DOCUMENTS, conditions())
def test_an_answer_and_what_it_rests_on_give_the_same_figures(
    specs: list[JobSpec], under: Conditions
) -> None:
    """Each figure is read from the answer, as if some other figure were not this release's."""
    worked = _worked(specs, under)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(answered, "_stands", lambda *_: False)
        told = _as_answered(worked, specs, under)
    assert told.calculation == UNKNOWN
    figures, again = _plain(keep(worked)), _plain(keep(told))
    assert again["jobs"] == figures["jobs"]
    assert again == {**figures, "calculation": UNKNOWN, "release": ""}


def _as_answered(worked: Worked, specs: list[JobSpec], under: Conditions) -> Worked:
    answer = plain(estimate_document(worked.estimate))
    costs = plain(costs_document(worked.estimate))
    return worked_as_answered(
        answer, costs, QuoteRequest(jobs=tuple(specs), conditions=under), BASIS
    )


def _plain(figures: records.Figures) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(encode(figures))
    return {"release": "", **document}


def test_a_field_of_a_later_release_is_passed_over() -> None:
    totals = {"subtotal": 1, "discount": 0, "tax": {"total": 0}, "total": 1, "later": [1]}
    sale = {"cost": None, "parts": [["mat", "B", 1]], "materials": []}
    document = {"jobs": [], "totals": totals, "deposit": 1, "sale": sale, "calculation": 7}
    figures = read_figures(json.dumps({**document, "more": {}}).encode())
    assert (figures.calculation, figures.totals.total) == (7, 1)
