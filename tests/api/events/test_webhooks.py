"""Webhooks: kept by admin keys, signed as the Standard Webhooks specification says, tried again.

Signatures are checked twice: by the specification's own library for Python, and by a few lines
written here from its text (HMAC-SHA256 over `id.timestamp.body`, the secret's base64 decoded).
The schedule of retries is the example schedule of that text.
"""

from __future__ import annotations

import hmac
import json
from base64 import b64decode, b64encode
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from hashlib import sha256
from threading import Barrier, Event, Thread
from typing import Any

import pytest
from sqlalchemy import text
from standardwebhooks.webhooks import Webhook, WebhookVerificationError

from service.app.events.delivery import DELAYS, HELD, Outcome
from service.app.events.targets import Target
from service.app.keys.access import create_key
from service.cli.contract import openapi_document
from service.cli.deliver import Courier
from tests.api.contract.shapes import wrong
from tests.api.world import World, faults_of, job, make_world, problem_of

HOOKS = "/v1/webhooks"
URL = "https://books.example/hook"


@dataclass
class Books:
    """The other side: keeps what it was sent, and answers as it is told."""

    world: World
    answer: Callable[[str], Outcome] = lambda _: Outcome(200, "", 3)
    got: list[tuple[dict[str, str], bytes]] = field(default_factory=list)

    def __call__(self, target: Target, headers: Mapping[str, str], body: bytes) -> Outcome:
        assert (target.host, target.path, target.secure) == ("books.example", "/hook", True)
        self.got.append((dict(headers), body))
        return self.answer(headers["webhook-id"])

    def courier(self) -> Courier:
        return Courier(self.world.wiring, Event(), self)

    def deliver(self) -> None:
        courier = self.courier()
        courier.run(once=True)
        courier.close()

    def kinds(self) -> list[str]:
        return [json.loads(body)["type"] for _, body in self.got]


@pytest.fixture
def books(world: World) -> Books:
    return Books(world)


def _make(world: World, **more: Any) -> dict[str, Any]:
    made = world.post(HOOKS, {"url": URL, **more}, "admin")
    assert made.status_code == 201, made.get_data(as_text=True)
    document: dict[str, Any] = made.get_json()
    return document


def _quote(world: World) -> str:
    return str(world.post("/v1/quotes", job()).get_json()["id"])


def _messages(world: World, hook: dict[str, Any], query: str = "") -> list[dict[str, Any]]:
    answer = world.ask("GET", f"{HOOKS}/{hook['id']}/messages{query}", "admin")
    items: list[dict[str, Any]] = answer.get_json()["items"]
    return items


def _log(world: World, hook: dict[str, Any], message: str) -> dict[str, Any]:
    answer = world.ask("GET", f"{HOOKS}/{hook['id']}/messages/{message}", "admin")
    document: dict[str, Any] = answer.get_json()
    return document


def _signed(secret: str, headers: dict[str, str], body: bytes) -> str:
    """The signature, written from the text of the specification."""
    key = b64decode(secret.removeprefix("whsec_"))
    told = f"{headers['webhook-id']}.{headers['webhook-timestamp']}.".encode() + body
    return "v1," + b64encode(hmac.new(key, told, sha256).digest()).decode()


def test_our_reading_of_the_specification_gives_its_published_example() -> None:
    """The example of the specification's libraries; secret, body and signature from memory."""
    headers = {
        "webhook-id": "msg_p5jXN8AQM9LWM0D4loKWxJek",
        "webhook-timestamp": "1614265330",
    }
    signed = _signed("whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", headers, b'{"test": 2432232314}')
    assert signed == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_an_event_is_sent_once_signed_and_thin(world: World, books: Books) -> None:
    _quote(world)  # before there is a webhook: never sent
    hook = _make(world)
    quote = _quote(world)
    books.deliver()
    books.deliver()
    ((headers, body),) = (
        sent for sent in books.got if json.loads(sent[1])["type"] == "quote.created"
    )
    document = json.loads(body)
    assert set(document) == {"type", "timestamp", "data"}
    assert document["data"]["id"] == quote
    assert document["timestamp"] == "2026-11-25T15:04:05.000000Z"
    assert set(document["data"]) == {"event", "subject", "id"}  # no customer, no price
    assert headers["webhook-timestamp"] == str(int(world.clock().timestamp()))
    assert headers["Content-Type"] == "application/json"
    assert headers["webhook-signature"] == _signed(hook["secret"], headers, body)
    feed = world.ask("GET", f"/v1/events?subject_id={quote}", "admin").get_json()["items"]
    assert document["data"]["event"] in {event["id"] for event in feed}
    assert len(books.got) == len({headers["webhook-id"] for headers, _ in books.got})


def test_what_is_sent_is_what_the_contract_tells_a_receiver(world: World, books: Books) -> None:
    _make(world)
    _quote(world)
    books.deliver()
    (told,) = openapi_document()["webhooks"].values()
    named = {each["name"] for each in told["post"]["parameters"] if each["required"]}
    assert books.got
    for headers, body in books.got:
        assert set(headers) - {"Content-Type"} == named
        assert headers["Content-Type"] in told["post"]["requestBody"]["content"]
        assert wrong("WebhookBody", json.loads(body)) == []
    media = told["post"]["requestBody"]["content"]["application/json"]
    assert media["schema"]["$ref"].endswith("/WebhookBody")
    for example in media["examples"].values():
        assert wrong("WebhookBody", example["value"]) == []


def test_the_specifications_library_verifies_it_and_refuses_what_was_touched(
    world: World, books: Books
) -> None:
    world.clock.now = datetime.now(world.clock.now.tzinfo)  # the library looks at the real time
    hook = _make(world, kinds=["quote.created"])
    _quote(world)
    books.deliver()
    ((headers, body),) = books.got
    assert Webhook(hook["secret"]).verify(body, headers) == json.loads(body)
    for touched in (
        {"data": body + b" ", "headers": headers},
        {"data": body, "headers": {**headers, "webhook-id": "another"}},
        {"data": body, "headers": {**headers, "webhook-timestamp": "1614265330"}},
    ):
        with pytest.raises(WebhookVerificationError):
            Webhook(hook["secret"]).verify(**touched)


def test_the_secret_is_shown_once_and_stored_nowhere(world: World) -> None:
    headers = {"Idempotency-Key": "once"}
    made = world.post(HOOKS, {"url": URL}, "admin", headers=headers)
    secret = made.get_json()["secret"]
    assert len(b64decode(secret.removeprefix("whsec_"))) == 32  # the text asks for 24 to 64 bytes
    again = world.post(HOOKS, {"url": URL}, "admin", headers=headers)
    assert again.get_data() == made.get_data()
    place = made.headers["Location"]
    assert "secret" not in world.ask("GET", place, "admin").get_json()
    stored = b"".join(
        str(row).encode()
        for table in ("webhook_endpoints", "events", "idempotent_requests")
        for row in _rows(world, table)
    )
    assert secret.removeprefix("whsec_").encode() not in stored
    assert world.wiring.settings.webhook_secret.encode() not in stored


def _rows(world: World, table: str) -> list[Any]:
    with world.wiring.engine.connect() as connection:
        return list(connection.execute(text(f"SELECT * FROM {table}")))  # noqa: S608 — our names


def test_after_a_rotation_both_secrets_sign_until_the_overlap_is_over(
    world: World, books: Books
) -> None:
    hook = _make(world, kinds=["quote.created"])
    place = f"{HOOKS}/{hook['id']}/rotate-secret"
    rotated = world.post(place, {"overlap_seconds": 3600}, "admin").get_json()
    assert rotated["secret"] != hook["secret"]
    _quote(world)
    books.deliver()
    headers, body = books.got[-1]
    both = {_signed(secret, headers, body) for secret in (hook["secret"], rotated["secret"])}
    assert set(headers["webhook-signature"].split(" ")) == both
    world.clock.move(hours=1)
    _quote(world)
    books.deliver()
    headers, body = books.got[-1]
    assert headers["webhook-signature"] == _signed(rotated["secret"], headers, body)


def test_what_fails_is_tried_again_later_and_later_and_then_no_more(
    world: World, books: Books
) -> None:
    books.answer = lambda _: Outcome(500, "", 7)
    hook = _make(world, kinds=["quote.created"])
    _quote(world)
    for delay in DELAYS:
        books.deliver()
        (message,) = _messages(world, hook)
        wait = datetime.fromisoformat(message["next_attempt_at"]) - world.clock()
        assert delay <= wait <= delay * 6 / 5
        sent = len(books.got)
        world.clock.now += delay - timedelta(seconds=1)
        books.deliver()
        assert len(books.got) == sent  # not before it is due
        world.clock.now += wait - delay + timedelta(seconds=1)
    books.deliver()
    (message,) = _messages(world, hook, "?status=failed")
    assert (message["attempts"], message["next_attempt_at"]) == (10, None)
    assert len({headers["webhook-id"] for headers, _ in books.got}) == 1
    assert len({headers["webhook-timestamp"] for headers, _ in books.got}) == 10
    log = _log(world, hook, message["id"])["log"]
    assert [attempt["number"] for attempt in log] == list(range(1, 11))
    assert {(attempt["answer_status"], attempt["milliseconds"]) for attempt in log} == {(500, 7)}
    world.clock.move(days=7)
    books.deliver()
    assert len(books.got) == 10


def test_a_failed_message_is_sent_anew_under_its_own_id(world: World, books: Books) -> None:
    books.answer = lambda _: Outcome(None, "the connection failed: refused", 1)
    hook = _make(world, kinds=["quote.created"])
    _quote(world)
    for _ in range(len(DELAYS) + 1):
        books.deliver()
        world.clock.move(days=2)
    (message,) = _messages(world, hook, "?status=failed")
    books.answer = lambda _: Outcome(204, "", 1)
    since = {"since": "2026-11-25T00:00:00Z"}
    replayed = world.post(f"{HOOKS}/{hook['id']}/replay", since, "admin")
    assert replayed.get_json() == {"messages": 1}
    books.deliver()
    log = _log(world, hook, message["id"])
    assert (log["status"], log["attempts"]) == ("delivered", 11)
    assert log["log"][0]["error"] == "the connection failed: refused"
    assert log["log"][-1]["answer_status"] == 204
    assert world.post(f"{HOOKS}/{hook['id']}/replay", since, "admin").get_json() == {"messages": 0}
    one = f"{HOOKS}/{hook['id']}/messages/{message['id']}/replay"
    assert world.ask("POST", one, "admin").get_json()["status"] == "pending"
    books.deliver()
    assert [headers["webhook-id"] for headers, _ in books.got] == [message["id"]] * 12


def test_a_message_that_waits_for_hours_goes_now_and_one_on_its_way_is_left_alone(
    world: World, books: Books
) -> None:
    books.answer = lambda _: Outcome(503, "", 1, retry_after=7200)
    hook = _make(world, kinds=["quote.created"])
    _quote(world)
    books.deliver()
    (message,) = _messages(world, hook)
    assert message["next_attempt_at"] == "2026-11-25T17:04:05.000000Z"  # Retry-After is heeded
    one = f"{HOOKS}/{hook['id']}/messages/{message['id']}/replay"
    assert world.ask("POST", one, "admin").get_json()["next_attempt_at"] == message["created_at"]
    now = world.clock()
    with world.wiring.units.writing() as uow:  # as a worker does before it sends
        assert len(uow.webhooks.take_due(hook["id"], now, now + HELD, 5)) == 1
        uow.commit()
    world.ask("POST", one, "admin")
    books.deliver()
    assert len(books.got) == 1
    world.clock.now += HELD  # the worker died: another takes the message up
    books.deliver()
    assert len(books.got) == 2


def test_who_says_gone_gets_nothing_more_until_it_is_active_again(
    world: World, books: Books
) -> None:
    books.answer = lambda _: Outcome(410, "", 1)
    hook = _make(world, kinds=["quote.created"])
    place = f"{HOOKS}/{hook['id']}"
    _quote(world)
    books.deliver()
    shown = world.ask("GET", place, "admin")
    assert shown.get_json()["status"] == "gone"
    _quote(world)
    books.deliver()
    assert len(books.got) == 1
    books.answer = lambda _: Outcome(200, "", 1)
    match = {"If-Match": shown.headers["ETag"]}
    world.ask("PATCH", place, "admin", json={"status": "active"}, headers=match)
    books.deliver()
    assert len(books.got) == 2  # nothing that happened meanwhile is lost


def test_a_pause_holds_everything_back_and_loses_nothing(world: World, books: Books) -> None:
    hook = _make(world, kinds=["quote.created"])
    place = f"{HOOKS}/{hook['id']}"
    paused = world.ask(
        "PATCH", place, "admin", json={"status": "paused"}, headers={"If-Match": '"1"'}
    )
    quotes = [_quote(world) for _ in range(7)]
    books.deliver()
    assert books.got == []
    match = {"If-Match": paused.headers["ETag"]}
    world.ask("PATCH", place, "admin", json={"status": "active"}, headers=match)
    books.deliver()
    assert [json.loads(body)["data"]["id"] for _, body in books.got] == quotes


def test_only_kinds_that_are_wanted_are_sent_however_much_else_happened(
    world: World, books: Books, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("service.app.events.delivery.READ_AT_ONCE", 3)  # a long feed, in small
    _make(world, kinds=["key.created"])
    for _ in range(4):
        _quote(world)
    world.post("/v1/keys", {"name": "till", "scopes": ["counter"]}, "admin")
    books.deliver()
    assert books.kinds() == ["key.created"]


def test_workers_at_once_send_each_message_once(world: World, books: Books) -> None:
    hooks = [_make(world, kinds=["quote.created"]) for _ in range(3)]
    quotes = {_quote(world) for _ in range(8)}
    together = Barrier(3)

    def work() -> None:
        courier = books.courier()
        together.wait(60)
        courier.run(once=True)
        courier.close()

    workers = [Thread(target=work) for _ in range(3)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join(60)
    books.deliver()  # what a worker left because another had just read the feed
    ids = [headers["webhook-id"] for headers, _ in books.got]
    assert len(ids) == len(set(ids)) == len(hooks) * len(quotes)
    for hook in hooks:
        assert all(message["attempts"] == 1 for message in _messages(world, hook))


def test_what_fails_for_one_is_told_and_the_others_are_served(
    world: World, books: Books, caplog: pytest.LogCaptureFixture
) -> None:
    bad, good = (_make(world, kinds=["quote.created"]) for _ in range(2))
    _quote(world)
    courier = books.courier()
    courier.round()
    assert courier.wait() == 2

    def fails(message: str) -> Outcome:
        if message in {each["id"] for each in _messages(world, bad)}:
            raise RuntimeError("a slip in the code")
        return Outcome(200, "", 1)

    books.answer = fails
    _quote(world)
    courier.round()
    assert courier.wait() == 1
    courier.round()
    courier.close()
    assert [each["status"] for each in _messages(world, good)] == ["delivered"] * 2
    assert f"webhook {bad['id']} could not be served" in caplog.text
    assert _messages(world, bad)[0]["status"] == "pending"  # taken up when its hold is over


def test_a_removed_webhook_leaves_nothing(world: World, books: Books) -> None:
    hook = _make(world)
    _quote(world)
    books.deliver()
    _quote(world)
    assert world.ask("DELETE", f"{HOOKS}/{hook['id']}", "admin").status_code == 204
    sent = len(books.got)
    books.deliver()
    assert len(books.got) == sent
    rows = world.rows()
    assert {rows[f"webhook_{name}"] for name in ("endpoints", "messages", "attempts")} == {0}
    problem_of(world.ask("GET", f"{HOOKS}/{hook['id']}", "admin"), 404, "not_found")
    problem_of(world.ask("DELETE", f"{HOOKS}/{hook['id']}", "admin"), 404, "not_found")


@pytest.mark.parametrize(
    "url", ["http://books.example/", "https://10.0.0.1/", "https://[::1]/", "https://a@b.example/"]
)
def test_where_nothing_may_be_sent_is_refused(world: World, url: str) -> None:
    assert faults_of(world.post(HOOKS, {"url": url}, "admin")) == {"/url": "bad_value"}
    hook = _make(world)
    changed = world.ask(
        "PATCH", f"{HOOKS}/{hook['id']}", "admin", json={"url": url}, headers={"If-Match": '"1"'}
    )
    assert faults_of(changed) == {"/url": "bad_value"}


def test_a_change_needs_the_version_that_was_seen(world: World) -> None:
    hook = _make(world)
    place = f"{HOOKS}/{hook['id']}"
    change = {"description": "the books"}
    problem_of(world.ask("PATCH", place, "admin", json=change), 428, "precondition_required")
    stale = world.ask("PATCH", place, "admin", json=change, headers={"If-Match": '"7"'})
    problem_of(stale, 412, "stale")
    done = world.ask("PATCH", place, "admin", json=change, headers={"If-Match": '"1"'})
    assert (done.get_json()["description"], done.headers["ETag"]) == ("the books", '"2"')
    seen = world.ask("GET", place, "admin", headers={"If-None-Match": '"2"'})
    assert (seen.status_code, seen.get_data()) == (304, b"")


def test_the_log_comes_in_pages_newest_first(world: World, books: Books) -> None:
    hook = _make(world, kinds=["quote.created"])
    for _ in range(5):
        _quote(world)
    books.deliver()
    first = world.ask("GET", f"{HOOKS}/{hook['id']}/messages?limit=3", "admin")
    place = first.headers["Link"].split(">")[0].removeprefix("<")
    rest = world.ask("GET", place, "admin")
    ids = [row["id"] for page in (first, rest) for row in page.get_json()["items"]]
    assert len(ids) == 5
    assert ids == sorted(ids, reverse=True)
    assert rest.get_json()["next"] is None


def test_only_admin_keeps_webhooks_and_only_its_shops(world: World) -> None:
    hook = _make(world)
    for scope in ("price", "counter", "bench", "reports"):
        problem_of(world.ask("GET", HOOKS, scope), 403, "not_allowed")
        problem_of(world.post(HOOKS, {"url": URL}, scope), 403, "not_allowed")
    with world.wiring.units.writing() as uow:
        stranger = create_key(uow, world.other_shop_id, "stranger", ["admin"], world.clock())
        uow.commit()
    world.tokens["stranger"] = stranger.token
    place, match = f"{HOOKS}/{hook['id']}", {"If-Match": "*"}
    for method, path, more in (
        ("GET", place, {}),
        ("PATCH", place, {"json": {"status": "paused"}, "headers": match}),
        ("DELETE", place, {}),
        ("POST", f"{place}/rotate-secret", {}),
        ("POST", f"{place}/replay", {"json": {"since": "2026-11-25T00:00:00Z"}}),
        ("GET", f"{place}/messages", {}),
    ):
        problem_of(world.ask(method, path, "stranger", **more), 404, "not_found")
    assert world.ask("GET", HOOKS, "stranger").get_json()["items"] == []
    assert world.ask("GET", place, "admin").get_json() == {
        name: part for name, part in hook.items() if name != "secret"
    }


def test_a_service_without_a_secret_keeps_no_webhooks(sqlite_url: str) -> None:
    world = make_world(sqlite_url, FRAMING_QUOTES_WEBHOOK_SECRET="")
    problem_of(world.post(HOOKS, {"url": URL}, "admin"), 409, "conflict")
    world.wiring.close()
