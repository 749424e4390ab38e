"""Orders to start a search from: to and fro over a field, strip by strip.

In a regular field of dots or rings the best order often goes to and fro between two rows, which a search that
improves an order bit by bit does not come upon unless it begins there.
"""

from __future__ import annotations

from typing import Final

import numpy as np

from stitchcraft.arrays import IntArray
from stitchcraft.stitching.distances import distance
from stitchcraft.stitching.order_exact import Task
from stitchcraft.stitching.order_ways import best_ways, travel_along

ANGLES_DEG: Final = tuple(range(0, 180, 15))
WIDTHS: Final = (0.87, 1.74)
"""Widths of a strip in shares of the usual spacing: one and two rows of a field where every three make an even
triangle (rows are 0.866 of the spacing apart)."""


def strip_orders(task: Task, *, best: int) -> list[IntArray]:
    """The best few orders that go over the pieces strip by strip, each piece sewn the best way for the order.

    Args:
        task: The pieces, two or more.
        best: How many orders.

    Returns:
        That many sequences of states, the one with the least travel first; none if all pieces are at one place.
    """
    # loaded here: ordering a few pieces must not wait for it
    from scipy.spatial import KDTree

    counts = np.diff(task.first)
    middle = np.add.reduceat((task.entry + task.exit) / 2, task.first[:-1]) / counts[:, None]
    apart = KDTree(middle).query(middle, k=2)[0][:, 1]
    if not (apart > 0).any():
        return []
    spacing = float(np.median(apart[apart > 0]))
    found: list[tuple[float, int, IntArray]] = []
    for angle in np.radians(ANGLES_DEG):
        along = middle @ (np.cos(angle), np.sin(angle))
        across = middle @ (-np.sin(angle), np.cos(angle))
        for width in WIDTHS:
            for shift in (0.0, 0.5):
                # a hair's breadth, so that rows that lie on the edge of a strip fall to one side together
                strip = np.floor((across - across.min()) / (width * spacing) + shift + 1e-6)
                order = np.lexsort((np.where(strip % 2 == 0, along, -along), strip))
                # from middle to middle: the ways are chosen for the best few alone
                rough = float(distance(*np.diff(middle[order], axis=0).T).sum())
                found.append((rough, len(found), order))
    found.sort(key=lambda one: one[:2])
    chosen = [best_ways(task, task.first[order]) for _, _, order in found[: 2 * best]]
    return sorted(chosen, key=lambda states: travel_along(task, states))[:best]
