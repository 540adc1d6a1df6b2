"""Values at the ends of what there is, in every parameter and every field: never a failure.

The ends are those of the calendar (`datetime.MINYEAR` and `MAXYEAR`), of 32 and 64 bit integers, of
SQLite's and PostgreSQL's, and of Unicode. Whatever is asked, the answer is no failure (5xx), and a
refusal is a problem document (RFC 9457).
"""

from __future__ import annotations

import json
import re
import shutil
from base64 import urlsafe_b64encode
from collections.abc import Iterator
from copy import deepcopy
from typing import Any
from urllib.parse import quote

import pytest
from werkzeug.test import TestResponse

from schemas.openapi.examples import examples
from service.cli.contract import openapi_document
from service.persistence.tables import metadata
from tests.api.contract.exceptions import things
from tests.api.world import World, make_world

DOCUMENT = openapi_document()
METHODS = ("get", "post", "put", "patch", "delete")
DAYS = ("0001-01-01", "0001-01-03", "0001-01-31", "9999-11-30", "9999-12-01", "9999-12-31")
INSTANTS = (
    "0001-01-01T00:00:00Z", "0001-01-01T00:00:00+14:00", "0001-01-01T00:00:00-14:00",
    "9999-12-31T23:59:59.999999Z", "9999-12-31T23:59:59-14:00", "2026-06-30T23:59:60Z",
    "2026-11-25T24:00:00Z", "2026-11-25T00:00:00+99:99",
)  # fmt: skip
NUMBERS = (
    "0", "-1", "1", "000001" + "0" * 20, "000100" + "0" * 5_000, "9" * 5_000,
    str(2**31), str(2**63 - 1), str(2**63), "1e400", "NaN", "١", "½",
)  # fmt: skip
TEXTS = ("", "\0", "\u202e", "\ufdd0", "\U0010ffff", "%", "'", "..", "a" * 3_000)
OLD_ID = "019abcde-f000-7000-8000-000000000001"


def _cursor(text: str) -> str:
    return urlsafe_b64encode(text.encode()).decode().rstrip("=")


CURSORS = (
    *(_cursor(f"{at.replace('Z', '+00:00')} {OLD_ID}") for at in INSTANTS),
    *("AA", "_w", _cursor("0"), _cursor(f"{2**63 - 1}.{2**63 - 1}"), _cursor(f"1.{2**63}")),
)
IN_BODIES: tuple[Any, ...] = (
    None, 0, -1, 10**15, 10**399, 1e-6, "", "9" * 15, "9" * 40, "0001-01-01", "9999-12-31",
    INSTANTS[0], INSTANTS[3], INSTANTS[4], [], {}, "1/1000000", "1000 ft", "a" * 5_000,
    "../../etc/passwd", "America", "\ud800", "a\u202eb", "https://[::1", "Pacific/Kiritimati",
)  # fmt: skip
EVERY = 3
"""Each field is tried with every third of these, beginning at another one each time."""
ALIKE = ("/v1/mouldings", "/v1/glazing", "/v1/fillets", "/v1/hardware", "/v1/supplies")
"""Catalogues that are served by the same code as `/v1/boards`."""


@pytest.fixture(
    scope="module", params=["sqlite", pytest.param("postgres", marks=pytest.mark.postgres)]
)
def shop(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[World]:
    """The service without a rate limit, with one of each kind of record in it."""
    if request.param == "sqlite":
        path = tmp_path_factory.mktemp("boundaries") / "boundaries.sqlite3"
        shutil.copyfile(request.getfixturevalue("migrated_sqlite"), path)
        url = f"sqlite:///{path}"
    else:
        url = request.getfixturevalue("migrated_postgres")
    made = make_world(url, FRAMING_QUOTES_RATE_PER_MINUTE="0")
    yield made
    with made.wiring.engine.begin() as connection:
        for table in reversed(metadata.sorted_tables):
            connection.execute(table.delete())
    made.wiring.close()


@pytest.fixture(scope="module")
def known(shop: World) -> dict[str, list[Any]]:
    """The name of one of each, by parameter."""

    def post(path: str, document: Any, headers: Any) -> Any:
        answer = shop.post(path, document, "admin", headers=headers)
        assert answer.status_code < 300, answer.get_data(as_text=True)
        return answer.get_json()

    return things(post)


def _resolved(part: dict[str, Any]) -> dict[str, Any]:
    while "$ref" in part:
        found: Any = DOCUMENT
        for step in part["$ref"].split("/")[1:]:
            found = found[step]
        part = found
    return part


def _operations() -> Iterator[tuple[str, str, list[dict[str, Any]]]]:
    for path, item in DOCUMENT["paths"].items():
        for method in METHODS:
            if method in item:
                named = [*item.get("parameters", ()), *item[method].get("parameters", ())]
                yield method.upper(), path, [_resolved(each) for each in named]


def _values(parameter: dict[str, Any]) -> tuple[str, ...]:
    """The ends of what a parameter may be, by its shape."""
    shape, name = parameter["schema"], parameter["name"]
    if "enum" in shape:
        return TEXTS[:3]
    if shape.get("type") == "integer":
        return (*NUMBERS, "")
    if "anyOf" in shape or shape.get("format"):
        return (*DAYS, *INSTANTS, *TEXTS[:4])
    if name == "cursor":
        return (*CURSORS, *TEXTS)
    return (*NUMBERS[:7], *TEXTS) if parameter["in"] != "query" else (*TEXTS, *NUMBERS[:2])


def _held(answer: TestResponse, *asked: object) -> None:
    told = answer.get_data(as_text=True)[:300]
    assert answer.status_code < 500, (*asked, told)
    if answer.status_code >= 400:
        assert answer.content_type == "application/problem+json", (*asked, told)


WITH_PARAMETERS = [each for each in _operations() if each[2] and not each[1].startswith(ALIKE)]


@pytest.mark.parametrize(
    ("method", "path", "parameters"), WITH_PARAMETERS, ids=lambda it: it if type(it) is str else ""
)
def test_every_parameter_at_its_ends(
    shop: World,
    known: dict[str, list[Any]],
    method: str,
    path: str,
    parameters: list[dict[str, Any]],
) -> None:
    usual = {each["name"]: str(known.get(each["name"], ["1"])[0]) for each in parameters}
    for odd in parameters:
        for value in _values(odd):
            address, headers, query = path, {"If-Match": "*"}, ""
            for each in parameters:
                name, text = each["name"], value if each is odd else usual[each["name"]]
                if each["in"] == "path":
                    address = address.replace(f"{{{name}}}", quote(text, safe=""))
                elif each is odd and each["in"] == "query":
                    query = f"?{name}={quote(text, safe='')}"
                elif each is odd and text.isascii() and text.isprintable():
                    headers[name] = text
            if method == "GET":
                del headers["If-Match"]
            more: dict[str, Any] = {} if method in ("GET", "DELETE") else {"json": {}}
            answer = shop.ask(method, address + query, "admin", headers=headers, **more)
            _held(answer, method, path, odd["name"], value)


SPANNED = ("sales", "labour", "spoiled")
EAST, WEST = "Pacific/Kiritimati", "Etc/GMT+12"
"""The time zones furthest from UTC, 14 hours before and 12 hours behind it (tz database)."""


@pytest.mark.parametrize("zone", [EAST, "America/New_York", WEST])
@pytest.mark.parametrize("name", SPANNED)
def test_reports_at_the_ends_of_the_calendar(shop: World, name: str, zone: str) -> None:
    _move_to(shop, zone)
    dates = ("0001-01-01", "0001-01-03", "9999-11-30", "9999-12-31", "2026-11-25")
    for period in ("day", "week", "month"):
        spans = [f"from={one}&to={other}" for one in dates for other in dates]
        alone = [f"{word}={day}" for word in ("from", "to", "as_of") for day in dates]
        instants = [f"as_of={at.replace('+', '%2B')}" for at in INSTANTS]
        for asked in (*spans, *alone, *instants):
            address = f"/v1/reports/{name}?{asked}&period={period}"
            _held(shop.ask("GET", address, "reports"), address, zone)


@pytest.mark.parametrize("zone", [EAST, WEST])
def test_the_present_day_is_told_everywhere(shop: World, zone: str) -> None:
    _move_to(shop, zone)
    for name in SPANNED:
        assert shop.ask("GET", f"/v1/reports/{name}", "reports").status_code == 200


def _move_to(shop: World, zone: str) -> None:
    there = shop.ask("GET", "/v1/shop", "admin")
    moved = {**there.get_json(), "time_zone": zone}
    changed = shop.ask(
        "PUT", "/v1/shop", "admin", json=moved, headers={"If-Match": there.headers["ETag"]}
    )
    assert changed.status_code == 200, changed.get_json()
    shop.clock.move(seconds=60)  # so that no book is still the one of before


def _leaves(document: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    pairs: Any = ()
    if isinstance(document, dict):
        pairs = document.items()
    elif isinstance(document, list):
        pairs = list(enumerate(document))[:1]
    for key, value in pairs:
        yield (*path, key)
        yield from _leaves(value, (*path, key))


def _absent(shape: Any, document: Any, path: tuple[Any, ...] = ()) -> Iterator[tuple[Any, ...]]:
    """Fields that a shape knows and a document of it leaves out."""
    shape = _resolved(shape)
    for choice in ("oneOf", "anyOf", "allOf"):
        for each in shape.get(choice, ()):
            yield from _absent(each, document, path)
    if isinstance(document, dict):
        for name, part in shape.get("properties", {}).items():
            if name in document:
                yield from _absent(part, document[name], (*path, name))
            else:
                yield (*path, name)
    elif isinstance(document, list) and document and "items" in shape:
        yield from _absent(shape["items"], document[0], (*path, 0))


def _template(path: str) -> str:
    plain = path.partition("?")[0]
    for known in DOCUMENT["paths"]:
        if re.fullmatch(re.sub(r"\{[^}]+\}", "[^/]+", known), plain):
            return str(known)
    raise AssertionError(path)


def _documents() -> dict[tuple[str, str], dict[str, Any]]:
    """An example that is taken, for each address that takes a document."""
    found: dict[tuple[str, str], dict[str, Any]] = {}
    for example in examples().values():
        asked = example["request"]
        if isinstance(asked.get("body"), dict) and example["status"] < 300:
            key = asked["method"], _template(asked["path"])
            if not key[1].startswith(ALIKE):
                found.setdefault(key, asked)
    return found


WITH_DOCUMENTS = _documents()


@pytest.mark.parametrize("operation", WITH_DOCUMENTS, ids=" ".join)
def test_every_field_at_its_ends(
    shop: World, known: dict[str, list[Any]], operation: tuple[str, str]
) -> None:
    method, path = operation
    asked = WITH_DOCUMENTS[operation]
    content = DOCUMENT["paths"][path][method.lower()]["requestBody"]["content"]
    body = asked["body"]
    places = dict.fromkeys([*_leaves(body), *_absent(content["application/json"]["schema"], body)])
    headers = {**asked.get("headers", {})}
    if method != "POST":
        headers["If-Match"] = "*"
    headers.pop("Idempotency-Key", None)
    for first, place in enumerate(places):
        for value in IN_BODIES[first % EVERY :: EVERY]:
            spoiled: Any = deepcopy(body)
            part = spoiled
            for step in place[:-1]:
                part = part[step]
            part[place[-1]] = value
            answer = shop.ask(
                method,
                _called(asked["path"], path, known),
                "admin",
                data=json.dumps(spoiled),
                content_type="application/json",
                headers=headers,
            )
            _held(answer, operation, place, value)


def _called(path: str, template: str, known: dict[str, list[Any]]) -> str:
    """The address with the names of what is there."""
    for name in re.findall(r"\{([^}]+)\}", template):
        if name in known and name != "code":
            template = template.replace(f"{{{name}}}", str(known[name][0]))
    return path if "{" in template else template
