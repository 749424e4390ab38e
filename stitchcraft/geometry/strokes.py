"""Lines across the strokes of an outline: what turns a drawn leaf or letter into columns."""

from __future__ import annotations

import math
from typing import Final, TypeAlias

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import at_distances, closed, distances_along, polygons_of
from stitchcraft.geometry.junctions import between_own_edges, hidden_under, out_of_joined, own_share, straightened
from stitchcraft.geometry.spines import End, Stroke, strokes_of

COMPACT: Final = 3.0
"""A shape whose spines are together shorter than so many times its largest radius has no length of its own."""

ALONE: Final = 2.0
"""For a single straight spine, this is enough: that of a drop."""

LOOSE_END: Final = 0.7
"""In a round end the axis wavers; so much of it, as a share of the radius, is left out."""

REACH: Final = (1.35, 0.3)
"""How far a line may reach from the spine: this share of the radius there, and so many mm more."""

REST_MM: Final = 0.3
"""What the lines leave out is worth a column of its own if a disc of this radius fits in."""

SMOOTHING: Final = 0.5
"""A spine is averaged over this share of its radius, three times."""

REST_SHARE: Final = 0.01
"""What the lines leave out is left if all of it together is less than this share of the shape."""

FARTHEST: Final = 3.0
"""From a free end a spine is drawn out to the outline, at most so many times the radius there."""

Lines: TypeAlias = tuple[FloatArray, FloatArray, bool]


def columns_of(polygon: shapely.Polygon, *, step: float) -> list[Lines]:
    """Divide a polygon into columns of lines across it.

    The lines stand on the spines of the polygon, evenly spaced on their longer side, and end at its outline. A
    shape without length of its own (a disc, a square) becomes one column along its longer side. What the lines
    leave out is divided again, once.

    Args:
        polygon: A valid polygon, holes allowed, mm.
        step: Line to line, mm, above 0.

    Returns:
        For each column the ends of its lines, (n, 2) each, n >= 2, and whether the last line is the first again.

    Raises:
        ParameterError: If the polygon is empty or not valid.
    """
    columns = _columns(polygon, step)
    if not columns:
        return columns
    quads = [shapely.Polygon(quad) for a, b, _ in columns for quad in _quads(a, b)]
    covered = shapely.union_all([quad if quad.is_valid else quad.convex_hull for quad in quads])
    rest = shapely.difference(polygon, shapely.buffer(covered, step / 2))
    rest = shapely.buffer(shapely.buffer(rest, -REST_MM), REST_MM)
    if rest.area > REST_SHARE * polygon.area:
        for part in polygons_of(shapely.intersection(rest, polygon), smallest_mm2=4 * REST_MM**2):
            columns += _columns(part, step)
    return columns


def _columns(polygon: shapely.Polygon, step: float) -> list[Lines]:
    strokes = strokes_of(polygon)
    total = sum(float(distances_along(stroke.path)[-1]) for stroke in strokes)
    widest = max((float(stroke.radius.max()) for stroke in strokes), default=0.0)
    straight = len(strokes) == 1 and math.dist(*strokes[0].path[[0, -1]]) > max(ALONE * widest, 0.97 * total)
    if not strokes or (total < COMPACT * widest and not straight and not polygon.interiors):
        strokes = [_long_axis(polygon)]
    return [lines for stroke in strokes if (lines := _across(polygon, stroke, step)) is not None]


def _quads(a: FloatArray, b: FloatArray) -> NDArray[np.float64]:
    return np.stack([a[:-1], a[1:], b[1:], b[:-1]], axis=1)


def _long_axis(polygon: shapely.Polygon) -> Stroke:
    """A straight spine along the longer side of the smallest rectangle around a shape."""
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(polygon))[:4]
    if np.hypot(*(corners[1] - corners[0])) < np.hypot(*(corners[2] - corners[1])):
        corners = np.roll(corners, -1, axis=0)
    ends = np.array([(corners[0] + corners[3]) / 2, (corners[1] + corners[2]) / 2])
    across = float(np.hypot(*(corners[3] - corners[0])))
    return Stroke(ends, np.full(2, across))


def _across(polygon: shapely.Polygon, stroke: Stroke, step: float) -> Lines | None:
    """Lines across a polygon, square to a spine, thinned to even steps; None if there are not two."""
    spine = _spine(polygon, stroke, step)
    if spine is None:
        return None
    foot, normal, half = spine
    inside = np.array(shapely.contains_xy(polygon, *foot.T), dtype=bool)
    # the line at a flat end is the end itself
    inside[-1] &= stroke.caps[1] is None
    inside[0] &= stroke.caps[0] is None
    if inside.sum() < 2:
        return None
    foot, normal, half = foot[inside], normal[inside], half[inside]
    rings = [np.asarray(ring.coords)[:, :2] for ring in (polygon.exterior, *polygon.interiors)]
    edges = np.vstack([np.hstack([ring[:-1], ring[1:]]) for ring in rings])
    to_a, to_b = _until_edge(foot, normal, half, edges), _until_edge(foot, -normal, half, edges)
    for end in (0, 1):
        out, to_a, to_b = out_of_joined(stroke, end, foot, to_a, to_b)
        foot, normal, to_a, to_b = foot[out], normal[out], to_a[out], to_b[out]
    to_a, to_b = (between_own_edges(stroke, foot, d, t) for d, t in ((normal, to_a), (-normal, to_b)))
    for end in (0, 1):
        to_a, to_b = (own_share(stroke, end, foot, d, t) for d, t in ((normal, to_a), (-normal, to_b)))
    a, b = foot + normal * to_a[:, None], foot - normal * to_b[:, None]
    for cap, at in zip(stroke.caps[::-1], (len(foot), 0), strict=True):
        if cap is not None:
            left = (cap - cap.mean(axis=0)) @ normal[min(at, len(normal) - 1)] > 0
            a, b = np.insert(a, at, cap[left][:1], axis=0), np.insert(b, at, cap[~left][:1], axis=0)
    is_closed = stroke.closed and bool(inside.all())
    return (*_thinned(a, b, step, is_closed), is_closed)


def _spine(polygon: shapely.Polygon, stroke: Stroke, step: float) -> tuple[FloatArray, FloatArray, FloatArray] | None:
    """Points along a smoothed spine, the directions to the left of it, and how far lines may reach to either side."""
    path, radius = straightened(stroke)
    size = float(np.median(radius))
    start, stop = 0.0, float(distances_along(path)[-1])
    if not stroke.closed:
        trims = [hidden_under(stroke, size, end) for end in (0, 1)]
        start, stop = start + trims[0], stop - trims[1]
        if stop - start < step:
            return None
        path, radius = _part(path, radius, start, stop)
        path, radius = _drawn_out(polygon, path, radius, stroke.ends[1], stroke.caps[1])
        path, radius = _drawn_out(polygon, path[::-1], radius[::-1], stroke.ends[0], stroke.caps[0])
        path, radius = path[::-1], radius[::-1]
    along = distances_along(path)
    count = max(8, math.ceil(along[-1] / (step / 6)))
    # a foot on the outline itself would see it on both sides
    clear = 0.0 if stroke.closed else 1e-3
    place = np.linspace(clear, along[-1] - clear, count + 1)
    foot = at_distances(path, place)
    half = np.interp(place, along, radius) * REACH[0] + REACH[1]
    window = max(1, int(SMOOTHING * size / (along[-1] / count)))
    foot = _smoothed(foot, min(window, count // 3), stroke.closed)
    if stroke.closed:
        ring = foot[:-1]
        ahead = closed(np.roll(ring, -1, axis=0) - np.roll(ring, 1, axis=0))
    else:
        ahead = np.gradient(foot, axis=0)
    heading = np.unwrap(np.arctan2(ahead[:, 1], ahead[:, 0]))
    place = distances_along(foot)
    for cap, left in zip(stroke.caps, (place, place[-1] - place), strict=True):
        if cap is not None:
            heading, half = _turned_to_cap(heading, half, left, cap)
    return foot, np.column_stack([-np.sin(heading), np.cos(heading)]), half


def _part(path: FloatArray, radius: FloatArray, start: float, stop: float) -> tuple[FloatArray, FloatArray]:
    along = distances_along(path)
    place = np.concatenate([[start], along[(along > start) & (along < stop)], [stop]])
    return at_distances(path, place), np.interp(place, along, radius)


def _drawn_out(
    polygon: shapely.Polygon, path: FloatArray, radius: FloatArray, end: End, cap: FloatArray | None
) -> tuple[FloatArray, FloatArray]:
    """Go on from a free end of a path to its flat end, or straight on to the outline."""
    if end is not End.FREE:
        return path, radius
    if cap is not None:
        tip = cap.mean(axis=0)
    else:
        along = distances_along(path)
        loose = LOOSE_END * float(radius[-1])
        if along[-1] > 2 * loose:
            path, radius = _part(path, radius, 0.0, along[-1] - loose)
            along = distances_along(path)
        ahead = path[-1] - at_distances(path, [max(along[-1] - float(radius[-1]) - 0.3, 0.0)])[0]
        ahead = ahead / max(float(np.hypot(*ahead)), 1e-12)
        beam = shapely.LineString([path[-1], path[-1] + ahead * float(radius[-1]) * FARTHEST])
        within = [part for part in shapely.get_parts(shapely.intersection(beam, polygon)) if part.length > 1e-6]
        if not within:
            return path, radius
        tip = np.asarray(min(within, key=lambda part: part.distance(shapely.Point(path[-1]))).coords)[-1]
    return np.vstack([path, tip]), np.append(radius, radius[-1])


def _smoothed(points: FloatArray, window: int, is_closed: bool) -> FloatArray:
    """Average over a window, three times: nearly a bell curve. The ends of an open path stay."""
    if window < 2:
        return points
    kernel = np.ones(2 * (window // 2) + 1)
    kernel = np.convolve(np.convolve(kernel, kernel), kernel)
    kernel /= kernel.sum()
    pad = len(kernel) // 2
    if is_closed:
        ring = points[:-1]
        padded = ring[np.arange(-pad, len(ring) + pad) % len(ring)]
    else:
        pad = min(pad, len(points) - 1)
        kernel = kernel[len(kernel) // 2 - pad : len(kernel) // 2 + pad + 1]
        kernel /= kernel.sum()
        padded = np.vstack([2 * points[0] - points[pad:0:-1], points, 2 * points[-1] - points[-2 : -pad - 2 : -1]])
    smooth = np.column_stack([np.convolve(padded[:, k], kernel, mode="valid") for k in (0, 1)])
    return closed(smooth) if is_closed else smooth


def _turned_to_cap(
    heading: FloatArray, half: FloatArray, left: FloatArray, cap: FloatArray
) -> tuple[FloatArray, FloatArray]:
    """Turn the last lines before a flat end gradually along with it, and let them reach its corners."""
    width = float(np.hypot(*(cap[1] - cap[0])))
    at = int(np.argmin(left))
    wanted = math.atan2(cap[1][1] - cap[0][1], cap[1][0] - cap[0][0]) - math.pi / 2
    miss = (wanted - heading[at] + math.pi / 2) % math.pi - math.pi / 2
    share = np.clip(1 - left / width, 0.0, 1.0)
    share = share * share * (3 - 2 * share)
    return heading + miss * share, np.where(left < width, np.maximum(half, 0.75 * width), half)


def _until_edge(foot: FloatArray, direction: FloatArray, limit: FloatArray, edges: FloatArray) -> FloatArray:
    """How far each ray goes before it leaves the polygon, at most to its limit."""
    start, side = edges[:, :2], edges[:, 2:] - edges[:, :2]
    reach = limit.copy()
    for first in range(0, len(foot), 2048):
        rows = slice(first, first + 2048)
        d, p = direction[rows, None], foot[rows, None]
        across = d[..., 0] * side[:, 1] - d[..., 1] * side[:, 0]
        gap = start - p
        with np.errstate(divide="ignore", invalid="ignore"):
            t = (gap[..., 0] * side[:, 1] - gap[..., 1] * side[:, 0]) / across
            u = (gap[..., 0] * d[..., 1] - gap[..., 1] * d[..., 0]) / across
        t = np.where((u >= -1e-9) & (u <= 1 + 1e-9) & (t > -1e-6), np.maximum(t, 0.0), np.inf)
        reach[rows] = np.minimum(reach[rows], t.min(axis=1))
    return reach


def _thinned(a: FloatArray, b: FloatArray, step: float, is_closed: bool) -> tuple[FloatArray, FloatArray]:
    """Choose lines with equal steps on their longer side; where a line's end leaps, it counts as one step."""
    moved = np.maximum(np.hypot(*np.diff(a, axis=0).T), np.hypot(*np.diff(b, axis=0).T))
    along = np.concatenate([[0.0], np.cumsum(np.minimum(moved, step))])
    count = 2 * max(1, round(along[-1] / (2 * step))) if is_closed else max(1, round(along[-1] / step))
    index = np.interp(np.linspace(0.0, along[-1], count + 1), along, np.arange(len(along), dtype=np.float64))
    leap = np.append(moved > step, False)[np.floor(index).astype(int)]
    index = np.where(leap, np.rint(index), index)
    whole = np.arange(len(a), dtype=np.float64)
    sides = (np.column_stack([np.interp(index, whole, s[:, 0]), np.interp(index, whole, s[:, 1])]) for s in (a, b))
    first, second = sides
    if is_closed:
        first[-1], second[-1] = first[0], second[0]
    return first, second
