"""What lies in the rabbet and what is seen, of whole jobs in the invented shop, worked by hand.

The jobs are invented. The rules are common practice, no source, where a test names none.
"""

from __future__ import annotations

from dataclasses import replace

import pytest

from service.domain.estimates.calculation import Basis, JobEstimate
from service.domain.jobs.job import FrameSpec, GlazingSpec, JobSpec, MountingSpec
from service.domain.materials.catalogue import Catalogue, Consumable
from service.domain.measure.length import Length
from service.domain.shop import Sizing
from tests.domain.bench_shop import basis, inch
from tests.domain.sample_jobs import art, done, mat


def shadow_box(thickness: str, presentation: str = "float", **more: object) -> JobEstimate:
    """A medal in a box: glass of 2 mm, a spacer of 2 in, mount 1/16 and foam 3/16 in behind."""
    box = JobSpec(
        artwork=art("8 x 10", kind="object", thickness=inch(thickness)),
        presentation=presentation,
        float_margin=inch("2") if presentation == "float" else None,
        glazing=GlazingSpec("CLEAR", inch("2")),
        mounting=MountingSpec("", "WHITE"),
        backing="FOAM",
        frames=(FrameSpec("OAK"),),
    )
    return done(box, shop=with_spacer("2", **more))


def with_spacer(depth: str, **settings: object) -> Basis:
    """The invented shop with a spacer of this depth."""
    shop = basis(**settings)
    spacer = Consumable(code="SPACER", description=depth, thickness=inch(depth), group="spacer")
    items = {**shop.catalogue.items, "SPACER": spacer}
    return replace(shop, catalogue=Catalogue(items, shop.catalogue.costs))


def said(made: JobEstimate) -> dict[str, str]:
    return {advisory.code: advisory.severity for advisory in made.advisories}


@pytest.mark.parametrize("presentation", ["float", "full_bleed"])
def test_an_object_inside_its_space_adds_nothing_to_the_depth(presentation):
    # 2 mm + 2 in + 1/16 + 3/16 in; 1 3/4 in of medal and 1/4 in of clearance fill the 2 in.
    made = shadow_box("1 3/4", presentation)
    assert made.sizes.stack_depth == Length.millimetres(2) + inch("2 1/4")
    assert not {"art_deeper_than_space", "object_near_glazing"} & said(made).keys()


@pytest.mark.parametrize(
    ("thickness", "depth", "code", "severity"),
    [
        ("1 7/8", "2 1/4", "object_near_glazing", "warning"),
        ("2", "2 1/4", "object_near_glazing", "warning"),
        ("2 1/4", "2 1/2", "art_deeper_than_space", "stop"),
    ],
)
def test_an_object_near_its_glazing_is_warned_of_and_a_deeper_one_stopped(
    thickness, depth, code, severity
):
    made = shadow_box(thickness)
    assert said(made)[code] == severity
    assert made.sizes.stack_depth == Length.millimetres(2) + inch(depth)


def test_a_shop_sets_the_clearance_of_objects():
    close = Sizing(object_clearance=inch("1/8"))
    assert "object_near_glazing" not in said(shadow_box("1 7/8", sizing=close))
    assert said(shadow_box("1 15/16", sizing=close))["object_near_glazing"] == "warning"


def test_a_wax_seal_behind_an_inch_of_spacer():
    # published: a charter's wax seal had about 1 in of spacer (FrameCon list, November 2000): the
    # depth is glazing, space, mount and backing.
    seal = JobSpec(
        artwork=art("8 x 10", kind="object", thickness=inch("3/4")),
        presentation="float",
        float_margin=inch("1"),
        glazing=GlazingSpec("PLASTIC", inch("1")),
        mounting=MountingSpec("", "WHITE"),
        backing="FOAM",
        frames=(FrameSpec("OAK"),),
    )
    made = done(seal, shop=with_spacer("1"))
    assert made.sizes.stack_depth == Length.millimetres(3) + inch("1 1/4")


def test_floated_paper_lies_in_its_window_and_art_under_a_mat_lies_under_it():
    # A window of 1/16 in board takes paper of 1/32 in; under an overlapping mat it adds 1/32 in.
    floated = JobSpec(
        artwork=art("8 x 10", thickness=inch("1/32")),
        presentation="float",
        float_margin=inch("1/2"),
        mats=(mat("2"),),
        mounting=MountingSpec("", "WHITE"),
    )
    covered = replace(floated, presentation="overlap", float_margin=None)
    assert done(floated).sizes.stack_depth == inch("1/8")
    assert done(covered).sizes.stack_depth == inch("5/32")


def test_a_fillet_in_the_frame_covers_the_window_of_a_narrow_border():
    # Art 10 x 12 with a border of 3/8: the lip of 1/4 less half of 1/8 leaves 3/16. A fillet of 1/4
    # covers that and 1/16 of the window, so that the border is not seen at all.
    wide = replace(basis().catalogue.items["GILT"], width=inch("1/4"))
    shop = basis()
    items = {**shop.catalogue.items, "GILT": wide}
    lined = replace(shop, catalogue=Catalogue(items, shop.catalogue.costs))
    narrow = JobSpec(
        artwork=art("10 x 12"), presentation="overlap", mats=(mat("3/8"),),
        frames=(FrameSpec("OAK"),),
    )  # fmt: skip
    made = done(narrow, shop=lined)
    assert inch("3/8") - made.sizes.frames[0].hidden() == inch("3/16")
    assert "border_narrower_than_lip" not in said(made)
    filleted = done(replace(narrow, frames=(FrameSpec("OAK", fillet="GILT"),)), shop=lined)
    assert inch("3/8") - filleted.sizes.frames[0].hidden() == -inch("1/16")
    assert said(filleted)["border_narrower_than_lip"] == "warning"
