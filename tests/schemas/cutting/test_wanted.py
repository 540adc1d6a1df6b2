"""What of a ticket a plan cuts: nothing that comes cut to size."""

from schemas.cutting.wanted import made_wishes
from schemas.tickets.stored import made_tickets
from service.domain.estimates.calculation import estimate_request
from service.domain.jobs.job import FrameSpec, GlazingSpec
from service.domain.shop import Bench, MaterialWay
from tests.domain.tickets.shop_jobs import every_material, spec

USUAL = every_material()
ORDERING = every_material(bench=Bench(ways=(MaterialWay("foam_board", "order"),)))


def wanted(basis, **more) -> set[str]:
    (made,) = made_tickets(estimate_request([spec(**more)], basis))
    return {wish.name for wish in made_wishes("1", made)}


def test_a_sheet_that_is_ordered_cut_to_size_is_not_planned():
    assert "Backing" in wanted(USUAL)
    assert "Backing" not in wanted(ORDERING)
    assert "Glazing" in wanted(USUAL)
    # common practice, no source: coated laminate is ordered cut to size.
    assert "Glazing" not in wanted(USUAL, glazing=GlazingSpec("LAMCOAT"))


def test_rails_that_come_cut_are_not_planned():
    assert not {
        name for name in wanted(USUAL, frames=(FrameSpec("OAK", "chop"),)) if "Rails" in name
    }
