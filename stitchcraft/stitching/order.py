"""In which order, and each in which way, the pieces of a stop are sewn so that the needle jumps least."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import ArrayLike

from stitchcraft.errors import ParameterError
from stitchcraft.stitching.order_exact import Order, exact, is_small, task_of
from stitchcraft.stitching.order_ways import improved, nearest_first


def best_order(
    entries: Sequence[ArrayLike],
    exits: Sequence[ArrayLike],
    *,
    start: ArrayLike | None = None,
    end: ArrayLike | None = None,
    seed: int = 0,  # noqa: ARG001
) -> Order:
    """Find the sewing order, and the way each piece is sewn, with the least jump travel.

    Order and ways are chosen together. Few pieces are solved exactly; beyond that the answer is never worse
    than always going to what is nearest. The same arguments give the same answer on every machine.

    Args:
        entries: For each piece the points where its ways begin, (k, 2) mm, k of at least 1.
        exits: For each piece the points where the same ways end, (k, 2) mm.
        start: Where the needle comes from, (x, y) mm; None if coming costs nothing.
        end: Where it has to go afterwards, (x, y) mm; None if leaving costs nothing.
        seed: Of the random choices among many pieces.

    Returns:
        (piece, way) in sewing order; every piece once.

    Raises:
        ParameterError: If entries and exits do not match, a piece has no way, or a coordinate is not finite.

    Example:
        >>> ends = [[[0, 0], [9, 0]], [[30, 0], [11, 0]]]
        >>> best_order(ends, [way[::-1] for way in ends], start=(0, 0))
        [(0, 0), (1, 1)]
    """
    task = task_of(entries, exits, start, end)
    if task.pieces == 0:
        return []
    costs = task.costs()
    if is_small(task):
        return task.order(exact(task, costs))
    states = improved(task, costs, nearest_first(task, costs))
    return task.order(states)


def travel_of(
    order: Sequence[tuple[int, int]],
    entries: Sequence[ArrayLike],
    exits: Sequence[ArrayLike],
    start: ArrayLike | None = None,
    end: ArrayLike | None = None,
) -> float:
    """Measure the jump travel of an order, from *start* to *end* where they are given, mm.

    Raises:
        ParameterError: As `best_order`, or if the order names a piece or a way that is not there.
    """
    task = task_of(entries, exits, start, end)
    for piece, way in order:
        if not (0 <= piece < task.pieces and 0 <= way < task.first[piece + 1] - task.first[piece]):
            raise ParameterError("order", (piece, way), "made of pieces and ways that are there")
    if not order:
        return 0.0 if task.start is None or task.end is None else float(np.hypot(*(task.start - task.end)))
    states = np.array([task.first[piece] + way for piece, way in order], dtype=np.int64)
    into, out = task.entry[states], task.exit[states]
    legs = [into[1:] - out[:-1]]
    if task.start is not None:
        legs.append(into[:1] - task.start)
    if task.end is not None:
        legs.append(out[-1:] - task.end)
    return float(sum(np.hypot(*leg.T).sum() for leg in legs))
