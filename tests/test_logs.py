"""Log lines: JSON that machines read, and nothing of what a customer or a caller sent."""

from __future__ import annotations

import json
import logging
import sys
from datetime import datetime

import pytest

from service.logs import FIELDS, JsonLines, PlainLines, configuration

CUSTOMER = "M. Okafor, m.okafor@example.com"


def _record(message: str = "answered", **more: object) -> logging.LogRecord:
    record = logging.LogRecord("here", logging.INFO, __file__, 1, message, (), None)
    for name, value in more.items():
        setattr(record, name, value)
    return record


def _failed() -> logging.LogRecord:
    try:
        try:
            raise ValueError(CUSTOMER)
        except ValueError as error:
            raise LookupError(CUSTOMER) from error
    except LookupError:
        return _record(exc_info=sys.exc_info())


def test_a_line_is_one_json_object() -> None:
    line = JsonLines().format(_record("two\nlines", **{FIELDS: {"status": 201, "ms": 1.25}}))
    assert "\n" not in line
    document = json.loads(line)
    assert document["message"] == "two\nlines"
    assert (document["status"], document["ms"]) == (201, 1.25)
    assert document["level"] == "info"
    assert document["request"] == "-"
    assert datetime.fromisoformat(document["at"]).utcoffset() is not None


@pytest.mark.parametrize("maker", [JsonLines, PlainLines])
def test_an_exception_is_told_by_kind_and_place_without_its_message(
    maker: type[logging.Formatter],
) -> None:
    line = maker().format(_failed())
    assert "LookupError from ValueError" in line
    assert "_failed" in line
    assert CUSTOMER not in line


def test_debugging_adds_the_message() -> None:
    assert CUSTOMER in JsonLines(messages=True).format(_failed())
    assert CUSTOMER in PlainLines(messages=True).format(_failed())


def test_plain_lines_cannot_be_forged() -> None:
    line = PlainLines().format(_record("one\n2026-11-25T00:00:00Z info forged", request_id="r1"))
    assert "\n" not in line
    assert "[r1]" in line


def test_no_line_moves_the_cursor_of_a_terminal() -> None:
    said = "a\x1b[2Jb\u2028c\x85d\u202ee"
    record = _record(said, **{FIELDS: {"told": said}})
    for maker in (PlainLines(messages=True), JsonLines(messages=True)):
        line = maker.format(record)
        assert line.isprintable() or isinstance(maker, JsonLines), line
        assert "\x1b" not in line
        assert len(line.splitlines()) == 1 or isinstance(maker, JsonLines)
    plain = PlainLines().format(record)
    assert r"a\x1b[2Jb\u2028c\x85d\u202ee" in plain
    try:
        raise ValueError("one\n2026-11-25T00:00:00Z info forged")
    except ValueError:
        failed = _record(exc_info=sys.exc_info())
    told = PlainLines(messages=True).format(failed).splitlines()
    assert not any(line.startswith("2026-11-25T00:00:00Z info") for line in told)


def test_only_debug_shows_messages() -> None:
    for level in ("info", "warning", "error"):
        assert configuration(level, "json")["formatters"]["line"]["messages"] is False
    assert configuration("debug", "plain")["formatters"]["line"]["messages"] is True
