"""Parallel lines clipped to a shape: all rows and all edges at once."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import ArrayLike, NDArray
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.errors import ParameterError
from stitchcraft.units import length_between, number_between


@dataclass(frozen=True, slots=True, eq=False)
class Hatching:
    """Where parallel lines run inside a shape.

    The spans lie in the row frame: the shape turned by minus *angle*, so that rows are horizontal. Spans are
    sorted by row, then from left to right; those of one row do not overlap.

    Attributes:
        row: int64 (n,) number of the line that each span lies on, counted upward from 0.
        left: float64 (n,) where each span starts along its row, mm.
        right: float64 (n,) where it ends, mm.
        base: Height of row 0 in the row frame, mm.
        spacing: Distance from one row to the next, mm.
        angle: Direction of the rows, degrees counter-clockwise from x.
    """

    row: NDArray[np.int64]
    left: FloatArray
    right: FloatArray
    base: float
    spacing: float
    angle: float

    def height(self) -> FloatArray:
        """Height of each span in the row frame, (n,) mm."""
        return np.asarray(self.base + self.row * self.spacing, dtype=np.float64)

    def segments(self) -> FloatArray:
        """The spans as they lie in the shape, (n, 2, 2) mm: left end, right end."""
        y = self.height()
        ends = np.stack([np.column_stack([self.left, y]), np.column_stack([self.right, y])], axis=1)
        return turned(ends.reshape(-1, 2), self.angle).reshape(-1, 2, 2)


def hatched(shape: BaseGeometry, *, spacing: float, angle: float = 0.0, base: float | None = None) -> Hatching:
    """Clip parallel lines to a shape by the even-odd rule.

    An edge counts on the rows at or above its lower end and below its upper end. So every vertex is counted
    once, the crossings on a row are always even in number, and edges along a row drop out by themselves: no
    tolerance is needed anywhere.

    Args:
        shape: Polygon or MultiPolygon, holes allowed, mm. Anything without area gives no spans.
        spacing: Line to line, mm, above 0.
        angle: Direction of the lines, degrees counter-clockwise from x.
        base: Height of one of the lines in the row frame, mm, which becomes row 0 or is counted from it. None
            shares the shape's height out evenly: the spacing is changed by at most half a row in all, and the
            first and last lines lie half a row inside the shape.

    Returns:
        The spans; the sum of their lengths times the spacing is the area of the shape, up to the error of the
        midpoint rule.

    Raises:
        ParameterError: If *spacing* or *angle* is out of range, or would take more than a million rows.

    Example:
        >>> lines = hatched(shapely.box(0, 0, 3, 2), spacing=1.0)
        >>> lines.segments().tolist()
        [[[0.0, 0.5], [3.0, 0.5]], [[0.0, 1.5], [3.0, 1.5]]]
    """
    spacing = length_between(spacing, name="spacing", low=0.0, above=True)
    angle = number_between(angle, name="angle", low=-3600, high=3600)
    edges = row_edges(shape, angle)
    if not len(edges):
        return _no_hatching(0.0 if base is None else base, spacing, angle)
    low, high = float(edges[:, 1::2].min()), float(edges[:, 1::2].max())
    if (high - low) / spacing > 1e6:
        raise ParameterError("spacing", spacing, "wide enough for no more than a million rows")
    if high <= low:
        return _no_hatching(low if base is None else base, spacing, angle)
    if base is None:
        spacing = (high - low) / max(1, round((high - low) / spacing))
        base = low + spacing / 2
    row, crossing = _crossings(edges, base, spacing)
    return Hatching(row[0::2], crossing[0::2], crossing[1::2], base, spacing, angle)


def row_edges(shape: BaseGeometry, angle: float) -> FloatArray:
    """All edges of a shape's rings in the row frame, (n, 4): x, y of one end, then of the other."""
    rings = shapely.get_rings(shapely.get_parts(shape))
    xy, ring = shapely.get_coordinates(rings, return_index=True)
    if not len(xy):
        return np.empty((0, 4))
    xy = turned(xy, -angle)
    inside = ring[1:] == ring[:-1]
    return np.hstack([xy[:-1], xy[1:]])[inside]


def in_row_frame(points: ArrayLike, angle: float) -> FloatArray:
    """Turn points, (n, 2), into the frame in which rows at *angle* are horizontal."""
    return turned(points, -angle)


def _crossings(edges: FloatArray, base: float, spacing: float) -> tuple[NDArray[np.int64], FloatArray]:
    x1, y1, x2, y2 = edges.T
    first = np.ceil((np.minimum(y1, y2) - base) / spacing).astype(np.int64)
    count = np.ceil((np.maximum(y1, y2) - base) / spacing).astype(np.int64) - first
    crossed = count > 0
    first, count, x1, y1, x2, y2 = (a[crossed] for a in (first, count, x1, y1, x2, y2))
    edge = np.repeat(np.arange(len(count)), count)
    row = np.arange(len(edge)) + (first - (np.cumsum(count) - count))[edge]
    x = x1[edge] + (base + row * spacing - y1[edge]) * ((x2 - x1) / (y2 - y1))[edge]
    # rounding may carry a crossing of a nearly level edge past its ends
    np.clip(x, np.minimum(x1, x2)[edge], np.maximum(x1, x2)[edge], out=x)
    order = np.lexsort((x, row))
    return row[order], x[order]


def _no_hatching(base: float, spacing: float, angle: float) -> Hatching:
    none = np.empty(0)
    return Hatching(np.empty(0, dtype=np.int64), none, none, base, spacing, angle)
