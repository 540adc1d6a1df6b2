"""The output of an import: faulty rows, progress, and what was stored."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path

from schemas.prices.csv import Row, RowFault
from service.app.prices.importing import Tally

PROGRESS_EVERY = 2_500


@dataclass(slots=True)
class Report:
    """The results of an import.

    Attributes:
        tell: writes a line for people.
        size: the total size of the files in bytes, once it is known.
        tallies: what was stored, by file.
        faulty: the number of faulty rows.
    """

    tell: Callable[[str], None]
    size: int = 0
    tallies: dict[str, Tally] = field(default_factory=dict)
    faulty: int = 0
    _rows: int = 0
    _behind: int = 0

    def fault(self, path: Path, found: RowFault) -> None:
        """Report the single fault of a row."""
        self.faults(path, Row(found.line, None, (found,)))

    def faults(self, path: Path, row: Row) -> None:
        """Report all faults of a row."""
        self.faulty += 1
        for found in row.faults:
            column = f", column {found.column}" if found.column else ""
            self.tell(f"{path.name}, line {found.line}{column}: {found.detail}")

    def row(self, path: Path, at: int) -> None:
        """Count a row, and report progress now and then; `at` is a position in its file."""
        self._rows += 1
        if self._rows % PROGRESS_EVERY == 0:
            percent = 100 * (self._behind + at) // max(self.size, 1)
            self.tell(f"{self._rows:,} rows, {min(percent, 100)} %, now in {path.name}")

    def file_done(self, path: Path) -> None:
        """Record that a whole file has been read."""
        self._behind += path.stat().st_size

    def stored(self, name: str, tally: Tally) -> None:
        """Count what was stored."""
        self.tallies.setdefault(name, Tally()).add(tally)

    def lines(self) -> list[str]:
        """Return what was stored, by file."""
        return [
            f"{name}: {tally.created} new, {tally.changed} changed, {tally.same} as they were"
            for name, tally in self.tallies.items()
        ]
