"""Euler trails that go as straight on as they can.

Every edge has two ends, numbered 2e and 2e + 1. A trail is told by which end it goes on with at each node: the
ends at a node are paired for the least turning, and trails that only close on themselves are then taken into
their neighbours by pairing two pairs anew, again where that turns least.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import at_distances, joined

LOOK_AHEAD_MM: Final = 0.5
"""The direction of an edge at its end is taken over this length, so that a tiny first segment does not decide it."""

ALL_PAIRINGS_UP_TO: Final = 8
"""Nodes with more ends than this are paired by taking the straightest pair again and again."""


@dataclass(frozen=True, slots=True, eq=False)
class Graph:
    """Lines and the nodes that their ends are at.

    Attributes:
        edges: (n, 2) points of each line, mm.
        nodes: For each line the node at its first and the node at its last point.
    """

    edges: tuple[FloatArray, ...]
    nodes: tuple[tuple[int, int], ...]

    def ends_at(self) -> dict[int, list[int]]:
        """The ends at each node, nodes in the order of their numbers."""
        found: dict[int, list[int]] = {}
        for edge, (first, last) in enumerate(self.nodes):
            found.setdefault(first, []).append(2 * edge)
            found.setdefault(last, []).append(2 * edge + 1)
        return dict(sorted(found.items()))


def trails(graph: Graph) -> list[FloatArray]:
    """Cover every edge once by the fewest trails, in the order of the first edge in each."""
    away = _directions(graph)
    onward: dict[int, int] = {}
    for ends in graph.ends_at().values():
        for one, other in _straightest(ends, away):
            onward[one], onward[other] = other, one
    _take_in_loops(graph, onward, away)
    return [_path(graph, ends) for ends in _walks(len(graph.edges), onward)]


def _directions(graph: Graph) -> list[complex]:
    away: list[complex] = []
    for edge in graph.edges:
        for path in (edge, edge[::-1]):
            ahead = at_distances(path, [LOOK_AHEAD_MM])[0] - path[0]
            length = math.hypot(*ahead)
            away.append(complex(*ahead) / length if length > 0 else 0j)
    return away


def _turn(one: int, other: int, away: Sequence[complex]) -> float:
    """0 for going straight on, 2 for turning back."""
    return 1.0 + (away[one] * away[other].conjugate()).real


def _straightest(ends: list[int], away: Sequence[complex]) -> list[tuple[int, int]]:
    """Pair ends (all but one, if they are odd) for the least turning."""
    if len(ends) <= ALL_PAIRINGS_UP_TO:
        return min(_pairings(ends), key=lambda pairs: round(sum(_turn(a, b, away) for a, b in pairs), 9))
    by_turn = sorted(itertools.combinations(ends, 2), key=lambda pair: (round(_turn(pair[0], pair[1], away), 9), pair))
    free = set(ends)
    pairs: list[tuple[int, int]] = []
    for a, b in by_turn:
        if a in free and b in free:
            free -= {a, b}
            pairs.append((a, b))
    return pairs


def _pairings(ends: list[int]) -> Iterator[list[tuple[int, int]]]:
    if len(ends) < 2:
        yield []
        return
    if len(ends) % 2:
        for i in range(len(ends)):
            yield from _pairings(ends[:i] + ends[i + 1 :])
        return
    for i in range(1, len(ends)):
        for rest in _pairings(ends[1:i] + ends[i + 1 :]):
            yield [(ends[0], ends[i]), *rest]


def _take_in_loops(graph: Graph, onward: dict[int, int], away: Sequence[complex]) -> None:
    """Join trails that close on themselves to others at the same node, the cheapest first."""
    trail = list(range(len(graph.edges)))

    def find(i: int) -> int:
        while trail[i] != i:
            trail[i] = trail[trail[i]]
            i = trail[i]
        return i

    for one, other in onward.items():
        trail[find(one // 2)] = find(other // 2)
    is_open = [False] * len(trail)
    for end in range(2 * len(trail)):
        if end not in onward:
            is_open[find(end // 2)] = True
    nodes = graph.ends_at()
    waiting = True
    while waiting:
        found = [swap for ends in nodes.values() for swap in _swaps(ends, onward, away)]
        waiting = False
        for _, a, b, c, d in sorted(found):
            one, other = find(a // 2), find(c // 2)
            still = onward.get(a, -1) == b and onward.get(c, -1) == d
            if not still or one == other or (is_open[one] and is_open[other]):
                continue
            _pair_anew(onward, a, b, c, d)
            trail[one] = other
            is_open[other] = is_open[other] or is_open[one]
            waiting = True


def _swaps(
    ends: list[int], onward: dict[int, int], away: Sequence[complex]
) -> Iterator[tuple[float, int, int, int, int]]:
    """Pairs (a, b) and (c, d) that could become (a, c) and (b, d), with the turning that this adds.

    An end where a trail stops stands for a pair with nothing: d is then -1, and b becomes the stop.
    """
    pairs = [(end, onward[end]) for end in ends if end < onward.get(end, -1)]
    stops = [(end, -1) for end in ends if end not in onward]
    for (a, b), (c, d) in itertools.combinations(pairs, 2):
        now = _turn(a, b, away) + _turn(c, d, away)
        yield round(_turn(a, c, away) + _turn(b, d, away) - now, 9), a, b, c, d
        yield round(_turn(a, d, away) + _turn(b, c, away) - now, 9), a, b, d, c
    for (a, b), (c, _) in itertools.product(pairs, stops):
        now = _turn(a, b, away)
        yield round(_turn(a, c, away) - now, 9), a, b, c, -1
        yield round(_turn(b, c, away) - now, 9), b, a, c, -1


def _pair_anew(onward: dict[int, int], a: int, b: int, c: int, d: int) -> None:
    onward[a], onward[c] = c, a
    if d >= 0:
        onward[b], onward[d] = d, b
    else:
        del onward[b]


def _walks(edges: int, onward: dict[int, int]) -> list[list[int]]:
    """For each trail the ends by which it enters its edges."""
    left = set(range(edges))
    walks: list[list[int]] = []
    stops = [end for end in range(2 * edges) if end not in onward]
    for start in (*stops, *range(0, 2 * edges, 2)):
        walk: list[int] = []
        end = start
        while end >= 0 and end // 2 in left:
            left.discard(end // 2)
            walk.append(end)
            end = onward.get(end ^ 1, -1)
        if walk:
            walks.append(walk)
    return sorted(walks, key=lambda walk: min(end // 2 for end in walk))


def _path(graph: Graph, walk: Sequence[int]) -> FloatArray:
    return joined(*(graph.edges[end // 2][:: -1 if end % 2 else 1] for end in walk))
