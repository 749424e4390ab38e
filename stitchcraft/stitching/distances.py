"""Distances whose sums are exact, so that what is equally long is found equally long on every processor."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

_PARTS: Final = 2.0**30
"""Parts of a millimetre: sums of them up to 8 km are exact in double precision."""


def distance(x: NDArray[np.float64], y: NDArray[np.float64]) -> NDArray[np.float64]:
    """Lengths of steps, to the nearest 2^-30 mm.

    A search compares sums of distances. Two orders of the same length would differ in the last digit by the way
    that a processor rounds, and the better of the two would be chance: whole parts add up without any rounding.

    Args:
        x: Steps to the right, mm, any shape.
        y: Steps up, the same shape.

    Returns:
        Lengths in mm, the same shape.

    Example:
        >>> float(distance(np.array(3.0), np.array(4.0)))
        5.0
    """
    length: NDArray[np.float64] = np.sqrt(x * x + y * y)
    length *= _PARTS
    length = np.rint(length)
    length /= _PARTS
    return length
