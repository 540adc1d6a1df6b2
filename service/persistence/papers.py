"""Papers: documents that many quotes rest on, kept once and known by their content.

A quote names some fifteen of them, nearly always the same as the quote before it. What this process
has seen committed is not asked for again; a paper that two writers bring at once is kept once.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from sqlalchemy import select
from sqlalchemy.dialects import postgresql, sqlite

from schemas.quotes.records import Paper
from service.persistence.sql.metadata import papers
from service.persistence.sql.session import Session

_INSERT = {
    "sqlite": sqlite.insert(papers).on_conflict_do_nothing(),
    "postgresql": postgresql.insert(papers).on_conflict_do_nothing(),
}


class SqlPapers:
    """The papers of stored quotes over SQL."""

    def __init__(self, session: Session) -> None:
        self._session = session

    def keep(self, brought: Iterable[Paper]) -> None:
        """Store those that are not there yet."""
        session = self._session
        known = session.known_papers
        new = {p.digest: p.document for p in brought if p.digest not in known}
        if new:
            rows = [{"digest": digest, "document": text} for digest, text in sorted(new.items())]
            session.connection.execute(_INSERT[session.connection.dialect.name], rows)
            session.new_papers.update(new)

    def found(self, names: str) -> tuple[Paper, ...]:
        """The papers of a stored list of "kind:digest", in its order."""
        return self.found_all([names])[0]

    def found_all(self, lists: Sequence[str]) -> list[tuple[Paper, ...]]:
        """The papers of several such lists, each in its order; what they share is read once."""
        named = [[name.partition(":") for name in names.split()] for names in lists]
        digests = {digest for names in named for _, _, digest in names}
        wanted = select(papers).where(papers.c.digest.in_(sorted(digests)))
        documents = {row.digest: row.document for row in self._session.connection.execute(wanted)}
        return [
            tuple(Paper(kind, digest, documents[digest]) for kind, _, digest in names)
            for names in named
        ]
