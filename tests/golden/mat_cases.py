"""Mats: published and derived figures, as whole jobs.

Our overlap is per side, and our border runs to the mat's own sight edge. Sources mean either by
either word, so each case says what its source means.
"""

from tests.golden.case import DERIVED, PRACTICE, PUBLISHED, Case

HALVES = "the border is half of what the outside has over the opening"


def _opening(width: str, height: str) -> dict[str, str]:
    return {"opening width": width, "opening height": height}


def _borders(top: str, right: str, bottom: str, left: str) -> dict[str, str]:
    return {
        "border top": top, "border right": right, "border bottom": bottom, "border left": left,
    }  # fmt: skip


MATS = [
    Case(
        name="borders of a landscape",
        source="worked by hand: (14 - 9 3/4)/2 = 2 1/8, (11 - 7 3/4)/2 = 1 5/8",
        mark=PRACTICE,
        because=f"{HALVES}; the opening is that of a 10x8 under 1/8",
        given={"art": "10 x 8", "overlap": "1/8", "mats": "1", "fit_to": "14 x 11"},
        expected={**_opening("9 3/4", "7 3/4"), **_borders("1 5/8", "2 1/8", "1 5/8", "2 1/8")},
    ),
    Case(
        name="borders without overlap",
        source="a how-to video: frame 16x20, art 7x12, no overlap: sides 4 1/2, top and bottom 4",
        mark=PUBLISHED,
        because=f"{HALVES}; overlap 0 (which our ticket would stop)",
        given={"art": "7 x 12", "overlap": "0", "mats": "1", "fit_to": "16 x 20"},
        expected=_borders("4", "4 1/2", "4", "4 1/2"),
    ),
    Case(
        name="equal borders round a print",
        source="worked by hand: (18 - 11 3/4)/2 = (24 - 17 3/4)/2 = 3 1/8",
        mark=PRACTICE,
        because=f"{HALVES}; 1/4 off the print is an overlap of 1/8 a side",
        given={"art": "12 x 18", "overlap": "1/8", "mats": "1", "fit_to": "18 x 24"},
        expected={**_opening("11 3/4", "17 3/4"), **_borders(*["3 1/8"] * 4)},
    ),
    Case(
        name="border to the art, overlap 1/8",
        source="worked by hand: 8 - 2/8 by 10 - 2/8; 8 + 2·2 by 10 + 2·2",
        mark=PRACTICE,
        because="a border of 2 to the art is 2 + overlap to the opening",
        given={"art": "8 x 10", "overlap": "1/8", "mats": "1", "border": "2 1/8"},
        expected={**_opening("7 3/4", "9 3/4"), "package width": "12", "package height": "14"},
    ),
    Case(
        name="border to the art, overlap 1/4",
        source="worked by hand: 8 - 2/4 by 10 - 2/4, border 2 + 1/4",
        mark=PRACTICE,
        because="border 2 to the art is 2 1/4 to the opening; the outside stays 12x14",
        given={"art": "8 x 10", "overlap": "1/4", "mats": "1", "border": "2 1/4"},
        expected={**_opening("7 1/2", "9 1/2"), "package width": "12", "package height": "14"},
    ),
    Case(
        name="equal borders for an image",
        source="worked by hand: (16 - 7 3/4)/2 = (20 - 11 3/4)/2 = 4 1/8",
        mark=PRACTICE,
        because=HALVES,
        given={"art": "8 x 12", "overlap": "1/8", "mats": "1", "fit_to": "16 x 20"},
        expected=_borders(*["4 1/8"] * 4),
    ),
    Case(
        name="overlap in total, as printed",
        source="imathworks.com: frame 16x20, picture 11x17, 'overlap 1/4': 1 5/8 and 2 5/8",
        mark=PUBLISHED,
        because="its answers hold only if 1/4 is the total: 1/8 a side in our words",
        given={"art": "11 x 17", "overlap": "1/8", "mats": "1", "fit_to": "16 x 20"},
        expected=_borders("1 5/8", "2 5/8", "1 5/8", "2 5/8"),
    ),
    Case(
        name="overlap per side",
        source="the same with 1/4 per side",
        mark=DERIVED,
        because="each border grows by the 1/8 that the overlap grows by",
        given={"art": "11 x 17", "overlap": "1/4", "mats": "1", "fit_to": "16 x 20"},
        expected=_borders("1 3/4", "2 3/4", "1 3/4", "2 3/4"),
    ),
    Case(
        name="under mat",
        source="worked by hand: 11 - 2·2 3/4 = 5 1/2, 14 - 2·2 3/4 = 8 1/2; less 2·1/4: 5 x 8; "
        "setting 2 3/4 + 1/4 = 3",
        mark=PRACTICE,
        because="the under mat's blank is 1/8 smaller a side, its setting border + reveal; 5x8 is "
        "the opening of a 5 1/4 x 8 1/4 under 1/8",
        given={
            "art": "5 1/4 x 8 1/4", "overlap": "1/8", "mats": "2", "border": "2 3/4",
            "reveals": "1/4",
        },
        expected={
            **_opening("5", "8"), "top opening width": "5 1/2", "top opening height": "8 1/2",
            "package width": "11", "package height": "14", "under setting": "3",
            "under blank width": "10 3/4", "under blank height": "13 3/4",
        },
    ),
    Case(
        name="triple mat",
        source="worked by hand: 1/8 + 1/4 = 3/8 on each side",
        mark=PRACTICE,
        because="reveals add up, on each side",
        given={
            "art": "8 x 10", "overlap": "0", "mats": "3", "border": "2", "reveals": "1/8 1/4",
        },
        expected={
            "opening width": "8", "top opening width": "8 3/4", "top opening height": "10 3/4"
        },
    ),
    Case(
        name="square-ish image",
        source="a blog of the 2000s: mat 16x20, image 9 11/16 x 8: borders 4 and 5 5/32",
        mark=PUBLISHED,
        because=f"{HALVES}; the image is the opening there, overlap 0",
        given={"art": "8 x 9 11/16", "overlap": "0", "mats": "1", "fit_to": "16 x 20"},
        expected=_borders("5 5/32", "4", "5 5/32", "4"),
    ),
    Case(
        name="diploma in millimetres",
        source="worked by hand: 279 - 4 by 216 - 4; (476 - 275)/2 = (413 - 212)/2 = 100.5",
        mark=PRACTICE,
        because=f"{HALVES}; off each edge is our overlap",
        given={"art": "279 x 216", "overlap": "2", "mats": "1", "fit_to": "476 x 413"},
        expected={**_opening("275", "212"), **_borders(*["100.5"] * 4)},
        unit="mm",
    ),
    Case(
        name="diploma with its frame",
        source="worked by hand: 11 + 7 + 2 by 8.5 + 7 + 2",
        mark=PRACTICE,
        because="there the whole face stands outside the mat: W - R = 1, A = 0, overlap 0",
        given={
            "art": "11 x 8.5", "overlap": "0", "mats": "1", "border": "3.5",
            "face": "1 1/4", "rabbet": "1/4",
        },
        expected={"outside width": "20", "outside height": "17.5", "package width": "18"},
    ),
    Case(
        name="hole with equal borders",
        source="worked by hand: (10 - 7)/2 = 1.5, (8 - 4)/2 = 2",
        mark=DERIVED,
        because=HALVES,
        given={"art": "7 x 4", "overlap": "0", "mats": "1", "fit_to": "10 x 8"},
        expected=_borders("2", "1.5", "2", "1.5"),
    ),
    Case(
        name="hole with the top as the sides",
        source="the same with the top as wide as the sides: 1.5/2.5",
        mark=DERIVED,
        because="1 in of bottom weight: top = (8 - 4 - 1)/2, bottom 1 more",
        given={
            "art": "7 x 4", "overlap": "0", "mats": "1", "fit_to": "10 x 8", "bottom_weight": "1",
        },
        expected=_borders("1.5", "1.5", "2.5", "1.5"),
    ),
    *(
        Case(
            name=f"table {frame}",
            source="worked by hand: image - 2·1/4",
            mark=PRACTICE,
            because="opening = image - 2·(1/4)",
            given={"art": image, "overlap": "1/4", "mats": "1", "fit_to": frame},
            expected=_opening(*opening.split(" x ")),
        )
        for frame, image, opening in (
            ("8 x 10", "5 x 7", "4.5 x 6.5"),
            ("11 x 14", "8 x 10", "7.5 x 9.5"),
            ("16 x 20", "11 x 14", "10.5 x 13.5"),
            ("20 x 24", "16 x 20", "15.5 x 19.5"),
            ("24 x 36", "20 x 30", "19.5 x 29.5"),
            ("30 x 40", "22 x 32", "21.5 x 31.5"),
        )
    ),
    Case(
        name="print in millimetres",
        source="ISO 216, A3 297 x 420 mm; worked by hand: 420 - 6, 297 - 6",
        mark=PRACTICE,
        because="3 mm a side; A3 is 297x420 by ISO 216",
        given={"art": "420 x 297", "overlap": "3", "mats": "1", "border": "50"},
        expected=_opening("414", "291"),
        unit="mm",
    ),
    Case(
        name="border from sizes",
        source="algebra.com: picture 8 3/4 and mat 11 1/2: border 1 3/8",
        mark=PUBLISHED,
        because=f"{HALVES}, overlap 0",
        given={"art": "8 3/4 x 8 3/4", "overlap": "0", "mats": "1", "fit_to": "11 1/2 x 11 1/2"},
        expected=_borders(*["1 3/8"] * 4),
    ),
    Case(
        name="border from an area",
        source="algebra.com: picture 9x21, outside area 325: border 2",
        mark=PUBLISHED,
        because="13 x 25 = 325",
        given={"art": "9 x 21", "overlap": "0", "mats": "1", "border": "2"},
        expected={"square inches": "325", "package width": "13", "package height": "25"},
    ),
    Case(
        name="bottom-weighted mat",
        source="en.wikibooks.org, 'How to Frame a Picture': AW - 1 + 2M by AH - 1 + 2M + 1, and "
        "2AW - 2 + 2AH + 8M + 8F, here at AW 30, AH 40, M 5, F 2 cm: 39 x 50, 194",
        mark=DERIVED,
        because="1 cm of overlap in total is 1/2 cm a side; M runs to the opening as ours does; "
        "the bottom has 1 cm more; footage at A = 0",
        given={
            "art": "30 x 40", "overlap": "0.5", "mats": "1", "border": "5/ 5/ 6/ 5",
            "face": "2", "rabbet": "0.6", "depth": "1",
        },
        expected={"package width": "39", "package height": "50", "footage": "194"},
        unit="cm",
    ),
    Case(
        name="opening of a sheet",
        source="worked by hand: 8 - 2/4 by 10 - 2/4",
        mark=PRACTICE,
        because="our own way to say it",
        given={"art": "8 x 10", "overlap": "1/4", "mats": "1", "border": "2"},
        expected=_opening("7 1/2", "9 1/2"),
    ),
]  # fmt: skip
