"""Spines of an outline: its medial axis, cleaned of twigs, and joined into few strokes.

Twigs that add little shape are pruned, smallest first; at a junction the two straightest arms are joined into one
stroke.
"""

from __future__ import annotations

import heapq
import math
from dataclasses import dataclass, field
from enum import Enum
from itertools import pairwise
from typing import Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import length_of
from stitchcraft.geometry.medial import medial_axis

Graph: TypeAlias = dict[int, dict[int, float]]
Arm: TypeAlias = tuple[int, int, FloatArray]

TWIG: Final = 0.5
"""A twig is pruned if it reaches past its junction's disc by less than this share of the disc's radius.

Right-angled corners reach 0.41 past; any value from 0.45 to 1.0 gave the same strokes for letters.
"""

STRAIGHT: Final = -0.7
"""Two arms of a junction are joined if the cosine between their directions is below this (135 degrees)."""


CAP: Final = 1.1
"""Two twigs to the corners of a flat end are pruned together if both reach less than this share past the disc.

A corner of 57 degrees reaches just so far; between sharper corners an end is no longer flat across its stroke.
"""


class End(Enum):
    """How a stroke ends."""

    FREE = "free"
    """At the outline, or on the way there."""
    MEETING = "meeting"
    """Where several strokes end together."""
    JOINING = "joining"
    """In the side of a stroke that goes straight on."""


@dataclass(frozen=True, slots=True, eq=False)
class Stroke:
    """One spine of an outline.

    Attributes:
        path: (n, 2) points of the medial axis, mm; closed if the first is repeated at the end.
        radius: (n,) distance from each to the outline, mm.
        closed: Whether it is a ring.
        ends: How it starts and how it ends.
        caps: At its start and its end, the two corners of a flat end (2, 2), or None.
        passes: (k,) indices of the points where other strokes come in from the side.
        branches: For each of these the directions (j, 2) in which the others leave.
        rivals: At its start and its end, the directions (k, 2) in which the other strokes leave a meeting.
    """

    path: FloatArray
    radius: FloatArray
    closed: bool = False
    ends: tuple[End, End] = (End.FREE, End.FREE)
    caps: tuple[FloatArray | None, FloatArray | None] = (None, None)
    passes: NDArray[np.intp] = field(default_factory=lambda: np.empty(0, dtype=np.intp))
    branches: tuple[FloatArray, ...] = ()
    rivals: tuple[FloatArray, FloatArray] = field(default_factory=lambda: (np.empty((0, 2)), np.empty((0, 2))))


def strokes_of(polygon: shapely.Polygon, *, spacing: float | None = None) -> list[Stroke]:
    """Find the few spines that a polygon is drawn around.

    Args:
        polygon: A valid polygon, holes allowed, mm.
        spacing: Distance between samples of the outline, mm; None takes a six-hundredth of its length, from 0.1
            to 0.5.

    Returns:
        Strokes, longest first; none for a shape that has no length of its own, such as a disc or a square.

    Raises:
        ParameterError: As `medial_axis`.
    """
    if spacing is None:
        spacing = min(max(polygon.length / 600, 0.1), 0.5)
    points, radius, edges = medial_axis(polygon, spacing=spacing)
    graph: Graph = {}
    for one, two in edges.tolist():
        length = math.dist(points[one], points[two])
        graph.setdefault(one, {})[two] = length
        graph.setdefault(two, {})[one] = length
    caps = _prune(graph, points, radius, polygon)
    chains = _chains(graph)
    arms = _arms(chains, points, radius)
    link = _links(arms)
    through = {chains[number][-end] for number, end in link}

    def ending(point: int) -> End:
        if len(arms.get(point, ())) < 2:
            return End.FREE
        return End.JOINING if point in through else End.MEETING

    def others(point: int, *own: int) -> FloatArray:
        ahead = {chains[number][-2 if end else 1]: direction for number, end, direction in arms[point]}
        left = [ahead[to] for to in ahead if to not in own and (point, to) not in bridges]
        return np.array(left).reshape(-1, 2)

    def rivals(point: int, beside: int) -> FloatArray:
        return others(point, beside) if ending(point) is End.MEETING else np.empty((0, 2))

    def is_bridge(path: list[int]) -> bool:
        # between two junctions whose discs overlap: it is covered by the arms that meet there
        free = End.FREE in (ending(path[0]), ending(path[-1])) or (len(path) > 3 and path[0] == path[-1])
        return not free and length_of(points[path]) < float(radius[path].max())

    paths = [path for path in _joined(chains, link) if len(path) > 1]
    bridges = {step for path in paths if is_bridge(path) for step in ((path[0], path[1]), (path[-1], path[-2]))}
    strokes = []
    for path in paths:
        if is_bridge(path):
            continue
        is_closed = len(path) > 3 and path[0] == path[-1]
        ends = (ending(path[0]), ending(path[-1]))
        busy = [k for k, point in enumerate(path) if len(arms.get(point, ())) > 2]
        inner = [k for k in busy if (is_closed or k > 0) and k < len(path) - 1]
        none = np.empty((0, 2))
        beside = (none, none) if is_closed else (rivals(path[0], path[1]), rivals(path[-1], path[-2]))
        branches = tuple(others(path[k], path[k - 1] if k else path[-2], path[(k + 1) % len(path)]) for k in inner)
        strokes.append(
            Stroke(
                points[path], radius[path], is_closed, ends, (caps.get(path[0]), caps.get(path[-1])),
                np.array(inner, dtype=np.intp), branches, beside,
            )
        )  # fmt: skip
    return sorted(strokes, key=lambda stroke: -float(np.hypot(*np.diff(stroke.path, axis=0).T).sum()))


def _twig(graph: Graph, radius: FloatArray, leaf: int) -> tuple[list[int], float, int]:
    """The chain from a leaf to the next junction: its points, its worth, and how many arms the junction has."""
    chain, length = [leaf], 0.0
    while True:
        onward = [point for point in graph[chain[-1]] if len(chain) < 2 or point != chain[-2]]
        if len(onward) != 1:
            break
        length += graph[chain[-1]][onward[0]]
        chain.append(onward[0])
        if len(graph[onward[0]]) != 2:
            break
    at = chain[-1]
    return chain, (length + radius[leaf] - radius[at]) / max(float(radius[at]), 1e-9), len(graph[at])


def _prune(graph: Graph, points: FloatArray, radius: FloatArray, polygon: shapely.Polygon) -> dict[int, FloatArray]:
    """Drop the twigs that add little shape, smallest first; the corners of flat ends, by what is the end now."""
    from scipy.spatial import cKDTree  # as in `medial_axis`

    outline = shapely.get_coordinates(polygon)
    outline_tree = cKDTree(outline)
    caps: dict[int, FloatArray] = {}
    heap: list[tuple[float, int]] = []

    def offer(leaf: int) -> None:
        _, worth, arms = _twig(graph, radius, leaf)
        if arms > 2:
            heapq.heappush(heap, (worth, leaf))

    for leaf in sorted(graph):
        if len(graph[leaf]) == 1:
            offer(leaf)
    while heap:
        expected, leaf = heapq.heappop(heap)
        if len(graph.get(leaf, ())) != 1:
            continue
        chain, worth, arms = _twig(graph, radius, leaf)
        if arms <= 2 or worth >= TWIG:
            continue
        if worth > expected + 1e-9:
            # pruning its neighbour has made it longer
            offer(leaf)
            continue
        twin = _twin(graph, points, radius, polygon, chain) if arms == 3 else None
        _cut(graph, chain)
        if twin:
            _cut(graph, twin)
            caps[chain[-1]] = outline[outline_tree.query(points[[leaf, twin[0]]])[1]]
            offer(chain[-1])
    return caps


def _cut(graph: Graph, twig: list[int]) -> None:
    """Take a twig off, all but its last point."""
    for point in twig[:-1]:
        for other in graph.pop(point):
            if other in graph:
                graph[other].pop(point, None)


def _twin(
    graph: Graph, points: FloatArray, radius: FloatArray, polygon: shapely.Polygon, chain: list[int]
) -> list[int] | None:
    """The twig to the other corner of a flat end, if that is what a twig's junction has beside it."""
    junction, leaf = chain[-1], chain[0]
    for first in sorted(graph[junction]):
        if first == chain[-2]:
            continue
        other = [junction, first]
        while len(graph[other[-1]]) == 2:
            other.append(next(point for point in graph[other[-1]] if point != other[-2]))
        if len(graph[other[-1]]) != 1:
            continue
        _, worth, _ = _twig(graph, radius, other[-1])
        middle = shapely.Point((points[leaf] + points[other[-1]]) / 2)
        off = float(shapely.distance(polygon.boundary, middle))
        corners = max(radius[leaf], radius[other[-1]]) < 0.3 * radius[junction]
        if worth < CAP and corners and off < 0.1 * radius[junction]:
            return other[::-1]
    return None


def _chains(graph: Graph) -> list[list[int]]:
    """The paths between points where not exactly two edges meet, and the rings without such a point."""
    chains = []
    walked: set[tuple[int, int]] = set()
    keys = [point for point in sorted(graph) if len(graph[point]) != 2]
    for key in [*keys, *sorted(graph)]:
        for first in sorted(graph[key]):
            if (key, first) in walked or (len(graph[key]) == 2 and any((key, other) in walked for other in graph[key])):
                continue
            chain = [key, first]
            while len(graph[chain[-1]]) == 2 and chain[-1] != key:
                chain.append(next(point for point in sorted(graph[chain[-1]]) if point != chain[-2]))
            walked |= set(pairwise(chain))
            walked |= set(pairwise(chain[::-1]))
            chains.append(chain)
    return chains


def _joined(chains: list[list[int]], link: dict[tuple[int, int], tuple[int, int]]) -> list[list[int]]:
    """Join chains where they go straight on."""
    done: set[int] = set()
    strokes = []
    for number in range(len(chains)):
        if number in done:
            continue
        at, end = number, 0
        seen = {at}
        while (at, end) in link and link[at, end][0] not in seen:
            at, far = link[at, end]
            end = 1 - far
            seen.add(at)
        path: list[int] = []
        while at not in done:
            done.add(at)
            part = chains[at] if end == 0 else chains[at][::-1]
            path += part if not path else part[1:]
            if (at, 1 - end) not in link:
                break
            at, end = link[at, 1 - end]
        strokes.append(path)
    return strokes


def _arms(chains: list[list[int]], points: FloatArray, radius: FloatArray) -> dict[int, list[Arm]]:
    """Which chain ends leave each point, and in which direction, seen from its disc's rim."""
    arms: dict[int, list[Arm]] = {}
    for number, chain in enumerate(chains):
        for end, order in ((0, chain), (1, chain[::-1])):
            away = np.hypot(*(points[order] - points[order[0]]).T)
            far = np.flatnonzero(away >= radius[order[0]])
            ahead = points[order[int(far[0]) if len(far) else -1]] - points[order[0]]
            arms.setdefault(order[0], []).append((number, end, ahead / max(float(np.hypot(*ahead)), 1e-9)))
    return arms


def _links(arms: dict[int, list[Arm]]) -> dict[tuple[int, int], tuple[int, int]]:
    """Which chain ends (chain, 0 or 1) go straight on into which."""
    link: dict[tuple[int, int], tuple[int, int]] = {}
    for meeting in arms.values():
        pairs = sorted(
            (float(one[2] @ two[2]), i, j)
            for i, one in enumerate(meeting)
            for j, two in enumerate(meeting)
            if i < j and one[0] != two[0]
        )
        used: set[int] = set()
        for cosine, i, j in pairs:
            if cosine < STRAIGHT and i not in used and j not in used:
                used |= {i, j}
                link[meeting[i][:2]] = meeting[j][:2]
                link[meeting[j][:2]] = meeting[i][:2]
    return link
