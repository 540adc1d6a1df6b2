"""Turns drafts into numbered steps: their order, the order of their cuts, and set-up changes."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from service.domain.measure.length import Length
from service.domain.tickets.model import Change, Cut, SetUps, Share, Step
from service.domain.tickets.order.rail_stops import in_order as least_moved
from service.domain.tickets.order.search import Task, fewest_changes
from service.domain.tickets.steps import cutter, mats
from service.domain.tickets.steps.draft import Bundle, Draft


def in_order(drafts: list[Draft], *, stops: bool) -> tuple[list[Draft], SetUps]:
    """Return the steps with the fewest changes; hand work goes where it is first needed."""
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
    sawing = [draft for draft in drafts if draft.machine == "saw"]
    sawn = iter(fewest_changes([Task(draft.needs) for draft in sawing]).tasks)
    done: dict[int, None] = {}
    for at in cutting:
        _with_all_before(at, tasks, done)
    for at in range(len(drafts)):
        _with_all_before(at, tasks, done)
    ordered = [drafts[at] for at in done]
    ordered = [sawing[next(sawn)] if draft.machine == "saw" else draft for draft in ordered]
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


def fill_in(bundle: Bundle, drafts: Sequence[Draft]) -> None:
    """Fill in the parts of the texts that depend on the order of the cuts."""
    for draft in drafts:
        if draft.cuts:
            draft.text = draft.text.replace(cutter.SIDES, cutter.sides_said(draft.cuts))
        elif draft.work == "mark" and mats.FIRST_STOP in draft.text:
            first = next(d.cuts[0] for d in drafts if d.cuts and d.pieces == draft.pieces).start
            where = f"{bundle.said(first.distance)} from the {first.side} edge"
            draft.text = draft.text.replace(mats.FIRST_STOP, where)


def _with_all_before(at: int, tasks: Sequence[Task], done: dict[int, None]) -> None:
    if at in done:
        return
    for before in sorted(tasks[at].after):
        _with_all_before(before, tasks, done)
    done[at] = None


def numbered(
    drafts: Iterable[Draft], parts: Sequence[tuple[Share, ...]], *, stops: bool
) -> tuple[Step, ...]:
    """Return the steps with their numbers and the changes before each."""
    stands: dict[str, Length | str] = {}
    made = []
    for number, (draft, share) in enumerate(zip(drafts, parts, strict=True), start=1):
        needs = dict(draft.needs)
        if stops and draft.cuts and needs:
            needs["start_stop"] = draft.cuts[0].start.distance
            needs["end_stop"] = draft.cuts[0].stop.distance
        changes = tuple(
            Change(what.partition(":")[0], to)
            for what, to in needs.items()
            if stands.get(what) != to
        )
        stands.update(needs)
        if "start_stop" in needs:
            stands["start_stop"] = draft.cuts[-1].start.distance
            stands["end_stop"] = draft.cuts[-1].stop.distance
        made.append(
            Step(
                number=number,
                work=draft.work,
                machine=draft.machine,
                text=draft.text,
                pieces=draft.pieces,
                changes=changes,
                size_cuts=draft.size_cuts,
                cuts=draft.cuts,
                cautions=draft.cautions,
                shares=share,
            )
        )
    return tuple(made)
