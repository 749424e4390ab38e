"""Which edges of a graph to cover twice so that one trail covers each connected part of it."""

from __future__ import annotations

import heapq
import itertools
import math
from collections.abc import Sequence
from functools import cache
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import length_of
from stitchcraft.geometry.trails import Graph

SMALL: Final = 12
"""Up to this many odd nodes the pairing is found by dynamic programming, with no library to load."""

NEAREST: Final = 12
"""With more odd nodes, each may be paired with this many of its nearest ones."""


def edges_to_double(graph: Graph) -> tuple[int, ...]:
    """Find the edges of least total length whose doubling leaves each connected part one trail.

    The odd nodes of a part are paired, all but two of them, so that the shortest ways between the paired ones are
    shortest in total (J. Edmonds, E. L. Johnson, "Matching, Euler tours and the Chinese postman", Mathematical
    Programming 5 (1973) 88-124; the two that are left are where the trail starts and stops).
    """
    lengths = [length_of(edge) for edge in graph.edges]
    chosen: set[int] = set()
    for odd in _odd_nodes_by_part(graph):
        if len(odd) <= 2:
            continue
        routes = [_shortest_ways(graph, lengths, node) for node in odd]
        apart = np.array([[distance.get(node, math.inf) for node in odd] for distance, _ in routes])
        for i, j in cheapest_pairs(apart):
            node, ways = odd[j], routes[i][1]
            while node != odd[i]:
                edge = ways[node]
                # an edge on two ways is covered a second and a third time: twice less serves as well
                chosen ^= {edge}
                first, last = graph.nodes[edge]
                node = first if node == last else last
    return tuple(sorted(chosen))


def _odd_nodes_by_part(graph: Graph) -> list[list[int]]:
    ends = graph.ends_at()
    seen: set[int] = set()
    parts: list[list[int]] = []
    for root in ends:
        if root in seen:
            continue
        seen.add(root)
        waiting, part = [root], []
        while waiting:
            node = waiting.pop()
            part.append(node)
            for end in ends[node]:
                other = graph.nodes[end // 2][1 - end % 2]
                if other not in seen:
                    seen.add(other)
                    waiting.append(other)
        parts.append(sorted(node for node in part if len(ends[node]) % 2))
    return parts


def _shortest_ways(graph: Graph, lengths: Sequence[float], root: int) -> tuple[dict[int, float], dict[int, int]]:
    """Distance of every node from *root*, and the edge by which its shortest way arrives (Dijkstra 1959)."""
    ends = graph.ends_at()
    distance: dict[int, float] = {}
    arriving: dict[int, int] = {}
    waiting: list[tuple[float, int, int]] = [(0.0, root, -1)]
    while waiting:
        so_far, node, edge = heapq.heappop(waiting)
        if node in distance:
            continue
        distance[node] = so_far
        arriving[node] = edge
        for end in ends[node]:
            other = graph.nodes[end // 2][1 - end % 2]
            if other not in distance:
                heapq.heappush(waiting, (so_far + lengths[end // 2], other, end // 2))
    return distance, arriving


def cheapest_pairs(apart: FloatArray) -> list[tuple[int, int]]:
    """Pair an even number of things, all but two, at the least total distance.

    Args:
        apart: (n, n) distances, symmetric; n even.

    Returns:
        n / 2 - 1 pairs.
    """
    return _by_programming(apart) if len(apart) <= SMALL else _by_matching(apart)


def _by_programming(apart: FloatArray) -> list[tuple[int, int]]:
    count = len(apart)

    @cache
    def best(left: int, free: int) -> tuple[float, tuple[tuple[int, int], ...]]:
        if not left:
            return (0.0, ()) if free == 0 else (math.inf, ())
        i = (left & -left).bit_length() - 1
        rest = left & ~(1 << i)
        answer = best(rest, free - 1) if free else (math.inf, ())
        for j in range(i + 1, count):
            if rest >> j & 1:
                cost, pairs = best(rest & ~(1 << j), free)
                cost += float(apart[i, j])
                if cost < answer[0]:
                    answer = (cost, ((i, j), *pairs))
        return answer

    return list(best((1 << count) - 1, 2)[1])


def _by_matching(apart: FloatArray) -> list[tuple[int, int]]:
    # loaded here because it is slow to load and few designs come this far
    from scipy.optimize import Bounds, LinearConstraint, milp
    from scipy.sparse import csr_array

    count = len(apart)
    near = np.argsort(apart + np.diag(np.full(count, np.inf)), axis=1, kind="stable")[:, :NEAREST]
    pairs = sorted({(min(i, j), max(i, j)) for i in range(count) for j in near[i].tolist()})
    rows = [end for pair in pairs for end in pair] + list(range(count)) + [count] * count
    places = len(pairs)
    columns = [k for k in range(places) for _ in range(2)] + 2 * list(range(places, places + count))
    # older solvers take indices of 32 bits only
    at = (np.array(rows, dtype=np.int32), np.array(columns, dtype=np.int32))
    table = csr_array((np.ones(len(rows)), at), shape=(count + 1, places + count))
    needed = np.concatenate([np.ones(count), [2.0]])
    cost = np.concatenate([[apart[pair] for pair in pairs], np.zeros(count)])
    # a limit on the search tree and none on time: the answer must not depend on the machine
    answer = milp(
        cost,
        integrality=np.ones(places + count),
        bounds=Bounds(0, 1),
        constraints=LinearConstraint(table, needed, needed),
        options={"node_limit": 2000},
    )
    if answer.x is None:
        return _greedy(apart)
    return [pair for pair, taken in zip(pairs, answer.x[:places], strict=True) if taken > 0.5]


def _greedy(apart: FloatArray) -> list[tuple[int, int]]:
    count = len(apart)
    free = set(range(count))
    chosen: list[tuple[int, int]] = []
    for i, j in sorted(itertools.combinations(range(count), 2), key=lambda pair: (apart[pair], pair)):
        if len(free) > 2 and i in free and j in free:
            free -= {i, j}
            chosen.append((i, j))
    return chosen
