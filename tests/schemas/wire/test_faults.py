"""Faults from nested messages: pointers by RFC 6901, the document's order, and a limit."""

import difflib

import pytest

from schemas.wire.document import Document, read
from schemas.wire.faults import MOST_FAULTS, escape, faults_in
from schemas.wire.fields import Code
from service.domain.errors import Fault, JobRefused


def test_tokens_are_escaped_as_in_the_examples_of_rfc_6901_section_5():
    # The examples of RFC 6901, section 5: "/a~1b" names "a/b", "/m~0n" names "m~n".
    assert escape("a/b") == "a~1b"
    assert escape("m~n") == "m~0n"
    assert escape("~1") == "~01"


def test_nested_messages_become_faults_with_pointers():
    messages = {"jobs": {1: {"mats": {0: {"_schema": ["odd"]}}}, 0: ["first"]}, "_schema": ["all"]}
    document = {"jobs": [{}, {"mats": [{}]}]}
    assert faults_in(messages, document) == (
        Fault("", "bad_value", "all"),
        Fault("/jobs/0", "bad_value", "first"),
        Fault("/jobs/1/mats/0", "bad_value", "odd"),
    )


def test_a_fault_keeps_its_code_and_gets_the_pointer_of_where_it_stands():
    messages = {"a": [Fault("/0/b", "bad_length", "no")]}
    assert faults_in(messages, {"a": [{"b": 1}]}) == (Fault("/a/0/b", "bad_length", "no"),)


class Small(Document):
    name = Code()


def test_a_document_of_nothing_but_mistakes_is_refused_soon_and_shortly(monkeypatch):
    guessed = []
    guess = difflib.get_close_matches
    monkeypatch.setattr(
        difflib,
        "get_close_matches",
        lambda name, *a, **k: guessed.append(name) or guess(name, *a, **k),
    )
    document = {f"nam{number}": 1 for number in range(100_000)}
    with pytest.raises(JobRefused) as refused:
        read(Small(), document)
    faults = refused.value.faults()
    assert len(faults) == MOST_FAULTS + 1
    assert faults[0].pointer == "/nam0"
    assert faults[-1].detail.startswith("99900 more faults")
    assert len(guessed) <= MOST_FAULTS + 1  # guessing names for all would take a minute


def test_a_field_called_like_marshmallows_own_key_is_named_too():
    with pytest.raises(JobRefused) as refused:
        read(Small(), {"_schema": 1})
    assert [fault.pointer for fault in refused.value.faults()] == ["/_schema"]
    assert "_schema is not a field" in refused.value.faults()[0].detail


def test_a_very_long_name_is_shortened_in_the_sentence():
    with pytest.raises(JobRefused) as refused:
        read(Small(), {"n" * 5_000: 1})
    assert len(refused.value.faults()[0].detail) < 120
