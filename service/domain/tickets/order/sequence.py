"""The order of a ticket's drafts, with the fewest set-ups, and their numbered steps."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TypeVar

from service.domain.measure.length import Length
from service.domain.tickets.instructions import Cut, SetUps, Share, Step
from service.domain.tickets.order.parts import SetUp
from service.domain.tickets.order.rail_stops import in_order as least_moved
from service.domain.tickets.order.search import Task, fewest_changes
from service.domain.tickets.steps.draft import Bundle, Draft

T = TypeVar("T")
RESET = frozenset({"guide", "arm_stop", "panel_fence", "saw_stop"})
"""Components that may be set again within a step; any other one begins a new step."""


def in_order(drafts: list[Draft], *, stops: bool) -> tuple[list[Draft], SetUps]:
    """Return the drafts with the fewest changes; hand work goes where it is first needed."""
    place = {id(draft): at for at, draft in enumerate(drafts)}
    tasks = [
        Task(
            draft.needs if draft.machine == "cutter" else {},
            frozenset(place[id(before)] for before in draft.after),
        )
        for draft in drafts
    ]
    best = fewest_changes(tasks)
    cutting = [at for at in best.tasks if drafts[at].machine == "cutter"]
    sawing = [draft for draft in drafts if draft.stage == "saw"]
    sawn = iter(fewest_changes([Task(draft.needs) for draft in sawing]).tasks)
    done: dict[int, None] = {}
    for at in cutting:
        _with_all_before(at, tasks, done)
    for at in range(len(drafts)):
        _with_all_before(at, tasks, done)
    ordered = [drafts[at] for at in done]
    ordered = [sawing[next(sawn)] if draft.stage == "saw" else draft for draft in ordered]
    if stops:
        _with_stops([draft for draft in ordered if draft.cuts])
    return ordered, SetUps(best.changes, best.at_least, best.proved)


def _with_stops(windows: Sequence[Draft]) -> None:
    """Order the cuts of each set-up so that the stops move least.

    Cuts to drawn lines stay grouped by line, since each line has to be laid under the rail again.
    """
    groups: list[tuple[Draft, tuple[Cut, ...]]] = []
    for draft in windows:
        lines: dict[tuple[str, Length], list[Cut]] = {}
        for cut in draft.cuts:
            key = ("", Length(0)) if cut.by == "guide" else (cut.side, cut.setting)
            lines.setdefault(key, []).append(cut)
        groups += [(draft, tuple(lines[key])) for key in sorted(lines)]
        draft.cuts = ()
    ordered = least_moved([cuts for _, cuts in groups])
    for (draft, _), cuts in zip(groups, ordered, strict=True):
        draft.cuts = (*draft.cuts, *cuts)


def _with_all_before(at: int, tasks: Sequence[Task], done: dict[int, None]) -> None:
    if at in done:
        return
    for before in sorted(tasks[at].after):
        _with_all_before(before, tasks, done)
    done[at] = None


def numbered(
    bundle: Bundle, drafts: Sequence[Draft], parts: Sequence[tuple[Share, ...]]
) -> tuple[Step, ...]:
    """Return the steps: drafts that follow one another at one place of work make one step."""
    set_up = SetUp(bundle, drafts)
    made = []
    for number, (_, group) in enumerate(
        groupby(zip(drafts, parts, strict=True), key=_Grouping()), start=1
    ):
        together = list(group)
        these = [draft for draft, _ in together]
        made.append(
            Step(
                number=number,
                work=these[-1].work,
                machine=these[-1].machine,
                parts=tuple(part for draft in these for part in set_up.parts(draft)),
                pieces=_all(piece for draft in these for piece in draft.pieces),
                cautions=_all(code for draft in these for code in draft.cautions),
                shares=_added(share for _, shares in together for share in shares),
            )
        )
    return tuple(made)


class _Grouping:
    """A key that changes whenever a draft begins a new step."""

    def __init__(self) -> None:
        self.last: Draft | None = None
        self.count = 0

    def __call__(self, item: tuple[Draft, object]) -> int:
        """Return the number of the step that a draft belongs to."""
        draft = item[0]
        if self.last is None or not _continues(self.last, draft):
            self.count += 1
        self.last = draft
        return self.count


def _continues(last: Draft, draft: Draft) -> bool:
    if last.work != draft.work or draft.work == "fix_under_mat":
        return False
    if draft.stage == "window" and last.pieces != draft.pieces:
        return False
    if last.leads:
        return True
    return not draft.leads and last.machine == draft.machine and _kept(last) == _kept(draft)


def _kept(draft: Draft) -> dict[str, Length | str]:
    return {what: to for what, to in draft.needs.items() if what not in RESET}


def _all(found: Iterable[T]) -> tuple[T, ...]:
    return tuple(dict.fromkeys(found))


def _added(shares: Iterable[Share]) -> tuple[Share, ...]:
    """Return the shares with those of one operation added up."""
    total: dict[str, Share] = {}
    for share in shares:
        before = total.get(share.operation)
        parts = share.parts + (before.parts if before else 0)
        total[share.operation] = Share(share.operation, parts, share.per)
    return tuple(total.values())
