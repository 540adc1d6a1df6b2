"""The lines of `framing-quotes estimate --bulk`, worked out one after the other.

A bar on the terminal shows how far it is. It is written to standard error, so that the answers can
be piped on, and only where that is a terminal.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import IO

import click

from service.api.bulk_lines import Estimator, lines_of
from service.domain.estimate import Basis

OFTEN = 25
"""Lines between two movements of the bar."""


def estimate_lines(file: Path, basis: Basis) -> None:
    """Write an answer for each line of a file to standard output.

    Raises:
        Exit: 1, where lines made no sense; the others are answered all the same.
    """
    work = Estimator(basis=lambda _: basis, within=lambda _: None)
    done = refused = moved = 0
    with _opened(file) as lines, _bar(_size(file)) as bar:
        for line in lines_of(lines):
            answer = work.answer(line)
            sys.stdout.buffer.write(answer)
            done += 1
            refused += b'"type":"tag:' in answer[:60]
            moved += len(line.text) + 1
            if done % OFTEN == 0:
                bar.update(moved)
                moved = 0
        bar.update(moved)
    sys.stdout.buffer.flush()
    if refused:
        click.echo(f"{refused} of {done} lines make no sense; their answers say why", err=True)
        raise click.exceptions.Exit(1)


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
