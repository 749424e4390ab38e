"""Paired rails of constant width along a line: what a cover stitch needs.

A rail is the line moved sideways. On the outer side of a corner it goes out to the mitre tip, or round in a
fan when the turn is sharp; on the inner side the moved line crosses itself, and everything between crosses
at one point, the inner mitre point. A curve tighter than the width is nothing else than many such corners,
so one rule, "a loop that runs backwards shrinks to its crossing", serves both.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import FLATNESS_MM
from stitchcraft.units import LARGEST_MM, number_between

SMOOTH_DEG: Final = 15.0
"""A turn below this is a point of a curve, not a corner."""

MITRE_DEG: Final = 100.0
"""A turn up to this is mitred, a sharper one is fanned: the tip of a mitre then stands out at most 1.6 half widths."""


BLUNT_DEG: Final = 40.0
"""A turn up to this keeps its inner mitre point even where the sides are too short for it; they then run backwards."""


LONGEST_LOOP: Final = 40.0
"""A rail is searched for crossings so far, in its distances from the line, to both sides of where it runs backwards."""


@dataclass(frozen=True, slots=True)
class _Pairs:
    """Both rails point by point, with the direction of travel of the line between them (radians, unwrapped)."""

    left: FloatArray
    right: FloatArray
    heading: FloatArray
    vertex: FloatArray

    def at(self, index: FloatArray) -> _Pairs:
        whole = np.arange(len(self.heading))

        def of(values: FloatArray) -> FloatArray:
            return np.interp(index, whole, values)

        return _Pairs(
            np.column_stack([of(self.left[:, 0]), of(self.left[:, 1])]),
            np.column_stack([of(self.right[:, 0]), of(self.right[:, 1])]),
            of(self.heading),
            of(self.vertex),
        )

    def swapped(self) -> _Pairs:
        return _Pairs(self.right, self.left, self.heading, self.vertex)


def border_rails(path: ArrayLike, *, width: float, shift: float = 0.0) -> tuple[FloatArray, FloatArray]:
    """Draw the two rails of a column of constant width along a line.

    Turns up to `MITRE_DEG` are mitred on their outer side, sharper ones fanned around the corner. On the inner
    side all lines within reach of a corner end at the inner mitre point, and a curve tighter than the width
    ends at the point where its moved line meets itself again, so that the rails never fold. Where a line
    comes back nearer to itself than the width, the column lies over itself; a closed line too small for the
    width shrinks its inner rail to a point.

    Args:
        path: (n, 2) points, mm; closed if the last point is the first. Repeated points are ignored.
        width: Rail to rail across the line, above 0, mm.
        shift: How far the column's middle lies to the left of the line (negative: to the right), mm.

    Returns:
        Left and right rail as seen in the direction of travel, both (m, 2) mm and paired point by point. For a
        closed path both are closed, and the line between their first points passes through the path's.

    Raises:
        ParameterError: If the path has no length or is not finite, or the width is not above 0.

    Example:
        >>> left, right = border_rails([(0, 0), (10, 0)], width=3)
        >>> left.tolist(), right.tolist()
        ([[0.0, 1.5], [10.0, 1.5]], [[0.0, -1.5], [10.0, -1.5]])
    """
    number_between(width, name="width", low=1e-3, high=LARGEST_MM)
    number_between(shift, name="shift", low=-LARGEST_MM, high=LARGEST_MM)
    line = _distinct(path)
    is_closed = len(line) > 3 and bool(np.hypot(*(line[0] - line[-1])) <= 1e-6)
    start = 0
    if is_closed:
        line[-1] = line[0]
        line, start = _opened(line)
    pairs = _raw(line, shift + width / 2, shift - width / 2)
    pairs = _unfolded(pairs, shift + width / 2)
    pairs = _unfolded(pairs.swapped(), shift - width / 2).swapped()
    if not is_closed:
        return pairs.left, pairs.right
    at_start = np.flatnonzero(pairs.vertex == start)
    first = int(at_start[len(at_start) // 2])
    order = np.concatenate([np.arange(first, len(pairs.vertex) - 1), np.arange(first + 1)])
    return pairs.left[order], pairs.right[order]


def _distinct(path: ArrayLike) -> FloatArray:
    try:
        line = np.array(path, dtype=np.float64)
    except (TypeError, ValueError):
        raise ParameterError("path", path, "points (x, y) in mm") from None
    if line.ndim != 2 or line.shape[1] != 2 or not np.isfinite(line).all() or np.abs(line).max(initial=0) > LARGEST_MM:
        raise ParameterError("path", f"an array of shape {line.shape}", "finite points (x, y) in mm")
    keep = np.ones(len(line), dtype=bool)
    keep[1:] = np.hypot(*np.diff(line, axis=0).T) > 1e-6
    line = line[keep]
    if len(line) < 2:
        raise ParameterError("path", "a line without length", "at least two different points")
    return line


def _opened(line: FloatArray) -> tuple[FloatArray, int]:
    """Turn a closed line so that it starts in the middle of its longest side; also where the old start went."""
    longest = int(np.argmax(np.hypot(*np.diff(line, axis=0).T)))
    middle = (line[longest] + line[longest + 1]) / 2
    ring = line[:-1]
    return np.vstack([middle, np.roll(ring, -longest - 1, axis=0), middle]), len(ring) - longest


def _turns(line: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Direction of every side, and the turn at every point (0 at the ends), radians."""
    side = np.diff(line, axis=0)
    angle = np.unwrap(np.arctan2(side[:, 1], side[:, 0]))
    return angle, np.concatenate([[0.0], np.diff(angle), [0.0]])


def _with_reaches(line: FloatArray, *distances: float) -> tuple[FloatArray, FloatArray]:
    """Add the points from which a corner's inner mitre point is straight across, where the sides are long enough.

    Returns:
        The line, and for each point its number in the line that was given; an added point has a fraction.
    """
    _, turn = _turns(line)
    length = np.hypot(*np.diff(line, axis=0).T)
    corner = np.abs(turn) >= math.radians(SMOOTH_DEG)
    half_tan = np.abs(np.tan(np.abs(turn) / 2))
    number = np.arange(len(line), dtype=np.float64)
    extra_at, extra = [number], [line]
    for distance in distances:
        inner = distance * turn > 0
        reach = np.where(inner, abs(distance) * half_tan, 0.0)
        fits = reach[:-1] + reach[1:] <= length + 1e-9
        before = np.flatnonzero(corner[1:] & inner[1:] & fits)
        after = np.flatnonzero(corner[:-1] & inner[:-1] & fits)
        for side, share in (
            (before, 1 - reach[1:][before] / length[before]),
            (after, reach[:-1][after] / length[after]),
        ):
            new = (share > 1e-9) & (share < 1 - 1e-9)
            side, share = side[new], share[new]
            extra_at.append(side + share)
            extra.append(line[side] + (line[side + 1] - line[side]) * share[:, None])
    at, points = np.concatenate(extra_at), np.vstack(extra)
    order = np.argsort(at, kind="stable")
    at, points = at[order], points[order]
    keep = np.concatenate([[True], np.diff(at) > 1e-9])
    return points[keep], at[keep]


def _raw(line: FloatArray, left: float, right: float) -> _Pairs:
    """Move the line sideways both ways: outer corners mitred or fanned, inner ones at their mitre point."""
    line, number = _with_reaches(line, left, right)
    angle, turn = _turns(line)
    sharp = np.abs(turn)
    fan_step = 2 * math.acos(1 - min(FLATNESS_MM / max(abs(left), abs(right), FLATNESS_MM), 0.5))
    fanned = sharp > math.radians(MITRE_DEG)
    count = np.ones(len(line), dtype=int)
    count[(sharp >= math.radians(SMOOTH_DEG)) & ~fanned] = 3
    # an odd number, so that one of them passes through the corner itself
    count[fanned] = 2 * np.ceil(sharp[fanned] / fan_step / 2).astype(int) + 1
    of = np.repeat(np.arange(len(line)), count)
    place = np.arange(len(of)) - np.repeat(np.cumsum(count) - count, count)
    share = np.where(count[of] > 1, place / np.maximum(count[of] - 1, 1), 0.5)
    heading = np.concatenate([angle[:1], angle])[of] + share * turn[of]
    middle = np.concatenate([angle[:1], angle])[of] + turn[of] / 2
    mitre = 1 / np.maximum(np.cos(sharp[of] / 2), 1e-6)
    at_tip = (count[of] == 1) | (~fanned[of] & (place == 1))
    length = np.hypot(*np.diff(line, axis=0).T)
    room = np.minimum(np.concatenate([[np.inf], length]), np.concatenate([length, [np.inf]]))

    def rail(distance: float) -> FloatArray:
        inner = (distance * turn > 0) & (
            (sharp <= math.radians(BLUNT_DEG)) | (np.abs(distance * np.tan(sharp / 2)) <= room + 1e-9)
        )
        open_inner = (distance * turn > 0) & ~inner
        to = np.where(inner[of], middle, heading)
        reach = distance * np.where(inner[of] | (at_tip & ~open_inner[of]), mitre, 1.0)
        return line[of] + np.column_stack([-np.sin(to), np.cos(to)]) * reach[:, None]

    return _Pairs(rail(left), rail(right), heading, number[of])


def _backwards(pairs: _Pairs) -> NDArray[np.bool_]:
    """Which steps of the left rail run against the direction of travel."""
    step = np.diff(pairs.left, axis=0)
    mean = (pairs.heading[1:] + pairs.heading[:-1]) / 2
    ahead = step[:, 0] * np.cos(mean) + step[:, 1] * np.sin(mean)
    back = ahead < -1e-9
    if back.any():
        # a step of no length goes on with what the step before it did
        moving = np.abs(ahead) > 1e-9
        latest = np.maximum.accumulate(np.where(moving, np.arange(len(back)), 0))
        back = back[latest]
    return back


def _unfolded(pairs: _Pairs, distance: float) -> _Pairs:
    """Shrink every loop of the left rail that runs backwards to a point."""
    if not _backwards(pairs).any():
        return pairs
    loops = _loops(pairs, distance)
    if loops:
        cuts = np.array([end for start, stop, _ in loops for end in (start, stop)])
        index = np.unique(np.concatenate([np.arange(len(pairs.heading), dtype=np.float64), cuts]))
        pairs = pairs.at(index)
        for start, stop, point in loops:
            pairs.left[(index >= start) & (index <= stop)] = point
    for _ in range(8):
        back = _backwards(pairs)
        if not back.any():
            break
        pairs = _pinched(pairs, back, abs(distance))
    return pairs


def _loops(pairs: _Pairs, distance: float) -> list[tuple[float, float, FloatArray]]:
    """Where the left rail crosses itself around a stretch that runs backwards: (from, to, point), outermost only."""
    rail, backwards = pairs.left, _backwards(pairs)
    back = np.concatenate([[0], np.cumsum(backwards)])
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(rail, axis=0).T))])
    reach = LONGEST_LOOP * abs(distance)
    before, after = np.searchsorted(along, along[:-1] - reach), np.searchsorted(along, along[1:] + reach)
    near = np.flatnonzero(back[np.minimum(after, len(backwards))] > back[before])
    segments = np.asarray(shapely.linestrings(np.stack([rail[near], rail[near + 1]], axis=1)))
    one, two = shapely.STRtree(segments).query(segments, predicate="intersects")
    one, two = near[one], near[two]
    ahead = two > one + 1
    one, two = one[ahead], two[ahead]
    held = back[two + 1] > back[one]
    one, two = one[held], two[held]
    p, r, q, s = rail[one], rail[one + 1] - rail[one], rail[two], rail[two + 1] - rail[two]
    across = r[:, 0] * s[:, 1] - r[:, 1] * s[:, 0]
    true = np.abs(across) > 1e-12
    one, two, p, r, q, s, across = (v[true] for v in (one, two, p, r, q, s, across))
    gap = q - p
    t = np.clip((gap[:, 0] * s[:, 1] - gap[:, 1] * s[:, 0]) / across, 0, 1)
    u = np.clip((gap[:, 0] * r[:, 1] - gap[:, 1] * r[:, 0]) / across, 0, 1)
    start, stop, points = one + t, two + u, p + r * t[:, None]
    found: list[tuple[float, float, FloatArray]] = []
    for k in np.lexsort((start, stop - start)):
        begin, end = float(start[k]), float(stop[k])
        if any(b < begin < e or b < end < e for b, e, _ in found):
            continue
        inside = [(b, e, x) for b, e, x in found if b >= begin and e <= end]
        left = back[math.ceil(end)] - back[math.floor(begin)] > sum(
            back[math.ceil(e)] - back[math.floor(b)] for b, e, _ in inside
        )
        loop = np.vstack([points[k], rail[math.floor(begin) + 1 : math.ceil(end)], points[k]])
        if (left or not inside) and distance * _signed_area(loop) < -1e-9:
            found = [old for old in found if old not in inside] + [(begin, end, points[k])]
    return sorted(found, key=lambda loop: loop[0])


def _signed_area(ring: FloatArray) -> float:
    centred = ring - ring[0]
    return float((centred[:-1, 0] * centred[1:, 1] - centred[1:, 0] * centred[:-1, 1]).sum() / 2)


def _pinched(pairs: _Pairs, back: NDArray[np.bool_], distance: float) -> _Pairs:
    """End the lines of a stretch that runs backwards, and crosses nothing, at one point."""
    edge = np.flatnonzero(np.diff(np.concatenate([[False], back, [False]]).astype(np.int8)))
    last = len(pairs.heading) - 1
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(pairs.left, axis=0).T))])
    index: list[FloatArray] = [np.arange(last + 1, dtype=np.float64)]
    ends: list[tuple[float, float, FloatArray]] = []
    for first, final in zip(edge[::2].tolist(), edge[1::2].tolist(), strict=True):
        stopped = _stopped(pairs, first, final, along, distance)
        if stopped is not None:
            start, stop, point = stopped
            index.append(np.array([start, stop]))
        else:
            start, stop, point = float(first), float(final), _meeting(pairs, first, final)
            # the lines beside it keep their full width up to this far away
            near = np.interp([along[first] - distance, along[final] + distance], along, np.arange(last + 1.0))
            index.append(near[(near > first - 1) & (near < first) | (near > final) & (near < final + 1)])
        ends.append((start, stop, point.copy()))
    at = np.unique(np.concatenate(index))
    pairs = pairs.at(at)
    for start, stop, point in ends:
        pairs.left[(at >= start) & (at <= stop)] = point
    return pairs


def _stopped(
    pairs: _Pairs, first: int, final: int, along: FloatArray, distance: float
) -> tuple[float, float, FloatArray] | None:
    """Where the rail stops short of a nearby end, around which it would run backwards: (from, to, point).

    That is where the last line (or the first) crosses the rail. Without a crossing it is where the rail turns
    back, if it does so up to the end, or nearly; None if neither is so.
    """
    last = len(pairs.heading) - 1
    if along[last] - along[final] <= 4 * distance and first > 0:
        near = np.flatnonzero((along[:-1] >= along[first] - 4 * distance) & (np.arange(last) < first))
        hit = _crossing(pairs, last, near[::-1])
        if hit is not None:
            return (hit[0], float(last), hit[1])
    if along[first] <= 4 * distance and final < last:
        near = np.flatnonzero((along[:-1] <= along[final] + 4 * distance) & (np.arange(last) >= final))
        hit = _crossing(pairs, 0, near)
        if hit is not None:
            return (0.0, hit[0], hit[1])
    before, after = along[first] <= distance, along[last] - along[final] <= distance
    if before == after:
        return None
    return (0.0, float(final), pairs.left[final]) if before else (float(first), float(last), pairs.left[first])


def _crossing(pairs: _Pairs, line: int, segments: NDArray[np.intp]) -> tuple[float, FloatArray] | None:
    """Where a line crosses the left rail: the first of some segments of the rail that it meets."""
    p, r = pairs.right[line], pairs.left[line] - pairs.right[line]
    q, s = pairs.left[segments], pairs.left[segments + 1] - pairs.left[segments]
    across = r[0] * s[:, 1] - r[1] * s[:, 0]
    safe = np.where(np.abs(across) > 1e-12, across, np.inf)
    gap = q - p
    t, u = (gap[:, 0] * s[:, 1] - gap[:, 1] * s[:, 0]) / safe, (gap[:, 0] * r[1] - gap[:, 1] * r[0]) / safe
    hits = np.flatnonzero((t > 0) & (t <= 1) & (u >= 0) & (u <= 1) & np.isfinite(safe))
    if not len(hits):
        return None
    return float(segments[hits[0]] + u[hits[0]]), p + r * t[hits[0]]


def _meeting(pairs: _Pairs, first: int, final: int) -> FloatArray:
    """Where the first and the last line of a stretch cross; the middle between their ends if they do not."""
    p, q = pairs.right[first], pairs.right[final]
    r, s = pairs.left[first] - p, pairs.left[final] - q
    across = r[0] * s[1] - r[1] * s[0]
    if abs(across) > 1e-9:
        gap = q - p
        t, u = (gap[0] * s[1] - gap[1] * s[0]) / across, (gap[0] * r[1] - gap[1] * r[0]) / across
        if 0 < t <= 1 and 0 < u <= 1:
            return p + r * t
    return (pairs.left[first] + pairs.left[final]) / 2
