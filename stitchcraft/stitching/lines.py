"""Lines as pieces: joined where they meet, sewn from either end, or round from one of several points."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.design import DoubleRun, LineStitch, Triple
from stitchcraft.geometry.curves import at_distances, distances_along
from stitchcraft.stitching.pieces import Piece, Run, piece_of, run_of
from stitchcraft.stitching.running import THINNEST_MM, corners_of, double_run, repeated, run_points
from stitchcraft.stitching.spacing import LONGEST_MM, far_enough

MOST_STARTS: Final = 8
"""A closed line may be begun at this many points."""


def line_piece(path: FloatArray, stitch: LineStitch, *, length: float, starts: int = MOST_STARTS) -> Piece | None:
    """Make the piece that sews one line.

    An open line can be sewn from either end, a closed one round from any of several starting points: its corners if
    it has enough of them, otherwise points spread evenly. A `DoubleRun` is sewn as it is drawn.

    Args:
        path: (n, 2) positions, mm.
        stitch: How it is sewn.
        length: Longest stitch, mm.
        starts: Most starting points of a closed line.

    Returns:
        The piece, or None if the line is too short for a single stitch.

    Raises:
        ParameterError: If a number of the stitch is out of range.
    """
    # a longer stitch would be divided later, and out and back would not divide in the same places
    length = min(length, LONGEST_MM)
    if distances_along(path)[-1] < THINNEST_MM:
        return None
    closed = math.dist(path[0], path[-1]) < THINNEST_MM
    if closed and not isinstance(stitch, DoubleRun):
        return _ring_piece(path, stitch, length, starts)
    points = _spaced(path, stitch, length)
    if len(points) < 2:
        return None
    if isinstance(stitch, DoubleRun):
        return piece_of(double_run(points))
    ends = points[[0, -1]]
    return Piece(ends, ends[::-1], lambda way: _sewn(points if way == 0 else points[::-1], stitch))


def _ring_piece(path: FloatArray, stitch: LineStitch, length: float, starts: int) -> Piece | None:
    # a long ring is sure to have stitches; a short one is looked at before it is offered
    if distances_along(path)[-1] < 4 * length and len(_spaced(path, stitch, length)) < 2:
        return None
    rings = starts_of(path, most=starts)
    return Piece(rings, rings, _from(path, rings, stitch, length))


def starts_of(path: FloatArray, *, most: int = MOST_STARTS) -> FloatArray:
    """Choose points at which a closed line may be begun, the drawn one first.

    Args:
        path: (n, 2) positions, mm, the last equal to the first.
        most: How many points at most.

    Returns:
        (k, 2) points on the line, mm, k >= 1.
    """
    along = distances_along(path)
    corners = along[corners_of(path)[:-1]]
    if len(corners) < 3:
        return at_distances(path, along[-1] * np.arange(most) / most)
    return at_distances(path, corners[np.arange(0, len(corners), math.ceil(len(corners) / most))])


def begun_at(path: FloatArray, start: FloatArray) -> FloatArray:
    """Turn a closed line so that it begins, and ends, at a point on it.

    Args:
        path: (n, 2) positions, mm, the last equal to the first.
        start: (2,) the point.
    """
    step = np.diff(path, axis=0)
    squared = np.maximum((step * step).sum(axis=1), 1e-18)
    share = np.clip(((start - path[:-1]) * step).sum(axis=1) / squared, 0.0, 1.0)
    segment = int(np.argmin(np.hypot(*(path[:-1] + share[:, None] * step - start).T)))
    turned = np.vstack([start, path[segment + 1 :], path[1 : segment + 1], start])
    keep = np.ones(len(turned), dtype=bool)
    keep[1:] = np.hypot(*np.diff(turned, axis=0).T) > THINNEST_MM / 10
    keep[-1] = True
    return turned[keep]


def _from(path: FloatArray, rings: FloatArray, stitch: LineStitch, length: float) -> Callable[[int], Run]:
    return lambda way: _sewn(_spaced(begun_at(path, rings[way]), stitch, length), stitch)


def _spaced(path: FloatArray, stitch: LineStitch, length: float) -> FloatArray:
    points = run_points(path, length=length, tolerance=stitch.tolerance)
    fixed = np.zeros(len(points), dtype=bool)
    fixed[corners_of(points)] = True
    return points[far_enough(points, fixed=fixed)]


def _sewn(points: FloatArray, stitch: LineStitch) -> Run:
    return run_of(repeated(points, passes=stitch.passes) if isinstance(stitch, Triple) else points)
