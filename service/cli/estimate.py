"""`framing-quotes estimate`: quotes in the terminal without a server; `--bulk` for NDJSON files."""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path
from typing import IO

import click
import orjson

from schemas.estimates.answer import estimate_document
from schemas.wire.figures import plain
from service.api.estimates.body import read_request
from service.api.estimates.bulk import Estimator, Line, lines_of
from service.api.http.body import read_json
from service.app.estimates.calculation import basis_on
from service.app.prices.book import load_book
from service.cli.serve.collector import quiet_collector
from service.cli.start import need_migrated, plainly, wired
from service.demo import demo_catalogue, demo_labour_standard, demo_price_list, demo_shop
from service.domain.errors import Fault, JobRefused
from service.domain.estimates.calculation import Basis, estimate_request
from service.domain.quotes.life import shop_day
from service.printing.quotes.text import quote_text

AT_A_TIME = 50
"""Lines per batch of a process, and per update of the progress bar."""
WORTH_IT = 500_000
"""The bytes from which a file is worth several processes."""
Answers = tuple[list[bytes], int]
"""Lines of answer, and how many bytes of the file they cover."""
_WORK: list[Estimator] = []
"""The estimator of every process, set before the fork."""


def estimate_lines(file: Path, basis: Basis, processes: int | None) -> None:
    """Write an answer for each line of a file to standard output.

    Args:
        file: the lines; "-" for standard input.
        basis: the basis of the prices.
        processes: how many run at once; by default one per processor, for a long file.

    Raises:
        Exit: 1 if some lines were invalid; the others are answered all the same.
        ClickException: a process was killed.
    """
    _WORK[:] = [Estimator(basis=lambda _: basis, within=lambda _: None)]
    quiet_collector()
    size = _size(file)
    many = processes or ((os.cpu_count() or 1) if size >= WORTH_IT else 1)
    done = refused = 0
    with _opened(file) as lines, _bar(size) as bar:
        try:
            for answers, moved in _answered(_taken(lines), many):
                for answer in answers:
                    sys.stdout.buffer.write(answer)
                    refused += b'"type":"tag:' in answer[:60]
                done += len(answers)
                bar.update(moved)
        except BrokenProcessPool:
            raise click.ClickException(
                f"a process was killed after {done} lines; try fewer with --processes"
            ) from None
    sys.stdout.buffer.flush()
    if refused:
        click.echo(f"{refused} of {done} lines make no sense; their answers say why", err=True)
        raise click.exceptions.Exit(1)


def _taken(file: IO[bytes]) -> Iterator[list[Line]]:
    """Yield the lines in batches."""
    lines = lines_of(file)
    while some := list(islice(lines, AT_A_TIME)):
        yield some


def _answered(parts: Iterable[list[Line]], processes: int) -> Iterator[Answers]:
    """Yield the answers in the order of the lines, whichever process finishes first."""
    if processes == 1:
        yield from map(_answer, parts)
        return
    forks = multiprocessing.get_context("fork")
    with ProcessPoolExecutor(processes, mp_context=forks) as pool:
        under_way: deque[Future[Answers]] = deque()
        for part in parts:
            under_way.append(pool.submit(_answer, part))
            if len(under_way) > 2 * processes:
                yield under_way.popleft().result()
        while under_way:
            yield under_way.popleft().result()


def _answer(lines: list[Line]) -> Answers:
    (work,) = _WORK
    return [work.answer(line) for line in lines], sum(len(line.text) + 1 for line in lines)


@contextmanager
def _opened(file: Path) -> Iterator[IO[bytes]]:
    if str(file) == "-":
        yield sys.stdin.buffer
        return
    with file.open("rb") as opened:
        yield opened


def _size(file: Path) -> int:
    """Return the size in bytes; 0 if unknown."""
    return 0 if str(file) == "-" else file.stat().st_size


@contextmanager
def _bar(length: int) -> Iterator[click._termui_impl.ProgressBar[int]]:
    with click.progressbar(
        length=length, label="estimating", file=sys.stderr, hidden=not sys.stderr.isatty()
    ) as bar:
        yield bar


DOCUMENT = click.Path(exists=True, dir_okay=False, allow_dash=True, path_type=Path)


@click.command()
@click.argument("file", type=DOCUMENT)
@click.option("--shop", "code", help="A shop of the database; without it the invented demo shop.")
@click.option("--json", "as_json", is_flag=True, help="The whole answer as JSON.")
@click.option(
    "--bulk", is_flag=True, help="FILE holds a document a line; write an answer a line (NDJSON)."
)
@click.option(
    "--processes",
    type=click.IntRange(1, 256),
    help="With --bulk: how many work at once; default one for each processor, for a long file.",
)
def estimate(
    file: Path, code: str | None, as_json: bool, bulk: bool, processes: int | None
) -> None:
    """Work out the job document in FILE (- for standard input) and print its quote."""
    with plainly():
        basis = _basis(code)
        if bulk:
            estimate_lines(file, basis, processes)
            return
        try:
            request = read_request(read_json(_text(file)), basis)
            if request.coupon:
                told = "coupons are kept by the service; ask it for this price"
                raise JobRefused([Fault("/coupon", "not_allowed", told)])
            done = estimate_request(request.jobs, basis, request.conditions)
        except JobRefused as refused:
            faults = "\n".join(f"  {f.pointer or '/'}: {f.detail}" for f in refused.faults())
            raise click.ClickException(f"the document does not make sense:\n{faults}") from refused
    document = plain(estimate_document(done))
    if as_json:
        click.echo(orjson.dumps(document, option=orjson.OPT_INDENT_2).decode())
        return
    click.echo(f"{basis.shop.name}, price list {basis.price_list.code}\n")
    click.echo(quote_text(document, basis.shop.ruler.unit))


def _text(file: Path) -> bytes:
    if str(file) == "-":
        return sys.stdin.buffer.read()
    return file.read_bytes()


def _basis(code: str | None) -> Basis:
    """Return the basis of prices: the shop of the database, or the invented demo shop.

    Raises:
        DomainError: there is no such shop, or it has no prices or times yet.
    """
    if code is None:
        return Basis(demo_shop(), demo_catalogue(), demo_labour_standard(), demo_price_list())
    with wired() as wiring:
        need_migrated(wiring)
        with wiring.units.reading() as uow:
            book = load_book(uow, uow.shops.by_code(code).id)
    return basis_on(book, shop_day(book.shop, datetime.now(UTC)))
