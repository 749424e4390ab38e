"""Arrays of points and numbers: their types, and what is done with any of them."""

from __future__ import annotations

import math
from typing import Any, TypeAlias

import numpy as np
from numpy.typing import ArrayLike, NDArray

from stitchcraft.errors import ParameterError
from stitchcraft.units import LARGEST_MM

FloatArray: TypeAlias = NDArray[np.float64]
IntArray: TypeAlias = NDArray[np.int64]
RowNumbers: TypeAlias = NDArray[np.int32]
"""A number for each row of a plan, as plans hold them."""


def frozen_path(points: ArrayLike, *, name: str = "path", at_least: int = 2) -> FloatArray:
    """Copy points into a read-only (n, 2) float64 array.

    Raises:
        ParameterError: If they are not *at_least* finite points within `LARGEST_MM` of the origin.
    """
    try:
        path = np.array(points, dtype=np.float64)
    except (TypeError, ValueError):
        raise ParameterError(name, points, "points (x, y) in mm") from None
    if path.ndim != 2 or path.shape[1] != 2 or len(path) < at_least:
        raise ParameterError(name, f"an array of shape {path.shape}", f"at least {at_least} points (x, y) in mm")
    if not np.isfinite(path).all() or np.abs(path).max() > LARGEST_MM:
        raise ParameterError(name, "points out of range", f"finite and within {LARGEST_MM:g} mm")
    path.setflags(write=False)
    return path


def turned(points: ArrayLike, angle_deg: float, offset: ArrayLike = (0.0, 0.0)) -> FloatArray:
    """Rotate about the origin, counter-clockwise, then shift.

    Quarter turns are exact.
    """
    quarter = round(angle_deg / 90)
    if abs(angle_deg - 90 * quarter) < 1e-12:
        cos, sin = [(1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0)][quarter % 4]
    else:
        cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    xy = np.asarray(points, dtype=np.float64)
    # column by column: numpy's product with a matrix of two columns takes several times as long
    out = np.empty_like(xy)
    out[..., 0] = xy[..., 0] * cos - xy[..., 1] * sin
    out[..., 1] = xy[..., 0] * sin + xy[..., 1] * cos
    return out + np.asarray(offset, dtype=np.float64)


def distinct(numbers: NDArray[np.integer[Any]]) -> IntArray:
    """The different numbers in an array, ascending.

    As `numpy.unique`, which loads numpy's masked arrays when it is first called: a tenth of the time that the check of
    a small file takes in all.

    Args:
        numbers: (n,) whole numbers from 0 on, none of them much larger than n.
    """
    return np.flatnonzero(np.bincount(numbers))
