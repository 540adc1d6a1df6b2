"""Frames: published and derived figures, as whole jobs without a mat.

What goes into the frame is a full_bleed artwork, so that the package is the ordered size D. Our
footage counts from the rabbet, 2·(D1 + D2) + 4·A + 8·W; sources that count from the package say the
same with A = 0, and sources that add "a little" in the end say it with 4·A for that little.
"""

from fractions import Fraction

from tests.golden.case import DERIVED, PRACTICE, PUBLISHED, Case

FROM_RABBET = "footage = 2·(D1 + D2) + 4·A + 8·W"
RAIL = "rail = D + A + 2·(W - R)"
FRAMES = [
    Case(
        name="footage by eight widths",
        source="worked by hand: 72 + 16 + 0.25 = 88.25 in = 7.354 ft",
        mark=PRACTICE,
        because=f"{FROM_RABBET}; the 1/4 in for all four rails is A = 1/16 in a dimension",
        given={"art": "16 x 20", "face": "2", "rabbet": "1/4", "allowance": "1/16"},
        expected={"footage": "88.25", "feet": "7.354"},
        near="0.0005",
    ),
    Case(
        name="rails a face longer",
        source="worked by hand: rails of 16 + 4 and 20 + 4 in, plus 1/16 each",
        mark=PRACTICE,
        because="each rail grows by the whole face width here, as if the rabbet had no width: "
        "2·(W - R) = 4 at W = 2 1/4, R = 1/4, and A = 1/16",
        given={"art": "16 x 20", "face": "2 1/4", "rabbet": "1/4", "allowance": "1/16"},
        expected={"rail across": "20 1/16", "rail down": "24 1/16"},
    ),
    Case(
        name="footage with a wide face",
        source="worked by hand: 72 + 12 + 1.5 = 85.5 in = 7 1/8 ft",
        mark=PRACTICE,
        because=f"{FROM_RABBET}; the 1.5 in for all is A = 3/8 in",
        given={"art": "16 x 20", "face": "1 1/2", "rabbet": "1/4", "allowance": "3/8"},
        expected={"footage": "85.5", "feet": "7.125"},
    ),
    Case(
        name="footage in millimetres",
        source="worked by hand: 2·(305 + 407) = 1424, 1428 with tolerance, + 8·66 = 1956",
        mark=PRACTICE,
        because=f"{FROM_RABBET}; the 4 mm of tolerance is A = 1 mm; 8·66 = 528",
        given={"art": "305 x 407", "face": "66", "rabbet": "6", "allowance": "1", "depth": "12"},
        expected={"footage": "1956", "rabbet width": "306", "perimeter": "1424"},
        unit="mm",
    ),
    Case(
        name="footage of a chop",
        source="worked by hand: 2·(30 + 40) + 8·3 = 164 cm; 2.50 x 1.80 x 1.64 = 7.38",
        mark=PRACTICE,
        because=f"{FROM_RABBET} at A = 0; 2.50 x 1.80 a metre is 4.50 x 0.3048 = 1.3716 a foot, "
        "billed to the exact foot (step 0)",
        given={"art": "30 x 40", "face": "3", "rabbet": "0.6", "depth": "1"},
        facts={"per_foot": Fraction("4.50") * Fraction("0.3048")},
        expected={"footage": "164", "frame price": "7.38"},
        unit="cm",
    ),
    Case(
        name="rail from its sight",
        source="worked by hand: 8 + 2(2 - 1/8) = 11 3/4 in",
        mark=PRACTICE,
        because=f"{RAIL} at A = 0",
        given={"art": "8 x 8", "face": "2", "rabbet": "1/8"},
        expected={"rail across": "11 3/4", "rail down": "11 3/4"},
    ),
    Case(
        name="opening of a small frame",
        source="worked by hand: 5 - 1/2 by 7 - 1/2 opening; rails 5 + 2 and 7 + 2",
        mark=PRACTICE,
        because=f"sight = D + A - 2·R, {RAIL}, both at A = 0",
        given={"art": "5 x 7", "face": "1 1/4", "rabbet": "1/4", "depth": "3/8"},
        expected={
            "sight width": "4 1/2",
            "sight height": "6 1/2",
            "rail across": "7",
            "rail down": "9",
        },
    ),
    Case(
        name="outside without allowance",
        source="mathschallenge.net 308: 12x16, frame 3/4 in beyond each edge: 13.5 x 17.5, 62 in",
        mark=PUBLISHED,
        because="beyond each edge is W - R = 3/4 at A = 0",
        given={"art": "12 x 16", "face": "1", "rabbet": "1/4"},
        expected={"outside width": "13.5", "outside height": "17.5", "rails": "62"},
    ),
    Case(
        name="outside with allowance",
        source="the same with 1/8 in extra in both directions: 62.5 in",
        mark=DERIVED,
        because="four rails grow by A = 1/8 each",
        given={"art": "12 x 16", "face": "1", "rabbet": "1/4", "allowance": "1/8"},
        expected={"rails": "62.5"},
    ),
    Case(
        name="perimeter outside",
        source="studypool.com: 11x15 and 3 in each side, 17x21 outside: perimeter 76 in",
        mark=PUBLISHED,
        because="3 in beyond each edge is W - R",
        given={"art": "11 x 15", "face": "3 1/4", "rabbet": "1/4"},
        expected={"outside width": "17", "outside height": "21", "rails": "76"},
    ),
    Case(
        name="rabbet from sight",
        source="worked by hand: 24 - 2/4 by 30 - 2/4",
        mark=PRACTICE,
        because="sight = rabbet - 2·R at the usual R = 1/4",
        given={"art": "24 x 30", "face": "2", "rabbet": "1/4"},
        expected={
            "rabbet width": "24",
            "rabbet height": "30",
            "sight width": "23.5",
            "sight height": "29.5",
        },
    ),
    Case(
        name="sight behind a lip",
        source="worked by hand: 8 - 2/4 by 10 - 2/4",
        mark=PRACTICE,
        because="outside = size + 2·face - 2·lip; with a 2 in face 11.5 x 13.5 (derived)",
        given={"art": "8 x 10", "face": "2", "rabbet": "1/4"},
        expected={
            "sight width": "7.5",
            "sight height": "9.5",
            "outside width": "11.5",
            "outside height": "13.5",
        },
    ),
    Case(
        name="rails by formula",
        source="worked by hand: 16 + 1/8 + 3 1/2 and 20 + 1/8 + 3 1/2",
        mark=DERIVED,
        because=f"{RAIL}; saw cuts belong to the cutting plan",
        given={"art": "16 x 20", "face": "2", "rabbet": "1/4", "allowance": "1/8"},
        expected={"rail across": "19.625", "rail down": "23.625", "rails": "86.5"},
    ),
    Case(
        name="octagon across flats",
        source="a regular octagon 20 in across flats: side 20·tan 22.5° = 8.28427, mitre 22.5",
        mark=PRACTICE,
        because="a rail's side is F·tan(180°/8) of the outside: 17 + 2·(1 3/4 - 1/4) = 20",
        given={"art": "17 x 17", "face": "1 3/4", "rabbet": "1/4", "sides": "8"},
        expected={"rail across": "8.28427", "mitre": "22.5", "outside width": "20"},
        near="0.00001",
    ),
    Case(
        name="octagon round a small circle",
        source="mathcentral.uregina.ca: octagon round a circle of radius 2.9: side 2.40",
        mark=PUBLISHED,
        because="F = 2·2.9 = 5.8 outside: 4 + 2·(1.15 - 0.25)",
        given={"art": "4 x 4", "face": "1.15", "rabbet": "0.25", "sides": "8"},
        expected={"rail across": "2.40"},
        near="0.005",
    ),
    Case(
        name="octagon round a large circle",
        source="the same at radius 4.9: 4.06",
        mark=PUBLISHED,
        because="F = 9.8 outside: 8 + 2·(1.15 - 0.25)",
        given={"art": "8 x 8", "face": "1.15", "rabbet": "0.25", "sides": "8"},
        expected={"rail across": "4.06"},
        near="0.005",
    ),
    Case(
        name="octagon of eight pieces",
        source="eight pieces 6 in long point of 1.5 in stock: 6/tan 22.5° - 3 = 11.485",
        mark=DERIVED,
        because="F = 6 / tan 22.5° = 14.4853; less two faces of 1.5 in the sight is 11.4853; the "
        "package is that and two lips",
        given={"art": "11.985 x 11.985", "face": "1.5", "rabbet": "1/4", "sides": "8"},
        expected={"rail across": "6", "sight width": "11.485"},
        near="0.0005",
    ),
    Case(
        name="depth of a package",
        source="a framing guide on an art teacher's page: 1/8 acrylic + 1/16 mat + 3/16 foam = 3/8",
        mark=PUBLISHED,
        because="stack_depth adds the layers; the art there has no thickness",
        given={
            "art": "8 x 10",
            "mats": "1",
            "border": "2",
            "overlap": "1/8",
            "board": "1/16",
            "glazing": "acrylic 1/8",
            "backing": "3/16",
        },
        expected={"stack": "3/8"},
    ),
    Case(
        name="rejected rails",
        source="a lifestyle article, 20 x 25 cm art and 1 cm of wood: its own rule gives 22 and 27 "
        "and it prints 23 and 28 (rejected)",
        mark=DERIVED,
        because="1 cm of wood beyond each edge is W - R = 1",
        given={"art": "20 x 25", "face": "1.6", "rabbet": "0.6", "depth": "1"},
        expected={"rail across": "22", "rail down": "27"},
        unit="cm",
    ),
]

CHART = {
    (12, "3"): "4.3", (12, "2.5"): "4.0", (20, "0.5"): "4.0", (20, "1"): "4.3", (24, "2"): "5.7",
    (30, "4.5"): "8.3", (36, "0.5"): "6.7", (36, "2"): "7.7", (36, "5"): "9.7", (44, "5"): "11.0",
    (48, "2.5"): "10.0", (50, "1"): "9.3",
}  # fmt: skip
"""United inches and face width to feet, to a tenth."""


def chart_case(united: int, face: str, feet: str) -> Case:
    """A length of moulding to order: (2·UI + 8·W + 4)/12 feet, never below 4."""
    return Case(
        name=f"chart {united} united inches, face {face}",
        source="worked by hand: (2·UI + 8·W + 4)/12, to 0.1 ft",
        mark=PRACTICE,
        because=f"{FROM_RABBET}; the flat 4 in is A = 1 in; the floor is the shop's minimum",
        given={
            "art": f"{united // 2 - 1} x {united - united // 2 + 1}", "face": face,
            "rabbet": "1/4", "allowance": "1", "feet_minimum": "4",
        },
        expected={"billed feet": feet, "united inches": str(united)},
        near="0.05",
    )  # fmt: skip


FRAMES += [chart_case(united, face, feet) for (united, face), feet in CHART.items()]
