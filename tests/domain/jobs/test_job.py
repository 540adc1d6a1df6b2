"""Jobs as asked for."""

from dataclasses import replace

import pytest

from service.domain.errors import BadValue
from service.domain.jobs.job import MOST_OF_A_JOB
from service.domain.jobs.mat import Grid
from tests.domain.bench_shop import inch
from tests.domain.sample_jobs import PLAIN, art, job, mat, placed, spec


@pytest.mark.parametrize("quantity", [0, -1, MOST_OF_A_JOB + 1])
def test_a_quantity_that_is_no_number_of_pieces_is_refused(quantity):
    with pytest.raises(BadValue) as refused:
        replace(PLAIN, quantity=quantity)
    assert refused.value.where == "/quantity"


@pytest.mark.parametrize("quantity", [1, MOST_OF_A_JOB])
def test_any_number_of_pieces_to_the_most_is_taken(quantity):
    assert replace(PLAIN, quantity=quantity).quantity == quantity


def test_the_artworks_are_the_jobs_own_or_those_of_its_windows():
    assert job().artworks() == (art(),)
    windows = placed(("8 x 10", "2", "2"), ("5 x 7", "12", "2"))
    assert job(openings=windows).artworks() == (art("8 x 10"), art("5 x 7"))


def test_each_opening_has_a_picture_to_mount():
    assert job().mounted() == ((art(), 1),)
    assert job(openings=Grid(2, 3, inch("1"))).mounted() == ((art(), 6),)
    windows = placed(("8 x 10", "2", "2"), ("5 x 7", "12", "2"))
    assert job(openings=windows).mounted() == ((art("8 x 10"), 1), (art("5 x 7"), 1))


def test_grooves_and_ruled_lines_count_as_parts_of_a_job():
    plain = spec(mats=(mat(),), openings=Grid(2, 3, inch("1")))
    grooved = spec(
        mats=(mat(grooves=(inch("1/2"),), ruled_lines=(inch("1/4"),)),),
        openings=Grid(2, 3, inch("1")),
    )
    assert grooved.parts() == plain.parts() + 12
