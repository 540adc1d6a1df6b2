"""What the public gives so that the shop can answer: asked for where the shop's setting says so.

Names, mail and numbers are invented: `example` is kept for documentation by RFC 2606, 555-0100 to
555-0199 for fiction by the North American Numbering Plan. The shop's own number is +1 207 555 0142.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from service.api.application import create_app
from service.app.customers import CONTACT
from tests.api.quotes.test_steps import QUOTES
from tests.api.world import World, faults_of, job

SHOP = "/v1/shop"
ANSWERED = {"name": "A. Invented", "email": "a@invented.example"}


@pytest.fixture
def form(world: World) -> World:
    """The service whose quote form has the key with the scope `price`."""
    settings = replace(world.wiring.settings, form_key=world.tokens["price"])
    wiring = replace(world.wiring, settings=settings)
    return replace(world, wiring=wiring, client=create_app(wiring).test_client())


def left(world: World, customer: dict[str, str], scope: str = "price") -> Any:
    return world.post(QUOTES, {**job(), "customer": customer}, scope)


def ask_for(world: World, contact: str) -> None:
    shop = world.ask("GET", SHOP, "admin").get_json()
    shop["quote_form"]["contact"] = contact
    changed = world.ask("PUT", SHOP, "admin", json=shop, headers={"If-Match": "*"})
    assert changed.get_json()["quote_form"]["contact"] == contact


@pytest.mark.parametrize(
    ("customer", "faults"),
    [
        ({}, {"/customer/name": "name", "/customer/email": "reached"}),
        ({"name": " "}, {"/customer/name": "name", "/customer/email": "reached"}),
        ({"name": "A. Invented"}, {"/customer/email": "reached"}),
        ({"email": "a@invented.example"}, {"/customer/name": "name"}),
        ({**ANSWERED, "email": "not-an-email"}, {"/customer/email": "email"}),
        ({**ANSWERED, "email": "a@b@invented.example"}, {"/customer/email": "email"}),
        ({**ANSWERED, "telephone": "call me"}, {"/customer/telephone": "telephone"}),
        ({**ANSWERED, "telephone": "555"}, {"/customer/telephone": "telephone"}),
        ({**ANSWERED, "telephone": "+999 1"}, {"/customer/telephone": "telephone"}),
    ],
)
def test_the_form_leaves_no_draft_that_nobody_can_answer(
    form: World, customer: dict[str, str], faults: dict[str, str]
) -> None:
    before = form.rows()
    refused = left(form, customer)
    told = {each["pointer"]: each["detail"] for each in refused.get_json()["errors"]}
    assert told == {pointer: CONTACT[word] for pointer, word in faults.items()}
    assert set(faults_of(refused).values()) <= {"missing_field", "bad_value"}
    assert form.rows() == before


@pytest.mark.parametrize(
    "reached",
    [
        {"email": "a.b+frames@invented.example"},
        {"telephone": "207 555 0143"},
        {"telephone": "(207) 555-0143"},
        {"telephone": "+44 20 7946 0018"},
    ],
)
def test_a_name_and_one_way_to_answer_are_enough(form: World, reached: dict[str, str]) -> None:
    stored = left(form, {"name": "A. Invented", **reached})
    assert stored.status_code == 201
    assert stored.get_json()["status"] == "draft"
    assert stored.get_json()["customer"] == {"name": "A. Invented", **reached}


def test_other_keys_are_asked_only_where_the_shop_says_so(world: World) -> None:
    """Unless the setting says otherwise a caller with a key of its own is served as before."""
    assert left(world, {}).status_code == 201
    ask_for(world, "public")
    world.clock.move(minutes=1)
    assert set(faults_of(left(world, {}))) == {"/customer/name", "/customer/email"}
    assert left(world, {}, "counter").status_code == 201
    assert world.post("/v1/estimates", job(), "price").status_code == 200


def test_a_shop_may_ask_for_nothing(form: World) -> None:
    ask_for(form, "never")
    form.clock.move(minutes=1)
    assert left(form, {}).status_code == 201


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"overlap": "9"}, "/jobs/0/overlap"),
        ({"overlap": "wide"}, "/jobs/0/overlap"),
        ({"overlap": "0"}, "/jobs/0/overlap"),  # it cannot be made: the art would fall through
    ],
)
def test_faults_of_the_job_and_of_the_contact_are_told_together(
    form: World, change: dict[str, str], pointer: str
) -> None:
    document = {**job(), "customer": {"name": "A. Invented"}}
    document["jobs"][0] |= change
    assert set(faults_of(form.post(QUOTES, document, "price"))) == {pointer, "/customer/email"}


@pytest.mark.parametrize("customer", [None, [], "me", {"name": 3}, {"name": "A", "email": ["x"]}])
def test_a_customer_that_is_none_is_named_once(form: World, customer: Any) -> None:
    told = form.post(QUOTES, {**job(), "customer": customer}, "price").get_json()["errors"]
    pointers = [fault["pointer"] for fault in told]
    assert len(pointers) == len(set(pointers))
    assert any(pointer.startswith("/customer") for pointer in pointers)
