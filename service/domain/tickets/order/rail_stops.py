"""Orders cuts within a fixed order of set-ups, so that the rail's stops move least.

A cut needs the start stop and the end stop, each at its place on the rail: the start stop at its
distance from the edge where the cut begins, the end stop that far from the opposite edge, so that
it also moves when a side of another length lies under the rail. Within one set-up of the guide the
pairs may come in any order; the set-ups follow each other. For up to eight pairs in a set-up the
best chain is found exactly (dynamic programming over the set of pairs done and the last one); for
more, the nearest pair is taken next.
"""

from __future__ import annotations

from collections.abc import Sequence

from service.domain.tickets.instructions import Cut

Pair = tuple[int, tuple[int, int]]
MOST_EXACT = 8
_Chain = tuple[int, tuple[Pair, ...]]


def pair_of(cut: Cut) -> Pair:
    """Return the places of the two stops for a cut, in ticks.

    The start stop's is its distance from the edge where the cut begins; the end stop's is its
    distance from the opposite edge together with the length that lies between these edges.
    """
    return cut.start.distance.ticks, (cut.stop.distance.ticks, cut.run.ticks)


def moves(one: Pair | None, other: Pair) -> int:
    """Return how many stops move between two cuts; both before the first."""
    if one is None:
        return 2
    return (one[0] != other[0]) + (one[1] != other[1])


def in_order(groups: Sequence[Sequence[Cut]]) -> list[tuple[Cut, ...]]:
    """Return the cuts of each set-up, ordered so that the stops move least overall."""
    chains: dict[Pair | None, _Chain] = {None: (0, ())}
    for group in groups:
        pairs = tuple(dict.fromkeys(pair_of(cut) for cut in group))
        chains = _through(chains, pairs)
    _, best = min(chains.values(), key=lambda chain: chain[0])
    ordered: list[tuple[Cut, ...]] = []
    at = 0
    for group in groups:
        count = len({pair_of(cut) for cut in group})
        rank = {pair: place for place, pair in enumerate(best[at : at + count])}
        ordered.append(tuple(sorted(group, key=lambda cut: rank[pair_of(cut)])))
        at += count
    return ordered


def _through(
    chains: dict[Pair | None, _Chain], pairs: tuple[Pair, ...]
) -> dict[Pair | None, _Chain]:
    """Return the cheapest chain through one more set-up, for each pair it may end with."""
    if len(pairs) > MOST_EXACT:
        last, (cost, chain) = min(chains.items(), key=lambda item: item[1][0])
        return _nearest(last, cost, chain, pairs)
    full = (1 << len(pairs)) - 1
    table: dict[tuple[int, int], _Chain] = {}
    for first, pair in enumerate(pairs):
        table[1 << first, first] = min(
            ((c + moves(last, pair), (*chain, pair)) for last, (c, chain) in chains.items()),
            key=lambda chain: chain[0],
        )
    for done in range(1, full):
        for at in range(len(pairs)):
            if (done, at) not in table:
                continue
            cost, chain = table[done, at]
            for following, pair in enumerate(pairs):
                if done >> following & 1:
                    continue
                key = (done | 1 << following, following)
                total = cost + moves(pairs[at], pair)
                if key not in table or total < table[key][0]:
                    table[key] = (total, (*chain, pair))
    return {pairs[at]: table[full, at] for at in range(len(pairs))}


def _nearest(
    last: Pair | None, cost: int, chain: tuple[Pair, ...], pairs: tuple[Pair, ...]
) -> dict[Pair | None, _Chain]:
    left = list(pairs)
    while left:
        nearest = min(left, key=lambda pair: moves(last, pair))
        left.remove(nearest)
        cost += moves(last, nearest)
        chain, last = (*chain, nearest), nearest
    return {last: (cost, chain)}
