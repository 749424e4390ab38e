"""Needle points kept apart: short stitches where lines crowd, and a unit's shift where rounding brings two too near."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import distances_along
from stitchcraft.geometry.nearness import near_pairs
from stitchcraft.stitching.settling import settled
from stitchcraft.units import MACHINE_UNIT_MM, to_units

INSETS: Final = (0.0, 0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 3.5, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 10.0, 12.0, 14.0, 16.0)
"""How far along its line a crowded needle point may be pulled in, in gaps, in order of trial."""

DEEPEST: Final = 0.72
"""No needle point is pulled in by more than this share of its line."""

CROSSING_INSETS: Final = 4
"""How many of them serve where columns cross: a line that ends farther in leaves cloth bare."""

BESIDE: Final = 12
"""A crowd is kept off so many points before and after it."""

LONGEST_CROWD: Final = 96
"""Longer crowds are settled in parts of this many points, every second part first."""

TOGETHER: Final = 1 << 13
"""So many crowded points are settled in one go, to save memory."""

STRIDE: Final = 8
"""Where a column comes back to itself is looked up at every so many of its lines."""

STRIDE_MM: Final = 1.0
"""Columns that pass each other nearer than twice this are looked at closely."""

AHEAD: Final = 4
"""Points farther apart in the order than this come near each other only in crowds."""

FARTHEST_SHIFT_MM: Final = 0.16
"""A needle point is shifted no farther than this to stand clear once rounded: less than half the width of a thread."""

_ROUNDED_MM: Final = MACHINE_UNIT_MM * math.sqrt(2)
"""Rounding may bring two points nearer by this."""

_NOISE: Final = 1e-9


def kept_apart(
    points: FloatArray, opposite: FloatArray, gap: float, *, ring: bool = False, everywhere: bool = False
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Pull crowded needle points in along their lines, until none is nearer to another than *gap*.

    Where points crowd, they are dealt with from the middle of the crowd outward, so that a corner keeps its own
    needle point and looks the same from both sides. Each takes the first of `INSETS` at which no point that is
    settled already is too near, counted between whole machine units. Where there is none, the point is left out: the
    thread then goes along the longer side instead.

    Args:
        points: (n, 2) needle points in order, mm.
        opposite: (n, 2) the other ends of their lines.
        gap: Least distance, mm.
        ring: Whether the first point follows the last. If not, the first stays where it is.
        everywhere: Look for points too near that are far apart in the order as well: the column may cross itself.

    Returns:
        The points, moved, and which of them to keep.
    """
    crowded = _too_near(points, gap, ring=ring)
    keep = np.ones(len(points), dtype=bool)
    if not ring:
        crowded[0] = False
    again = np.ones(len(points), dtype=bool) if everywhere else _meets_itself(points, opposite, ring=ring)
    moved = points
    if everywhere:
        moved = points.copy()
    elif crowded.any():
        moved, crowded = _alternated(points, opposite, crowded, gap, ring=ring)
    if not crowded.any() and not again.any():
        return moved, keep
    others = np.flatnonzero((again | _around(np.flatnonzero(crowded), len(points))) & ~crowded)
    pairs = others[near_pairs(moved[others], gap + _ROUNDED_MM)]
    crowded[pairs[np.diff(pairs)[:, 0] > AHEAD, 1]] = True
    if not crowded.any():
        return moved, keep
    moved = moved.copy() if moved is points else moved
    rows, turn = _middle_first(crowded, ring=ring)
    waiting = crowded.copy()
    size = max(1, len(rows)) if everywhere else TOGETHER
    for first in range(0, len(rows), size):
        own = rows[first : first + size]
        beside = keep & ~waiting
        if not everywhere:
            beside &= again | _around(own, len(points))
        waiting[own] = False
        places, usable = _pulled_in(points[own], opposite[own], gap)
        choice = settled(places, usable, moved[beside], gap, turn=turn[first : first + size])
        keep[own] = choice >= 0
        moved[own] = places[np.arange(len(own)), choice]
    return moved, keep


def _meets_itself(points: FloatArray, opposite: FloatArray, *, ring: bool) -> NDArray[np.bool_]:
    """Which points lie where the column comes back to itself, or crosses itself, far along its way."""
    across = np.hypot(points[::STRIDE, 0] - opposite[::STRIDE, 0], points[::STRIDE, 1] - opposite[::STRIDE, 1])
    reach = float(across.max()) + 2 * STRIDE_MM
    middle = (points[::STRIDE] + opposite[::STRIDE]) / 2
    along = distances_along(middle)
    # half the reach from one to the next is enough: none of two that touch is then overlooked
    some = np.unique(np.searchsorted(along, np.arange(0.0, along[-1], reach / 2)))
    pairs = some[near_pairs(middle[some], reach)]
    apart = np.abs(along[pairs[:, 1]] - along[pairs[:, 0]])
    if ring:
        apart = np.minimum(apart, along[-1] - apart)
    place = np.unique(pairs[apart > 3 * reach])
    ends = np.zeros(len(middle) + 1, dtype=np.intp)
    np.add.at(ends, np.searchsorted(along, along[place] - reach / 2), 1)
    np.add.at(ends, np.searchsorted(along, along[place] + reach / 2), -1)
    return np.repeat(np.cumsum(ends[:-1]) > 0, STRIDE)[: len(points)]


def _pulled_in(points: FloatArray, opposite: FloatArray, gap: float) -> tuple[FloatArray, NDArray[np.bool_]]:
    """The places along their lines that points may take, (n, k, 2), and which of them are not too deep, (n, k).

    Those that are pulled in are whole machine units, so that what is settled holds wherever the column is laid.
    """
    line = opposite - points
    length = np.hypot(*line.T)[:, None]
    inset = np.asarray(INSETS) * gap
    places = points[:, None] + line[:, None] * (inset / np.maximum(length, 1e-9))[..., None]
    places[:, 1:] = _rounded(places[:, 1:])
    return places, inset <= DEEPEST * length


def shift_apart(
    points: FloatArray,
    opposite: FloatArray,
    order: NDArray[np.intp],
    gap: float,
    *,
    ring: bool = False,
    everywhere: bool = False,
) -> None:
    """Shift, in place, the needle points that rounding to machine units would bring nearer to another than *gap*.

    One of the two goes to a unit beside its own, the nearest to where it was meant that keeps off all the others, at
    most `FARTHEST_SHIFT_MM` away. Where there is none, it is pulled in along its line as a crowded one is. The two
    ends stay, but in a ring.

    Args:
        points: (n, 2) needle points, mm; some of them are changed.
        opposite: (n, 2) the other ends of their lines.
        order: (m,) which of them are sewn, in order.
        gap: Least distance, mm.
        ring: Whether the first point follows the last.
        everywhere: As for `kept_apart`.
    """
    for which in (1, 0):
        near = _pairs_as_rounded(points, order, gap, ring=ring, everywhere=everywhere)[:, which]
        near = np.unique(near if ring else near[(near > 0) & (near < len(order) - 1)])
        rest = np.ones(len(order), dtype=bool) if everywhere else _around(near, len(order))
        rest[near] = False
        while len(near):
            rows = order[near]
            beside = _units_around(points[rows], opposite[rows])
            pulled = _pulled_in(points[rows], opposite[rows], gap)
            places, usable = (np.concatenate(both, axis=1) for both in zip(beside, pulled, strict=True))
            choice = settled(places, usable, points[order[rest]], gap, turn=np.zeros_like(near))
            if (choice >= 0).all():
                points[rows] = places[np.arange(len(near)), choice]
                break
            # those that stay are in the way of the others
            rest[near[choice < 0]] = True
            near = near[choice >= 0]


def kept_off_others(points: FloatArray, others: FloatArray, gap: float) -> FloatArray:
    """Pull the needle points of a satin in where they would come nearer than *gap* to those of another satin.

    Each goes to a machine unit beside its own or in towards the middle of the two that it is sewn between, but not so
    far that cloth shows; one that finds no place there stays, and so do both ends.

    Args:
        points: (n, 2) needle points in order of sewing, from side to side, mm.
        others: (m, 2) needle points that stay.
        gap: Least distance, mm; counted between whole machine units.

    Returns:
        The points.
    """
    ours, theirs = np.arange(1, len(points) - 1), _rounded(others)
    pairs = near_pairs(np.vstack([_rounded(points[ours]), theirs]), gap - _NOISE)
    pairs = pairs[(pairs[:, 0] < len(ours)) & (pairs[:, 1] >= len(ours))]
    near = ours[np.unique(pairs[:, 0])]
    if not len(near):
        return points
    middle = (points[near - 1] + points[near + 1]) / 2
    beside, (pulled, shallow) = _units_around(points[near], middle), _pulled_in(points[near], middle, gap)
    places = np.concatenate([beside[0], pulled[:, :CROSSING_INSETS]], axis=1)
    usable = np.concatenate([beside[1], shallow[:, :CROSSING_INSETS]], axis=1)
    stay = np.delete(points, near, axis=0)
    choice = settled(places, usable, np.vstack([theirs, stay]), gap, turn=np.zeros_like(near))
    kept = points.copy()
    found = choice >= 0
    kept[near[found]] = places[found, choice[found]]
    return kept


def _units_around(points: FloatArray, opposite: FloatArray) -> tuple[FloatArray, NDArray[np.bool_]]:
    """The machine units around each point, nearest first, (n, k, 2) mm, and which of them it may be shifted to, (n, k).

    They are near enough, and no farther out than rounding might put a point anyway.
    """
    step = MACHINE_UNIT_MM * np.arange(-2, 3)
    places = _rounded(points)[:, None] + np.stack(np.meshgrid(step, step), axis=-1).reshape(-1, 2)
    off = np.hypot(*(places - points[:, None]).transpose(2, 0, 1))
    order = np.argsort(np.round(off, 9), axis=1, kind="stable")
    off, places = np.take_along_axis(off, order, axis=1), np.take_along_axis(places, order[..., None], axis=1)
    inward = opposite - points
    inward /= np.maximum(np.hypot(*inward.T), 1e-9)[:, None]
    depth = ((places - points[:, None]) * inward[:, None]).sum(axis=2)
    return places, (off <= FARTHEST_SHIFT_MM) & (depth >= -_ROUNDED_MM / 2)


def _pairs_as_rounded(
    points: FloatArray, order: NDArray[np.intp], gap: float, *, ring: bool, everywhere: bool
) -> NDArray[np.intp]:
    """Which places in the order hold points nearer than *gap* once they are rounded, (k, 2), the later ones second."""
    if everywhere:
        return near_pairs(_rounded(points[order]), gap - _NOISE)
    count, least = len(order), (gap / MACHINE_UNIT_MM) ** 2 - _NOISE
    last = min(AHEAD, count - 1)
    found = [np.empty((0, 2), dtype=np.intp)]
    for first in range(0, count, TOGETHER):
        size = min(TOGETHER, count - first)
        places = np.arange(first, first + size + last)
        units = to_units(points[order[places % count if ring else places[places < count]]]).astype(np.int64)
        for apart in range(1, last + 1):
            dx, dy = (units[apart:] - units[:-apart])[:size].T
            one = first + np.flatnonzero(dx * dx + dy * dy < least)
            found.append(np.column_stack([one, one + apart]))
    return np.vstack(found) % count


def _too_near(points: FloatArray, gap: float, *, ring: bool, steps: tuple[int, ...] = (1, 2)) -> NDArray[np.bool_]:
    """Which points lie nearer than *gap* to the next on either side of the column."""
    crowded = np.zeros(len(points), dtype=bool)
    for apart in steps:
        near = np.zeros(len(points), dtype=bool)
        for first in range(0, len(points), TOGETHER):
            some = points[first : first + TOGETHER + apart]
            x, y = some[apart:, 0] - some[:-apart, 0], some[apart:, 1] - some[:-apart, 1]
            near[first : first + len(x)] = x * x + y * y < gap**2
        if ring:
            near[-apart:] = np.hypot(*(points[:apart] - points[-apart:]).T) < gap
        crowded |= near | np.roll(near, apart)
    return crowded


def _around(rows: NDArray[np.intp], count: int) -> NDArray[np.bool_]:
    """Which points lie within a few of some in the order, or of the ends, (count,)."""
    marked = np.zeros(count, dtype=bool)
    marked[rows] = True
    marked = spread(marked, BESIDE)
    marked[:BESIDE] = marked[-BESIDE:] = True
    return marked


def spread(mask: NDArray[np.bool_], reach: int) -> NDArray[np.bool_]:
    """Mark everything within *reach* places of what is marked."""
    total = np.zeros(len(mask) + 2 * reach + 1, dtype=np.int32)
    np.cumsum(mask, out=total[reach + 1 : reach + 1 + len(mask)])
    total[reach + 1 + len(mask) :] = total[reach + len(mask)]
    return np.asarray(total[2 * reach + 1 :] > total[: len(mask)])


def _alternated(
    points: FloatArray, opposite: FloatArray, crowded: NDArray[np.bool_], gap: float, *, ring: bool
) -> tuple[FloatArray, NDArray[np.bool_]]:
    """Settle the mild crowds of even curves at once: every second point is pulled in just far enough.

    Returns:
        The points, and which of them are still crowded, since that was not enough.
    """
    rows, crowd, middle = _crowds(crowded, ring=ring)
    place = rows % len(points)
    nearest_two = np.minimum(*(np.hypot(*(points[(place + k) % len(points)] - points[place]).T) for k in (2, -2)))
    # the fourth point along is one that stays as well
    far = np.sqrt(np.maximum(gap**2 - nearest_two**2, 0.0)) * 1.02 + 0.01 * gap
    line = opposite[place] - points[place]
    length = np.hypot(*line.T)
    short = ((rows - middle[crowd]) // 2 % 2 == 1) & (far <= DEEPEST * length)
    trial = points.copy()
    trial[place[short]] += line[short] * (far[short] / length[short])[:, None]
    bad = _too_near(trial, gap, ring=ring) | _too_near(trial, gap, ring=ring, steps=(4,))
    still = crowded & spread(bad, 4)
    trial[still] = points[still]
    return trial, still


def _crowds(crowded: NDArray[np.bool_], *, ring: bool) -> tuple[NDArray[np.intp], NDArray[np.intp], NDArray[np.intp]]:
    """The crowded points in order, which crowd each belongs to, and the point in the middle of each crowd.

    In a ring, the numbers of points past the end go on from the last, so that no crowd is cut in two.
    """
    rows = np.flatnonzero(crowded)
    count = len(crowded)
    if ring and 0 < len(rows) < count:
        gaps = np.diff(np.append(rows, rows[0] + count))
        first = (int(np.argmax(gaps)) + 1) % len(rows)
        rows = np.concatenate([rows[first:], rows[:first] + count])
    begins = np.concatenate([[True], np.diff(rows) > 4])[: len(rows)]
    starts = np.flatnonzero(begins)
    ends = np.append(starts[1:], len(rows))
    return rows, np.cumsum(begins) - 1, rows[(starts + ends - 1) // 2] if len(rows) else rows


def _middle_first(crowded: NDArray[np.bool_], *, ring: bool) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The crowded points in order, and when each is dealt with: crowds all at once, each from its middle outward.

    Of a long crowd every second part comes after the others.
    """
    rows, crowd, _ = _crowds(crowded, ring=ring)
    if not len(rows):
        return rows, rows
    first = np.flatnonzero(np.diff(crowd, prepend=-1))
    size = np.diff(first, append=len(rows))
    parts = -(-size // LONGEST_CROWD)
    part = (np.arange(len(rows)) - first[crowd]) * parts[crowd] // size[crowd]
    begins = np.flatnonzero((np.diff(part, prepend=-1) != 0) | (np.diff(crowd, prepend=-1) != 0))
    ends = np.append(begins[1:], len(rows))
    number = np.repeat(np.arange(len(begins)), ends - begins)
    away = np.abs(rows - rows[(begins + ends - 1) // 2][number])
    order = np.lexsort((away, number))
    rank = np.empty(len(rows), dtype=np.intp)
    rank[order] = np.arange(len(rows)) - begins[number]
    return rows % len(crowded), rank + LONGEST_CROWD * (part % 2)


def _rounded(points: FloatArray) -> FloatArray:
    return np.asarray(to_units(points), dtype=np.float64) * MACHINE_UNIT_MM
