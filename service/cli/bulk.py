"""The lines of `framing-quotes estimate --bulk`: worked out by several processes, told in order.

Each process is a fork of this one, so that all of them rest on the same prices. Only a few lines
are under way at once, so a long file takes no more memory than a short one. A bar on the terminal
shows how far it is. It is written to standard error, so that the answers can be piped on, and only
where that is a terminal.
"""

from __future__ import annotations

import multiprocessing
import os
import sys
from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import Future, ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from itertools import islice
from pathlib import Path
from typing import IO

import click

from service.api.estimates.bulk_lines import Estimator, Line, lines_of
from service.cli.serve.collector import quiet_collector
from service.domain.estimates.calculation import Basis

AT_A_TIME = 50
"""Lines that a process takes at once, and between two movements of the bar."""
WORTH_IT = 500_000
"""A file of so many bytes is worth more processes than one."""
Answers = tuple[list[bytes], int]
"""Lines of answer, and how many bytes of the file they are for."""
_WORK: list[Estimator] = []
"""What every process works with; it is there before they part."""


def estimate_lines(file: Path, basis: Basis, processes: int | None) -> None:
    """Write an answer for each line of a file to standard output.

    Args:
        file: where the lines are; "-" for standard input.
        basis: what they are priced by.
        processes: how many work at once; by default one for each processor, for a long file.

    Raises:
        Exit: 1, where lines made no sense; the others are answered all the same.
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
    """The lines, some at a time."""
    lines = lines_of(file)
    while some := list(islice(lines, AT_A_TIME)):
        yield some


def _answered(parts: Iterable[list[Line]], processes: int) -> Iterator[Answers]:
    """The answers in the order of the lines, whichever process is done first."""
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
    """Bytes; 0 where nobody knows how many will come."""
    return 0 if str(file) == "-" else file.stat().st_size


@contextmanager
def _bar(length: int) -> Iterator[click._termui_impl.ProgressBar[int]]:
    with click.progressbar(
        length=length, label="estimating", file=sys.stderr, hidden=not sys.stderr.isatty()
    ) as bar:
        yield bar
