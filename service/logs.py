"""Log lines: one JSON object each for machines, or plain text for people.

A line carries named figures and never a request's content. An exception is logged with its type and
the locations in our code, but not its message, since a database's message may quote customer data;
`LOG_LEVEL=debug` adds it, and the service then refuses to listen beyond its own machine.
"""

from __future__ import annotations

import logging
import re
import traceback
from collections.abc import Mapping
from datetime import UTC, datetime
from types import TracebackType
from typing import Any

import orjson

FIELDS = "fields"
"""The record attribute with its named figures: `extra={FIELDS: {...}}`."""
_CONTROL = re.compile("[\x00-\x1f\x7f-\x9f\u2028\u2029\u202a-\u202e\u2066-\u2069]")
FRAMES = 12
"""The number of an exception's locations that are logged, the innermost last."""


def named(record: logging.LogRecord) -> Mapping[str, Any]:
    """Return the named figures of a record."""
    found: Mapping[str, Any] = getattr(record, FIELDS, {})
    return found


def moment(record: logging.LogRecord) -> str:
    """Return the time of a record, in UTC to the millisecond (RFC 3339)."""
    at = datetime.fromtimestamp(record.created, UTC)
    return at.isoformat(timespec="milliseconds").replace("+00:00", "Z")


def told(record: logging.LogRecord, *, messages: bool) -> dict[str, Any]:
    """Return what to log of a record's exception; empty if there is none."""
    if not record.exc_info or record.exc_info[1] is None:
        return {}
    error, trace = record.exc_info[1], record.exc_info[2]
    document: dict[str, Any] = {"error": _kinds(error), "at": _places(trace)}
    if messages:
        document["error_message"] = str(error)
    return document


def _kinds(error: BaseException) -> str:
    """Return the types of an exception and its causes: StorageUnavailable from OperationalError."""
    kinds = [type(error).__name__]
    while (cause := error.__cause__ or error.__context__) and len(kinds) < FRAMES:
        kinds.append(type(cause).__name__)
        error = cause
    return " from ".join(kinds)


def _places(trace: TracebackType | None) -> list[str]:
    frames = traceback.extract_tb(trace)[-FRAMES:]
    return [f"{frame.filename}:{frame.lineno} {frame.name}" for frame in frames]


def shown(text: str) -> str:
    r"""Return the text with line breaks and terminal control characters escaped.

    >>> shown("one\ntwo\x1b[2J")
    'one\\ntwo\\x1b[2J'
    """
    return _CONTROL.sub(lambda found: found[0].encode("unicode_escape").decode("ascii"), text)


class JsonLines(logging.Formatter):
    """Formats a record as one line of JSON."""

    def __init__(self, *, messages: bool = False) -> None:
        super().__init__()
        self._messages = messages

    def format(self, record: logging.LogRecord) -> str:
        """Return the line."""
        document = {
            "at": moment(record),
            "level": record.levelname.lower(),
            "from": record.name,
            "message": record.getMessage(),
            "request": getattr(record, "request_id", "-"),
            **named(record),
        }
        if error := told(record, messages=self._messages):
            document["exception"] = error
        return orjson.dumps(document, default=str, option=orjson.OPT_NON_STR_KEYS).decode()


class PlainLines(logging.Formatter):
    """Formats a record as a line for people, with an exception's locations below it."""

    def __init__(self, *, messages: bool = False) -> None:
        super().__init__()
        self._messages = messages

    def format(self, record: logging.LogRecord) -> str:
        """Return the line; line breaks in the message are escaped."""
        message = shown(record.getMessage())
        figures = shown("".join(f" {name}={value}" for name, value in named(record).items()))
        who = getattr(record, "request_id", "-")
        line = f"{moment(record)} {record.levelname.lower():7} [{who}] {message}{figures}"
        error = told(record, messages=self._messages)
        if error:
            places = "".join(f"\n    {place}" for place in error["at"])
            what = shown(error.get("error_message", ""))
            line += f"\n  {error['error']} {what}".rstrip() + places
        return line


def lean_records() -> None:
    """Have records omit thread, process and task, which no line shows."""
    logging.logThreads = logging.logProcesses = logging.logMultiprocessing = False
    if hasattr(logging, "logAsyncioTasks"):  # since Python 3.12
        logging.logAsyncioTasks = False


def configuration(level: str, form: str) -> dict[str, Any]:
    """Return the logging configuration of a process for `logging.config.dictConfig`, to stderr.

    Args:
        level: the least severe level that is logged.
        form: json or plain.
    """
    maker = JsonLines if form == "json" else PlainLines
    passed_on = {"handlers": [], "propagate": True, "level": "NOTSET"}
    return {
        "version": 1,
        "disable_existing_loggers": False,
        "formatters": {"line": {"()": maker, "messages": level == "debug"}},
        "handlers": {
            "stderr": {
                "class": "logging.StreamHandler",
                "formatter": "line",
                "stream": "ext://sys.stderr",
            }
        },
        "root": {"level": level.upper(), "handlers": ["stderr"]},
        "loggers": {name: dict(passed_on) for name in ("gunicorn.error", "gunicorn.access")},
    }
