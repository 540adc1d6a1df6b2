"""Stick plans: rails from sticks of several lengths, offcuts first where they are cheaper.

Kerf stands between two rails, and after the last one where anything is left to cut off. Both ends
lose their trim. Rails of one group (a frame whose pattern runs) come from one stick, side by side;
a group no stick can take is named and its rails planned one by one. Rails of other frames come
from as few sticks as the least cost allows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import gcd

from service.domain.cutting.check import check_sticks
from service.domain.cutting.patterns.choice import Choice
from service.domain.cutting.patterns.master import Task
from service.domain.cutting.plan import (
    Buy,
    Offcut,
    Reason,
    StickPlacement,
    StickPlan,
    StickUse,
    Summary,
    Unplaced,
)
from service.domain.cutting.sticks.pricing import Sticks
from service.domain.cutting.sticks.search import search
from service.domain.cutting.sticks.sharing import share_out
from service.domain.cutting.stock import StickPiece, StickRules, StickStock
from service.domain.cutting.watch import Watch
from service.domain.errors import BadValue
from service.domain.value import dataclass

Rail = tuple[StickPiece, int]
MOST_TOGETHER = 400
"""With more rails than this, whole frames are not planned as one length."""


@dataclass(frozen=True, slots=True)
class _Bundle:
    """Rails that stay together: the rails of a group, or one rail on its own."""

    rails: tuple[Rail, ...]

    def length(self, kerf: int) -> int:
        return sum(piece.length + kerf for piece, _ in self.rails)

    @property
    def frame(self) -> str:
        """The frame that the first rail belongs to; a rail of no frame is one of its own."""
        piece, copy = self.rails[0]
        name = piece.frame or f"\0{piece.key}"
        return f"{name}\0{(copy - 1) // piece.of_frame}"


def plan_sticks(
    stock: Sequence[StickStock],
    pieces: Sequence[StickPiece],
    rules: StickRules | None = None,
    watch: Watch | None = None,
) -> StickPlan:
    """Plan rails on sticks at the least cost found, with a proven bound, and check the plan.

    Raises:
        BadValue: a key that is used twice.
        PlanCancelled: the caller stopped it.
        PlanRejected: the plan failed its own independent check (a fault of the planner).
    """
    rules, watch = rules or StickRules(), watch or Watch()
    refuse_twice("stick", (s.key for s in stock))
    refuse_twice("piece", (p.key for p in pieces))
    room = max((rules.usable(s.length) for s in stock if s.quantity != 0), default=0)
    bundles, split = _bundles(pieces, room, rules.kerf)
    fitting = [b for b in bundles if b.length(rules.kerf) <= room + rules.kerf]
    oversize = [b for b in bundles if b.length(rules.kerf) > room + rules.kerf]
    uses: tuple[StickUse, ...] = ()
    missing: list[_Bundle] = []
    bound = 0
    if fitting:
        uses, missing, bound = _plan(stock, fitting, rules, watch)
        if not missing:
            uses = _by_frames(stock, fitting, uses, rules, watch)
    unplaced = (
        *_unplaced(oversize, Reason.OVERSIZE, f"longer than the {room} a stick has to cut from"),
        *_unplaced(missing, Reason.STOCK_EXHAUSTED, "no stick that takes it is left"),
    )
    plan = StickPlan(uses, unplaced, split, _summary(stock, uses, bound))
    check_sticks(stock, pieces, rules, plan)
    return plan


def refuse_twice(what: str, keys: Iterable[str]) -> None:
    """Refuse keys that do not tell stock or pieces apart.

    Raises:
        BadValue: a key stands twice.
    """
    seen: set[str] = set()
    for key in keys:
        if key in seen:
            raise BadValue(f"two {what} entries have the key {key!r}; keys must differ")
        seen.add(key)


def _bundles(
    pieces: Sequence[StickPiece], room: int, kerf: int
) -> tuple[list[_Bundle], tuple[str, ...]]:
    groups: dict[str, list[Rail]] = {}
    for piece in pieces:
        for copy in range(1, piece.quantity + 1):
            name = piece.group or f"\0{piece.key}\0{copy}"
            groups.setdefault(name, []).append((piece, copy))
    bundles, split = [], []
    for name, rails in groups.items():
        whole = _Bundle(tuple(rails))
        if len(rails) > 1 and whole.length(kerf) > room + kerf:
            split.append(name)
            bundles += [_Bundle((rail,)) for rail in rails]
        else:
            bundles.append(whole)
    return bundles, tuple(split)


def _by_frames(
    stock: Sequence[StickStock],
    bundles: list[_Bundle],
    uses: tuple[StickUse, ...],
    rules: StickRules,
    watch: Watch,
) -> tuple[StickUse, ...]:
    """Return a plan that cuts every frame that fits from one stick, if it costs no more."""
    frames: dict[str, list[_Bundle]] = {}
    for bundle in bundles:
        frames.setdefault(bundle.frame, []).append(bundle)
    if len(frames) == len(bundles) or len(bundles) > MOST_TOGETHER:
        return uses
    room = max(rules.usable(s.length) for s in stock if s.quantity != 0)
    together: list[_Bundle] = []
    for of_frame in frames.values():
        whole = _Bundle(tuple(rail for bundle in of_frame for rail in bundle.rails))
        together += [whole] if whole.length(rules.kerf) <= room + rules.kerf else of_frame
    found, missing, _ = _plan(stock, together, rules, watch)
    return found if not missing and _cost(found) <= _cost(uses) else uses


def _cost(uses: tuple[StickUse, ...]) -> int:
    return sum(use.cost for use in uses)


def _plan(
    stock: Sequence[StickStock], bundles: list[_Bundle], rules: StickRules, watch: Watch
) -> tuple[tuple[StickUse, ...], list[_Bundle], int]:
    alike: dict[tuple[int, int], list[_Bundle]] = {}
    for bundle in bundles:
        alike.setdefault((bundle.length(rules.kerf), len(bundle.rails)), []).append(bundle)
    kinds = sorted(alike, reverse=True)
    usable = [
        s for s in stock if s.quantity != 0 and rules.usable(s.length) + rules.kerf >= kinds[-1][0]
    ]
    penalty = 2 * max(s.cost for s in usable) + 1
    task = Task(
        tuple(len(alike[kind]) for kind in kinds),
        tuple(penalty * kind[1] for kind in kinds),
        tuple(s.cost for s in usable),
        tuple(s.quantity for s in usable),
    )
    found = search(_scaled(kinds, usable, rules, task), watch)
    waiting = [alike[kind] for kind in kinds]
    uses = _uses(found.choice, usable, waiting, rules)
    missing = [bundle for bundles in waiting for bundle in bundles]
    short = sum(penalty * len(bundle.rails) for bundle in missing)
    return uses, missing, max(0, found.bound - short)


def _scaled(
    kinds: list[tuple[int, int]], usable: list[StickStock], rules: StickRules, task: Task
) -> Sticks:
    """Divide every length by what they all share, so that the search works on small numbers."""
    lengths = [kind[0] for kind in kinds]
    stock = [rules.usable(s.length) + rules.kerf for s in usable]
    unit = gcd(*lengths, *stock, rules.kerf, rules.keep_length)
    return Sticks(
        tuple(length // unit for length in lengths),
        tuple(length // unit for length in stock),
        task,
        rules.kerf // unit,
        rules.keep_length // unit,
    )


def _uses(
    choice: Choice, usable: list[StickStock], waiting: list[list[_Bundle]], rules: StickRules
) -> tuple[StickUse, ...]:
    """Every stick with its rails; these are taken out of `waiting`."""
    plan = [pattern for pattern, times in choice.uses for _ in range(times)]
    plan.sort(key=lambda p: (usable[p.stock].offcut is False, p.stock, p.largest, p.counts))
    frames = [[bundle.frame for bundle in bundles] for bundles in waiting]
    numbers = [0] * len(usable)
    uses = []
    for pattern, share in zip(plan, share_out([p.counts for p in plan], frames), strict=True):
        numbers[pattern.stock] += 1
        rails = [rail for kind, frame in share for rail in _taken(waiting[kind], frame)]
        uses.append(_use(usable[pattern.stock], numbers[pattern.stock], rails, rules))
    return tuple(uses)


def _taken(waiting: list[_Bundle], frame: str) -> tuple[Rail, ...]:
    """The next rails of a frame, which then wait no longer."""
    place = next(at for at, bundle in enumerate(waiting) if bundle.frame == frame)
    return waiting.pop(place).rails


def _use(stock: StickStock, number: int, rails: list[Rail], rules: StickRules) -> StickUse:
    at = rules.head_trim
    placements = []
    for piece, copy in rails:
        placements.append(StickPlacement(piece.key, copy, at, piece.length))
        at += piece.length + rules.kerf
    left = max(0, stock.length - rules.tail_trim - at)
    return StickUse(
        stock.key,
        number,
        stock.length,
        stock.offcut,
        stock.cost,
        tuple(placements),
        left,
        left >= rules.keep_length,
    )


def _unplaced(bundles: list[_Bundle], reason: Reason, detail: str) -> list[Unplaced]:
    counts: dict[str, int] = {}
    for bundle in bundles:
        for piece, _ in bundle.rails:
            counts[piece.key] = counts.get(piece.key, 0) + 1
    return [Unplaced(key, n, reason, detail) for key, n in counts.items()]


def _summary(stock: Sequence[StickStock], uses: tuple[StickUse, ...], bound: int) -> Summary:
    cost = _cost(uses)
    taken = sum(use.length for use in uses)
    made = sum(rail.length for use in uses for rail in use.placements)
    kept = [Offcut(n, use.leftover, 0) for n, use in enumerate(uses) if use.keep]
    counts = {s.key: sum(1 for use in uses if use.stock == s.key) for s in stock}
    return Summary(
        cost,
        min(cost, bound),
        Fraction(made, taken) if taken else Fraction(0),
        tuple(
            Buy(s.key, counts[s.key], s.cost * counts[s.key], s.offcut)
            for s in stock
            if counts[s.key]
        ),
        tuple(sorted(kept, key=lambda o: -o.width)),
        sum(cuts_on(use) for use in uses),
    )


def cuts_on(use: StickUse) -> int:
    """Saw cuts between the rails and after the last where stick is left; trims not counted."""
    return len(use.placements) - (0 if _remains(use) else 1)


def _remains(use: StickUse) -> bool:
    return use.leftover > 0
