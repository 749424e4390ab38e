"""Locks: tiny stitches that keep a thread's end from pulling out, laid along the run itself."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.design import Role
from stitchcraft.errors import ParameterError

HOLE_GAP_MM: Final = PLANNING["needle_gap"].value
"""A hole of a lock keeps this far from the next hole of the run, mm."""

LEAST_LOCK_MM: Final = 0.5
"""A shorter stitch holds nothing: where the run's own stitches are shorter, a lock spans several of them, mm."""

LONGEST_RETURN_MM: Final = 3.0
"""A stitch back into the hole that it came from holds up to this length, mm."""

_LOOK_AHEAD: Final = 64


def lock_holes(
    xy: FloatArray,
    *,
    stitch: float = PLANNING["lock_stitch"].value,
    count: int = int(PLANNING["lock_count"].value),
) -> FloatArray:
    """Find the holes of a lock at the start of a run, to be sewn between its first and its second point.

    The needle goes forward a lock stitch, half of one back, forward again, and so on, walking along the first
    stitch of the run, so that up to the third every hole is a new one (the fourth stitch ends in the hole of the
    first) and none leaves the run. If the first stitch has room for fewer of them, fewer are made; if it has room
    for none, the needle goes to the run's own next hole that is at least `LEAST_LOCK_MM` away and back to the
    start, and the run then sews over both.

    Args:
        xy: (n, 2) needle points of the run, mm, n >= 2; turned round for the lock at its end.
        stitch: Length of a lock stitch, mm, above 0.
        count: How many lock stitches, 1 to 9.

    Returns:
        (k, 2) holes in order of sewing, mm, k >= 1; with fewer than two points in the run, none.

    Raises:
        ParameterError: If *stitch* or *count* is out of range.
    """
    if not 0 < stitch <= 2:
        raise ParameterError("stitch", stitch, "a length above 0 mm and at most 2 mm")
    if isinstance(count, bool) or not 1 <= count <= 9:
        raise ParameterError("count", count, "a whole number from 1 to 9")
    if len(xy) < 2:
        return np.empty((0, 2))
    first = xy[1] - xy[0]
    room = float(np.hypot(*first)) - HOLE_GAP_MM
    steps = np.arange(count)
    # forward one, back a half: 1, 1/2, 3/2, 1, 2, ... lock stitches in from the end
    ahead = stitch * np.where(steps % 2 == 0, 1 + steps / 4, (steps + 1) / 4)
    fits = np.maximum.accumulate(ahead) <= room + 1e-9
    if np.count_nonzero(fits) >= min(2, count):
        return xy[0] + ahead[fits, None] / float(np.hypot(*first)) * first
    return _own_holes(xy)


def _own_holes(xy: FloatArray) -> FloatArray:
    """To a hole of the run that is far enough, and back."""
    away = np.hypot(*(xy[:_LOOK_AHEAD] - xy[0]).T)
    far = int(np.argmax(away >= LEAST_LOCK_MM)) if away.max() >= LEAST_LOCK_MM else int(np.argmax(away))
    return np.vstack([xy[far], xy[0]])


def _holes_within(xy: FloatArray, travel: bool) -> FloatArray:
    """Holes of a lock at the start; a stitch of travel may cross a slit or a bay, where none may lie."""
    own = travel and len(xy) > 1 and np.hypot(*(xy[1] - xy[0])) <= LONGEST_RETURN_MM
    return _own_holes(xy) if own else lock_holes(xy)


def locked(
    xy: FloatArray, role: NDArray[np.uint8], element: NDArray[np.int32], *, start: bool, end: bool
) -> tuple[FloatArray, NDArray[np.uint8], NDArray[np.int32]]:
    """Add locks to one or both ends of a run; its own points stay where they are, the first and the last included.

    Args:
        xy: (n, 2) needle points, mm.
        role: (n,) values of `Role`.
        element: (n,) what each point belongs to; a lock belongs to the end that it holds.
        start: Lock the start.
        end: Lock the end.

    Returns:
        The three arrays with the locks in them; the stitches of a lock have the role `Role.LOCK`.
    """
    begins, ends = (bool((part == Role.TRAVEL).any()) for part in (role[1:2], role[-1:]))
    head = _holes_within(xy, begins) if start else np.empty((0, 2))
    first = min(1, len(xy))
    xy = np.vstack([xy[:first], head, xy[first:]])
    role = np.concatenate([role[:first], np.full(len(head), Role.LOCK, dtype=np.uint8), role[first:]])
    element = np.concatenate([element[:first], np.repeat(element[:1], len(head)), element[first:]])
    if len(head):
        role[0] = Role.LOCK
    tail = _holes_within(xy[::-1], ends)[::-1] if end else np.empty((0, 2))
    if len(tail):
        # the stitch that reaches the lock still belongs to the run
        held = np.full(len(tail) + 1, Role.LOCK, dtype=np.uint8)
        held[0] = role[-1]
        xy, role = np.vstack([xy[:-1], tail, xy[-1:]]), np.concatenate([role[:-1], held])
        element = np.concatenate([element, np.repeat(element[-1:], len(tail))])
    return xy, role, element
