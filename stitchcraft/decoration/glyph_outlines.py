"""Outlines of glyphs as polygons with holes, in whatever unit the outline is drawn in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, TypeAlias

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import closed

Point: TypeAlias = tuple[float, float]

MOST_SEGMENTS: Final = 4_000
"""Lines and curves of one glyph; letters have tens, ornate ones hundreds."""

_MOST_CHORDS: Final = 48
_SPECK: Final = 4.0
"""Faces of an outline smaller than a square of so many flatnesses come from rounding."""


class OutlinePen:
    """Takes down the contours of one glyph as the font library draws them.

    It never raises, since the library would lose the error: what cannot be used is said by `usable`.

    Attributes:
        contours: For each contour its segments, each the control points of a line, a conic or a cubic, its start
            left out but for the first.
        count: How many segments were drawn.
    """

    def __init__(self) -> None:
        self.contours: list[list[tuple[Point, ...]]] = []
        self.count = 0

    @property
    def usable(self) -> bool:
        """Whether the glyph has no more segments than a letter may have."""
        return self.count <= MOST_SEGMENTS

    def moveTo(self, point: Point) -> None:  # noqa: N802 - the protocol's names
        """Begin a contour."""
        self.contours.append([(point,)])

    def lineTo(self, point: Point) -> None:  # noqa: N802
        """Add a line."""
        self._add(point)

    def qCurveTo(self, *points: Point) -> None:  # noqa: N802
        """Add a conic."""
        self._add(*points)

    def curveTo(self, *points: Point) -> None:  # noqa: N802
        """Add a cubic."""
        self._add(*points)

    def closePath(self) -> None:  # noqa: N802
        """End a contour."""

    def endPath(self) -> None:  # noqa: N802
        """End a contour."""

    def _add(self, *points: Point) -> None:
        self.count += 1
        if self.contours and self.usable:
            self.contours[-1].append(points)


def flattened(contour: Sequence[tuple[Point, ...]], *, flatness: float) -> FloatArray:
    """Turn a contour into a closed line of chords.

    Args:
        contour: As `OutlinePen` takes it down.
        flatness: How far a chord may leave its curve.

    Returns:
        (n, 2), the last point the first.
    """
    points: list[FloatArray] = [np.array(contour[0], dtype=np.float64)]
    for segment in contour[1:]:
        knots = np.vstack([points[-1][-1:], np.array(segment, dtype=np.float64)])
        degree = len(knots) - 1
        bend = float(np.abs(np.diff(knots, n=2, axis=0)).max()) if degree > 1 else 0.0
        # Wang's bound: a curve of degree d cut into n equal parts leaves its chords by at most d(d-1)/8 bend/n^2
        chords = math.ceil(math.sqrt(degree * (degree - 1) * bend / 8 / flatness)) if math.isfinite(bend) else 1
        t = np.linspace(0.0, 1.0, min(_MOST_CHORDS, max(1, chords)) + 1)[1:, None]
        binomial = [math.comb(degree, k) for k in range(degree + 1)]
        points.append(sum(c * (1 - t) ** (degree - k) * t**k * knots[k] for k, c in enumerate(binomial)))
    return closed(np.vstack(points))


def filled_polygons(rings: Sequence[FloatArray], *, flatness: float) -> list[shapely.Polygon]:
    """What contours enclose by the non-zero winding rule, as fonts are filled.

    Args:
        rings: Closed lines, (n, 2) each; they may cross each other and themselves.
        flatness: Faces smaller than a few of these across are left out.

    Returns:
        Valid polygons that do not overlap, holes included, from left to right.
    """
    rings = [ring for ring in rings if len(ring) > 3 and np.isfinite(ring).all() and np.ptp(ring, axis=0).min() > 0]
    if not rings:
        return []
    least = (_SPECK * flatness) ** 2
    noded = shapely.union_all([shapely.LineString(ring) for ring in rings])
    faces = [face for face in shapely.get_parts(shapely.polygonize([noded])) if face.area > least]
    inside = [face for face in faces if _winding(shapely.get_coordinates(face.point_on_surface())[0], rings)]
    whole = shapely.union_all(inside)
    return sorted(
        (part for part in shapely.get_parts(whole) if isinstance(part, shapely.Polygon) and part.area > least),
        key=lambda part: part.bounds,
    )


def _winding(point: FloatArray, rings: Sequence[FloatArray]) -> int:
    """How often contours go round a point, counter-clockwise."""
    turns = 0
    for ring in rings:
        start, end = ring[:-1] - point, ring[1:] - point
        cross = start[:, 0] * end[:, 1] - start[:, 1] * end[:, 0]
        up = (start[:, 1] <= 0) & (end[:, 1] > 0) & (cross > 0)
        down = (start[:, 1] > 0) & (end[:, 1] <= 0) & (cross < 0)
        turns += int(up.sum()) - int(down.sum())
    return turns
