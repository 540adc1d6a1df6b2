"""The shop's document: defaults stay the domain's, and every setting comes back."""

from fractions import Fraction

import pytest

from schemas.shop import dump_shop, load_shop, read_shop
from service.demo import demo_shop
from service.domain.errors import JobRefused
from service.domain.letterhead import Letterhead
from service.domain.measure.length import Length
from service.domain.measure.ruler import Ruler
from service.domain.shop import (
    Billing,
    ClearanceStep,
    FrameUse,
    Hanging,
    Joining,
    Method,
    Preset,
    QuoteForm,
    Shop,
    Sizing,
    SupplyUse,
    Taxation,
    TaxRate,
)

LEAST = {
    "code": "s",
    "name": "A shop",
    "currency": "EUR",
    "time_zone": "Europe/Lisbon",
    "ruler": {"unit": "mm", "step": "0.5"},
}
RULER = Ruler("mm", Length.millimetres("0.5"))


def test_settings_that_are_left_out_keep_the_domains_defaults():
    assert load_shop(LEAST) == Shop(
        code="s", name="A shop", currency="EUR", time_zone="Europe/Lisbon", ruler=RULER
    )


def test_part_of_the_settings_may_be_given():
    shop = load_shop({**LEAST, "sizing": {"overlap": "3"}})
    assert shop.sizing == Sizing(overlap=Length.millimetres(3))


FULL = Shop(
    code="s",
    locale="de-CH",
    name="A shop",
    currency="EUR",
    time_zone="UTC",
    ruler=RULER,
    sizing=Sizing(plastic_clearance=(ClearanceStep(Length.millimetres(800), Length(7)),)),
    billing=Billing(
        united_inches="sides",
        sheet_shares=(Fraction("0.125"), Fraction(1)),
        sheet_share_by="yield",
    ),
    hanging=Hanging(ring_parts=Fraction("2.5"), wire_step=Length.millimetres(5)),
    joining=(
        Joining(
            material="aluminium",
            uses=(FrameUse(item="SPRING", measure="side_foot", least=Fraction(2)),),
        ),
    ),
    taxation=Taxation(
        included=True,
        rounded="line",
        rates=(TaxRate(category="goods", name="VAT", percent=Fraction("17.5")),),
        untaxed=("labour",),
    ),
    mounting=(
        Method(
            "hinged",
            "Hinged",
            "hinged_mounts",
            (SupplyUse("piece", Fraction(2), "TISSUE"),),
        ),
        Method("pressed", "Pressed", "pressed_mounts", reversible=False),
    ),
    finishing=(
        Method("wire", "Wire", "hanging_sets", (SupplyUse("wire_foot", Fraction(1), "", "wire"),)),
        Method(
            "tape", "Tape", "", (SupplyUse("perimeter_foot", Fraction(1), "T", covers="package"),)
        ),
    ),
    quote_valid_days=14,
    quote_form=QuoteForm(
        contact="public",
        presets=(
            Preset(art="paper", mat="M", under="", finishing=()),
            Preset(art="canvas", presentation="floater", mounting="", finishing=("wire",)),
        ),
    ),
    letterhead=Letterhead(
        address=("1 Quay", "Brinemouth"), hours=("Daily 9 to 5",), terms="One.\nTwo."
    ),
)


def test_a_shop_comes_back_from_its_document_as_it_was():
    document = dump_shop(FULL)
    assert load_shop(document) == FULL
    assert dump_shop(load_shop(document)) == document


def test_a_document_that_is_read_back_holds_every_setting():
    document = dump_shop(load_shop(LEAST))
    assert document["sizing"]["allowance"] == "1/8 in"
    assert document["safety"]["glass_largest"] == "32 x 40 in"
    assert document["safety"]["slender_face"][0] == {"united_inches": "38", "face_width": "3/4 in"}
    assert document["billing"]["sheet_shares"] == ["0.25", "0.5", "1"]
    assert document["bench"]["stops"] is True
    assert load_shop(document) == load_shop(LEAST)


@pytest.mark.parametrize(
    ("fields", "pointer", "code"),
    [
        ({"currency": "euro"}, "/currency", "bad_currency"),
        ({"time_zone": "Harbour/Nowhere"}, "/time_zone", "bad_choice"),
        ({"time_zone": "../../etc/passwd"}, "/time_zone", "bad_choice"),
        ({"time_zone": 3}, "/time_zone", "bad_choice"),
        ({"ruler": {"unit": "in", "step": "3/16 mm"}}, "/ruler/step", "bad_value"),
        ({"ruler": {"unit": "yd", "step": "1 in"}}, "/ruler/unit", "bad_choice"),
        ({"sizing": {"over_lap": "3"}}, "/sizing/over_lap", "unknown_field"),
        ({"bench": {"stops": "yes"}}, "/bench/stops", "bad_value"),
        ({"bench": {"acrylic_passes": "3"}}, "/bench/acrylic_passes", "bad_number"),
        ({"billing": {"sheet_shares": ["0.5"]}}, "/billing/sheet_shares", "bad_value"),
        (
            {"safety": {"slender_face": [{"united_inches": 3}]}},
            "/safety/slender_face/0/face_width",
            "missing_field",
        ),
        ({"quote_form": {"contact": "all"}}, "/quote_form/contact", "bad_choice"),
        (
            {"quote_form": {"presets": [{"art": "paper"}, {"art": "paper"}]}},
            "/quote_form/presets/1/art",
            "bad_value",
        ),
        ({"hanging": {"ring_parts": "1"}}, "/hanging/ring_parts", "bad_number"),
        ({"hanging": {"wire_parts": "1.5"}}, "/hanging/wire_parts", "bad_number"),
        ({"billing": {"sheet_share_by": "weight"}}, "/billing/sheet_share_by", "bad_choice"),
        ({"joining": [{"material": "aluminium", "uses": []}]}, "/joining/0/uses", "bad_value"),
        (
            {"joining": [{"material": "zinc", "uses": [{"item": "A", "measure": "mile"}]}]},
            "/joining/0/uses/0/measure",
            "bad_choice",
        ),
        ({"quote_valid_days": 0}, "/quote_valid_days", "bad_number"),
        (
            {"mounting": [{"code": "h", "description": "", "driver": "hinges"}]},
            "/mounting/0/driver",
            "bad_choice",
        ),
        (
            {
                "finishing": [
                    {
                        "code": "w",
                        "description": "",
                        "driver": "",
                        "uses": [{"measure": "piece", "per_unit": 1}],
                    }
                ]
            },
            "/finishing/0/uses/0/item",
            "bad_value",
        ),
    ],
)
def test_a_wrong_setting_is_pointed_to(fields, pointer, code):
    with pytest.raises(JobRefused) as refused:
        load_shop({**LEAST, **fields})
    assert [(f.pointer, f.code) for f in refused.value.faults()] == [(pointer, code)]


@pytest.mark.parametrize("locale", ["xx-YY", "de_CH", "english", 7, "de-CH" * 9, None])
def test_a_locale_that_cldr_does_not_have_is_refused(locale: object) -> None:
    with pytest.raises(JobRefused) as refused:
        load_shop({**LEAST, "locale": locale})
    assert [fault.pointer for fault in refused.value.faults()] == ["/locale"]


def test_a_material_has_one_entry_of_what_its_frames_are_joined_with():
    use = {"item": "SUP-ANGLE", "measure": "corner"}
    joining = [{"material": name, "uses": [use]} for name in ("Aluminium", "brass", " aluminium ")]
    document = {**dump_shop(demo_shop()), "joining": joining, "currency": "US"}
    with pytest.raises(JobRefused) as refused:
        read_shop(document)
    found = {fault.pointer: fault.code for fault in refused.value.faults()}
    assert found["/joining/2/material"] == "twice"
    assert "/currency" in found
    # Settings that an earlier release stored are read all the same; the first entry counts.
    stored = load_shop({**document, "currency": "USD"})
    assert [each.material for each in stored.joining] == ["Aluminium", "brass", "aluminium"]


def test_a_term_of_condition_has_a_code_of_its_own():
    codes = ("tear", "Tear", "stain", "tear")
    terms = [{"code": code, "description": "Invented"} for code in codes]
    document = {**dump_shop(demo_shop()), "condition_terms": terms}
    with pytest.raises(JobRefused) as refused:
        read_shop(document)
    (fault,) = refused.value.faults()
    assert (fault.pointer, fault.code) == ("/condition_terms/3/code", "twice")
    # Settings that an earlier release stored are read all the same; the first term counts.
    assert len(load_shop(document).condition_terms) == 4
    assert len(read_shop({**document, "condition_terms": terms[:3]}).condition_terms) == 3
