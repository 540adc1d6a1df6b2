"""The order of work: no circle, no missing step, and nothing before what it needs.

The pairs below are written here by themselves, not taken from the table that makes the order.
Sealing before fitting: Phibbs, Topics in Photographic Preservation 6 (1995), and the rest common
practice, no source.
"""

from __future__ import annotations

from graphlib import TopologicalSorter
from itertools import combinations

from hypothesis import HealthCheck, given, settings

from service.domain.estimates.calculation import Basis, JobEstimate
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import FrameSpec, GlazingSpec, MountingSpec
from service.domain.tickets.make import make_ticket
from service.domain.tickets.model import CutTicket
from service.domain.tickets.stages import AFTER, before
from tests.domain.bench_shop import inch, size
from tests.domain.tickets.random_jobs import estimates
from tests.domain.tickets.shop_jobs import every_material, lines, spec, steps, ticket
from tests.proofs import examples

CHAINS = (
    "take_in order size glazing corners dry_fit mount package seal fit finish wrap",
    "order window glazing",
    "order shaped_window glazing",
    "order fix_under_mat glazing",
    "order rails join rabbet dry_fit",
    "ready_frame rabbet",
    "join hangers fit",
    "mount spacer seal",
)
"""Kinds of work; in each row an earlier one is over before a later one begins."""


def work(made: CutTicket) -> list[str]:
    return [step.work for step in made.steps]


def too_early(made: CutTicket) -> list[tuple[str, str]]:
    """The pairs of kinds of work of which the later one begins before the earlier one is over."""
    found = work(made)
    last = {kind: at for at, kind in enumerate(found)}
    first = {kind: at for at, kind in reversed(list(enumerate(found)))}
    return [
        (earlier, later)
        for chain in CHAINS
        for earlier, later in combinations(chain.split(), 2)
        if earlier in last and later in first and first[later] < last[earlier]
    ]


def test_the_stages_form_no_circle() -> None:
    assert len(list(TopologicalSorter(AFTER).static_order())) == len(AFTER)
    assert before("wrap") == set(AFTER) - {"wrap"}


@settings(
    max_examples=examples(1500),
    deadline=None,
    suppress_health_check=list(HealthCheck),
    derandomize=True,
)
@given(estimates(every_material))
def test_random_jobs_are_worked_in_order_and_whole(drawn: tuple[JobEstimate, Basis]) -> None:
    made, shop = drawn
    done = make_ticket(made, shop.shop)
    assert too_early(done) == []
    found, job = work(done), made.job
    assert (found[0], found[-1]) == ("take_in", "wrap")
    assert found.count("fix_under_mat") == max(len(job.mats) - 1, 0)
    assert ("fit" in found) is bool(job.frames)
    assert ("package" in found) is bool(done.pieces and made.sizes.package and _sheets(done))
    sized = {cut.piece for step in done.steps for cut in step.size_cuts}
    assert sized == _sheets(done)
    cut = {window_cut.piece for step in done.steps for window_cut in step.cuts}
    straight = {mat.number for mat in done.mats() if any(w.cuts for w in mat.windows)}
    assert cut == straight
    begun = ("Join ", "Clean f", "Clean the frame")
    joined = [line for line in _lines(done) if line.startswith(begun)]
    rest = [line for line in joined if line.startswith("Join the other ")]
    assert len(joined) - len(rest) == len(job.frames)
    assert done.minutes == made.minutes


def _sheets(made: CutTicket) -> set[int]:
    return {p.number for p in made.pieces if p.part in ("mat", "glazing", "mount", "backing")}


def _lines(made: CutTicket) -> list[str]:
    joined = [step for step in made.steps if step.work in ("join", "ready_frame")]
    return [line for step in joined for line in step.lines]


def test_sealing_comes_before_fitting() -> None:
    made = ticket(spec(finishing=("dust_cover", "wire", "sealed", "rabbet_tape")), every_material())
    found = work(made)
    assert found.index("join") < found.index("rabbet") < found.index("dry_fit")
    assert found.index("package") < found.index("seal") < found.index("fit")
    assert lines(made, "seal") == ["Seal the package's edge all round: edge tape."]
    assert {code for step in steps(made, "seal") for code in step.cautions} == {"foil"}


def test_paste_dries_before_the_package_is_closed() -> None:
    made = ticket(spec(mounting=MountingSpec("pasted", "WHITE")), every_material())
    assert lines(made, "mount")[-1] == "Wait until the paste is dry."
    found = work(made)
    assert found.index("mount") < found.index("package")


def test_a_floater_is_screwed_once_and_after_it_is_joined() -> None:
    made = ticket(
        spec(
            artwork=Artwork(size("16 x 20"), inch("3/4"), "canvas"),
            presentation="floater",
            overlap=None,
            mats=(),
            glazing=None,
            mounting=MountingSpec("screwed"),
            backing="",
            frames=(FrameSpec("FLOAT"),),
            finishing=("wire",),
        ),
        every_material(),
    )
    assert work(made) == ["take_in", "rails", "join", "fit", "finish", "wrap"]
    screwed = [line for step in made.steps for line in step.lines if "screws" in line]
    assert screwed == ["Fix the art in the frame: four screws from behind."]


def test_the_shops_own_fixing_takes_the_place_of_points() -> None:
    made = ticket(spec(finishing=("clips",)), every_material())
    assert lines(made, "fit")[-1] == "Fix the package in the frame: turn buttons."
    assert "finish" not in work(made)
    assert not any("points" in step.cautions for step in made.steps)


def test_a_deep_package_takes_clips_by_itself() -> None:
    """Two mats and a mount of 1/16, spacer 1/8, foam 3/16: 1/2 already, and the rabbet has 1/2."""
    made = ticket(spec(glazing=GlazingSpec("CLEAR", inch("1/8"))), every_material())
    assert lines(made, "fit")[-1] == "Fix the package in the frame: offset clips of ≈1/8 in."


def test_wrapping_is_the_last_step_and_has_the_time_of_wrapping() -> None:
    made = ticket(spec())
    assert work(made)[-1] == "wrap"
    assert [share.operation for share in made.steps[-1].shares] == ["op_wraps"]


def test_under_mats_are_fixed_for_the_work_and_stuck_for_good_afterwards() -> None:
    made = ticket(spec())
    assert "Fix Mat 2 (2): temporarily" in lines(made, "fix_under_mat")[0]
    assert lines(made, "package")[:2] == [
        "Take the fallout out of the windows of Top mat (1).",
        "Stick Top mat (1), Mat 2 (2) together for good.",
    ]
