"""The parts of a step: what is set, and the lines that are done while it holds."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby

from service.domain.measure.length import Length
from service.domain.tickets.instructions import Change, Cut, Part
from service.domain.tickets.order.rail_stops import pair_of
from service.domain.tickets.steps.cutter import cut_line
from service.domain.tickets.steps.draft import Bundle, Draft
from service.domain.tickets.steps.mats import FIRST_STOP


class SetUp:
    """The bench's set-up as the drafts follow one another: only what changes is set again."""

    def __init__(self, bundle: Bundle, drafts: Sequence[Draft]) -> None:
        self.bundle = bundle
        self.mats = {mat.number: mat for mat in bundle.mats()}
        self.stands: dict[str, object] = {}
        self.first: dict[tuple[int, ...], Cut] = {}
        for draft in drafts:
            if draft.cuts:
                self.first.setdefault(draft.pieces, draft.cuts[0])

    def parts(self, draft: Draft) -> Iterator[Part]:
        """Yield the parts of a draft: one, or one for each place of the stops."""
        if draft.cuts:
            yield from self._window_parts(draft)
            return
        lines = tuple(self._filled(draft, line) for line in draft.lines)
        changes = tuple(self._changes(draft.needs))
        yield Part(changes, lines, draft.size_cuts)

    def _filled(self, draft: Draft, line: str) -> str:
        if FIRST_STOP not in line:
            return line
        start = self.first[draft.pieces].start
        return line.replace(FIRST_STOP, f"{start.side} {self.bundle.text(start.distance)}")

    def _changes(self, needs: dict[str, Length | str]) -> Iterator[Change]:
        for what, to in needs.items():
            if self.stands.get(what) != to:
                self.stands[what] = to
                yield Change(what.partition(":")[0], to)

    def _window_parts(self, draft: Draft) -> Iterator[Part]:
        """Yield a part for each pair of stops; without stops the cuts run from line to line."""
        mat = self.mats[draft.pieces[0]]
        stops = self.bundle.stops and draft.machine == "cutter"
        for _, alike in groupby(draft.cuts, key=pair_of if stops else lambda _: None):
            cuts = tuple(alike)
            changes = [*self._changes(draft.needs)]
            if stops:
                changes += self._stops(cuts[0])
            lines = tuple(cut_line(self.bundle, mat, cut) for cut in cuts)
            yield Part(tuple(changes), lines, cuts=cuts)

    def _stops(self, cut: Cut) -> Iterator[Change]:
        for what, place, to in zip(
            ("start_stop", "end_stop"),
            pair_of(cut),
            (cut.start.distance, cut.stop.distance),
            strict=True,
        ):
            if self.stands.get(what) != place:
                self.stands[what] = place
                yield Change(what, to)
