"""Which of the equal rails comes from which stick, so that a frame is on as few as can be.

Rails of one length are alike to the planner, so sharing them out costs nothing. First each stick
takes as many whole frames as it can; then rails are exchanged as long as that brings a frame
together.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence
from itertools import product

LOOKED_AT = 200
"""So many frames are compared for a place on a stick."""
EXCHANGES = 200_000
"""So many exchanges are tried in all."""
Shares = list[list[tuple[int, str]]]
"""For each stick its rails, each as the place of its length in the list and its frame."""


def share_out(sticks: Sequence[Sequence[int]], frames: Sequence[Sequence[str]]) -> Shares:
    """Share rails out among sticks.

    Args:
        sticks: for each stick, how many rails of each length it gives.
        frames: for each length, the frame of each rail that is wanted.

    Returns:
        The rails of each stick. Where a stick gives more than are wanted, it stays unused.
    """
    need: dict[str, Counter[int]] = {}
    for kind, wanted in enumerate(frames):
        for frame in wanted:
            need.setdefault(frame, Counter())[kind] += 1
    rest = [len(wanted) for wanted in frames]
    whole = {frame: kinds.total() for frame, kinds in need.items()}
    shares: Shares = []
    for counts in sticks:
        left = Counter({k: min(n, rest[k]) for k, n in enumerate(counts) if min(n, rest[k])})
        for kind, many in left.items():
            rest[kind] -= many
        shares.append(list(_filled(left, need, whole)))
    _brought_together(shares)
    return [sorted(share) for share in shares]


def _filled(
    left: Counter[int], need: dict[str, Counter[int]], whole: dict[str, int]
) -> Iterator[tuple[int, str]]:
    """Fill a stick: whole frames first, then what others have begun, then the largest part."""
    while left:
        best = max(_offers(left, need, whole))
        frame = best[-1]
        wants = need[frame]
        for kind in sorted(wants.keys() & left.keys()):
            many = min(wants[kind], left[kind])
            yield from [(kind, frame)] * many
            _less(wants, kind, many)
            _less(left, kind, many)
        if not wants:
            del need[frame]


def _offers(
    left: Counter[int], need: dict[str, Counter[int]], whole: dict[str, int]
) -> Iterator[tuple[bool, int, bool, int, int, str]]:
    """Frames that want something of a stick, each behind what speaks for it."""
    looked = 0
    for place, (frame, wants) in enumerate(need.items()):
        takes = sum(min(many, left[kind]) for kind, many in wants.items())
        if takes:
            total = wants.total()
            ends = takes == total
            yield ends, takes if ends else 0, total < whole[frame], takes, -place, frame
            looked += 1
            if looked == LOOKED_AT:
                return


def _less(counter: Counter[int], kind: int, many: int) -> None:
    counter[kind] -= many
    if not counter[kind]:
        del counter[kind]


def _brought_together(shares: Shares) -> None:
    """Exchange rails of one length between two sticks while frames come together by it."""
    on = [Counter(frame for _, frame in share) for share in shares]
    tries = EXCHANGES
    better = True
    while better:
        better = False
        for here, share in enumerate(shares):
            for there in range(here + 1, len(shares)):
                if on[here].keys() & on[there].keys():
                    tries -= len(share) * len(shares[there])
                    if tries < 0:
                        return
                    better |= _exchanged(share, shares[there], on[here], on[there])


def _exchanged(
    here: list[tuple[int, str]],
    there: list[tuple[int, str]],
    on_here: Counter[str],
    on_there: Counter[str],
) -> bool:
    """Exchange what can be between two sticks; return True if anything was."""
    done = False
    for i, j in product(range(len(here)), range(len(there))):
        (kind, mine), (other, theirs) = here[i], there[j]
        if kind == other and mine != theirs:
            before = _frames(on_here, mine, theirs) + _frames(on_there, mine, theirs)
            _moved(on_here, on_there, mine, theirs)
            if _frames(on_here, mine, theirs) + _frames(on_there, mine, theirs) < before:
                here[i], there[j] = there[j], here[i]
                done = True
            else:
                _moved(on_here, on_there, theirs, mine)
    return done


def _frames(on: Counter[str], *frames: str) -> int:
    return sum(on[frame] > 0 for frame in frames)


def _moved(here: Counter[str], there: Counter[str], mine: str, theirs: str) -> None:
    here[mine] -= 1
    there[mine] += 1
    there[theirs] -= 1
    here[theirs] += 1
