"""Needle points that get in one another's way: each takes the first of its places that is free, many at once.

Distances are taken between places as the machine knows them, in whole units: what is kept apart here is apart in
the file.
"""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.units import MACHINE_UNIT_MM, to_units

_BITS: Final = 4
"""Units are marked in squares of 2 to this power, laid out only where there is a place."""

_NOISE: Final = 1e-9


class _Cloth:
    """Which machine units are free, over whatever area, at a few bytes for each unit near a place."""

    def __init__(self, units: NDArray[np.int32], reach: int) -> None:
        margin = (reach >> _BITS) + 1
        tile = units >> _BITS
        self._low = (tile.min(axis=0) - 2 * margin).astype(np.int32)
        wide, high = (tile.max(axis=0) - self._low + 2 * margin + 1).tolist()
        self._size = np.array([wide, high], dtype=np.int32)
        used = np.unique(self._number(tile - self._low))
        beside = np.arange(-margin, margin + 1)
        near = np.unique(used[:, None] + (beside[:, None] * wide + beside).ravel())
        # all squares without a place near them share one, the first
        self._begins = np.zeros(wide * high, dtype=np.int32)
        self._begins[near] = np.arange(1, len(near) + 1) << 2 * _BITS
        self.size = (len(near) + 1) << 2 * _BITS

    def _number(self, tile: NDArray[np.int32]) -> NDArray[np.int32]:
        number: NDArray[np.int32] = tile[..., 1] * self._size[0] + tile[..., 0]
        return number

    def reaches(self, units: NDArray[np.int32]) -> NDArray[np.bool_]:
        """Which of some units (n, 2) lie in or next to a square with a place in it."""
        tile = (units >> _BITS) - self._low
        inside = ((tile >= 0) & (tile < self._size)).all(axis=1)
        inside[inside] = self._begins[self._number(tile[inside])] > 0
        return inside

    def key(self, units: NDArray[np.int32]) -> NDArray[np.int32]:
        """Numbers of units (..., 2), all of them within reach of what is reached."""
        inside = units & ((1 << _BITS) - 1)
        key: NDArray[np.int32] = self._begins[self._number((units >> _BITS) - self._low)]
        key += inside[..., 1] << _BITS
        key += inside[..., 0]
        return key


def settled(
    places: FloatArray, usable: NDArray[np.bool_], taken: FloatArray, gap: float, *, turn: NDArray[np.intp]
) -> NDArray[np.intp]:
    """Let each point choose the first of its places that is no nearer than *gap* to any place that is taken.

    Those of an earlier turn choose first; of one turn all choose at once, and where two want places too near to each
    other, the first of them in the order given has it and the other chooses again.

    Args:
        places: (n, k, 2) mm, in order of choice.
        usable: (n, k) which of them may be chosen at all.
        taken: (m, 2) mm.
        gap: Least distance, mm; counted between places rounded to machine units.
        turn: (n,) whole numbers from 0.

    Returns:
        (n,) which place each point has chosen; -1 if none was free.
    """
    choice = np.full(len(places), -1, dtype=np.intp)
    if not len(places):
        return choice
    reach = max(0, math.ceil(gap / MACHINE_UNIT_MM - _NOISE) - 1)
    span = np.arange(-reach, reach + 1, dtype=np.int32)
    disc = np.stack(np.meshgrid(span, span), axis=-1).reshape(-1, 2)
    disc = disc[np.hypot(*disc.T) <= max(0.0, gap / MACHINE_UNIT_MM - _NOISE)]
    units, held = to_units(places), to_units(taken)
    cloth = _Cloth(units.reshape(-1, 2), reach)
    key, free = cloth.key(units), np.ones(cloth.size, dtype=bool)
    free[cloth.key(held[cloth.reaches(held)][:, None] + disc)] = False
    owner = np.empty(cloth.size, dtype=np.int32)
    order = np.argsort(turn, kind="stable")
    starts = np.searchsorted(turn[order], np.arange(int(turn.max()) + 2))
    for first_row, last_row in pairwise(starts.tolist()):
        waiting = order[first_row:last_row]
        while len(waiting):
            open_ = usable[waiting] & free[key[waiting]]
            first = open_.argmax(axis=1)
            found = open_[np.arange(len(waiting)), first]
            # the last to be written stands, so the first in the order is written last
            waiting, first = waiting[found][::-1], first[found][::-1]
            around = cloth.key(units[waiting, first][:, None] + disc)
            number = np.arange(len(waiting), dtype=np.int32)
            owner[around] = number[:, None]
            won = owner[key[waiting, first]] == number
            choice[waiting[won]] = first[won]
            free[around[won]] = False
            waiting = waiting[~won][::-1]
    return choice
