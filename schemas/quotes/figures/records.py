"""The figures of a stored quote, exactly: what its sale, tickets and reports are made of.

A stored answer is for reading: it rounds quantities and weights. These records keep every figure of
a revision as it was worked out, so that nothing has to be calculated again: lengths in ticks (1/16
of a micrometre), money in minor units, weights in milligrams, other numbers as a fraction "n/d".
Items, rules, methods and operations are named by code; the papers of the revision have them. Fields
are named as in the domain.

These records are immutable. A field that is added later goes to the end and needs a default, so
that what was stored before is still read; a field that is unknown here is passed over, so that a
later release may add one while this one still runs. Records that come by the dozen are stored as
arrays (`array_like`), which takes a third less. Modules that define records are never compiled:
mypyc loses `frozen`.
"""

from __future__ import annotations

from typing import dataclass_transform

from msgspec import Struct, field
from msgspec.json import Decoder

Size = tuple[int, int]
"""Width and height, in ticks."""
Sides = tuple[int, int, int, int]
"""Top, right, bottom and left, in ticks."""
Exact = str
"""A fraction: "3", "1/3"."""


@dataclass_transform(frozen_default=True, field_specifiers=(field,))
class Kept(Struct, frozen=True, gc=False, omit_defaults=True):
    """A record of figures."""


class Window(Kept, array_like=True):
    """An opening, by its sight edge."""

    shape: str
    x: int
    y: int
    size: Size


class Artwork(Kept):
    """An artwork."""

    size: Size
    thickness: int = 0
    kind: str = "paper"


class PlacedWindow(Kept):
    """A window placed by hand."""

    artwork: Artwork
    x: int
    y: int
    shape: str = "rectangle"


class Layout(Kept):
    """The openings asked for: a single one, a grid (`rows` is not 0), or some placed by hand."""

    shape: str = "rectangle"
    rows: int = 0
    columns: int = 0
    gutter: int = 0
    windows: tuple[PlacedWindow, ...] = ()


class Mat(Kept):
    """A mat as chosen."""

    board: str
    bevel: str = "standard"
    reveal: Sides = (0, 0, 0, 0)
    fillet: str = ""
    grooves: tuple[int, ...] = ()
    ruled_lines: tuple[int, ...] = ()


class Frame(Kept):
    """A frame as chosen."""

    moulding: str
    supply: str = "length"
    sides: int = 4
    fillet: str = ""


class Glazing(Kept):
    """Glazing as chosen; `spacer_item` is empty where the spacer is no item."""

    sheet: str
    spacer: int = 0
    spacer_item: str = ""
    stacked: tuple[str, ...] = ()


class Discount(Kept):
    """A discount by hand or by coupon: percent, or an amount."""

    reason: str
    percent: Exact = ""
    amount: Exact = ""
    component: str = ""
    coupon: str = ""
    components: tuple[str, ...] = ()
    minimum: Exact = ""


class Note(Kept, array_like=True):
    """A note on a job, a piece of it, or the whole order."""

    text: str
    inside: bool = True
    pointer: str = ""


class Finding(Kept, array_like=True):
    """A finding at intake, with the addresses and digests of its photographs."""

    code: str
    words: str = ""
    photographs: tuple[tuple[str, str], ...] = ()
    description: str = ""


class AskedLine(Kept):
    """A line that a document or a job asks for by itself."""

    description: str = ""
    quantity: Exact = "1"
    unit_price: Exact = ""
    service: str = ""
    tax_category: str = "goods"
    minutes: Exact = "0"


class OwnFrame(Kept):
    """A frame that the customer brought."""

    rabbet_width: int
    rabbet_depth: int
    face_width: int
    rabbet: Size | None = None
    material: str = "wood"
    change: str = ""
    corners: int = 0


class Job(Kept):
    """A job with its items found and its defaults filled in."""

    artwork: Artwork
    presentation: str
    label: str = ""
    quantity: int = 1
    overlap: int = 0
    float_margin: int = 0
    gap: int = 0
    openings: Layout = Layout()
    mats: tuple[Mat, ...] = ()
    border: Sides | None = None
    fit_to: Size | None = None
    bottom_weight: int = 0
    glazing: Glazing | None = None
    mounting: str = ""
    mount: str = ""
    backing: str = ""
    frames: tuple[Frame, ...] = ()
    finishing: tuple[str, ...] = ()
    preservation_grade: int | None = None
    fees: tuple[str, ...] = ()
    discounts: tuple[Discount, ...] = ()
    overrides: tuple[tuple[str, str], ...] = ()
    notes: tuple[Note, ...] = ()
    condition: tuple[Finding, ...] = ()
    lines: tuple[AskedLine, ...] = ()
    work: str = "new_framing"
    own_frame: OwnFrame | None = None
    goods: tuple[tuple[str, int], ...] = ()
    by_side: Sides | None = None


class Layer(Kept, array_like=True):
    """A mat as cut; the job's mat of the same place."""

    blank: Size
    trim: int
    windows: tuple[Window, ...]


class FrameSizes(Kept, array_like=True):
    """The dimensions of the job's frame of the same place."""

    holds: Size
    rabbet: Size
    sight: Size
    outside: Size


class Sizes(Kept):
    """All sizes of a job."""

    shows: tuple[Size, ...]
    ordered: Size
    allowance: int = 0
    stack_depth: int = 0
    layers: tuple[Layer, ...] = ()
    border: Sides | None = None
    package: Size | None = None
    frames: tuple[FrameSizes, ...] = ()


class Piece(Kept, array_like=True):
    """A row of the cut list."""

    part: str
    item: str
    quantity: int
    pointer: str
    size: Size | None = None
    length: int | None = None
    layer: int = 0
    side: str = ""
    mitre: Exact = ""
    windows: tuple[Window, ...] = ()
    trim: int = 0
    grooves: tuple[Window, ...] = ()
    ruled_lines: tuple[Window, ...] = ()


class Use(Kept, array_like=True):
    """The use of an item in one framed piece, and what all pieces cost the shop.

    `cost_basis` is empty where no cost of the item was known.
    """

    component: str
    item: str
    pointer: str
    size: Size | None = None
    footage: int | None = None
    feet: Exact = ""
    area: Exact = ""
    pieces: Exact = "1"
    openings: int = 0
    layer: int = 0
    supply: str = ""
    cost_basis: str = ""
    cost_quantity: Exact = "0"
    cost_amount: Exact = "0"
    grooves: int = 0
    ruled_lines: int = 0
    kerf: int = 0


class Hung(Kept, array_like=True):
    """The places and lengths of a piece's hanging."""

    ring_drop: int
    ring_inset: int
    span: int
    rise: int
    wire: int


class OperationTime(Kept, array_like=True):
    """The time of an operation; its minutes include `factor`, if multipliers applied."""

    code: str
    driver: str
    hundredths: int
    quantity: int
    parts: int
    per: int
    description: str = ""
    unit_minutes: Exact = "0"
    set_up_minutes: Exact = "0"
    factor: Exact = ""


class Slice(Kept, array_like=True):
    """The part of a quantity that falls in one bracket."""

    quantity: Exact
    rate: Exact


class Line(Kept, array_like=True):
    """A priced line."""

    component: str
    rule: str
    basis: str
    quantity: Exact
    rate: Exact
    each: int
    amount: int
    item: str = ""
    description: str = ""
    pointer: str = ""
    layer: int = 0
    slices: tuple[Slice, ...] = ()
    pieces: int = 1
    set_up: int = 0
    tax_category: str = ""
    factor: Exact = "1"


class Reduction(Kept):
    """A discount, what it was applied to, and what it takes off."""

    discount: Discount
    base: int
    amount: int


class Advisory(Kept, array_like=True):
    """An advisory, in the words of its day."""

    code: str
    severity: str
    message: str
    pointer: str
    overridden: str = ""


class JobFigures(Kept):
    """The figures of one job."""

    job: Job
    sizes: Sizes
    pieces: tuple[Piece, ...]
    uses: tuple[Use, ...]
    weight_mg: int
    times: tuple[OperationTime, ...]
    minutes: Exact
    lines: tuple[Line, ...]
    subtotal: int
    labour_cost: Exact
    percent_off: Exact = "0"
    discount: int = 0
    advisories: tuple[Advisory, ...] = ()
    reductions: tuple[Reduction, ...] = ()
    left: tuple[int, ...] = ()
    hanging: Hung | None = None


class TaxPart(Kept, array_like=True):
    """A rate of tax with its base, and its tax in parts of a minor unit."""

    name: str
    percent: Exact
    base: int
    part: int
    category: str = ""
    place: str = ""


class Tax(Kept):
    """The tax on a document."""

    total: int
    exact: tuple[TaxPart, ...] = ()
    unknown: tuple[str, ...] = ()
    included: bool = False
    amounts: tuple[int, ...] = ()


class Totals(Kept):
    """The totals of a document."""

    subtotal: int
    discount: int
    tax: Tax
    total: int
    reductions: tuple[Reduction, ...] = ()
    off: tuple[int, ...] = ()
    relief: int | None = None
    lines: tuple[Line, ...] = ()


class Conditions(Kept):
    """The conditions of a document."""

    discounts: tuple[Discount, ...] = ()
    exempt: str = ""
    place: str = ""
    notes: tuple[Note, ...] = ()
    lines: tuple[AskedLine, ...] = ()
    level: str = ""


class Sale(Kept):
    """What reports add up once it is accepted; `cost` is None where one is unknown."""

    cost: int | None
    parts: tuple[tuple[str, str, int], ...]
    materials: tuple[tuple[str, str, int], ...]


class Figures(Kept):
    """All figures of a revision, and which calculation worked them out.

    `release` is empty where the release that stored the quote did not keep its figures.
    """

    jobs: tuple[JobFigures, ...]
    totals: Totals
    deposit: int
    sale: Sale
    calculation: int
    release: str = ""
    conditions: Conditions | None = None


_READER = Decoder(Figures)


def read_figures(document: bytes) -> Figures:
    """Return stored figures.

    Raises:
        msgspec.DecodeError: the document is not one of figures.
    """
    return _READER.decode(document)
