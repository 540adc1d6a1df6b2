"""The job document, taken by `POST /v1/estimates` and `POST /v1/quotes`; loads to `JobSpec`."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from marshmallow import ValidationError
from marshmallow.exceptions import SCHEMA

from schemas.jobs.parts import (
    ArtworkDocument,
    AskedLineDocument,
    BackingDocument,
    ConditionDocument,
    DiscountDocument,
    FrameDocument,
    GlazingDocument,
    GoodDocument,
    JobDiscountDocument,
    JobLineDocument,
    MatDocument,
    MountingDocument,
    OpeningsField,
    OverrideDocument,
    OwnFrameDocument,
    notes_field,
)
from schemas.shop import CurrencyCode
from schemas.wire.document import Document, Part, Resource, Several
from schemas.wire.fields import Code, DateField, OneOf, StrictInteger, Words
from schemas.wire.lengths import LengthField, SidesField, SizeField
from service.domain.errors import Fault
from service.domain.estimates.sweep import SweepRequest
from service.domain.jobs.job import MOST_OF_A_JOB, PRESENTATIONS, Conditions, JobSpec
from service.domain.jobs.work import NEW, WORKS
from service.domain.quotes.life import Customer, QuoteRequest

MOST_JOBS = 50
MOST_MATS = 6
MOST_FRAMES = 4
MOST_LINES = 50
_UNPRESENTED = "this is missing: say how the art is presented"
_LINES = (
    "They are taxed like others; quantity breaks leave them alone, and so do discounts that do not "
    "name `service` or `sundry`."
)


class JobDocument(Document):
    """One picture to be framed, or several alike."""

    makes = JobSpec
    label = Words(longest=120, means="The shop's name for it.")
    quantity = StrictInteger(
        least=1, most=MOST_OF_A_JOB, means="The number of equal pieces. Default: 1."
    )
    artwork = Part(
        ArtworkDocument,
        load_default=None,
        means="What is framed; windows placed by hand have artwork of their own.",
    )
    work = OneOf(
        tuple(WORKS),
        means=(
            "The kind of work. `new_framing`, the default. In the customer's `own_frame`: "
            "`reglaze`, `refit`, `new_mat` (the frame sets the mat's outside), `corner_repair`; "
            "`own_frame`: that frame cut down or joined. `mount_only`: the art on its board. "
            "`glass_only`: a lite, `cut_to` size. Of `goods`: `hardware` over the counter, "
            "`ready_made`. A part that a kind needs and lacks, or has no use for, is refused."
        ),
    )
    presentation = OneOf(
        PRESENTATIONS,
        means=(
            "Needed where art is framed: by `new_framing`, `new_mat` and `own_frame`. "
            "`overlap`: the mat covers the edge of the art. `float`: all of the art "
            "shows on its mount. `full_bleed`: no mat; the rabbet's lip covers the "
            "edge. `floater`: a canvas in a frame that stands off it."
        ),
    )
    overlap = SidesField(
        means="With `overlap`: how far the mat covers the art, per side. Default: the shop's."
    )
    float_margin = SidesField(
        means=(
            "With `float`: how much of the mount shows around the art, per side. "
            "Default: the shop's."
        )
    )
    gap = LengthField(
        means=(
            "With `floater`: the distance between canvas and frame, per side. Default: the shop's."
        )
    )
    openings = OpeningsField(
        means=("Several windows in one mat: a grid of equal ones, or a list of placed ones.")
    )
    mats = Several(
        Part(MatDocument),
        most=MOST_MATS,
        means="The mats from the glazing inwards; the first is the top mat.",
    )
    fit_to = SizeField(
        means=(
            "The outside size of the mat, from which the borders are calculated. It "
            "replaces a border."
        )
    )
    bottom_weight = LengthField(means="With `fit_to`: how much wider the bottom border is.")
    own_frame = Part(OwnFrameDocument, means="The frame that the customer brings.")
    cut_to = SizeField(means="With the work `glass_only`: the size of the lite.")
    goods = Several(
        Part(GoodDocument),
        most=MOST_LINES,
        means="With the work `hardware` or `ready_made`: what is sold.",
    )
    glazing = Part(GlazingDocument, means="The glazing.")
    mounting = Part(MountingDocument, means="How the art is mounted, and on what.")
    backing = Part(BackingDocument, means="The backing board.")
    frames = Several(
        Part(FrameDocument),
        most=MOST_FRAMES,
        means=(
            "The frames from the innermost outwards; the rabbet of each holds the frame inside it."
        ),
    )
    finishing = Several(
        Code(), most=20, means="The codes of the shop's finishings that are wanted."
    )
    preservation_grade = StrictInteger(
        least=1,
        most=4,
        means=(
            "The preservation grade that every board should have, 1 preserves most; "
            "boards below it are named in the advisories."
        ),
    )
    fees = Several(
        Code(),
        most=10,
        means=(
            "Fees of the price list that the job asks for, such as rush. Other fees "
            "follow from their rules."
        ),
    )
    discounts = Several(
        Part(JobDiscountDocument),
        most=10,
        means="Taken off after the quantity break, one after the other.",
    )
    overrides = Several(
        Part(OverrideDocument),
        most=10,
        means=(
            "Stops that the shop sets aside, each with its reason, which papers show. Not for keys "
            "of public forms."
        ),
    )
    lines = Several(
        Part(JobLineDocument),
        most=MOST_LINES,
        means=f"Lines of its own. {_LINES}",
    )
    notes = notes_field("the job")
    condition = Several(
        Part(ConditionDocument),
        most=30,
        means="The condition in which it came in, in the shop's terms (`condition_terms`).",
    )

    def make(self, values: dict[str, Any]) -> Any:
        """Return the job, with its backing's notes beside the backing."""
        if "presentation" not in values:
            if WORKS[values.get("work", NEW)].presented:
                raise ValidationError([Fault("/presentation", "missing_field", _UNPRESENTED)])
            values["presentation"] = "full_bleed"
        for name in ("overlap", "float_margin"):
            given = values.get(name)
            if given is not None:
                values[name] = given.narrowest()
                if len({length.ticks for _, length in given.each()}) > 1:
                    values["by_side"] = given
        backing = values.get("backing")
        if backing is not None:
            values["backing"], values["backing_notes"] = backing
        return super().make(values)

    def handle_error(self, error: ValidationError, data: Any, **more: Any) -> None:
        """Name a presentation that is missing beside the other faults, too."""
        super().handle_error(error, data, **more)
        told = error.messages
        if not isinstance(data, Mapping) or not isinstance(told, dict):
            return
        if "presentation" not in data and SCHEMA not in told:
            kind = WORKS.get(data.get("work", NEW)) if type(data.get("work", NEW)) is str else None
            if kind is not None and kind.presented:
                told.setdefault("presentation", [Fault("", "missing_field", _UNPRESENTED)])


class CustomerDocument(Document):
    """Who asks."""

    makes = Customer
    name = Words(longest=120, means="The customer's name.")
    email = Words(longest=254, means="Stored as given; nothing is sent to it.")
    telephone = Words(longest=40, means="Stored as given.")
    note = Words(longest=1000, lines=True, means="A note of one or more lines.")


class QuoteRequestDocument(Resource):
    """The document of an estimate or a quote."""

    makes = QuoteRequest
    reference = Words(longest=80, means="The caller's own reference; lists can be searched by it.")
    customer = Part(
        CustomerDocument, means="The customer; stored with a quote, ignored by an estimate."
    )
    customer_id = Code(
        shortest=0,
        means=(
            "The customer of the shop that it is for. Name, mail and telephone that `customer` "
            "leaves out are copied from there, and a tax exemption in force counts; only for the "
            "shop's own keys."
        ),
    )
    currency = CurrencyCode(
        means=(
            "The currency of the prices, if the shop has a price list in it. "
            "Default: the shop's own."
        )
    )
    wanted_by = DateField(
        means=(
            "The day by which the customer wants all of it, in the shop. It is checked against the "
            "bench's work when the quote is accepted; `…/promise` tells before. Needed with the "
            "rush fee."
        )
    )
    discounts = Several(
        Part(DiscountDocument),
        most=10,
        means=(
            "Taken off all jobs together, after their own. The shop's settings limit "
            "what a key may give by hand."
        ),
    )
    coupon = Code(
        shortest=0,
        means=(
            "The code of a coupon of the shop, taken off last; case does not count. It is checked "
            "now, and its use counts when the quote is accepted."
        ),
    )
    tax_exempt = Words(shortest=1, longest=200, means="Why the customer pays no tax.")
    tax_place = Code(
        means=("The place where the tax is due, if the shop has rates for several places.")
    )
    lines = Several(
        Part(AskedLineDocument),
        most=MOST_LINES,
        means=f"Lines of the whole order, such as its delivery. {_LINES}",
    )
    notes = notes_field("the whole order")
    price_level = Code(
        shortest=0,
        means=(
            "The shop's price level that it is priced at. Default: the customer's, or the usual "
            "prices. Only for the shop's own keys."
        ),
    )
    jobs = Several(
        Part(JobDocument),
        least=1,
        most=MOST_JOBS,
        required=True,
        means="The pictures to be framed.",
    )

    def make(self, values: dict[str, Any]) -> Any:
        """Return the request, with its special conditions, if any, collected."""
        conditions = {name: values.pop(field, None) for name, field in _CONDITIONS}
        if any(conditions.values()):
            told = {name: value for name, value in conditions.items() if value}
            values["conditions"] = Conditions(**told)
        return super().make(values)


_CONDITIONS = (
    ("discounts", "discounts"),
    ("exempt", "tax_exempt"),
    ("place", "tax_place"),
    ("notes", "notes"),
    ("lines", "lines"),
    ("level", "price_level"),
)


class SweepRequestDocument(Resource):
    """The document of a sweep."""

    makes = SweepRequest
    job = Part(
        JobDocument,
        required=True,
        means="The job. What is tried replaces its innermost frame, or its glazing.",
    )
    over = OneOf(
        ("mouldings", "glazing"),
        required=True,
        means="What is tried: every moulding, or every glazing.",
    )
    items = Several(Code(), most=5000, means="The codes to try. Default: all that the shop sells.")


JOB = JobDocument()
