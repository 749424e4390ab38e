"""In which order, and each in which way, the pieces of a stop are sewn so that the needle jumps least."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from stitchcraft.arrays import IntArray
from stitchcraft.errors import ParameterError
from stitchcraft.stitching.order_exact import Order, Task, exact, is_small, task_of
from stitchcraft.stitching.order_search import MOST_PIECES, reversible_ways, searched
from stitchcraft.stitching.order_ways import best_ways, improved, nearest_first, travel_along

MOST_STATES_IN_A_TABLE: Final = 2500
"""Above this the table of all distances between states would take more than 50 MB."""

IMPROVED_TWICE_UP_TO: Final = 60
"""With no more pieces than this, the order that begins worse is improved as well: it may end better."""


def best_order(
    entries: Sequence[ArrayLike],
    exits: Sequence[ArrayLike],
    *,
    start: ArrayLike | None = None,
    end: ArrayLike | None = None,
    seed: int = 0,
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
    return task.order(exact(task, task.costs()) if is_small(task) else _ordered(task, seed))


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


def _ordered(task: Task, seed: int) -> IntArray:
    states = nearest_first(task)
    if task.pieces <= MOST_PIECES:
        return _searched(task, states, seed)
    # half a stretch on, the second pass mends what the ends of the first one's stretches held fast
    for begin in (0, MOST_PIECES // 2):
        for low in range(begin, task.pieces - 2, MOST_PIECES):
            stretch = states[low : low + MOST_PIECES]
            start = task.exit[states[low - 1]] if low else task.start
            end = task.entry[states[low + len(stretch)]] if low + len(stretch) < task.pieces else task.end
            part, numbers = task.part(stretch, start, end)
            now = np.array([int(np.flatnonzero(numbers == state)[0]) for state in stretch], dtype=np.int64)
            states[low : low + len(stretch)] = numbers[_searched(part, now, seed)]
    return states


def _searched(task: Task, states: IntArray, seed: int) -> IntArray:
    """Improve a sequence; never to more travel than it has."""
    pairs = reversible_ways(task)
    if all(pairs):
        return searched(task, pairs, states, seed)
    both_ways = _turnable(task)
    hint = searched(both_ways, reversible_ways(both_ways), both_ways.first[task.piece[states]], seed)
    found = sorted(
        [states, best_ways(task, task.first[both_ways.piece[hint]])], key=lambda one: travel_along(task, one)
    )
    if task.states > MOST_STATES_IN_A_TABLE:
        return found[0]
    costs = task.costs()
    tried = found if task.pieces <= IMPROVED_TWICE_UP_TO else found[:1]
    return min((improved(task, costs, one) for one in tried), key=lambda one: travel_along(task, one))


def _turnable(task: Task) -> Task:
    """The same pieces as if each way could be sewn backwards: what is a good order then often is one anyway."""
    own = [np.arange(task.first[i], task.first[i + 1]) for i in range(task.pieces)]
    return replace(
        task,
        entry=np.vstack([np.vstack([task.entry[ways], task.exit[ways]]) for ways in own]),
        exit=np.vstack([np.vstack([task.exit[ways], task.entry[ways]]) for ways in own]),
        piece=np.repeat(task.piece, 2),
        first=2 * task.first,
    )
