"""The medial axis of a polygon, read off the Voronoi diagram of points along its outline.

Those edges of the diagram that lie inside form a connected graph, with a twig to every corner.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.errors import ParameterError

NEAREST: Final = 0.6
"""The axis stops so near to the outline, in sample spacings."""


def medial_axis(polygon: shapely.Polygon, *, spacing: float) -> tuple[FloatArray, FloatArray, NDArray[np.intp]]:
    """Find the medial axis of a polygon, twigs and all.

    With samples h apart, spine points of a capsule with radius 5 lie within 0.008 mm of the true ones at h = 1 and
    within 0.0004 mm at h = 0.25.

    Args:
        polygon: A valid polygon, holes allowed, mm.
        spacing: Distance between samples of the outline, mm.

    Returns:
        Points (n, 2), their distances to the outline (n,), and the edges (m, 2) as pairs of indices.

    Raises:
        ParameterError: If the polygon is empty or not valid, or the spacing not above 0.
    """
    # scipy takes a tenth of a second to import, and few designs hold an outline to be sewn in columns
    from scipy.spatial import QhullError, Voronoi, cKDTree

    if polygon.is_empty or not polygon.is_valid or polygon.area <= 0:
        raise ParameterError("polygon", "an outline that crosses itself or encloses nothing", "a valid polygon")
    if not spacing > 0:
        raise ParameterError("spacing", spacing, "a length above 0 mm")
    centre = np.asarray(polygon.bounds[:2])
    samples = np.unique(np.round(np.vstack([_sampled(ring, spacing) for ring in _rings(polygon)]) - centre, 9), axis=0)
    nothing = np.empty((0, 2)), np.empty(0), np.empty((0, 2), dtype=np.intp)
    if len(samples) < 4:
        return nothing
    try:
        diagram = Voronoi(samples)
    except QhullError:
        return nothing
    radius = np.asarray(cKDTree(samples).query(diagram.vertices)[0], dtype=np.float64)
    # centres nearer to the outline than its samples to one another tell of the sampling, not of the shape
    inside = shapely.contains_xy(polygon, *(diagram.vertices + centre).T) & (radius > NEAREST * spacing)
    edges = np.asarray(diagram.ridge_vertices)
    edges = edges[(edges >= 0).all(axis=1)]
    edges = edges[inside[edges].all(axis=1) & (edges[:, 0] != edges[:, 1])]
    if not len(edges):
        return nothing
    used, numbers = np.unique(edges, return_inverse=True)
    return diagram.vertices[used] + centre, radius[used], numbers.reshape(-1, 2)


def _rings(polygon: shapely.Polygon) -> list[FloatArray]:
    return [np.asarray(ring.coords, dtype=np.float64)[:, :2] for ring in (polygon.exterior, *polygon.interiors)]


def _sampled(ring: FloatArray, spacing: float) -> FloatArray:
    """Points along a ring, evenly spaced, and its corners."""
    side = np.diff(ring, axis=0)
    moving = np.hypot(*side.T) > 1e-9
    ring, side = np.vstack([ring[:-1][moving], ring[:1]]), side[moving]
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*side.T))])
    count = max(8, math.ceil(along[-1] / spacing))
    even = np.arange(count) * along[-1] / count
    before = np.roll(side, 1, axis=0)
    turn = np.arctan2(before[:, 0] * side[:, 1] - before[:, 1] * side[:, 0], (before * side).sum(axis=1))
    corner = along[:-1][np.abs(turn) > math.radians(15)]
    place = np.union1d(even, corner)
    return np.column_stack([np.interp(place, along, ring[:, 0]), np.interp(place, along, ring[:, 1])])
