"""Golden jobs: every figure of every case, run through the whole calculation."""

import pytest

from tests.golden.case import DERIVED, MEMORY, PRACTICE, PUBLISHED, misses
from tests.golden.frame_cases import FRAMES
from tests.golden.mat_cases import MATS

CASES = [*FRAMES, *MATS]


@pytest.mark.parametrize("case", CASES, ids=lambda case: case.name)
def test_a_golden_job_comes_out_as_its_source_says(case):
    assert misses(case) == []


def test_every_case_names_its_source_its_mark_and_its_reason():
    for case in CASES:
        assert case.source
        assert case.because
        assert case.mark in {PUBLISHED, DERIVED, MEMORY, PRACTICE}
        assert case.expected
    assert len({case.name for case in CASES}) == len(CASES) >= 30
