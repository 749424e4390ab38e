"""Curves as arrays of points, and how finely they have to be drawn.

All functions take and return float64 arrays of shape (n, 2). Angles are degrees counter-clockwise.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from numpy.typing import ArrayLike
from shapely.geometry.base import BaseGeometry

from stitchcraft.arrays import FloatArray
from stitchcraft.errors import ParameterError

FLATNESS_MM: Final = 0.01
"""How far a drawn curve may stray from the true one: a tenth of a machine unit."""


def arc(
    centre: ArrayLike, radius: float, start_deg: float, end_deg: float, *, flatness: float = FLATNESS_MM
) -> FloatArray:
    """Draw an arc from one angle to another, counter-clockwise if the end is the larger.

    Args:
        centre: (x, y), mm.
        radius: Above 0, mm.
        start_deg: First angle.
        end_deg: Last angle.
        flatness: Largest distance from the chords to the true arc, mm.

    Returns:
        (n, 2) points on the arc, both ends included.
    """
    step = 2 * math.acos(max(0.0, 1 - min(flatness / radius, 1.0))) or math.pi / 2
    count = max(2, math.ceil(abs(math.radians(end_deg - start_deg)) / step) + 1)
    angles = np.radians(np.linspace(start_deg, end_deg, count))
    return np.asarray(centre, dtype=np.float64) + radius * np.column_stack([np.cos(angles), np.sin(angles)])


def circle(centre: ArrayLike, radius: float, *, flatness: float = FLATNESS_MM) -> FloatArray:
    """Draw a circle, closed: the first point is repeated at the end."""
    return closed(arc(centre, radius, 0.0, 360.0, flatness=flatness)[:-1])


def cubic(
    start: ArrayLike, control_1: ArrayLike, control_2: ArrayLike, end: ArrayLike, *, count: int = 48
) -> FloatArray:
    """Draw a cubic Bezier curve with *count* points, equally spaced in its parameter."""
    p = np.array([start, control_1, control_2, end], dtype=np.float64)
    t = np.linspace(0.0, 1.0, count)[:, None]
    return (1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t**2 * p[2] + t**3 * p[3]


def closed(points: ArrayLike) -> FloatArray:
    """Repeat the first point at the end, unless it is there already."""
    path = np.asarray(points, dtype=np.float64)
    return path if np.allclose(path[0], path[-1], atol=1e-9) else np.vstack([path, path[:1]])


def joined(*pieces: ArrayLike) -> FloatArray:
    """Join paths end to end; points that repeat the one before are dropped."""
    path = np.vstack([np.asarray(piece, dtype=np.float64).reshape(-1, 2) for piece in pieces])
    keep = np.ones(len(path), dtype=bool)
    keep[1:] = np.hypot(*np.diff(path, axis=0).T) > 1e-9
    return path[keep]


def length_of(path: FloatArray) -> float:
    """Length of a path, mm."""
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


def distances_along(path: FloatArray) -> FloatArray:
    """Distance from the first point to each point along the path, (n,) mm."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])


def at_distances(path: FloatArray, distances: ArrayLike) -> FloatArray:
    """Points at given distances along a path, (m, 2); distances past an end give that end."""
    along = distances_along(path)
    wanted = np.asarray(distances, dtype=np.float64)
    return np.column_stack([np.interp(wanted, along, path[:, 0]), np.interp(wanted, along, path[:, 1])])


def mirrored(points: ArrayLike) -> FloatArray:
    """Swap left and right: (x, y) becomes (-x, y)."""
    return np.asarray(points, dtype=np.float64) * np.array([-1.0, 1.0])


def quad_segs(radius: float, *, flatness: float = FLATNESS_MM) -> int:
    """How many segments a quarter circle needs for shapely's buffer to stay within *flatness*.

    The sagitta of one segment is r (1 - cos(pi / 4q)), about r pi^2 / (32 q^2).

    Example:
        >>> [quad_segs(r) for r in (1, 3, 5, 10, 25)]
        [6, 10, 13, 18, 28]
    """
    return max(2, math.ceil(math.sqrt(abs(radius) * math.pi**2 / (32 * flatness))))


def grown(shape: BaseGeometry, distance: float, *, mitre: bool = False) -> BaseGeometry:
    """Offset a shape outward (or inward, if negative), curves true to `FLATNESS_MM`.

    Args:
        shape: Any geometry.
        distance: mm, outward; negative shrinks.
        mitre: Keep outward corners sharp, up to five times the distance. Ignored when shrinking, where
            mitred joins are known to lose parts.
    """
    if mitre and distance > 0:
        return shapely.buffer(shape, distance, join_style="mitre", mitre_limit=5.0)
    return shapely.buffer(shape, distance, quad_segs=quad_segs(distance))


def polygons_of(shape: BaseGeometry, *, smallest_mm2: float = 0.01) -> list[shapely.Polygon]:
    """The polygons in a geometry, slivers under *smallest_mm2* dropped, in a stable order (left, then bottom)."""
    parts = [
        part for part in shapely.get_parts(shape) if isinstance(part, shapely.Polygon) and part.area > smallest_mm2
    ]
    for collection in shapely.get_parts(shape):
        if isinstance(collection, shapely.GeometryCollection | shapely.MultiPolygon):
            parts.extend(polygons_of(collection, smallest_mm2=smallest_mm2))
    return sorted(parts, key=lambda part: tuple(round(v, 6) for v in part.bounds))


def lines_of(shape: BaseGeometry, *, shortest_mm: float = 0.0) -> list[FloatArray]:
    """The lines in a geometry as (n, 2) arrays, joined where they meet end to end, in a stable order."""
    parts = [part for part in shapely.get_parts(shape) if isinstance(part, shapely.LineString | shapely.LinearRing)]
    if len(parts) > 1:
        merged = shapely.line_merge(shapely.MultiLineString(parts))
        parts = [part for part in shapely.get_parts(merged) if isinstance(part, shapely.LineString)]
    paths = [np.asarray(part.coords, dtype=np.float64)[:, :2] for part in parts if part.length > shortest_mm]
    return sorted(paths, key=lambda path: tuple(np.round(path[0], 6)) + tuple(np.round(path[-1], 6)))


def polygon_from(path: ArrayLike, *, name: str = "outline") -> shapely.Polygon:
    """Make a polygon of a closed path, counter-clockwise.

    Raises:
        ParameterError: If the path crosses itself or encloses nothing.
    """
    polygon = shapely.Polygon(np.asarray(path, dtype=np.float64))
    if not polygon.is_valid or polygon.area <= 0:
        raise ParameterError(name, "a line that crosses itself or encloses nothing", "a simple closed outline")
    return shapely.orient_polygons(polygon)
