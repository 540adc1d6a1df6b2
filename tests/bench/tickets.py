"""How long a ticket takes: made, as JSON, as a page and as PDF, on one core.

Run `python -m tests.bench.tickets`. It prints the median and the slowest of many rounds in
milliseconds, and fails where the median is over its limit: JSON 10 ms, PDF 400 ms.
"""

from __future__ import annotations

import sys
from collections.abc import Callable
from dataclasses import replace
from itertools import count, starmap
from resource import RUSAGE_SELF, getrusage
from statistics import median
from time import process_time

from schemas.tickets.document import ticket_document
from schemas.wire.figures import plain, written
from service.domain.jobs.artwork import Artwork
from service.domain.jobs.job import JobSpec
from service.domain.jobs.mat import Grid
from service.domain.tickets.make import make_ticket
from service.printing.tickets.card import ticket_pdf
from service.printing.tickets.html import ticket_html
from service.printing.tickets.rows import TicketHead
from tests.domain.bench_shop import inch, size
from tests.domain.tickets.shop_jobs import six_windows, spec, worked

HEAD = TicketHead(number="Q000123-4", shop="Invented test shop")
JSON_LIMIT, PDF_LIMIT = 10.0, 400.0
ROUNDS = 30


_NUMBERS = count(100_000)


def new_head() -> TicketHead:
    """A head with a number of its own: the typesetter remembers what it has set before."""
    return replace(HEAD, ticket=f"T{next(_NUMBERS)}")


def timed(work: Callable[[], object], rounds: int = ROUNDS) -> tuple[float, float, float]:
    """First, median and slowest of so many rounds, in milliseconds of processor time."""
    found = []
    for _ in range(rounds):
        start = process_time()
        work()
        found.append((process_time() - start) * 1000)
    return found[0], median(found), max(found)


def measure(name: str, asked: JobSpec) -> bool:
    """Measure one job; tell whether it is within the limits."""
    made, shop = worked(asked)
    ticket = make_ticket(made, shop.shop)
    document = plain(ticket_document(ticket))
    rows = {
        "make and prove": lambda: make_ticket(made, shop.shop),
        "JSON": lambda: written(ticket_document(ticket)),
        "HTML": lambda: ticket_html(document, HEAD),
        "PDF, letter": lambda: ticket_pdf(document, new_head(), "letter"),
        "PDF, A4": lambda: ticket_pdf(document, new_head(), "a4"),
    }
    within = True
    print(f"{name}: {len(ticket.pieces)} pieces, {len(ticket.steps)} steps, {ticket.set_ups}")
    for what, work in rows.items():
        first, middle, slowest = timed(work)
        limit = {"JSON": JSON_LIMIT}.get(what, PDF_LIMIT if what.startswith("PDF") else None)
        within = within and (limit is None or middle < limit)
        said = f", limit {limit:.0f}" if limit else ""
        print(
            f"  {what:<16} first {first:7.2f}  median {middle:7.2f}  slowest {slowest:7.2f}{said}"
        )
    return within


def in_one_go(many: int = 1_000) -> None:
    """Print so many different tickets in one process: time, memory, bytes."""
    made, shop = worked(spec())
    document = plain(ticket_document(make_ticket(made, shop.shop)))
    start, sizes = process_time(), []
    before = getrusage(RUSAGE_SELF).ru_maxrss // 1024
    for n in range(many):
        sizes.append(len(ticket_pdf({**document, "label": f"Picture {n}"}, new_head())))
    each = (process_time() - start) * 1000 / many
    most = getrusage(RUSAGE_SELF).ru_maxrss // 1024
    print(
        f"{many} tickets in one go: {each:.1f} ms each, {median(sizes):.0f} bytes each, "
        f"from {before} to {most} MB"
    )


def main() -> int:
    """Measure three jobs, from common to large, and many in one go."""
    small = Artwork(size("2 x 2"), inch("1/64"), "photograph")
    jobs = {
        "double mat, four unequal borders": spec(),
        "six windows": six_windows(),
        "a hundred windows": six_windows(artwork=small, openings=Grid(10, 10, inch("1/2"))),
    }
    within = all(list(starmap(measure, jobs.items())))
    in_one_go()
    return 0 if within else 1


if __name__ == "__main__":
    sys.exit(main())
