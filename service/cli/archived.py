"""`framing-quotes archived`: what was erased from the database and is in the archive."""

from __future__ import annotations

from dataclasses import fields
from pathlib import Path
from typing import Any

import click
import orjson

from service.cli.start import plainly, settings
from service.domain.quotes.numbers import QUOTES
from service.persistence.retention import earlier
from service.persistence.retention.reading import FileContents, Search, contents, search
from service.persistence.retention.records import WholeQuote, WholeRevision


@click.command()
@click.argument("quote", required=False)
@click.option("--list", "listed", is_flag=True, help="Tell what each file holds.")
@click.option("--check", is_flag=True, help="Read all of it; exit status 1 if any is damaged.")
@click.option("--papers", is_flag=True, help="Print the papers too that the quote rests on.")
@click.option("--shop", help="The code of one shop; all of them by default.")
@click.option(
    "--folder",
    type=click.Path(path_type=Path),
    help="Where the archive is; FRAMING_QUOTES_ARCHIVE by default.",
)
def archived(
    quote: str | None,
    listed: bool,
    check: bool,
    papers: bool,
    shop: str | None,
    folder: Path | None,
) -> None:
    """Print a QUOTE (Q… or its id) that `tidy` has archived, as JSON; no database is needed.

    What was sent, what was answered and the costs stand there byte for byte as they were stored.
    """
    if bool(quote) == (listed or check):
        raise click.UsageError("say which quote, or --list, or --check")
    with plainly():
        place = folder or _folder()
        _tell_of_earlier(place)
        if quote:
            code, found = _found(place, quote, shop)
            click.echo(_document(code, found, papers=papers))
        else:
            _tell(contents(place, shop), listed=listed, check=check)


def _folder() -> Path:
    named = settings().archive
    if not named:
        raise click.ClickException(
            "there is no archive: FRAMING_QUOTES_ARCHIVE names no folder; give it with --folder"
        )
    return Path(named)


def _found(place: Path, quote: str, shop: str | None) -> tuple[str, WholeQuote]:
    """Return the quote, and the code of its shop.

    Raises:
        ClickException: there is none, or several shops have one of that number.
    """
    if QUOTES.means(quote):
        told = search(place, serial=QUOTES.read(quote), shop=shop)
    else:
        told = search(place, quote_id=quote.strip().lower(), shop=shop)
    if len(told.found) > 1:
        codes = ", ".join(sorted(told.found))
        raise click.ClickException(f"several shops have that quote; say which with --shop: {codes}")
    for code, found in told.found.items():
        return code, found
    raise click.ClickException(f"the archive in {place} has no such quote{_unread(told)}")


def _tell_of_earlier(place: Path) -> None:
    waiting = len(earlier.files(place)) if place.is_dir() else 0
    if waiting:
        told = f"{waiting} files of an earlier release are not looked into; tidy takes them over"
        click.echo(told, err=True)


def _unread(told: Search) -> str:
    return f"; {told.damaged} files cannot be read, see --check" if told.damaged else ""


def _document(shop: str, quote: WholeQuote, *, papers: bool) -> bytes:
    document: dict[str, Any] = {
        "shop": shop,
        "number": quote.head.number,
        **{field.name: getattr(quote.head, field.name) for field in fields(quote.head)},
        "customer": orjson.Fragment(quote.head.customer),
        "revisions": [_revision(revision) for revision in quote.revisions],
    }
    if papers:
        document["papers"] = {
            paper.digest: orjson.Fragment(paper.document)
            for revision in quote.revisions
            for paper in revision.working.papers
        }
    return orjson.dumps(document)


def _revision(revision: WholeRevision) -> dict[str, Any]:
    working = revision.working
    return {
        "revision": revision.number,
        "created_at": revision.created_at,
        "choice": revision.choice,
        "request": orjson.Fragment(working.request),
        "result": orjson.Fragment(working.result),
        "costs": orjson.Fragment(working.costs),
        "papers": [{"kind": paper.kind, "digest": paper.digest} for paper in working.papers],
    }


def _tell(held: list[FileContents], *, listed: bool, check: bool) -> None:
    """Print a line for each file, or for each damaged one, and the totals.

    Raises:
        ClickException: a check was requested and something is damaged.
    """
    for file in held:
        if listed or file.damaged:
            click.echo(_line(file))
    damaged = sum(bool(file.damaged) for file in held)
    quotes, events = sum(f.quotes for f in held), sum(f.events for f in held)
    click.echo(f"{len(held)} files, {quotes} quotes, {events} events")
    if check and damaged:
        raise click.ClickException(f"{damaged} files are damaged; bring them back from a copy")


def _line(file: FileContents) -> str:
    days = f", {file.first:%Y-%m-%d} to {file.last:%Y-%m-%d}" if file.first else ""
    state = f"DAMAGED in {file.damaged} places" if file.damaged else "whole"
    return f"{file.name}: {file.quotes} quotes, {file.events} events{days}, {state}"
