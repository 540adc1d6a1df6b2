"""The demo jobs are documents of the contract, and the contract's own example works as printed."""

from fractions import Fraction

import pytest

from schemas.quotes.request import QUOTE_REQUEST
from schemas.wire.document import read
from service.demo import demo_catalogue, demo_jobs, demo_labour_standard, demo_price_list, demo_shop
from service.domain.estimates.calculation import Basis, Estimate, estimate
from service.domain.estimates.costs import job_cost
from service.domain.jobs.assembly import assemble
from service.domain.jobs.mat import Grid, Placed
from service.domain.materials.catalogue import Board, Glazing, Moulding
from service.domain.measure.length import Length, Size

CATALOGUE = demo_catalogue()
SHOP = demo_shop()
JOBS = demo_jobs()


def inches(text: str) -> Length:
    return Length.inches(Fraction(text))


def size(width: str, height: str) -> Size:
    return Size(inches(width), inches(height))


def worked_out(name: str) -> Estimate:
    request = read(QUOTE_REQUEST, JOBS[name], unit=SHOP.ruler.unit)
    basis = Basis(SHOP, CATALOGUE, demo_labour_standard(), demo_price_list())
    return estimate([assemble(job, SHOP, CATALOGUE) for job in request.jobs], basis)


def test_the_items_of_the_contracts_example_are_what_it_takes_them_for():
    oak, glass = CATALOGUE.items["MLD-OAK125"], CATALOGUE.items["GLZ-UV20"]
    assert isinstance(oak, Moulding)
    assert (oak.face_width, oak.rabbet_width) == (inches("5/4"), inches("1/4"))
    assert isinstance(glass, Glazing)
    assert (glass.kind, glass.thickness) == ("glass", Length.millimetres(2))
    for code, use in (("BRD-1204", "mat"), ("BRD-1310", "mat"), ("BRD-1210", "mount")):
        board = CATALOGUE.items[code]
        assert isinstance(board, Board)
        assert use in board.uses
        assert board.ply == 4
    foam = CATALOGUE.items["BCK-FOAM316"]
    assert isinstance(foam, Board)
    assert (foam.uses, foam.thickness) == (("backing",), inches("3/16"))


def test_the_contracts_example_has_the_sizes_worked_by_hand():
    # Worked by hand in tests/golden/test_whole_jobs.py: art 16 3/8 x 20, overlap 1/8,
    # border 3/3/3 1/2/3, reveal 1/4, face 1 1/4, rabbet width 1/4, allowance 1/8.
    (job,) = worked_out("harbour_etching").jobs
    assert job.sizes.opening == size("129/8", "79/4")
    assert job.sizes.layers[0].windows[0].size == size("133/8", "81/4")
    assert job.sizes.package == size("181/8", "107/4")
    (frame,) = job.sizes.frames
    assert frame.rabbet == size("91/4", "215/8")
    assert frame.sight == size("89/4", "211/8")
    assert frame.outside == size("99/4", "231/8")
    assert frame.rail_length() == inches("429/4")
    moulding = next(line for line in job.lines if line.component == "frame")
    assert (moulding.rule.basis, moulding.quantity) == ("linear_foot", 10)


@pytest.mark.parametrize("name", JOBS)
def test_every_job_can_be_priced_with_its_tax_and_cost_known_and_a_profit_left(name):
    done = worked_out(name)
    assert done.totals.tax.total.minor > 0
    assert not done.totals.tax.unknown
    for job in done.jobs:
        cost = job_cost(job, done.basis).total
        assert cost is not None
        assert 0 < cost.minor < (job.subtotal - job.discount).minor


@pytest.mark.parametrize("name", JOBS)
def test_no_job_is_one_that_a_bench_ticket_is_refused_for(name):
    for job in worked_out(name).jobs:
        assert [advisory for advisory in job.advisories if advisory.severity == "stop"] == []


def test_the_jobs_are_varied():
    specs = {n: read(QUOTE_REQUEST, d, unit="in").jobs[0] for n, d in JOBS.items()}
    assert {spec.presentation for spec in specs.values()} == {
        "overlap",
        "float",
        "full_bleed",
        "floater",
    }
    assert any(isinstance(spec.openings, Grid) and spec.quantity > 1 for spec in specs.values())
    assert any(
        isinstance(spec.openings, Placed) and spec.openings.windows[0].shape == "ellipse"
        for spec in specs.values()
    )
    assert any(len(spec.frames) > 1 for spec in specs.values())
    assert any(spec.glazing and spec.glazing.spacer for spec in specs.values())
    assert {document["units"] for document in JOBS.values()} == {"in", "mm", "cm"}
