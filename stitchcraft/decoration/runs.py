"""Pattern lines cut to an area and joined into few continuous runs.

Lines that end at the area's edge are joined to their neighbours along that edge, as a quilter does it, so that
the thread is cut a few times and not at every line.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from shapely.ops import substring

from stitchcraft.decoration.base import GRAZING_MM, SHORTEST_MM, Drawing, line_stitch
from stitchcraft.design import FloatArray, Line
from stitchcraft.geometry.curves import length_of, lines_of

_ON_EDGE_MM = 1e-5


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Pattern lines cut to one polygon.

    Attributes:
        pieces: What is left of them, (n, 2) each.
        lines: How many of the lines left a piece.
    """

    pieces: list[FloatArray]
    lines: int


def cut_to(paths: Iterable[FloatArray], part: shapely.Polygon, *, whole: bool = False) -> Cut:
    """Cut lines to a polygon, without the crumbs.

    Args:
        paths: Lines as (n, 2) points, mm.
        part: The polygon to stay inside.
        whole: Keep only the lines that lie inside whole.
    """
    lines = [shapely.LineString(path) for path in paths]
    shapely.prepare(part)
    inside = shapely.contains(part, lines)
    touching = shapely.intersects(part, lines)
    pieces: list[FloatArray] = []
    count = 0
    for line, all_in, some_in in zip(lines, inside, touching, strict=True):
        if all_in:
            left = [np.asarray(line.coords)[:, :2]]
        elif some_in and not whole:
            left = [piece for piece in lines_of(shapely.intersection(line, part)) if _worth_sewing(piece, part)]
        else:
            continue
        pieces.extend(left)
        count += bool(left)
    return Cut(pieces, count)


def _worth_sewing(piece: FloatArray, part: shapely.Polygon) -> bool:
    line = shapely.LineString(piece)
    if line.length < SHORTEST_MM:
        return False
    probes = shapely.line_interpolate_point(line, np.linspace(0.1, 0.9, 9), normalized=True)
    return bool(shapely.distance(part.boundary, probes).max() > GRAZING_MM)


def sewn_lines(
    paths: list[FloatArray], area: list[shapely.Polygon], *, stitch: str, reach: float, whole: bool = False,
    crossing: bool = False,
) -> Drawing:  # fmt: skip
    """Cut pattern lines to an area and sew what is left in few runs.

    Args:
        paths: The pattern's lines, (n, 2) each, mm.
        area: The polygons to fill.
        stitch: The word for how they are sewn.
        reach: Longest way along the edge from the end of one line to the next, mm.
        whole: Keep only whole lines.
        crossing: The lines are closed or cross each other so much that runs are best led over the crossings.
    """
    elements: list[Line] = []
    motifs, link_mm = 0, 0.0
    for part in area:
        cut = cut_to(paths, part, whole=whole)
        motifs += cut.lines
        links = edge_links(cut.pieces, part, reach=reach, crossing=crossing)
        link_mm += sum(length_of(link) for link in links)
        elements.extend(Line(run, line_stitch(stitch)) for run in chained(cut.pieces + links))
    return Drawing(tuple(elements), motifs, link_mm)


@dataclass(frozen=True, slots=True)
class _Gap:
    length: float
    first: int
    second: int
    ring: int
    start: float
    end: float


def edge_links(
    pieces: list[FloatArray], part: shapely.Polygon, *, reach: float, crossing: bool = False
) -> list[FloatArray]:
    """Find the ways along a polygon's edge that join line ends into fewer runs.

    The shortest ways are taken first; every line end is used once, and a way that would only close a run
    on itself is left out, unless *crossing* says that closed runs are joined over crossings later.

    Args:
        pieces: Lines inside the polygon; those that end on its edge can be joined.
        part: The polygon.
        reach: Longest way allowed, mm.
        crossing: See above.
    """
    rings = [part.exterior, *part.interiors]
    stations = _stations(pieces, rings)
    run_of = _Union(len(pieces))
    free = {end for ring in stations for _, end in ring}
    links: list[FloatArray] = []
    while True:
        taken = 0
        for gap in sorted(_gaps(stations, rings, free, reach), key=lambda gap: (round(gap.length, 6), gap.first)):
            if gap.first not in free or gap.second not in free:
                continue
            a, b = gap.first // 2, gap.second // 2
            if (run_of.same(a, b) and not crossing) or (crossing and len(free) <= 2):
                continue
            run_of.join(a, b)
            free -= {gap.first, gap.second}
            links.append(_along(rings[gap.ring], gap, pieces))
            taken += 1
        if not taken:
            return links


def _stations(pieces: list[FloatArray], rings: list[shapely.LinearRing]) -> list[list[tuple[float, int]]]:
    """For each ring the line ends on it in order: distance along the ring, and 2 * piece + (0 start, 1 end)."""
    ends = np.array([point for piece in pieces for point in (piece[0], piece[-1])]).reshape(-1, 2)
    found: list[list[tuple[float, int]]] = []
    for ring in rings:
        shapely.prepare(ring)
        near = np.asarray(shapely.dwithin(ring, np.asarray(shapely.points(ends)), _ON_EDGE_MM), dtype=bool)
        on = np.flatnonzero(near)
        at = np.asarray(shapely.line_locate_point(ring, np.asarray(shapely.points(ends[on]))), dtype=np.float64)
        found.append(sorted((float(distance), int(end)) for distance, end in zip(at, on, strict=True)))
    return found


def _gaps(
    stations: list[list[tuple[float, int]]], rings: list[shapely.LinearRing], free: set[int], reach: float
) -> list[_Gap]:
    gaps: list[_Gap] = []
    for index, (ring, all_ends) in enumerate(zip(rings, stations, strict=True)):
        ends = [station for station in all_ends if station[1] in free]
        if len(ends) < 2:
            continue
        around = [*ends, (ends[0][0] + ring.length, ends[0][1])]
        gaps.extend(
            _Gap(end - start, first, second, index, start, end)
            for (start, first), (end, second) in pairwise(around)
            if end - start <= reach and first != second
        )
    return gaps


def _along(ring: shapely.LinearRing, gap: _Gap, pieces: list[FloatArray]) -> FloatArray:
    if gap.end <= ring.length:
        way = np.asarray(substring(ring, gap.start, gap.end).coords)[:, :2]
    else:
        way = np.vstack(
            [
                np.asarray(substring(ring, gap.start, ring.length).coords)[:, :2],
                np.asarray(substring(ring, 0.0, gap.end - ring.length).coords)[1:, :2],
            ]
        )
    if len(way) < 2:
        way = np.vstack([way, way])
    way = way.copy()
    way[0] = pieces[gap.first // 2][-(gap.first % 2)]
    way[-1] = pieces[gap.second // 2][-(gap.second % 2)]
    return way


class _Union:
    """Which lines already hang together."""

    def __init__(self, count: int) -> None:
        self._parent = list(range(count))

    def _root(self, one: int) -> int:
        while self._parent[one] != one:
            self._parent[one] = self._parent[self._parent[one]]
            one = self._parent[one]
        return one

    def same(self, one: int, other: int) -> bool:
        return self._root(one) == self._root(other)

    def join(self, one: int, other: int) -> None:
        self._parent[self._root(one)] = self._root(other)


def chained(paths: list[FloatArray]) -> list[FloatArray]:
    """Join paths whose ends meet, where no more than two meet, into runs in order from the first path on."""
    keys = [[tuple(np.round(path[i], 5)) for i in (0, -1)] for path in paths]
    at: dict[tuple[float, ...], list[int]] = {}
    for index, (start, end) in enumerate(keys):
        if start != end:
            at.setdefault(start, []).append(index)
            at.setdefault(end, []).append(index)
    used = [False] * len(paths)
    runs = []
    open_first = sorted(range(len(paths)), key=lambda i: min(len(at.get(key, [0, 0])) for key in keys[i]) != 1)
    for first in open_first:
        if used[first]:
            continue
        start, end = keys[first]
        forward = len(at.get(end, [])) != 1 or len(at.get(start, [])) == 1
        pieces, where, index = [], end if forward else start, first
        pieces.append(paths[first] if forward else paths[first][::-1])
        used[first] = True
        while (index := next((i for i in at.get(where, []) if not used[i]), -1)) >= 0:
            used[index] = True
            ahead = keys[index][0] == where
            pieces.append(paths[index] if ahead else paths[index][::-1])
            where = keys[index][1 if ahead else 0]
        runs.append(np.vstack([pieces[0], *(piece[1:] for piece in pieces[1:])]))
    return runs
