"""Meander: one wandering line that fills an area and never crosses itself (stipple quilting)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import ClassVar, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.base import (
    LINE_STITCHES,
    Decoration,
    Drawing,
    Point,
    line_stitch,
    one_of,
    settle,
    whole_number,
)
from stitchcraft.decoration.evening import dust_in, evened, rounded
from stitchcraft.defaults import DECORATION
from stitchcraft.design import Line
from stitchcraft.geometry.curves import closed, grown, length_of, polygons_of
from stitchcraft.units import Length, length_between

_NODE_SHARE: Final = 2.0
"""Distance of the tree's nodes, in gaps."""

_EVEN_SHARE: Final = 0.78
"""The line is laid with this share of the gap, since what its bends leave open makes it shorter than area / gap."""

_COARSE: Final = 4
"""Segments in a quarter turn around a branch: the line is rounded and evened afterwards."""

_RELAXING: Final = 10
_BEND: Final = 0.3
_ROUNDINGS: Final = (0.4, 0.3, 0.2, 0.1)
_BODY_SHARES: Final = (0.5, 0.42, 0.34, 0.26, 0.18, 0.1)


@dataclass(frozen=True, slots=True, kw_only=True)
class Meander(Decoration):
    """One closed line that wanders through the area at an even distance from itself.

    A random tree of branches is grown through the area; the line runs around it, half a gap from every branch.
    So it never crosses itself, comes back to where it began, and is about area / gap long. The pattern has no
    lattice: a shift has no effect on it.

    Attributes:
        pitch: The line to its own neighbouring stretch, the gap; a length.
        seed: Which of the possible meanders; any whole number from 0.
        stitch: ``"running"`` or ``"triple"``.
        inset: How far the pattern stays inside the area's edges; a length.
    """

    kind: ClassVar[str] = "meander"

    pitch: Length = DECORATION["meander_pitch"].value
    seed: int = 1
    stitch: str = "running"

    def __post_init__(self) -> None:
        Decoration.__post_init__(self)
        settle(
            self,
            seed=whole_number(self.seed, name="seed", low=0, high=2**32 - 1),
            pitch=length_between(self.pitch, name="pitch", low=2.0, high=100.0),
            stitch=one_of(self.stitch, name="stitch", choices=LINE_STITCHES),
        )

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:  # noqa: ARG002
        gap = _EVEN_SHARE * float(self.pitch)
        lines: list[Line] = []
        for part in area:
            paths = meander_paths(part, gap, np.random.default_rng(self.seed))
            lines.extend(Line(path, line_stitch(self.stitch)) for path in paths)
        return Drawing(tuple(lines), len(lines), sum(length_of(line.path) for line in lines))


def meander_paths(part: shapely.Polygon, gap: float, random: np.random.Generator) -> list[FloatArray]:
    """Closed lines that fill a polygon without crossing, one for each stretch of it that is wide enough.

    Args:
        part: What to fill, mm.
        gap: The line to its own neighbouring stretch, mm.
        random: Where the wandering comes from.
    """
    nodes = _even_nodes(part, _NODE_SHARE * gap, random)
    paths: list[FloatArray] = []
    for tree in _random_trees(nodes, part, gap, random):
        paths.extend(_around(tree, part, gap))
    return paths


def _even_nodes(room: shapely.Polygon, step: float, random: np.random.Generator) -> FloatArray:
    """Points about *step* apart that fill the room up to its edges, by moving each to the middle of its share."""
    from scipy.spatial import cKDTree  # loaded here: no other decoration needs it

    dust = dust_in(room, step / 8)
    if len(dust) == 0:
        return np.asarray(room.representative_point().coords)
    count = max(1, round(room.area / (step**2 * math.sqrt(3) / 2)))
    nodes = dust[random.choice(len(dust), size=min(count, len(dust)), replace=False)]
    for _ in range(_RELAXING):
        owner = cKDTree(nodes).query(dust)[1]
        size = np.bincount(owner, minlength=len(nodes))
        middle = np.column_stack([np.bincount(owner, dust[:, k], minlength=len(nodes)) for k in (0, 1)])
        nodes = np.where(size[:, None] > 0, middle / np.maximum(size, 1)[:, None], nodes)
    return nodes


def _random_trees(
    nodes: FloatArray, room: shapely.Polygon, gap: float, random: np.random.Generator
) -> list[BaseGeometry]:
    """Trees over the nodes that stay in the room, their branches drawn by lot; one if the room allows it."""
    if len(nodes) < 2:
        return [shapely.Point(nodes[0])]
    edges = _neighbours(nodes)
    lines = shapely.linestrings(nodes[edges])
    roomy = shapely.covers(grown(room, -gap / 2), lines)
    inside = shapely.covers(room, lines)
    lot = random.random(len(edges)) + np.where(roomy, 0.0, 1.0)
    leader = list(range(len(nodes)))

    def find(one: int) -> int:
        while leader[one] != one:
            leader[one] = leader[leader[one]]
            one = leader[one]
        return one

    branches: dict[int, list[shapely.LineString]] = {}
    taken = []
    for index in np.argsort(lot, kind="stable"):
        one, other = find(int(edges[index, 0])), find(int(edges[index, 1]))
        if inside[index] and one != other:
            leader[one] = other
            taken.append(index)
    bends = _BEND * gap * random.choice([-1.0, 1.0], len(edges))
    for index in taken:
        branches.setdefault(find(int(edges[index, 0])), []).append(_bent(nodes[edges[index]], bends[index]))
    return [shapely.MultiLineString(tree) for tree in branches.values()]


def _bent(branch: FloatArray, bend: float) -> shapely.LineString:
    start, end = branch
    along = (end - start) / np.hypot(*(end - start))
    return shapely.LineString([start, (start + end) / 2 + bend * np.array([-along[1], along[0]]), end])


def _neighbours(nodes: FloatArray) -> np.ndarray:
    """Pairs of nodes whose shares touch, (m, 2)."""
    from scipy.spatial import Delaunay, cKDTree

    if len(nodes) == 2:
        return np.array([[0, 1]])
    corners = Delaunay(nodes).simplices
    pairs = np.unique(np.sort(np.vstack([corners[:, [0, 1]], corners[:, [1, 2]], corners[:, [2, 0]]]), axis=1), axis=0)
    # a pair with a third node inside the circle over it would lead a branch past that node too closely
    ends = nodes[pairs]
    half = np.hypot(*(ends[:, 0] - ends[:, 1]).T) / 2
    nearest = cKDTree(nodes).query(ends.mean(axis=1))[0]
    return pairs[nearest > half - 1e-9]


def _around(tree: BaseGeometry, part: shapely.Polygon, gap: float) -> list[FloatArray]:
    """The line around a tree, as far from it as its branches allow without touching, its inner corners rounded."""
    for share in _BODY_SHARES:
        body = shapely.buffer(tree, share * gap, quad_segs=_COARSE)
        if not _holes(body):
            break
    for share in _ROUNDINGS:
        wide = shapely.buffer(body, share * gap, quad_segs=_COARSE)
        if not _holes(wide):
            body = shapely.buffer(wide, -share * gap, quad_segs=_COARSE)
            break
    inner = polygons_of(body.intersection(grown(part, -gap / 4)))
    rings = [evened(rounded(closed(piece.exterior.coords), part, gap), part, gap) for piece in inner]
    # a loop shorter than the circle that a gap has room for is a knot, not a meander
    return [ring for ring in rings if length_of(ring) >= math.pi * gap / 2]


def _holes(shape: BaseGeometry) -> int:
    return sum(len(part.interiors) for part in polygons_of(shape))
