"""A drawing that has been read: shapes in mm, and the outlines and areas to be had from them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.errors import ArtworkError
from stitchcraft.geometry.curves import polygons_of

_MOST_CROSSINGS: Final = 20_000
_MOST_WORK: Final = 300_000_000
_LEVEL: Final = 0.02


@dataclass(frozen=True, slots=True, eq=False)
class Shape:
    """One drawn element: its outline as lines, and how it is painted.

    Attributes:
        label: Its id, or its kind and number such as ``path#3``.
        subpaths: (n, 2) points in mm each, x right, y up; a closed one ends where it starts.
        closed: For each subpath, whether the drawing closes it.
        fill: ``"#rrggbb"``, or None where nothing is filled.
        fill_rule: Which parts of a self-crossing outline are inside.
        stroke: ``"#rrggbb"``, or None where no line is drawn.
        stroke_width_mm: Width of the line, mm; 0 without one.
    """

    label: str
    subpaths: tuple[FloatArray, ...]
    closed: tuple[bool, ...]
    fill: str | None = None
    fill_rule: Literal["nonzero", "evenodd"] = "nonzero"
    stroke: str | None = None
    stroke_width_mm: float = 0.0


@dataclass(frozen=True, slots=True, eq=False)
class Drawing:
    """What a drawing holds that can be sewn, and a word on all that cannot.

    The origin is the top left corner of the page, and y runs up: what is drawn on the page has negative y.

    Attributes:
        name: What messages call it.
        shapes: In the order of drawing, at least one.
        notes: One sentence for each kind of thing that is left out or changed; empty if there is none.
        page: Width and height of the page, mm.
    """

    name: str
    shapes: tuple[Shape, ...]
    notes: tuple[str, ...] = ()
    page: tuple[float, float] = (0.0, 0.0)

    @property
    def bounds(self) -> tuple[float, float, float, float]:
        """Smallest and largest x and y of the outlines, line widths left aside: (left, bottom, right, top), mm."""
        points = np.vstack([path for shape in self.shapes for path in shape.subpaths])
        (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
        return (float(left), float(bottom), float(right), float(top))

    def __repr__(self) -> str:
        left, bottom, right, top = self.bounds
        size = f"{right - left:.1f} x {top - bottom:.1f} mm"
        return f"<Drawing {self.name!r}: {len(self.shapes)} shapes, {size}, {len(self.notes)} notes>"


def polygons_of_shape(shape: Shape) -> shapely.MultiPolygon:
    """The area that a shape encloses by its fill rule, whatever its paint.

    Open subpaths are closed by a straight line, as SVG fills them. The outlines are cut at every crossing and
    each face is kept or dropped by how often they wind round it, so the result is valid and exact however they
    cross; slivers under 0.01 mm2 are dropped. It is empty if nothing is enclosed.

    Raises:
        ArtworkError: If the outline crosses itself so often that the area could not be worked out in a moment.
    """
    rings = [np.vstack([path, path[:1]]) for path in shape.subpaths if len(path) > 2]
    if not rings:
        return shapely.MultiPolygon()
    edges = np.concatenate([np.stack([ring[:-1], ring[1:]], axis=1) for ring in rings])
    if _crossings_about(edges) > _MOST_CROSSINGS:
        raise _scribble(shape)
    faces = shapely.get_parts(shapely.polygonize([shapely.unary_union([shapely.LineString(ring) for ring in rings])]))
    if len(faces) * len(edges) > _MOST_WORK:
        raise _scribble(shape)
    turns, crossings = _windings(edges, shapely.get_coordinates(shapely.point_on_surface(faces)))
    inside = faces[crossings % 2 == 1] if shape.fill_rule == "evenodd" else faces[turns != 0]
    return shapely.MultiPolygon(polygons_of(shapely.unary_union(inside)))


def _windings(edges: FloatArray, points: FloatArray) -> tuple[NDArray[np.int64], NDArray[np.int64]]:
    """How often edges, (n, 2, 2), wind round each point, and how many of them a ray from it to the right crosses."""
    (x, y), (end_x, end_y) = edges[:, 0].T, edges[:, 1].T
    turns = np.zeros(len(points), dtype=np.int64)
    crossings = turns.copy()
    for index, (at_x, at_y) in enumerate(points):
        spanning = np.flatnonzero((y > at_y) != (end_y > at_y))
        x0, y0, x1, y1 = x[spanning], y[spanning], end_x[spanning], end_y[spanning]
        to_the_left = (x1 - x0) * (at_y - y0) - (at_x - x0) * (y1 - y0)
        up, down = (y1 > y0) & (to_the_left > 0), (y1 < y0) & (to_the_left < 0)
        turns[index] = np.count_nonzero(up) - np.count_nonzero(down)
        crossings[index] = np.count_nonzero(up) + np.count_nonzero(down)
    return turns, crossings


def _crossings_about(ends: FloatArray) -> float:
    """Estimate the number of crossings from every k-th edge: finding them all could take time without bound."""
    edges = shapely.get_parts(shapely.multilinestrings(ends))
    some = edges[:: max(1, len(edges) // 100)]
    met = len(shapely.STRtree(edges).query(some, predicate="intersects")[0]) - 3 * len(some)  # itself, two neighbours
    return met * len(edges) / len(some) / 2


def _scribble(shape: Shape) -> ArtworkError:
    return ArtworkError(
        f"{shape.label}: its outline crosses itself more than the {_MOST_CROSSINGS} times allowed; simplify it"
    )


def first_outline(drawing: Drawing) -> FloatArray:
    """The first closed line of a drawing, counter-clockwise, (n, 2) mm, its first point repeated at the end.

    Raises:
        ArtworkError: If there is none, or it crosses itself.
    """
    for shape, path in _paths(drawing, closed=True):
        polygon = shapely.Polygon(path) if len(path) > 3 else shapely.Polygon()
        if not polygon.is_valid or polygon.area <= 0:
            raise ArtworkError(
                f"{drawing.name}: {shape.label}: an outline needs to enclose something and not cross itself"
            )
        return np.asarray(shapely.orient_polygons(polygon).exterior.coords, dtype=np.float64)
    raise ArtworkError(f"{drawing.name}: holds no closed line; close the path")


def first_open_path(drawing: Drawing) -> FloatArray:
    """The first line of a drawing that is not closed, (n, 2) mm.

    Raises:
        ArtworkError: If there is none, or it crosses itself.
    """
    for shape, path in _paths(drawing, closed=False):
        if not shapely.LineString(path).is_simple:
            raise ArtworkError(f"{drawing.name}: {shape.label}: the line needs not to cross itself")
        return path
    raise ArtworkError(f"{drawing.name}: holds no open line; cut the path open")


def _paths(drawing: Drawing, *, closed: bool) -> Iterator[tuple[Shape, FloatArray]]:
    for shape in drawing.shapes:
        for path, is_closed in zip(shape.subpaths, shape.closed, strict=True):
            meets = is_closed or bool(np.allclose(path[0], path[-1], atol=1e-6))
            if meets == closed:
                yield shape, path


def tip_path(drawing: Drawing) -> FloatArray:
    """The lower contour of a tab, from its left shoulder by way of the tip to its right shoulder.

    The drawing holds one line, pointing down the page:

    * an open path from one shoulder to the other, in either direction: the shoulders are its ends; or
    * a closed outline: the shoulders are its leftmost and its rightmost point, and of several equally far
      out (upright sides) the topmost; the contour that runs below them is taken.

    The contour is turned until the shoulders are level (they may differ by 2 % of the width), and scaled so that
    they lie 1 apart: the first point is (-0.5, 0), the last is (0.5, 0), and the tip has negative y in the same
    scale. Upright sides at both ends belong to the tab, not to its tip, and are taken off as far as both have
    them. An open path may bulge out past its shoulders, or rise above them, on its way.

    Returns:
        (n, 2) points, share of the width between the shoulders.

    Raises:
        ArtworkError: If the drawing holds more than one line, or the line crosses itself, or the shoulders are
            not level, or it does not point down.
    """
    count = sum(len(shape.subpaths) for shape in drawing.shapes)
    if count > 1:
        raise ArtworkError(f"{drawing.name}: holds {count} lines; a tip is one line from shoulder to shoulder")
    is_open = next(_paths(drawing, closed=False), None) is not None
    path = first_open_path(drawing) if is_open else _lower_contour(first_outline(drawing))
    path = path if path[0, 0] <= path[-1, 0] else path[::-1]
    chord = path[-1] - path[0]
    width = float(np.hypot(*chord))
    if width < 1e-3 or abs(chord[1]) > _LEVEL * width:
        raise ArtworkError(f"{drawing.name}: the shoulders of a tip need to be level, within {_LEVEL:.0%} of its width")
    cos, sin = chord / width
    tip = (path - (path[0] + path[-1]) / 2) @ np.array([[cos, -sin], [sin, cos]]) / width
    tip[0], tip[-1] = (-0.5, 0.0), (0.5, 0.0)
    tip = _without_sides(tip)
    if tip[:, 1].min() > -_LEVEL or tip[:, 1].max() > -tip[:, 1].min():
        raise ArtworkError(f"{drawing.name}: a tip needs to point down the page, by {_LEVEL:.0%} of its width or more")
    return tip


def _lower_contour(ring: FloatArray) -> FloatArray:
    """The part of a counter-clockwise outline from its top leftmost point, below, to its top rightmost."""
    points = ring[:-1]
    width = np.ptp(points[:, 0])
    left = np.flatnonzero(points[:, 0] <= points[:, 0].min() + 1e-6 * width)
    right = np.flatnonzero(points[:, 0] >= points[:, 0].max() - 1e-6 * width)
    start = left[np.argmax(points[left, 1])]
    points = np.roll(points, -int(start), axis=0)
    end = (right[np.argmax(ring[right, 1])] - start) % len(points)
    return points[: end + 1]


def _without_sides(tip: FloatArray) -> FloatArray:
    """Take upright sides off both ends of a contour, as far down as both run."""
    upright = np.abs(np.abs(tip[:, 0]) - 0.5) < 1e-6
    falling = np.diff(tip[:, 1])
    first, last = 0, len(tip) - 1
    while first < last and upright[first + 1] and tip[first + 1, 0] < 0 and falling[first] < 0:
        first += 1
    while last > first and upright[last - 1] and tip[last - 1, 0] > 0 and falling[last - 1] > 0:
        last -= 1
    level = max(tip[first, 1], tip[last, 1])
    if level >= 0:
        return tip
    middle = tip[first : last + 1]
    ends = np.array([[-0.5, level]]), np.array([[0.5, level]])
    keep_left = middle if middle[0, 1] >= level - 1e-9 else np.vstack([ends[0], middle])
    both = keep_left if middle[-1, 1] >= level - 1e-9 else np.vstack([keep_left, ends[1]])
    shifted = both - np.array([0.0, level])
    shifted[0], shifted[-1] = (-0.5, 0.0), (0.5, 0.0)
    return shifted


def profile_path(drawing: Drawing) -> FloatArray:
    """The free edge of a left corner accent, from the side seam down to the bottom seam.

    The drawing shows the accent as it lies in the lower left corner of a panel. It holds one line:

    * an open path from the side seam, upper left, to the bottom seam, lower right, in either direction; or
    * a closed outline of the accent, whose seams are its left and its bottom side: the rest of it is the edge.

    Returns:
        (n, 2) points in shares of width and height: the first is (0, 1), the last is (1, 0).

    Raises:
        ArtworkError: If the drawing holds more than one line, the line crosses itself, or its ends do not lie
            one upper left and one lower right.
    """
    count = sum(len(shape.subpaths) for shape in drawing.shapes)
    if count > 1:
        raise ArtworkError(f"{drawing.name}: holds {count} lines; a profile is one line from seam to seam")
    is_open = next(_paths(drawing, closed=False), None) is not None
    path = first_open_path(drawing) if is_open else _upper_contour(first_outline(drawing))
    path = path if path[0, 0] <= path[-1, 0] else path[::-1]
    width, height = path[-1, 0] - path[0, 0], path[0, 1] - path[-1, 1]
    if min(width, height) < 1e-3:
        raise ArtworkError(f"{drawing.name}: a profile needs to run from the upper left to the lower right")
    shares = (path - [path[0, 0], path[-1, 1]]) / [width, height]
    shares[0], shares[-1] = (0.0, 1.0), (1.0, 0.0)
    return shares


def _upper_contour(ring: FloatArray) -> FloatArray:
    """The part of a counter-clockwise outline from the right end of its bottom side to the top of its left side."""
    points = ring[:-1]
    size = np.ptp(points, axis=0)
    left = np.flatnonzero(points[:, 0] <= points[:, 0].min() + 1e-6 * size[0])
    bottom = np.flatnonzero(points[:, 1] <= points[:, 1].min() + 1e-6 * size[1])
    start = int(bottom[np.argmax(points[bottom, 0])])
    end = int(left[np.argmax(points[left, 1])])
    return np.roll(points, -start, axis=0)[: (end - start) % len(points) + 1]
