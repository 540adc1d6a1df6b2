"""What can be wrong with a document that is JSON: a change to a good one, and the fault's place."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

Change = Callable[[dict[str, Any]], None]


def _set(*path: Any, value: Any) -> Change:
    def change(document: dict[str, Any]) -> None:
        place: Any = document
        for step in path[:-1]:
            place = place[step]
        place[path[-1]] = value

    return change


def _drop(*path: Any) -> Change:
    def change(document: dict[str, Any]) -> None:
        place: Any = document
        for step in path[:-1]:
            place = place[step]
        del place[path[-1]]

    return change


J = ("jobs", 0)
ART = (*J, "artwork")
MAT = (*J, "mats", 0)
NONSENSE: dict[str, tuple[Change, str]] = {
    "no jobs": (_drop("jobs"), "/jobs"),
    "an empty list of jobs": (_set("jobs", value=[]), "/jobs"),
    "too many jobs": (_set("jobs", value=[{}] * 51), "/jobs"),
    "jobs as an object": (_set("jobs", value={"0": {}}), "/jobs"),
    "jobs as text": (_set("jobs", value="one"), "/jobs"),
    "a job as null": (_set("jobs", 0, value=None), "/jobs/0"),
    "a job as a number": (_set("jobs", 0, value=1), "/jobs/0"),
    "an unknown unit": (_set("units", value="pt"), "/units"),
    "units as a list": (_set("units", value=["in"]), "/units"),
    "an unknown field": (_set("colour", value="red"), "/colour"),
    "an unknown field with a slash": (_set("a/b~c", value=1), "/a~1b~0c"),
    "an unknown field without a name": (_set("", value=1), "/"),
    "an unknown field in a job": (_set(*J, "matts", value=[]), "/jobs/0/matts"),
    "a negative width": (_set(*ART, "width", value="-16"), "/jobs/0/artwork/width"),
    "a negative width as a number": (_set(*ART, "width", value=-16), "/jobs/0/artwork/width"),
    "a width of nothing": (_set(*ART, "width", value="0"), "/jobs/0/artwork/width"),
    "a height of nothing": (_set(*ART, "height", value=0), "/jobs/0/artwork/height"),
    "a width of 1e400": (_set(*ART, "width", value=10**400), "/jobs/0/artwork/width"),
    "a width that is true": (_set(*ART, "width", value=True), "/jobs/0/artwork/width"),
    "a width that is null": (_set(*ART, "width", value=None), "/jobs/0/artwork/width"),
    "a width that is a list": (_set(*ART, "width", value=["16"]), "/jobs/0/artwork/width"),
    "a width without end": (_set(*ART, "width", value="1/3"), "/jobs/0/artwork/width"),
    "a width over zero": (_set(*ART, "width", value="1/0"), "/jobs/0/artwork/width"),
    "a width in pixels": (_set(*ART, "width", value="16 px"), "/jobs/0/artwork/width"),
    "a width with an exponent": (_set(*ART, "width", value="1e3"), "/jobs/0/artwork/width"),
    "a width of a mile": (_set(*ART, "width", value="63360"), "/jobs/0/artwork/width"),
    "a width in other digits": (_set(*ART, "width", value="١٦"), "/jobs/0/artwork/width"),
    "a long text as a width": (_set(*ART, "width", value="1" * 900), "/jobs/0/artwork/width"),
    "no width": (_drop(*ART, "width"), "/jobs/0/artwork/width"),
    "no artwork": (_drop(*ART), "/jobs/0/artwork"),
    "an unknown kind of art": (_set(*ART, "kind", value="fresco"), "/jobs/0/artwork/kind"),
    "no presentation": (_drop(*J, "presentation"), "/jobs/0/presentation"),
    "an unknown presentation": (_set(*J, "presentation", value="hung"), "/jobs/0/presentation"),
    "a quantity of none": (_set(*J, "quantity", value=0), "/jobs/0/quantity"),
    "half a quantity": (_set(*J, "quantity", value=1.5), "/jobs/0/quantity"),
    "a quantity as text": (_set(*J, "quantity", value="1"), "/jobs/0/quantity"),
    "a quantity of 10^30": (_set(*J, "quantity", value=10**30), "/jobs/0/quantity"),
    "a quantity of true": (_set(*J, "quantity", value=True), "/jobs/0/quantity"),
    "an overlap larger than the art": (_set(*J, "overlap", value="9"), "/jobs/0/overlap"),
    "an overlap of half the art": (_set(*J, "overlap", value="8 3/16"), "/jobs/0/overlap"),
    "mats without a border": (_drop(*MAT, "border"), "/jobs/0/mats/0/border"),
    "a border without a side": (_drop(*MAT, "border", "top"), "/jobs/0/mats/0/border/top"),
    "a border with a fifth side": (
        _set(*MAT, "border", "middle", value="1"),
        "/jobs/0/mats/0/border/middle",
    ),
    "a negative border": (_set(*MAT, "border", value="-3"), "/jobs/0/mats/0/border"),
    "border and fit_to at once": (_set(*J, "fit_to", value="24 x 30"), "/jobs/0/mats/0/border"),
    "bottom_weight without fit_to": (_set(*J, "bottom_weight", value="1"), "/jobs/0/bottom_weight"),
    "a border under another mat": (
        _set(*J, "mats", 1, "border", value="3"),
        "/jobs/0/mats/1/border",
    ),
    "a reveal on top": (_set(*MAT, "reveal", value="1/4"), "/jobs/0/mats/0/reveal"),
    "seven mats": (_set(*J, "mats", value=[{"board": "BRD-1204"}] * 7), "/jobs/0/mats"),
    "no mat under an overlap": (_set(*J, "mats", value=[]), "/jobs/0/mats"),
    "an unknown board": (_set(*MAT, "board", value="BRD-0"), "/jobs/0/mats/0/board"),
    "an empty board": (_set(*MAT, "board", value=" "), "/jobs/0/mats/0/board"),
    "a moulding for a board": (_set(*MAT, "board", value="MLD-OAK125"), "/jobs/0/mats/0/board"),
    "foam for a mat": (_set(*MAT, "board", value="BCK-FOAM316"), "/jobs/0/mats/0/board"),
    "an unknown bevel": (_set(*MAT, "bevel", value="round"), "/jobs/0/mats/0/bevel"),
    "an unknown sheet": (_set(*J, "glazing", "sheet", value="GLZ"), "/jobs/0/glazing/sheet"),
    "glazing as text": (_set(*J, "glazing", value="GLZ-UV20"), "/jobs/0/glazing"),
    "an unknown method": (_set(*J, "mounting", "method", value="glued"), "/jobs/0/mounting/method"),
    "an unknown moulding": (
        _set(*J, "frames", 0, "moulding", value="MLD"),
        "/jobs/0/frames/0/moulding",
    ),
    "a frame of seven sides": (_set(*J, "frames", 0, "sides", value=7), "/jobs/0/frames/0/sides"),
    "an octagon round no square": (
        _set(*J, "frames", 0, "sides", value=8),
        "/jobs/0/frames/0/sides",
    ),
    "an unknown finishing": (_set(*J, "finishing", 0, value="bow"), "/jobs/0/finishing/0"),
    "a finishing twice": (_set(*J, "finishing", value=["wire", "wire"]), "/jobs/0/finishing/1"),
    "a grade of five": (_set(*J, "preservation_grade", value=5), "/jobs/0/preservation_grade"),
    "a gap without a floater": (_set(*J, "gap", value="1"), "/jobs/0/gap"),
    "openings as a number": (_set(*J, "openings", value=2), "/jobs/0/openings"),
    "openings without windows": (_set(*J, "openings", value=[]), "/jobs/0/openings"),
    "a grid of 101 windows": (
        _set(*J, "openings", value={"arrangement": "grid", "rows": 101, "columns": 1}),
        "/jobs/0/openings/rows",
    ),
    "a grid of 10,000 windows": (
        _set(*J, "openings", value={"arrangement": "grid", "rows": 100, "columns": 100}),
        "/jobs/0/openings/rows",
    ),
    "a lone surrogate as a name": (_set("\ud800", value=1), "/\ud800"),
    "a lone surrogate in a label": (_set(*J, "label", value="\udfff"), "/jobs/0/label"),
    "a lone surrogate as a board": (_set(*MAT, "board", value="\ud800"), "/jobs/0/mats/0/board"),
    "a lone surrogate as a width": (_set(*ART, "width", value="\ud800"), "/jobs/0/artwork/width"),
    "a lone surrogate as units": (_set("units", value="\ud800"), "/units"),
    "a NUL in a reference": (_set("reference", value="W\x001"), "/reference"),
    "a NUL in a name": (_set("customer", "name", value="M\x00"), "/customer/name"),
    "a NUL in a note": (_set("customer", "note", value="M\x00"), "/customer/note"),
    "a NUL as a name": (_set("\x00", value=1), "/\x00"),
    "a long label": (_set(*J, "label", value="a" * 121), "/jobs/0/label"),
    "lines in a label": (_set(*J, "label", value="a\nb"), "/jobs/0/label"),
    "a customer as text": (_set("customer", value="M. Okafor"), "/customer"),
    "a list for a document's customer": (_set("customer", value=[]), "/customer"),
}


SWEEP_NONSENSE: dict[str, tuple[Change, str]] = {
    "no job": (_drop("job"), "/job"),
    "nothing to try": (_drop("over"), "/over"),
    "something unknown to try": (_set("over", value="boards"), "/over"),
    "an unknown item": (_set("items", value=["GLZ-UV20", "NONE"]), "/items/1"),
    "an item of another kind": (_set("items", value=["MLD-OAK125"]), "/items/0"),
    "a number for an item": (_set("items", value=[1]), "/items/0"),
    "too many items": (_set("items", value=["GLZ-UV20"] * 5_001), "/items"),
    "a job that makes no sense": (_set("job", "overlap", value="9"), "/job/overlap"),
    "a job that cannot be read": (_set("job", "overlap", value="x"), "/job/overlap"),
    "an unknown board": (_set("job", "mats", 0, "board", value="no"), "/job/mats/0/board"),
    "an unknown field": (_set("job", "jobs", value=[]), "/job/jobs"),
}
