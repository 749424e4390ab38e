"""Lines that touch, joined into as few continuous trails as there can be.

The lines are the edges of a graph whose nodes are the places where their ends meet. A connected graph with
2k odd nodes (nodes where an odd number of ends meet) is covered without repeating by max(1, k) trails and by
no fewer (Euler 1736; R. Diestel, "Graph Theory", section 1.8, for one trail). Sewing some edges twice pairs off
the odd nodes, so that one trail is enough: the Chinese postman's problem.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import distances_along, length_of
from stitchcraft.geometry.postman import edges_to_double
from stitchcraft.geometry.trails import Graph, trails
from stitchcraft.units import number_between

JOIN_MM = 0.05
"""Ends nearer than this are one needle point: half a machine unit."""


@dataclass(frozen=True, slots=True, eq=False)
class Chains:
    """Continuous paths over given lines.

    Attributes:
        paths: (n, 2) arrays, mm; a closed one repeats its first point at the end.
        doubled: Length that is covered twice, mm.
    """

    paths: tuple[FloatArray, ...]
    doubled: float


def continuous_paths(
    paths: Sequence[ArrayLike],
    *,
    tolerance: float = JOIN_MM,
    split_crossings: bool = False,
    allow_double: bool = False,
) -> list[FloatArray]:
    """Join lines into the fewest continuous paths; as `chained`, which also says what was doubled.

    Example:
        >>> cross = [[[-1, 0], [1, 0]], [[0, -1], [0, 1]]]
        >>> [len(continuous_paths(cross, split_crossings=True, allow_double=d)) for d in (False, True)]
        [2, 1]
    """
    return list(chained(paths, tolerance=tolerance, split_crossings=split_crossings, allow_double=allow_double).paths)


def chained(
    paths: Sequence[ArrayLike],
    *,
    tolerance: float = JOIN_MM,
    split_crossings: bool = False,
    allow_double: bool = False,
) -> Chains:
    """Join lines that touch at their ends into the fewest continuous paths, going as straight on as they can.

    Args:
        paths: Lines, (n, 2) mm each; a line is closed if its first and last point are the same.
        tolerance: Ends nearer than this are joined, and moved onto the first of them, mm. What closes on itself
            within twice this length is too short to be sewn and is left out.
        split_crossings: Split the lines where they cross, overlap, or end on one another; stretches that lie on
            one another count once. Otherwise lines touch at their ends and nowhere else.
        allow_double: Cover the cheapest stretches twice, so that lines that hang together make one path.

    Returns:
        The paths, each line covered once (or twice, if it was worth it), in the order of the first line in each.

    Raises:
        ParameterError: If a line is no (n, 2) array of finite points, or the tolerance is no length up to 5 mm.
    """
    number_between(tolerance, name="tolerance", low=0.0, high=5.0)
    lines = [_line(path, i) for i, path in enumerate(paths)]
    lines = [line for line in lines if len(line) > 1]
    if split_crossings and lines:
        lines = _split(lines, tolerance)
    graph = _graph(lines, tolerance)
    doubled = edges_to_double(graph) if allow_double else ()
    doubled_length = sum(length_of(graph.edges[e]) for e in doubled)
    if doubled:
        graph = Graph(
            graph.edges + tuple(graph.edges[e] for e in doubled), graph.nodes + tuple(graph.nodes[e] for e in doubled)
        )
    return Chains(tuple(trails(graph)), doubled_length)


def _line(path: ArrayLike, i: int) -> FloatArray:
    xy = np.asarray(path, dtype=np.float64)
    if xy.ndim != 2 or xy.shape[1] != 2 or len(xy) == 0:
        raise ParameterError(f"paths[{i}]", f"an array of shape {xy.shape}", "an array of shape (n, 2)")
    if not np.isfinite(xy).all():
        raise ParameterError(f"paths[{i}]", path, "made of finite points in mm")
    keep = np.ones(len(xy), dtype=bool)
    keep[1:] = (xy[1:] != xy[:-1]).any(axis=1)
    return xy[keep]


def _graph(lines: Sequence[FloatArray], tolerance: float) -> Graph:
    """Join ends that are near one another, and move them onto one point."""
    if not lines:
        return Graph((), ())
    ends = np.array([end for line in lines for end in (line[0], line[-1])])
    node = _near_together(ends, tolerance)
    edges: list[FloatArray] = []
    nodes: list[tuple[int, int]] = []
    for i, line in enumerate(lines):
        moved = line.copy()
        moved[0], moved[-1] = ends[node[2 * i]], ends[node[2 * i + 1]]
        if node[2 * i] == node[2 * i + 1] and length_of(line) <= 2 * tolerance:
            continue
        edges.append(moved)
        nodes.append((node[2 * i], node[2 * i + 1]))
    return Graph(tuple(edges), tuple(nodes))


def _near_together(points: FloatArray, tolerance: float) -> list[int]:
    """For each point the first point that it hangs together with."""
    shapes = [shapely.Point(xy) for xy in points]
    one, other = shapely.STRtree(shapes).query(shapes, predicate="dwithin", distance=tolerance)
    leader = list(range(len(points)))

    def find(i: int) -> int:
        while leader[i] != i:
            leader[i] = leader[leader[i]]
            i = leader[i]
        return i

    for a, b in zip(one.tolist(), other.tolist(), strict=True):
        low, high = sorted((find(a), find(b)))
        leader[high] = low
    return [find(i) for i in range(len(points))]


def _split(lines: Sequence[FloatArray], tolerance: float) -> list[FloatArray]:
    """Split lines where they meet; what lies on the same place twice is kept once."""
    meeting = _with_touching_ends(lines, tolerance)
    noded = shapely.union_all([shapely.LineString(line) for line in meeting])
    parts = [np.asarray(part.coords, dtype=np.float64) for part in shapely.get_parts(noded)]
    return sorted(parts, key=lambda xy: (*xy[0], *xy[1], *xy[-1]))


def _with_touching_ends(lines: Sequence[FloatArray], tolerance: float) -> list[FloatArray]:
    """Give a line a point wherever another ends on it, so that rounding cannot part the two."""
    shapes = [shapely.LineString(line) for line in lines]
    ends = [shapely.Point(end) for line in lines for end in (line[0], line[-1])]
    which, on = shapely.STRtree(shapes).query(ends, predicate="dwithin", distance=tolerance)
    wanted: dict[int, list[shapely.Point]] = {}
    for end, line in sorted(zip(which.tolist(), on.tolist(), strict=True)):
        along = shapely.line_locate_point(shapes[line], ends[end])
        if tolerance < along < shapes[line].length - tolerance:
            wanted.setdefault(line, []).append(ends[end])
    return [_with_points(line, shapes[i], wanted.get(i, [])) for i, line in enumerate(lines)]


def _with_points(line: FloatArray, shape: shapely.LineString, points: list[shapely.Point]) -> FloatArray:
    if not points:
        return line
    added = shapely.get_coordinates(points)
    along = np.concatenate([distances_along(line), shapely.line_locate_point(shape, points)])
    order = np.argsort(along, kind="stable")
    xy = np.vstack([line, added])[order]
    keep = np.ones(len(xy), dtype=bool)
    keep[1:] = (xy[1:] != xy[:-1]).any(axis=1)
    return xy[keep]
