"""Jobs as asked for."""

from dataclasses import replace

import pytest

from service.domain.errors import BadValue
from service.domain.jobs.job import MOST_OF_A_JOB
from tests.domain.bench_shop import inch
from tests.domain.sample_jobs import PLAIN, art, job, placed


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


def test_the_thickest_artwork_is_the_thickness():
    assert job(artwork=art(thickness=inch("1/32"))).art_thickness() == inch("1/32")
