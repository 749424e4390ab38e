"""No stitch too short to be good and none too long for a machine."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.units import MACHINE_UNIT_MM, to_units

SHORTEST_MM: Final = PLANNING["shortest_stitch"].value
"""Shortest stitch that is left, mm."""

_NOISE: Final = 1e-9

LONGEST_MM: Final = PLANNING["longest_move"].value - MACHINE_UNIT_MM
"""Longest move that is left, mm: rounding its two ends may add a machine unit."""


def far_enough(
    xy: FloatArray, *, shortest: float = SHORTEST_MM, fixed: NDArray[np.bool_] | None = None
) -> NDArray[np.intp]:
    """Choose the needle points to keep so that no stitch is shorter than *shortest*, as drawn and as rounded.

    A point too near to the one before it is left out; a fixed point pushes the free one before it out instead. The
    first point stays, and so does the last, unless the whole run is too short. Nothing is moved.

    Args:
        xy: (n, 2) needle points, mm.
        shortest: Shortest stitch to leave, mm.
        fixed: Boolean (n,): the points that matter more than their neighbours.

    Returns:
        Indices of the points to keep, rising; a single index if the run is too short to be sewn.
    """
    count = len(xy)
    steps = np.hypot(np.diff(xy[:, 0]), np.diff(xy[:, 1]))
    if steps.min(initial=np.inf) >= shortest + MACHINE_UNIT_MM * math.sqrt(2):
        return np.arange(count)
    rounded: FloatArray = np.asarray(to_units(xy), dtype=np.float64) * MACHINE_UNIT_MM
    steps = np.minimum(steps, np.hypot(np.diff(rounded[:, 0]), np.diff(rounded[:, 1])))
    short = np.flatnonzero(steps < shortest - _NOISE) + 1
    if not len(short):
        return np.arange(count)
    firm = np.zeros(count, dtype=bool) if fixed is None else np.array(fixed, dtype=bool)
    kept, place = [0], 1
    while place < count:
        if kept[-1] == place - 1:
            # as far as the next short stitch there is nothing to decide
            after = np.searchsorted(short, place)
            onward = int(short[after]) if after < len(short) else count
            kept.extend(range(place, onward))
            place = onward
            if place == count:
                break
        last = place == count - 1
        while len(kept) > 1 and (last or (firm[place] and not firm[kept[-1]])):
            if not _near(xy, rounded, kept[-1], place, shortest):
                break
            kept.pop()
        if not _near(xy, rounded, kept[-1], place, shortest):
            kept.append(place)
        place += 1
    return np.array(kept, dtype=np.intp)


def _near(xy: FloatArray, rounded: FloatArray, one: int, other: int, shortest: float) -> bool:
    return min(math.dist(xy[one], xy[other]), math.dist(rounded[one], rounded[other])) < shortest - _NOISE


def parts_of_moves(xy: FloatArray, *, longest: float = LONGEST_MM) -> NDArray[np.intp]:
    """Count the equal parts that each move has to be divided into, (n - 1,), all 1 where none is too long."""
    # as the crow flies, not on either axis: the part may be turned in its hoop afterwards
    reach = np.hypot(np.diff(xy[:, 0]), np.diff(xy[:, 1]))
    return np.maximum(1, np.ceil(reach / longest - _NOISE)).astype(np.intp)


def divided(xy: FloatArray, parts: NDArray[np.intp]) -> tuple[FloatArray, NDArray[np.intp]]:
    """Divide moves into equal parts.

    Args:
        xy: (n, 2) positions, mm.
        parts: (n - 1,) how many parts each move falls into.

    Returns:
        (m, 2) positions with the new ones among them, and for each of them the index of the point that its move
        leads to.
    """
    target = np.concatenate([[0], np.repeat(np.arange(1, len(xy)), parts)])
    first = np.cumsum(parts) - parts
    share = (np.arange(len(target) - 1) - np.repeat(first, parts) + 1) / np.repeat(parts, parts)
    points = xy[target].copy()
    inner = np.flatnonzero(share < 1) + 1
    begin = xy[target[inner] - 1]
    points[inner] = begin + share[inner - 1, None] * (xy[target[inner]] - begin)
    return points, target
