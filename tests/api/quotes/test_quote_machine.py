"""A quote pressed at random over HTTP, beside a small model of what the shop's table allows.

No way leads to a state that the table forbids, a refusal changes nothing, and what was told once
(each revision's totals, a ticket's document, the deposit) never drifts.
"""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any, ClassVar

import pytest
from hypothesis import HealthCheck, settings
from hypothesis import strategies as st
from hypothesis.stateful import (
    RuleBasedStateMachine,
    initialize,
    invariant,
    rule,
    run_state_machine_as_test,
)

from tests.api.quotes.test_steps import ANY, QUOTES
from tests.api.world import World, make_world

WAYS = {
    ("draft", "issue"): "issued",
    ("draft", "withdraw"): "withdrawn",
    ("draft", "revisions"): "draft",
    ("issued", "accept"): "accepted",
    ("issued", "decline"): "declined",
    ("issued", "withdraw"): "withdrawn",
    ("issued", "revisions"): "issued",
    ("accepted", "withdraw"): "withdrawn",
    ("accepted", "revisions"): "accepted",
    ("in_work", "revisions"): "in_work",
    ("declined", "revisions"): "issued",
    ("expired", "revisions"): "issued",
}
SMALL = {
    "jobs": [
        {
            "artwork": {"width": "8", "height": "10"},
            "presentation": "overlap",
            "mats": [{"board": "BRD-1204", "border": "2"}],
            "frames": [{"moulding": "MLD-OAK125"}],
            "quantity": quantity,
        }
        for quantity in (1, 2)
    ]
}
STEPS = ("issue", "accept", "decline", "withdraw", "revisions")


class Counter(RuleBasedStateMachine):
    """A counter and a bench that press what they like, and a calendar that turns."""

    folder: ClassVar[Path]
    made: ClassVar[int] = 0

    @initialize(scope=st.sampled_from(["price", "counter"]))
    def begin(self, scope: str) -> None:
        type(self).made += 1
        path = self.folder / f"{self.made}.sqlite3"
        shutil.copyfile(self.folder / "migrated.sqlite3", path)
        self.world: World = make_world(f"sqlite:///{path}")
        answer = self.world.post(QUOTES, SMALL, scope).get_json()
        self.number = answer["number"]
        self.status = answer["status"]
        self.valid_until = answer["valid_until"]
        self.told = [self._told(answer)]
        self.tickets: dict[str, str] = {}
        self.documents: dict[str, Any] = {}

    @staticmethod
    def _told(answer: dict[str, Any]) -> Any:
        return answer["jobs"], answer["totals"], answer["currency"], answer["price_list"]

    def _ask(self, method: str, place: str, **more: Any) -> Any:
        return self.world.ask(method, place, "admin", headers=ANY, **more)

    @rule(action=st.sampled_from(STEPS))
    def press(self, action: str) -> None:
        before = self._ask("GET", f"{QUOTES}/{self.number}").get_data()
        body = {"reprice": True} if action == "revisions" else {}
        answer = self._ask("POST", f"{QUOTES}/{self.number}/{action}", json=body)
        after = WAYS.get((self.status, action))
        if after is None:
            assert answer.status_code == 409, answer.get_json()
            assert answer.get_json()["present"]["status"] == self.status
            assert self._ask("GET", f"{QUOTES}/{self.number}").get_data() == before
            return
        assert answer.status_code in (200, 201), answer.get_json()
        document = answer.get_json()
        if action == "revisions":
            self.told.append(self._told(document))
            self.valid_until = document["valid_until"]
        if action == "withdraw":
            self.tickets = dict.fromkeys(self.tickets, "withdrawn")
        if action == "accept":
            for ticket in document["tickets"]:
                self.tickets[ticket["number"]] = "waiting"
        self.status = after

    @rule(at=st.integers(0, 1), action=st.sampled_from(["start", "finish"]))
    def press_a_ticket(self, at: int, action: str) -> None:
        if not self.tickets:
            return
        number = sorted(self.tickets)[at]
        answer = self._ask("POST", f"/v1/cut-tickets/{number}/{action}")
        ways = {("waiting", "start"): "in_work", ("in_work", "finish"): "done"}
        after = ways.get((self.tickets[number], action))
        if after is None:
            assert answer.status_code == 409
            return
        assert answer.status_code == 200, answer.get_json()
        self.tickets[number] = after
        self.status = "done" if set(self.tickets.values()) == {"done"} else "in_work"

    @rule(days=st.sampled_from([1, 31]))
    def turn_the_calendar(self, days: int) -> None:
        self.world.clock.move(days=days)
        if self.status in ("draft", "issued"):
            today = self.world.clock().date().isoformat()  # 10 in the morning in the shop
            if today > self.valid_until:
                self.status = "expired"

    @invariant()
    def nothing_drifts(self) -> None:
        shown = self._ask("GET", f"{QUOTES}/{self.number}").get_json()
        assert shown["status"] == self.status
        assert shown["revision"] == len(self.told)
        assert self._told(shown) == self.told[-1]
        minor = int(shown["totals"]["total"].replace(".", ""))
        assert int(shown["deposit_due"].replace(".", "")) == (minor + 1) // 2  # half, half up
        for position, told in enumerate(self.told, start=1):
            place = f"{QUOTES}/{self.number}/revisions/{position}"
            assert self._told(self._ask("GET", place).get_json()) == told
        assert {ticket["number"] for ticket in shown["tickets"]} == set(self.tickets)
        for number, status in self.tickets.items():
            ticket = self._ask("GET", f"/v1/cut-tickets/{number}").get_json()
            assert ticket["status"] == status
            document = (ticket["pieces"], ticket["steps"], ticket["minutes"])
            assert self.documents.setdefault(number, document) == document

    def teardown(self) -> None:
        if hasattr(self, "world"):
            self.world.wiring.close()


@pytest.mark.filterwarnings("ignore::hypothesis.errors.HypothesisWarning")
def test_no_way_leads_where_the_table_forbids_and_nothing_drifts(
    migrated_sqlite: Path, tmp_path: Path
) -> None:
    shutil.copyfile(migrated_sqlite, tmp_path / "migrated.sqlite3")
    Counter.folder = tmp_path
    run_state_machine_as_test(
        Counter,
        settings=settings(
            max_examples=25,
            stateful_step_count=14,
            deadline=None,
            suppress_health_check=list(HealthCheck),
        ),
    )
