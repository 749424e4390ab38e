"""Pattern lines cut to an area and joined into few continuous runs.

Lines that end at the area's edge are joined to their neighbours along that edge, as a quilter does it, so that
the thread is cut a few times and not at every line.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import TypeAlias

import numpy as np
import shapely
from shapely.ops import substring

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import GRAZING_MM, SHORTEST_MM, TOUCH_MM, Drawing, line_stitch
from stitchcraft.design import Line
from stitchcraft.geometry.chains import continuous_paths
from stitchcraft.geometry.curves import length_of, lines_of

_ON_EDGE_MM = 1e-5
_JOIN_MM = 5e-7


Motif: TypeAlias = list[FloatArray]
"""The lines of one motif, (n, 2) mm each; a plain line is a motif of one."""


@dataclass(frozen=True, slots=True, eq=False)
class Cut:
    """Motifs cut to one polygon.

    Attributes:
        pieces: What is left of their lines, (n, 2) each.
        motifs: How many motifs left a piece.
    """

    pieces: list[FloatArray]
    motifs: int


def cut_to(motifs: Sequence[Motif], part: shapely.Polygon, *, grazing: float, whole: bool = False) -> Cut:
    """Cut motifs to a polygon, without the crumbs.

    Args:
        motifs: Lines as (n, 2) points, mm. A line that several motifs share is kept once.
        part: The polygon to stay inside.
        grazing: A cut piece that nowhere gets farther from the edge than this is left out, mm.
        whole: Keep only the motifs all of whose lines lie inside.
    """
    shapely.prepare(part)
    room = shapely.buffer(part, TOUCH_MM, join_style="mitre")
    shapely.prepare(room)
    seen: set[tuple[tuple[float, ...], ...]] = set()
    pieces: list[FloatArray] = []
    count = 0
    for motif in motifs:
        lines = [shapely.LineString(path) for path in motif]
        inside = [bool(room.contains(line)) for line in lines]
        if whole and not all(inside):
            continue
        found = False
        for line, path, all_in in zip(lines, motif, inside, strict=True):
            if not all_in:
                left = _cut_line(line, part, grazing)
            else:
                # a line that touches the edge may run along it
                left = [path] if whole or part.contains_properly(line) or _worth_sewing(path, part, grazing) else []
            found = found or bool(left)
            if (key := _key(path)) not in seen:
                seen.add(key)
                pieces.extend(left)
        count += found
    return Cut(pieces, count)


def _key(path: FloatArray) -> tuple[tuple[float, ...], ...]:
    """The same for the same line, whichever way it runs."""
    middle, *ends = (tuple(point.tolist()) for point in np.round([path.mean(axis=0), path[0], path[-1]], 4))
    return (middle, *sorted(ends))


def _cut_line(line: shapely.LineString, part: shapely.Polygon, grazing: float) -> list[FloatArray]:
    if not part.intersects(line):
        return []
    return [piece for piece in lines_of(shapely.intersection(line, part)) if _worth_sewing(piece, part, grazing)]


def _worth_sewing(piece: FloatArray, part: shapely.Polygon, grazing: float) -> bool:
    line = shapely.LineString(piece)
    if line.length < SHORTEST_MM:
        return False
    probes = shapely.line_interpolate_point(line, np.linspace(0.1, 0.9, 9), normalized=True)
    return bool(shapely.distance(part.boundary, probes).max() > grazing)


def sewn_lines(
    motifs: Sequence[Motif],
    area: list[shapely.Polygon],
    *,
    stitch: str,
    reach: float,
    crumb: float,
    whole: bool = False,
    border: bool = False,
    hop: float = 0.0,
) -> Drawing:
    """Cut pattern lines to an area and sew what is left in few runs.

    Args:
        motifs: The pattern's motifs.
        area: The polygons to fill.
        stitch: The word for how they are sewn.
        reach: Longest way along the edge from the end of one line to the next, mm.
        crumb: A run shorter than this is not worth two thread ends and is left out, and so is a cut piece that
            nowhere gets a third of this away from the edge, mm.
        whole: Keep only whole motifs.
        border: Sew the area's edge too.
        hop: Longest straight way from one loose end to another that is sewn to save a cut, mm; 0 sews none.
    """
    elements: list[Line] = []
    count, line_mm, link_mm = 0, 0.0, 0.0
    for part in area:
        cut = cut_to(motifs, part, grazing=max(GRAZING_MM, crumb / 3), whole=whole)
        if not cut.pieces:
            continue
        count += cut.motifs
        if border:
            ways = [np.asarray(ring.coords)[:, :2] for ring in (part.exterior, *part.interiors)]
        else:
            ways = edge_links(cut.pieces, part, reach=reach)
        ways += straight_links(cut.pieces, part, reach=hop) if hop else []
        runs = continuous_paths([*cut.pieces, *ways], tolerance=_JOIN_MM, split_crossings=True, allow_double=border)
        kept = [run for run in runs if length_of(run) >= crumb]
        drawn = sum(length_of(piece) for piece in cut.pieces)
        line_mm += drawn - sum(length_of(run) for run in runs if length_of(run) < crumb)
        link_mm += max(0.0, sum(length_of(run) for run in runs) - drawn)
        elements.extend(Line(run, line_stitch(stitch)) for run in kept)
    return Drawing(tuple(elements), count, line_mm, link_mm)


@dataclass(frozen=True, slots=True)
class _Gap:
    length: float
    first: int
    second: int
    ring: int
    start: float
    end: float


def edge_links(pieces: list[FloatArray], part: shapely.Polygon, *, reach: float) -> list[FloatArray]:
    """Find the ways along a polygon's edge that join line ends into fewer runs.

    The shortest ways are taken first, and every line end is used once. Lines that cross hang together already,
    since a run may turn where they cross; a way is taken if it saves a run.

    Args:
        pieces: Lines inside the polygon; those that end on its edge can be joined.
        part: The polygon.
        reach: Longest way allowed, mm.
    """
    rings = [part.exterior, *part.interiors]
    loose = _loose_ends(pieces)
    stations = _stations(pieces, rings, loose)
    group = _Groups(pieces, loose)
    drawn = shapely.MultiLineString(pieces)
    shapely.prepare(drawn)
    free = {end for ring in stations for _, end in ring}
    links: list[FloatArray] = []
    while True:
        taken = 0
        for gap in sorted(_gaps(stations, rings, free, reach), key=lambda gap: (round(gap.length, 6), gap.first)):
            first, second = gap.first // 2, gap.second // 2
            if gap.first not in free or gap.second not in free or not group.saves_a_run(first, second):
                continue
            way = _along(rings[gap.ring], gap, pieces)
            if _doubles(way, drawn):
                continue
            group.join(first, second)
            free -= {gap.first, gap.second}
            links.append(way)
            taken += 1
        if not taken:
            return links


def straight_links(pieces: list[FloatArray], part: shapely.Polygon, *, reach: float) -> list[FloatArray]:
    """Find straight ways between loose ends that join lines into fewer runs; the shortest are taken first.

    Args:
        pieces: Lines inside the polygon.
        part: The polygon; a way stays inside it.
        reach: Longest way allowed, mm.
    """
    loose = _loose_ends(pieces)
    group, ends = _Groups(pieces, loose), np.array([pieces[end // 2][-(end % 2)] for end in loose]).reshape(-1, 2)
    away = np.hypot(*(ends[:, None] - ends[None]).transpose(2, 0, 1))
    near = [(round(float(away[i, j]), 6), i, j) for i, j in np.argwhere(away <= reach).tolist() if i < j]
    free, links = set(range(len(loose))), []
    for _, one, other in sorted(near):
        way = ends[[one, other]]
        if {one, other} <= free and group.saves_a_run(loose[one] // 2, loose[other] // 2):
            if not part.covers(shapely.LineString(way)):
                continue
            group.join(loose[one] // 2, loose[other] // 2)
            free -= {one, other}
            links.append(way)
    return links


def _doubles(way: FloatArray, drawn: shapely.MultiLineString) -> bool:
    """Whether a way runs so close to a line that the two would read as one thick line."""
    line = shapely.LineString(way)
    if line.length < 2 * SHORTEST_MM:
        return False
    middle = shapely.line_interpolate_point(line, [0.35, 0.5, 0.65], normalized=True)
    return bool(np.median(shapely.distance(drawn, middle)) < 2 * GRAZING_MM)


def _loose_ends(pieces: list[FloatArray]) -> list[int]:
    """Line ends that no other end meets, as 2 * piece + (0 start, 1 end); one of an odd number that meet."""
    meeting: dict[tuple[float, float], list[int]] = {}
    for index, piece in enumerate(pieces):
        for end, (x, y) in enumerate((piece[0], piece[-1])):
            meeting.setdefault((round(x, 6) + 0.0, round(y, 6) + 0.0), []).append(2 * index + end)
    return [ends[0] for ends in meeting.values() if len(ends) % 2]


def _stations(
    pieces: list[FloatArray], rings: list[shapely.LinearRing], loose: list[int]
) -> list[list[tuple[float, int]]]:
    """For each ring the loose ends on it in order: distance along the ring, and the end."""
    ends = np.array([pieces[end // 2][-(end % 2)] for end in loose]).reshape(-1, 2)
    found: list[list[tuple[float, int]]] = []
    for ring in rings:
        shapely.prepare(ring)
        near = np.asarray(shapely.dwithin(ring, np.asarray(shapely.points(ends)), _ON_EDGE_MM), dtype=bool)
        on = np.flatnonzero(near)
        at = np.asarray(shapely.line_locate_point(ring, np.asarray(shapely.points(ends[on]))), dtype=np.float64)
        found.append(sorted((float(distance), loose[index]) for distance, index in zip(at, on, strict=True)))
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


class _Groups:
    """Which lines hang together, and how many loose ends each group of them has."""

    def __init__(self, pieces: list[FloatArray], loose: list[int]) -> None:
        self._parent = list(range(len(pieces)))
        self._loose = [0] * len(pieces)
        for end in loose:
            self._loose[end // 2] += 1
        lines = [shapely.LineString(piece) for piece in pieces]
        ones, others = shapely.STRtree(lines).query(lines, predicate="intersects")
        for one, other in zip(ones.tolist(), others.tolist(), strict=True):
            if one < other:
                self._unite(one, other)

    def _root(self, one: int) -> int:
        while self._parent[one] != one:
            self._parent[one] = self._parent[self._parent[one]]
            one = self._parent[one]
        return one

    def _unite(self, one: int, other: int) -> None:
        one, other = self._root(one), self._root(other)
        if one != other:
            self._parent[one] = other
            self._loose[other] += self._loose[one]

    def saves_a_run(self, one: int, other: int) -> bool:
        """Whether joining an end of each makes one run less: a group with 2k loose ends takes max(1, k) runs."""
        one, other = self._root(one), self._root(other)
        return one != other or self._loose[one] > 2

    def join(self, one: int, other: int) -> None:
        """Take note that an end of each is joined."""
        self._unite(one, other)
        self._loose[self._root(one)] -= 2
