"""Whether a part fits a sewing field at some angle, and at which: exact, not by trying angles.

Only the convex hull matters. Between two neighbouring critical angles (those at which a hull edge lies along an
axis) the vertices that touch the bounding box stay the same, so its width and height are both of the form
a cos t + b sin t and concave. The least excess of the two over the field, and the largest scale that fits, are
therefore found at a critical angle or where the two sides bind alike.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray, frozen_path
from stitchcraft.errors import ParameterError
from stitchcraft.machine.fields import Hoop
from stitchcraft.machine.placement import Placement
from stitchcraft.units import MACHINE_UNIT_MM, Length, length_between, to_units

_HAIR: Final = 1e-7  # mm: what sines and cosines may add to a side that fits exactly


@dataclass(frozen=True, slots=True)
class Fit:
    """A way of laying a part into a field.

    Attributes:
        placement: Turn and shift; the shift is a whole number of 0.1 mm.
        slack_mm: From the stitching, as rounded to the file's units, to the nearest edge of the field, mm.
    """

    placement: Placement
    slack_mm: float


@dataclass(frozen=True, slots=True)
class NeededField:
    """What a part that fits nothing would need.

    Attributes:
        upright: The smallest field that takes it as it lies (or, turned, a quarter turn on).
        turned: The field of least area that takes it at any angle.
        turned_deg: The angle for *turned*, degrees counter-clockwise.
        scale: The largest scale at which it would fit one of the fields at hand, at any angle; None if no
            fields were given.
        scale_hoop: The field it would then fit.
        scale_deg: The angle it would then take.
    """

    upright: Hoop
    turned: Hoop
    turned_deg: float
    scale: float | None = None
    scale_hoop: Hoop | None = None
    scale_deg: float = 0.0


def fit_in_field(points: ArrayLike, hoop: Hoop, *, margin: Length = 0.0) -> Fit | None:
    """Find how a part fits a field: as it lies if it can, else by a quarter turn, else at the roomiest angle.

    Args:
        points: (n, 2) positions, mm: needle points, or the corners of an outline.
        hoop: The field.
        margin: Kept free inside each edge of the field, a length.

    Returns:
        The fit, or None if the part fits at no angle. All of the points, placed and rounded to the file's
        units, lie within the field.

    Raises:
        ParameterError: If there are no points, or *margin* leaves no field.

    Example:
        >>> fit_in_field([(0, 0), (170, 100)], Hoop(130, 180)).placement
        Placement(angle_deg=90.0, offset_mm=(50.0, -85.0))
    """
    return _fit(_hull(points), hoop, margin)


def _fit(hull: FloatArray, hoop: Hoop, margin: Length) -> Fit | None:
    inset = _inset(margin, hoop)
    fit = _square_fit(hull, hoop, inset)
    return fit if fit is not None else _odd_fit(hull, hoop, inset)


def _square_fit(hull: FloatArray, hoop: Hoop, inset: float) -> Fit | None:
    fits = (_fit_at_angle(hull, hoop, angle, inset) for angle in (0.0, 90.0))
    return next((fit for fit in fits if fit is not None), None)


def _odd_fit(hull: FloatArray, hoop: Hoop, inset: float) -> Fit | None:
    return _fit_at_angle(hull, hoop, _roomiest(hull, hoop), inset)


def fit_at(points: ArrayLike, hoop: Hoop, placement: Placement, *, margin: Length = 0.0) -> Fit | None:
    """Test whether a placement that is already settled fits a field.

    Args:
        points: (n, 2) positions, mm.
        hoop: The field.
        placement: Where the part lies.
        margin: Kept free inside each edge of the field, a length.

    Returns:
        The fit with its slack, or None if a point, rounded to the file's units, lies outside.

    Raises:
        ParameterError: As `fit_in_field`.
    """
    units = to_units(placement.placed(_hull(points)))
    slack = _slack(units.min(axis=0), units.max(axis=0), hoop)
    return Fit(placement, slack) if slack >= _inset(margin, hoop) - _HAIR else None


def smallest_fit(points: ArrayLike, hoops: Iterable[Hoop], *, margin: Length = 0.0) -> tuple[Hoop, Fit] | None:
    """Find the smallest field, by area, that takes a part square to its sides, or else at an odd angle.

    Cloth is hooped along its grain by eye at 0 and 90 degrees, and hardly at another angle: a larger field is the
    lesser evil.

    Args:
        points: (n, 2) positions, mm.
        hoops: The fields at hand; of two with the same area the first is preferred.
        margin: Kept free inside each edge of a field, a length.

    Returns:
        The field and how the part lies in it, or None if it fits none of them.
    """
    hull = _hull(points)
    by_size = sorted(hoops, key=lambda hoop: hoop.area)
    for ways in (_square_fit, _odd_fit):
        for hoop in by_size:
            fit = ways(hull, hoop, _inset(margin, hoop))
            if fit is not None:
                return hoop, fit
    return None


def needed_field(points: ArrayLike, hoops: Sequence[Hoop] = (), *, margin: Length = 0.0) -> NeededField:
    """Say what field a part needs, and how much smaller it would have to be for the fields at hand.

    Args:
        points: (n, 2) positions, mm.
        hoops: The fields at hand.
        margin: Kept free inside each edge of a field, a length.

    Returns:
        Fields in whole mm, rounded up so that they do take the part.

    Raises:
        ParameterError: If there are no points.
    """
    hull = _hull(points)
    room = 2 * length_between(margin, name="margin", low=0)
    angle = _best_angle(hull, np.multiply, _never_alike)
    best: tuple[float, Hoop | None, float] = (0.0, None, 0.0)
    for hoop in hoops:
        inset = _inset(margin, hoop)
        width, height = hoop.width - 2 * inset, hoop.height - 2 * inset
        turn = _largest_scale_angle(hull, width, height)
        w, h = _size_at(hull, turn)
        scale = min(width / max(w, 1e-9), height / max(h, 1e-9))
        if scale > best[0] + 1e-12:
            best = (scale, hoop, turn)
    return NeededField(
        upright=_field_around(_size_at(hull, 0.0), room),
        turned=_field_around(_size_at(hull, angle), room),
        turned_deg=angle,
        scale=best[0] if best[1] else None,
        scale_hoop=best[1],
        scale_deg=best[2],
    )


def roomiest_angle(points: ArrayLike, hoop: Hoop) -> tuple[float, float]:
    """Find the angle at which a part overlaps a field least, or has the most room.

    Args:
        points: (n, 2) positions, mm.
        hoop: The field.

    Returns:
        The angle in degrees, above -90 and up to 90, and the excess in mm: the larger of the part's width less
        the field's and its height less the field's. The part fits at some angle if and only if it is not above 0.
    """
    hull = _hull(points)
    angle = _roomiest(hull, hoop)
    w, h = _size_at(hull, angle)
    return angle, max(w - hoop.width, h - hoop.height)


def _roomiest(hull: FloatArray, hoop: Hoop) -> float:
    def excess(w: FloatArray, h: FloatArray) -> FloatArray:
        return np.maximum(w - hoop.width, h - hoop.height)

    def alike(dx: FloatArray, dy: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        level = np.full(len(dx), hoop.width - hoop.height)
        return dx[:, 0] - dy[:, 1], -dx[:, 1] - dy[:, 0], level

    return _best_angle(hull, excess, alike)


def _largest_scale_angle(hull: FloatArray, width: float, height: float) -> float:
    """The angle, degrees, at which a part could be enlarged most within *width* by *height* mm."""

    def tightness(w: FloatArray, h: FloatArray) -> FloatArray:
        return np.maximum(w / width, h / height)

    def alike(dx: FloatArray, dy: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
        return (
            height * dx[:, 0] - width * dy[:, 1],
            -height * dx[:, 1] - width * dy[:, 0],
            np.zeros(len(dx)),
        )

    return _best_angle(hull, tightness, alike)


_Measure = Callable[[FloatArray, FloatArray], FloatArray]
_Alike = Callable[[FloatArray, FloatArray], tuple[FloatArray, FloatArray, FloatArray]]


def _best_angle(hull: FloatArray, measure: _Measure, alike: _Alike) -> float:
    """The angle, degrees in (-90, 90], at which *measure* of width and height is least.

    *alike* gives A, B, C of the equation A cos t + B sin t = C for the angles at which width and height bind alike,
    from the vectors dx and dy, (k, 2), between the vertices that touch left and right, bottom and top.
    """
    edges = np.roll(hull, -1, axis=0) - hull
    edges = edges[np.hypot(edges[:, 0], edges[:, 1]) > 1e-9]
    quarter = math.pi / 2
    critical = np.mod(-np.arctan2(edges[:, 1], edges[:, 0]), quarter)
    critical = np.unique(np.concatenate([[0.0], critical, critical + quarter, [quarter]]))
    low, high = critical, np.append(critical[1:], math.pi)
    dx, dy = _touching(hull, (low + high) / 2)
    a, b, c = alike(dx, dy)
    radius = np.hypot(a, b)
    meets = (radius > np.abs(c)) & (radius > 1e-12)
    turn = np.arccos(np.divide(c, radius, out=np.zeros_like(radius), where=meets))
    found = [critical]
    for sign in (1.0, -1.0):
        t = low + np.mod(np.arctan2(b, a) + sign * turn - low, 2 * math.pi)
        found.append(t[meets & (t < high)])
    angles = np.concatenate(found)
    # of equal angles the smallest turn is the one to sew by, and of two opposite ones the counter-clockwise one
    angles = np.where(angles > quarter + 1e-12, angles - math.pi, angles)
    angles = angles[np.lexsort((-angles, np.round(np.abs(angles), 9)))]
    values = measure(*_sizes(hull, angles))
    best = values <= values.min() + 1e-9
    return math.degrees(float(angles[best.argmax()]))


def _never_alike(dx: FloatArray, dy: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """The least area of a bounding box is always found with a hull edge along an axis."""
    none = np.zeros(min(len(dx), len(dy)))
    return none, none, none


def _touching(hull: FloatArray, angles: FloatArray) -> tuple[FloatArray, FloatArray]:
    """The vectors, (k, 2) each, from the vertex that touches left to the one right, and bottom to top, once turned."""
    edges = np.roll(hull, -1, axis=0) - hull
    slopes = np.mod(np.arctan2(edges[:, 1], edges[:, 0]), 2 * math.pi)
    first = int(slopes.argmin())
    # counter-clockwise, the edges' directions grow; what touches in a direction lies between the edges on either side
    rising = np.maximum.accumulate(np.roll(slopes, -first))

    def vertex(direction: FloatArray) -> FloatArray:
        at = np.searchsorted(rising, np.mod(direction + math.pi / 2, 2 * math.pi))
        return hull[(at + first) % len(hull)]

    return (
        vertex(-angles) - vertex(math.pi - angles),
        vertex(math.pi / 2 - angles) - vertex(-math.pi / 2 - angles),
    )


def _sizes(hull: FloatArray, angles: FloatArray) -> tuple[FloatArray, FloatArray]:
    cos, sin = np.cos(angles), np.sin(angles)
    dx, dy = _touching(hull, angles)
    return cos * dx[:, 0] - sin * dx[:, 1], sin * dy[:, 0] + cos * dy[:, 1]


def _size_at(hull: FloatArray, angle_deg: float) -> tuple[float, float]:
    size = np.ptp(Placement(angle_deg).placed(hull), axis=0)
    return float(size[0]), float(size[1])


def _fit_at_angle(hull: FloatArray, hoop: Hoop, angle_deg: float, inset: float) -> Fit | None:
    """Centre the part at one angle, to a whole unit, such that what is rounded stays inside."""
    turned = Placement(angle_deg).placed(hull)
    low, high = turned.min(axis=0), turned.max(axis=0)
    if (high - low - (hoop.width - 2 * inset, hoop.height - 2 * inset) > _HAIR).any():
        return None
    ends = np.stack([low, high])
    offset = []
    for axis, side in enumerate((hoop.width, hoop.height)):
        ideal = float(-(low[axis] + high[axis]) / 2 / MACHINE_UNIT_MM)
        shifts = sorted({round(ideal), math.floor(ideal), math.ceil(ideal)}, key=lambda k: (abs(k - ideal), abs(k)))
        rooms = [(_room(ends[:, axis] + shift / 10, side), shift) for shift in shifts]
        room, shift = max(rooms, key=lambda pair: pair[0])
        if room < inset - _HAIR:
            return None
        offset.append(shift / 10 + 0.0)
    placement = Placement(angle_deg, (offset[0], offset[1]))
    units = to_units(placement.placed(hull))
    slack = _slack(units.min(axis=0), units.max(axis=0), hoop)
    return Fit(placement, slack) if slack >= inset - _HAIR else None


def _room(ends: FloatArray, side: float) -> float:
    return round(side / 2 - float(np.abs(to_units(ends)).max()) / 10, 9)


def _slack(low: ArrayLike, high: ArrayLike, hoop: Hoop) -> float:
    reach = np.maximum(np.abs(np.asarray(low)), np.abs(np.asarray(high))) / 10
    return round(float(min(hoop.width / 2 - reach[0], hoop.height / 2 - reach[1])), 9)


def _field_around(size: tuple[float, float], room: float) -> Hoop:
    """The smallest field of whole mm around a size; a tenth over is not lost to rounding."""
    width, height = (max(10, math.ceil(round(side + room, 6))) for side in size)
    return Hoop.needed(width, height)


def _inset(margin: Length, hoop: Hoop) -> float:
    inset = length_between(margin, name="margin", low=0)
    if 2 * inset >= min(hoop.width, hoop.height):
        raise ParameterError("margin", margin, f"less than half of the field {hoop.name}")
    return inset


def _hull(points: ArrayLike) -> FloatArray:
    """Corners of the convex hull, counter-clockwise, (m, 2): one for a point, two for a line."""
    xy = frozen_path(points, name="points", at_least=1)
    if len(xy) <= 2:
        return xy
    hull = shapely.convex_hull(shapely.MultiPoint(xy))
    if not isinstance(hull, shapely.Polygon):
        return shapely.get_coordinates(hull)
    return shapely.get_coordinates(shapely.orient_polygons(hull))[:-1]
