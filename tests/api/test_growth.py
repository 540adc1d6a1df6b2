"""What a caller can make grow, and where it ends."""

from __future__ import annotations

from time import process_time

import pytest

from tests.api.world import World, problem_of

PATIENCE = 10.0
"""Seconds of work; each of these took minutes where the work grew with the square of the names."""


@pytest.mark.parametrize("path", ["/v1/estimates", "/v1/quotes", "/v1/cutting-plans"])
def test_a_megabyte_of_names_costs_no_more_than_reading_it(still_world: World, path: str) -> None:
    names = ",".join(f'"{n:x}":0' for n in range(90_000))
    twice = f'{{{names},"{89_999:x}":0}}'
    begun = process_time()
    problem_of(still_world.post(path, twice), 400, "not_json")
    problem_of(still_world.post(path, f"{{{names}}}"), 422, "job_refused")
    problem_of(still_world.post(path, "[" * 500_000), 400, "not_json")
    problem_of(still_world.post(path, "[" + "0," * 400_000 + "0]"), 422, "job_refused")
    assert process_time() - begun < PATIENCE
