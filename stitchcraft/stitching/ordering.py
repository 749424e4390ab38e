"""Parts of a stop in order of sewing, each with the way it is sewn."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.stitching.distances import distance
from stitchcraft.stitching.elements_to_pieces import Part
from stitchcraft.stitching.order import best_order

MOST_WAYS: Final = 2500
"""The order is looked for among about this many ways in all; the ways are then chosen again among all there are."""


def in_order(
    parts: Sequence[Part], *, start: FloatArray | None, end: FloatArray | None = None, seed: int = 0
) -> list[tuple[Part, int]]:
    """Order parts so that the needle jumps least, layer by layer.

    Args:
        parts: Sorted by layer.
        start: Where the needle comes from, (2,) mm; None if that does not matter.
        end: Where it goes afterwards, (2,) mm; None if that does not matter.
        seed: Of the ordering.

    Returns:
        Each part once, with the way to sew it.
    """
    sequence: list[Part] = []
    here = start
    for layer, group in groupby(parts, key=lambda part: part.layer):
        members = list(group)
        some = [_spread(len(part.piece.entries), MOST_WAYS // len(members)) for part in members]
        entries = [part.piece.entries[ways] for part, ways in zip(members, some, strict=True)]
        exits = [part.piece.exits[ways] for part, ways in zip(members, some, strict=True)]
        goal = end if layer == parts[-1].layer else None
        order = best_order(entries, exits, start=here, end=goal, seed=seed)
        sequence.extend(members[member] for member, _ in order)
        member, way = order[-1]
        here = exits[member][way]
    entries, exits = [part.piece.entries for part in sequence], [part.piece.exits for part in sequence]
    return list(zip(sequence, best_ways(entries, exits, start=start, end=end), strict=True))


def _spread(ways: int, most: int) -> NDArray[np.intp]:
    """Some of a piece's ways, spread evenly over all of them."""
    count = max(1, min(ways, most))
    return np.arange(count) * ways // count


def best_ways(
    entries: Sequence[FloatArray], exits: Sequence[FloatArray], *, start: FloatArray | None, end: FloatArray | None
) -> list[int]:
    """Choose the way of each piece, the order being given, so that the needle jumps least: exact, by stages.

    Args:
        entries: For each piece (k, 2) points where its ways begin, mm.
        exits: For each piece (k, 2) points where they end, mm.
        start: Where the needle comes from, mm, or None.
        end: Where it goes afterwards, mm, or None.

    Returns:
        A way for each piece.
    """
    cost = np.zeros(len(entries[0])) if start is None else distance(*(entries[0] - start).T)
    came_from = []
    for before, after in zip(exits[:-1], entries[1:], strict=True):
        legs = cost[:, None] + distance(*(after[None] - before[:, None]).transpose(2, 0, 1))
        came_from.append(np.argmin(legs, axis=0))
        cost = legs.min(axis=0)
    if end is not None:
        cost = cost + distance(*(exits[-1] - end).T)
    ways = [int(np.argmin(cost))]
    for choice in reversed(came_from):
        ways.append(int(choice[ways[-1]]))
    return ways[::-1]
