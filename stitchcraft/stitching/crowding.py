"""Needle points that nobody sees keep off the others: they are shifted along their stitches, or left out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.design import Role
from stitchcraft.geometry.nearness import may_reach, near_pairs, window_sums, within_reach
from stitchcraft.stitching.running import corners_of
from stitchcraft.stitching.spacing import LONGEST_MM
from stitchcraft.stitching.strands import Strand

GAP_MM: Final = PLANNING["needle_aim"].value
"""Needle points of 40-weight thread nearer than this crowd, unless they share a hole, mm; those of another thread as
it is wider or finer, and of two threads by the mean of theirs."""

SAME_HOLE_MM: Final = 1e-6
LEAST_MM: Final = 0.5
"""No stitch beside a needle point that is shifted becomes shorter than this, mm."""

HIDDEN_SHIFTS: Final = (0.15, 0.3, 0.45, 0.6)
LOOSE_SHIFTS: Final = (0.1, 0.2, 0.3)
"""How far a needle point may be shifted towards either neighbour, mm: hidden ones, and those of a line that shows."""

MOST_BOXES: Final = 1500
"""Strands of which it is worth while to ask, each with each, which lie by themselves."""

_APART: Final = 1 << 32
"""Between the numbers of squares in neighbouring columns."""

_BESIDE: Final = tuple(column * _APART + row for column in (-1, 0, 1) for row in (-1, 0, 1))

DENSITY_STOP: Final = PLANNING["density_stop"].value
SQUARE_MM: Final = 1.0
STEPS: Final = 4
MOST_ROUNDS: Final = 4
"""Every round leaves out every second hidden needle point of a dense place."""

STRAY_MM: Final = 0.25
"""A hidden needle point may be left out where the thread strays no farther than this without it, mm."""


@dataclass(slots=True, eq=False)
class _Points:
    """All needle points of a part in order of sewing.

    Attributes:
        xy: (n, 2) positions, mm; changed as points are shifted.
        strand: (n,) the strand of each.
        hidden: (n,) underlay and travel.
        free: (n,) may be shifted.
        kept: (n,) not left out.
        gap: (n,) `GAP_MM` for the thread of each, mm.
    """

    xy: FloatArray
    strand: NDArray[np.intp]
    hidden: NDArray[np.bool_]
    free: NDArray[np.bool_]
    kept: NDArray[np.bool_]
    gap: FloatArray


def kept_off(
    strands: Sequence[Strand], weight: Sequence[float] | None = None, *, densest: float = DENSITY_STOP
) -> list[Strand]:
    """Shift needle points of underlay, travel and loose lines off the others of the part, or leave them out.

    Two needle points that are nearer than `GAP_MM`, but not in one hole, crowd, save that underlay may lie where it
    will under the top of its own run. One that may move goes along its own stitch, by half a millimetre or so, to where
    none is near; a hidden one that finds no such place is left out if the
    thread then still runs where it did. Ends of a run, corners of lines, and everything that shows and is not loose
    stay where they are. All passes through a hole move together. Where more needle points than *densest* fall in a
    square millimetre, hidden ones are left out on the same terms.

    Args:
        strands: Of all stops, in order of sewing, tidied, without locks.
        weight: What a needle point of each strand counts there: the cross-section of its thread, 1 for weight 40 and
            for all if None. Crowding is counted by the root of it, which is the thread's width.
        densest: The most that the cloth bears, penetrations of 40-weight thread in a square millimetre.

    Returns:
        The strands, in the same order.
    """
    if not strands:
        return []
    load = np.ones(len(strands)) if weight is None else np.asarray(weight, dtype=np.float64)
    points = _points_of(strands, GAP_MM * np.sqrt(load))
    _spread(points)
    _thin(points, load, densest)
    first = np.searchsorted(points.strand, np.arange(len(strands) + 1))
    found = []
    for strand, begin, end in zip(strands, first[:-1], first[1:], strict=True):
        kept = points.kept[begin:end]
        if kept.all():
            found.append(replace(strand, xy=points.xy[begin:end]))
            continue
        role, element = strand.role[kept], strand.element[kept]
        found.append(replace(strand, xy=points.xy[begin:end][kept], role=role, element=element))
    return found


def _spread(points: _Points) -> None:
    """Shift crowded needle points, or leave them out."""
    crowded = _crowded(points)
    if not len(crowded):
        return
    waiting = np.zeros(len(points.xy), dtype=bool)
    waiting[crowded] = True
    side = float(points.gap.max())
    stay = within_reach(points.xy, points.xy[crowded], side + HIDDEN_SHIFTS[-1]) & ~waiting
    cells = _Cells(side, points.xy[stay], points.gap[stay])
    for hole in _holes(points, crowded):
        _settle(points, hole, cells)


def _thin(points: _Points, weight: FloatArray, densest: float) -> None:
    """Leave hidden needle points out where too many fall in one square millimetre, as far as the thread runs on."""
    if not points.hidden.any():
        return
    for _ in range(MOST_ROUNDS):
        kept = np.flatnonzero(points.kept)
        spots, counts = points.xy[kept], weight[points.strand[kept]]
        if not may_reach(spots, counts, densest, side=SQUARE_MM):
            return
        low, sums = window_sums(spots, counts, side=SQUARE_MM, steps=STEPS)
        over = sums > densest + 1e-9
        if not over.any():
            return
        # a square stands at its lower left corner, and reaches so many steps from there
        dense = np.zeros((over.shape[0] + STEPS - 1, over.shape[1] + STEPS - 1), dtype=bool)
        for i in range(STEPS):
            for j in range(STEPS):
                dense[i : i + over.shape[0], j : j + over.shape[1]] |= over
        cell = np.floor((points.xy[kept] - low) / (SQUARE_MM / STEPS)).astype(np.int64)
        rows = kept[dense[cell[:, 0], cell[:, 1]] & points.free[kept] & points.hidden[kept]]
        left_out = 0
        for row in rows.tolist():
            here, one, other = points.xy[[row, row - 1, row + 1]].tolist()
            if points.kept[[row - 1, row + 1]].all() and _straight_without(tuple(here), tuple(one), tuple(other)):
                points.kept[row] = False
                left_out += 1
        if not left_out:
            return


def _points_of(strands: Sequence[Strand], gap: FloatArray) -> _Points:
    counts = [len(strand.xy) for strand in strands]
    role = np.concatenate([strand.role for strand in strands])
    hidden = (role == Role.UNDERLAY) | (role == Role.TRAVEL)
    free = hidden.copy()
    ends = np.cumsum(counts)
    for strand, end in zip(strands, ends.tolist(), strict=True):
        begin = end - len(strand.xy)
        if strand.loose:
            free[begin:end] = True
            path = _each_hole_once(strand)
            free[begin + path[corners_of(strand.xy[path])]] = False
        free[[begin, end - 1]] = False
    return _Points(
        np.vstack([strand.xy for strand in strands]),
        np.repeat(np.arange(len(strands)), counts),
        hidden,
        free,
        np.ones(len(role), dtype=bool),
        np.repeat(gap, counts),
    )


def _each_hole_once(strand: Strand) -> NDArray[np.intp]:
    """Needle points that make a hole, in order: a repeated stitch turns back at each of them."""
    if not strand.exact:
        return np.arange(len(strand.xy))
    return np.sort(np.unique(np.ascontiguousarray(strand.xy).view(np.complex128).ravel(), return_index=True)[1])


def _crowded(points: _Points) -> NDArray[np.intp]:
    """Free needle points that crowd another one, in order of sewing."""
    free = np.flatnonzero(points.free)
    if not len(free):
        return free
    some = np.flatnonzero(_may_crowd(points))
    widest, finest = float(points.gap.max()), float(points.gap.min())
    # where most are free there is little to be left out beforehand
    if 2 * len(free) < len(some):
        some = some[within_reach(points.xy[some], points.xy[free], widest)]
    pairs = some[near_pairs(points.xy[some], widest)]
    pairs = pairs[points.free[pairs].any(axis=1)]
    one, other = pairs.T
    away = np.hypot(*(points.xy[one] - points.xy[other]).T)
    apart = away > SAME_HOLE_MM
    if finest < widest:
        apart &= away < (points.gap[one] + points.gap[other]) / 2
    # the next along a run is as near as its stitch is long, and what lies under a run's own top may lie anywhere there
    foreign = points.strand[one] != points.strand[other]
    apart &= foreign | ((np.abs(one - other) > 1) & (points.hidden[one] == points.hidden[other]))
    ends = np.unique(pairs[apart])
    return ends[points.free[ends]]


def _may_crowd(points: _Points) -> NDArray[np.bool_]:
    """Needle points that count beside free ones: where a strand lies by itself, what shows of it does not."""
    first = np.flatnonzero(np.diff(points.strand, prepend=-1))
    if len(first) > MOST_BOXES:
        return np.ones(len(points.xy), dtype=bool)
    low = np.minimum.reduceat(points.xy, first)
    high = np.maximum.reduceat(points.xy, first) + points.gap.max()
    meet = (low[:, None] <= high[None]).all(axis=2)
    meet &= meet.T
    beside = meet.sum(axis=1) > 1
    loose = points.free & ~points.hidden
    beside[np.unique(points.strand[loose])] = True
    return points.hidden | beside[points.strand]


def _holes(points: _Points, crowded: NDArray[np.intp]) -> Iterator[list[int]]:
    """The crowded needle points hole by hole: all that one strand has at one place."""
    holes: dict[tuple[int, float, float], list[int]] = {}
    for row, strand, (x, y) in zip(
        crowded.tolist(), points.strand[crowded].tolist(), points.xy[crowded].tolist(), strict=True
    ):
        holes.setdefault((strand, x, y), []).append(row)
    yield from holes.values()


class _Cells:
    """Needle points found by place, in squares as wide as the widest gap between two."""

    def __init__(self, side: float, xy: FloatArray, gap: FloatArray) -> None:
        """Lay out the points that stay, (n, 2) mm, each with its gap, (n,): in its square and those around it."""
        self._side = side
        column, row = np.floor(xy / side).astype(np.int64).T
        key = (column * _APART + row)[:, None] + np.array(_BESIDE)
        order = np.argsort(key, axis=None, kind="stable")
        self._staying: list[tuple[float, float, float]] = np.column_stack([xy, gap])[order // 9].tolist()
        keys, first, count = np.unique(key.ravel()[order], return_index=True, return_counts=True)
        self._range = dict(zip(keys.tolist(), zip(first.tolist(), (first + count).tolist(), strict=True), strict=True))
        self._placed: dict[int, list[tuple[float, float, float]]] = {}

    def put(self, place: tuple[float, float], gap: float) -> None:
        """Add a point."""
        self._placed.setdefault(self._key(place), []).append((*place, gap))

    def free(self, place: tuple[float, float], gap: float) -> bool:
        """Whether a point of a thread with that gap crowds none there."""
        (x, y), key = place, self._key(place)
        first, last = self._range.get(key, (0, 0))
        placed = (self._placed.get(key + beside, ()) for beside in _BESIDE)
        return all(
            math.hypot(x - px, y - py) >= (gap + own) / 2
            for px, py, own in chain(self._staying[first:last], chain.from_iterable(placed))
        )

    def _key(self, place: tuple[float, float]) -> int:
        return math.floor(place[0] / self._side) * _APART + math.floor(place[1] / self._side)


def _settle(points: _Points, hole: list[int], cells: _Cells) -> None:
    """Find a place for the needle points of one hole."""
    xy, gap = points.xy, float(points.gap[hole[0]])
    here = (float(xy[hole[0], 0]), float(xy[hole[0], 1]))
    if cells.free(here, gap):
        # what crowded it has moved away
        cells.put(here, gap)
        return
    beside = [row + step for row in hole for step in (-1, 1)]
    if points.kept[beside].all():
        around = [(float(x), float(y)) for x, y in xy[beside].tolist()]
        for place in _places(here, around[:2], hidden=bool(points.hidden[hole[0]])):
            if cells.free(place, gap) and all(LEAST_MM <= math.dist(place, other) <= LONGEST_MM for other in around):
                xy[hole] = place
                cells.put(place, gap)
                return
        if points.hidden[hole].all() and all(
            _straight_without(here, one, other) for one, other in zip(around[::2], around[1::2], strict=True)
        ):
            points.kept[hole] = False
            return
    cells.put(here, gap)


def _places(
    here: tuple[float, float], around: list[tuple[float, float]], *, hidden: bool
) -> Iterator[tuple[float, float]]:
    """Places along the stitches before and after, the nearest first."""
    for shift in HIDDEN_SHIFTS if hidden else LOOSE_SHIFTS:
        for x, y in around:
            length = math.dist(here, (x, y))
            if length > shift:
                yield here[0] + (x - here[0]) * shift / length, here[1] + (y - here[1]) * shift / length


def _straight_without(here: tuple[float, float], one: tuple[float, float], other: tuple[float, float]) -> bool:
    length = math.dist(one, other)
    if not LEAST_MM <= length <= LONGEST_MM / 2:
        return False
    cross = (other[0] - one[0]) * (here[1] - one[1]) - (other[1] - one[1]) * (here[0] - one[0])
    ahead = (other[0] - one[0]) * (here[0] - one[0]) + (other[1] - one[1]) * (here[1] - one[1])
    return abs(cross) <= STRAY_MM * length and 0 <= ahead <= length**2
