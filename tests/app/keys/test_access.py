"""Keys: made once, checked every time, and one answer to all that are not in force."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import replace
from datetime import UTC, datetime, timedelta
from typing import Any, cast

import pytest

from schemas.keys import SCOPES, KeyRecord
from service.app.keys.access import IssuedKey, Principal, authenticate, create_key, note_use
from service.domain.errors import BadValue, NotAllowed, NotFound, NotKnown
from service.persistence.unit_of_work import UnitOfWork

NOW = datetime(2026, 3, 1, 9, 30, tzinfo=UTC)
DAY = timedelta(days=1)


class KeysInMemory:
    """As much of the port `Keys` as is needed, in a dictionary."""

    def __init__(self) -> None:
        self.kept: dict[str, KeyRecord] = {}
        self.noted: list[tuple[str, datetime, datetime]] = []

    def add(self, key: KeyRecord) -> None:
        self.kept[key.id] = key

    def by_id(self, key_id: str) -> KeyRecord:
        if key_id not in self.kept:
            raise NotFound("no such key")
        return self.kept[key_id]

    def used(self, key_id: str, at: datetime, unless_since: datetime) -> None:
        self.noted.append((key_id, at, unless_since))


class Unit:
    def __init__(self) -> None:
        self.keys = KeysInMemory()


@pytest.fixture
def unit() -> Unit:
    return Unit()


def _uow(unit: Unit) -> UnitOfWork:
    return cast(UnitOfWork, unit)


def _issue(unit: Unit, scopes: Iterable[str] = ("price",), **more: Any) -> IssuedKey:
    return create_key(_uow(unit), "s1", "till", scopes, NOW, **more)


def test_a_new_key_is_known_by_its_token(unit: Unit) -> None:
    issued = _issue(unit, ("price", "bench"))
    principal = authenticate(_uow(unit), issued.token, NOW)
    assert principal == Principal("s1", issued.record.id, frozenset({"price", "bench"}))


def test_a_token_carries_its_key_and_43_characters_of_secret(unit: Unit) -> None:
    issued = _issue(unit)
    # 43 characters of base64 are 256 bits: RFC 4648, section 5, without padding
    found = re.fullmatch(r"fq_([0-9a-f]{16})_([A-Za-z0-9_-]{43})", issued.token)
    assert found is not None
    assert found[1] == issued.record.id


def test_only_the_hash_is_kept_and_nothing_shows_the_token(unit: Unit) -> None:
    issued = _issue(unit)
    secret = issued.token.split("_", 2)[2]
    kept = unit.keys.kept[issued.record.id]
    assert kept.secret_hash == hashlib.sha256(secret.encode()).hexdigest()
    assert secret not in repr(kept) + repr(issued)


def test_every_bad_token_gets_the_same_answer(unit: Unit) -> None:
    good = _issue(unit)
    revoked = _issue(unit)
    unit.keys.kept[revoked.record.id] = replace(revoked.record, revoked_at=NOW)
    expired = _issue(unit, expires_at=NOW + DAY)
    unit.keys.kept[expired.record.id] = replace(expired.record, expires_at=NOW)
    _, key_id, secret = good.token.split("_", 2)
    wrong_end = "A" if secret[-1] != "A" else "B"
    bad = [
        "",
        "fq",
        "fq__",
        f"fq_{key_id}_",
        f"fq_{key_id}_{secret[:-1]}{wrong_end}",
        f"fq_{key_id}_{secret}x",
        f"fq_0000000000000000_{secret}",
        f"xx_{key_id}_{secret}",
        f"fq_{key_id}_é{secret}",
        "fq_" * 1000,
        revoked.token,
        expired.token,
        f"fq_{key_id}_{expired.token.split('_', 2)[2]}",
    ]
    answers = set()
    for token in bad:
        with pytest.raises(NotKnown) as refusal:
            authenticate(_uow(unit), token, NOW)
        answers.add((refusal.value.message, refusal.value.code))
    assert len(answers) == 1
    assert authenticate(_uow(unit), good.token, NOW).key_id == key_id


def test_a_key_ends_at_its_end_and_not_before(unit: Unit) -> None:
    issued = _issue(unit, expires_at=NOW + DAY)
    assert authenticate(_uow(unit), issued.token, NOW + DAY - timedelta(microseconds=1))
    with pytest.raises(NotKnown):
        authenticate(_uow(unit), issued.token, NOW + DAY)


@pytest.mark.parametrize(
    ("name", "scopes", "ends", "where"),
    [
        ("till", (), None, "/scopes"),
        ("till", ("price", "owner"), None, "/scopes"),
        ("  ", ("price",), None, "/name"),
        ("till", ("price",), NOW, "/expires_at"),
    ],
)
def test_a_key_that_makes_no_sense_is_not_made(
    unit: Unit, name: str, scopes: tuple[str, ...], ends: datetime | None, where: str
) -> None:
    with pytest.raises(BadValue) as refusal:
        create_key(_uow(unit), "s1", name, scopes, NOW, ends)
    assert refusal.value.where == where
    assert not unit.keys.kept


@pytest.mark.parametrize("scope", SCOPES)
def test_a_scope_opens_itself_and_admin_opens_all(scope: str) -> None:
    one = Principal("s1", "k1", frozenset({scope}))
    admin = Principal("s1", "k1", frozenset({"admin"}))
    assert [other for other in SCOPES if one.may(other)] == (
        list(SCOPES) if scope == "admin" else [scope]
    )
    assert all(admin.may(other) for other in SCOPES)


@pytest.mark.parametrize(
    ("scope", "sees"),
    [("price", False), ("bench", False), ("counter", True), ("reports", True), ("admin", True)],
)
def test_costs_show_to_those_who_set_prices_and_read_reports(scope: str, sees: bool) -> None:
    assert Principal("s1", "k1", frozenset({scope})).sees_costs is sees


def test_must_lets_any_one_scope_through_and_names_them_otherwise() -> None:
    bench = Principal("s1", "k1", frozenset({"bench"}))
    bench.must("counter", "bench")
    with pytest.raises(NotAllowed, match="scope counter or reports"):
        bench.must("counter", "reports")


def test_use_is_noted_at_most_once_an_hour(unit: Unit) -> None:
    note_use(_uow(unit), Principal("s1", "k1", frozenset({"price"})), NOW)
    assert unit.keys.noted == [("k1", NOW, NOW - timedelta(hours=1))]
