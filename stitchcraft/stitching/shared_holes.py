"""Where lines cross or touch, one hole in place of two that all but touch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.geometry.nearness import near_pairs
from stitchcraft.stitching.running import corners_of
from stitchcraft.stitching.spacing import far_enough
from stitchcraft.stitching.strands import Strand

SHARE_MM: Final = PLANNING["shared_hole"].value
"""Holes nearer than this become one; no hole moves farther, mm."""

_NOISE: Final = 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class _Holes:
    """The holes of some strands, each once, in order of sewing.

    Attributes:
        xy: (n, 2) positions, mm; changed as holes are shared.
        firm: (n,) holes that stay where they are: ends and corners.
        first: (s + 1,) where the holes of each strand begin.
        index: For each strand, which of its own holes each of its needle points uses.
    """

    xy: FloatArray
    firm: NDArray[np.bool_]
    first: NDArray[np.intp]
    index: list[NDArray[np.intp]]


def with_shared_holes(strands: Sequence[Strand]) -> list[Strand]:
    """Let lines that come near one another share holes.

    Two holes that are nearer than `SHARE_MM` to each other, but not the same, become one: the later moves into the
    earlier, or the earlier into the later if that is an end or a corner. Ends and corners never move, and no hole
    moves where it would make a stitch too short. All passes of a repeated stitch move together.

    Args:
        strands: Of one stop, made of lines, without locks.

    Returns:
        The strands, in the same order and with as many needle points.
    """
    if not strands:
        return []
    holes = _holes_of(strands)
    held = holes.firm.copy()
    strand_of = np.repeat(np.arange(len(strands)), np.diff(holes.first))
    for one, other in near_pairs(holes.xy, SHARE_MM).tolist():
        if math.dist(holes.xy[one], holes.xy[other]) < _NOISE:
            continue
        for mover, target in ((other, one), (one, other)):
            if not held[mover] and _may_move(holes, mover, target, int(strand_of[mover])):
                holes.xy[mover] = holes.xy[target]
                held[[mover, target]] = True
                break
    return [
        replace(strand, xy=holes.xy[begin:end][index])
        for strand, begin, end, index in zip(strands, holes.first[:-1], holes.first[1:], holes.index, strict=True)
    ]


def _holes_of(strands: Sequence[Strand]) -> _Holes:
    xy, firm, index = [], [], []
    for strand in strands:
        first, use = _once_each(strand.xy) if strand.exact else (slice(None), np.arange(len(strand.xy)))
        base = strand.xy[first]
        fixed = np.zeros(len(base), dtype=bool)
        fixed[corners_of(base)] = True
        fixed[use[-1]] = True
        xy.append(base)
        firm.append(fixed)
        index.append(use)
    counts = [len(base) for base in xy]
    return _Holes(np.vstack(xy), np.concatenate(firm), np.concatenate([[0], np.cumsum(counts)]), index)


def _once_each(xy: FloatArray) -> tuple[NDArray[np.intp], NDArray[np.intp]]:
    """The needle points that make a hole, in order of sewing, and for every needle point which hole that is."""
    spots = np.ascontiguousarray(xy).view(np.complex128).ravel()
    _, first, use = np.unique(spots, return_index=True, return_inverse=True)
    order = np.argsort(first)
    rank = np.empty_like(order)
    rank[order] = np.arange(len(order))
    return first[order], rank[use]


def _may_move(holes: _Holes, mover: int, target: int, strand: int) -> bool:
    """Whether the stitches next to a hole stay long enough if it moves into another, and the move is small."""
    spot = holes.xy[target]
    if math.dist(holes.xy[mover], spot) >= SHARE_MM:
        return False
    begin, end = int(holes.first[strand]), int(holes.first[strand + 1])
    nearby = [place for place in (mover - 1, mover + 1) if begin <= place < end]
    return all(len(far_enough(np.vstack([holes.xy[place], spot]))) == 2 for place in nearby)
