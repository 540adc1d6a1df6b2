"""Versions in headers: RFC 9110, sections 8.8.3 and 13 (If-Match, strong; If-None-Match, weak)."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from flask import Flask

from service.api.http.conditional import etag, must_match, unless_seen
from service.api.http.problems import RequestRefused
from service.domain.errors import Stale


@pytest.fixture
def app() -> Iterator[Flask]:
    return Flask("conditional")


@pytest.mark.parametrize("sent", ['"3"', '"2", "3"', "*", ' "3" '])
def test_a_change_of_the_version_that_was_seen_goes_on(app: Flask, sent: str) -> None:
    with app.test_request_context(headers={"If-Match": sent}):
        assert must_match().check(3) == 3


@pytest.mark.parametrize(
    "sent",
    ['"2"', 'W/"3"', '"33"', "", "nonsense", '""'],  # a weak tag never matches (13.1.1)
)
def test_a_change_of_another_version_is_stale(app: Flask, sent: str) -> None:
    with app.test_request_context(headers={"If-Match": sent}), pytest.raises(Stale):
        must_match().check(3)


def test_a_change_without_a_version_is_refused(app: Flask) -> None:
    with app.test_request_context(), pytest.raises(RequestRefused) as refused:
        must_match()
    assert refused.value.status == 428


@pytest.mark.parametrize(
    ("sent", "seen"), [('"3"', True), ('W/"3"', True), ("*", True), ('"4"', False), (None, False)]
)
def test_what_was_seen_is_not_sent_again(app: Flask, sent: str | None, seen: bool) -> None:
    headers = {} if sent is None else {"If-None-Match": sent}
    with app.test_request_context(headers=headers):
        answer = unless_seen(3)
    assert (answer is not None) is seen
    if answer is not None:
        assert (answer.status_code, answer.headers["ETag"]) == (304, etag(3))
