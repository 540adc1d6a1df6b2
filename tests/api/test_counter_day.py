"""The counter's day over HTTP: twelve customers from intake to collection; the books reconcile.

One wants it in a rush, one changes the order once work has begun, one mat is spoiled, and one job
cannot be made. The sums are added up here by hand from the answers that the counter got, and are
held to the reports. All customers are invented; the order of a day is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Any

from tests.api.world import World, faults_of, job, problem_of

ANY = {"If-Match": "*"}
NAMES = (
    *("A. Marsh", "B. Okafor", "C. Lindqvist", "D. Fonseca", "E. Haddad", "F. Brandt"),
    *("G. Sato", "H. Novak", "I. Castellano", "J. Whitlow", "K. Duarte", "L. Petrov"),
)
JOBS = (
    *("harbour_etching", "stacked_poster", "oval_portrait", "six_photographs"),
    *("canvas_in_floater", "floated_sampler"),
)


class Day:
    """A day at the counter: what was asked and answered, and what the till took."""

    def __init__(self, world: World) -> None:
        self.world = world
        self.taken: list[Decimal] = []

    def ask(self, path: str, body: Any = None, scope: str = "counter") -> Any:
        method = "GET" if body is None else "POST"
        more = {} if body is None else {"json": body}
        answer = self.world.ask(method, path, scope, headers=ANY, **more)
        assert answer.status_code in (200, 201), (path, answer.get_json())
        return answer.get_json()

    def quote(self, number: str) -> Any:
        return self.ask(f"/v1/quotes/{number}")

    def intake(self, document: dict[str, Any], name: str) -> str:
        """Priced, kept and taken: the customer pays the deposit."""
        document = {**document, "customer": {"name": f"{name} (invented)"}}
        assert self.ask("/v1/estimates", document)["totals"]
        number: str = self.ask("/v1/quotes", document)["number"]
        taken = self.ask(f"/v1/quotes/{number}/accept", {})
        assert taken["promised"] is not None
        self.pay(number, taken["deposit_due"], "card")
        return number

    def pay(self, number: str, amount: str, way: str) -> None:
        reference = f"TILL-1-{len(self.taken) + 1:04}"
        body = {"amount": amount, "paid_by": way, "reference": reference}
        self.ask(f"/v1/quotes/{number}/payments", body)
        self.ask(f"/v1/quotes/{number}/payments", body)  # the line broke: the till tells it again
        self.taken.append(Decimal(amount))

    def tickets(self, number: str) -> Iterator[str]:
        yield from (ticket["number"] for ticket in self.quote(number)["tickets"])

    def bench(self, number: str) -> None:
        """The bench does what is left of a quote, and puts it on the shelf."""
        for ticket in self.tickets(number):
            place = f"/v1/cut-tickets/{ticket}"
            shown = self.ask(place, scope="bench")
            if shown["status"] == "waiting":
                shown = self.ask(f"{place}/start", {}, "bench")
            for lot in shown["progress"]:
                if lot.get("recut_of") and lot["status"] == "waiting":
                    self.ask(f"{place}/pieces/{lot['piece']}/finish", {}, "bench")
            if shown["status"] != "done":
                self.ask(f"{place}/finish", {}, "bench")
            self.ask(f"{place}/shelve", {"shelf": f"B {ticket[-2]}"}, "bench")
        assert self.quote(number)["handover"] == "ready"

    def collection(self, number: str) -> None:
        """The customer pays the rest, or gets it back, and takes everything along."""
        due = self.quote(number)["balance_due"]
        if Decimal(due):
            self.pay(number, due, "cash")
        handed = self.ask(f"/v1/quotes/{number}/collect", {"by": ""})
        assert (handed["handover"], handed["balance_due"]) == ("collected", "0.00")

    def report(self, name: str) -> Any:
        return self.ask(f"/v1/reports/{name}?from=2026-11-01&to=2026-12-31", scope="reports")


def test_twelve_customers_and_the_books_reconcile_to_the_cent(world: World) -> None:
    day = Day(world)
    numbers = [day.intake(job(JOBS[n % 6]), name) for n, name in enumerate(NAMES[:9])]

    both = {**job(), "jobs": [*job()["jobs"], *job("stacked_poster")["jobs"]]}
    changing = day.intake(both, NAMES[9])
    numbers.append(changing)

    hurried = job()
    hurried["jobs"][0]["fees"] = ["rush"]
    assert faults_of(world.post("/v1/quotes", hurried)) == {"/wanted_by": "missing_field"}
    rush = day.intake({**hurried, "wanted_by": "2026-12-04"}, NAMES[10])
    assert day.quote(rush)["promised"] <= "2026-12-04"
    numbers.append(rush)

    impossible = job()
    impossible["jobs"][0]["artwork"]["width"] = "500"
    left = day.ask("/v1/quotes", impossible)
    assert left["status"] == "draft"
    refused = world.ask("POST", f"/v1/quotes/{left['number']}/issue", headers=ANY)
    assert "largest" in problem_of(refused, 409, "ticket_refused")["errors"][0]["detail"]
    day.ask(f"/v1/quotes/{left['number']}/withdraw", {"reason": "nobody makes it"})

    _, poster = day.tickets(changing)  # work has begun, and the poster gets another frame
    day.ask(f"/v1/cut-tickets/{poster}/pieces/1/finish", {}, "bench")
    other = {**both, "jobs": [both["jobs"][0], {**both["jobs"][1]}]}
    other["jobs"][1]["frames"] = [{"moulding": "MLD-OAK125"}]
    changed = day.ask(f"/v1/quotes/{changing}/revisions", other)
    (lost,) = changed["already_cut"]
    assert lost["ticket"] == poster

    spoiling = next(day.tickets(numbers[0]))
    mat = f"/v1/cut-tickets/{spoiling}/pieces/1"
    day.ask(f"{mat}/spoil", {"reason": "overcut at a corner"}, "bench")

    world.clock.move(days=3)
    for number in numbers:
        day.bench(number)
    uncollected = day.ask("/v1/reports/uncollected", scope="reports")
    assert uncollected["totals"][0]["tickets"] == sum(len(list(day.tickets(n))) for n in numbers)
    balances = day.ask("/v1/reports/balances", scope="reports")
    due = sum((Decimal(day.quote(n)["balance_due"]) for n in numbers), Decimal(0))
    assert Decimal(balances["totals"][0]["balance_due"]) == due

    world.clock.move(days=1)
    for number in numbers:
        day.collection(number)

    sold = sum((Decimal(day.quote(n)["totals"]["total"]) for n in numbers), Decimal(0))
    sales, components, paid = (
        day.report(name)["totals"][0] for name in ("sales", "sales-by-component", "payments")
    )
    assert sales["sold"] == len(numbers) == 11
    assert Decimal(sales["sold_total"]) == sold == sum(day.taken) == Decimal(paid["amount"])
    assert paid["payments"] == len(day.taken)
    assert Decimal(components["net"]) == Decimal(sales["sold_net"])
    assert Decimal(sales["conversion"]) == 1  # the draft was given to nobody
    assert day.ask("/v1/reports/balances", scope="reports")["rows"] == []
    assert day.ask("/v1/reports/uncollected", scope="reports")["rows"] == []
    spoiled = day.report("spoiled")
    assert sorted(row["ticket"] for row in spoiled["rows"]) == sorted([poster, spoiling])
    assert day.report("labour")["totals"][0]["due"] == "0"
