"""The outline of a bag's panel."""

from __future__ import annotations

import numpy as np

from stitchcraft.arrays import FloatArray


def panel_outline(
    width_mm: float, height_mm: float, notch_mm: float, *, past_mm: float = 0.0, past_top_mm: float = 0.0
) -> FloatArray:
    """A panel between its seam lines, boxed corners cut away, in the panel frame.

    A raw corner's square is as large as the one between the seam lines, shifted outward with them.

    Args:
        width_mm: Side seam to side seam.
        height_mm: Top edge to bottom seam.
        notch_mm: Side of the square taken from each lower corner; 0 for a flat bag.
        past_mm: How far past the side and bottom seams it goes.
        past_top_mm: How far past the top edge.

    Returns:
        Corners from the upper right one clockwise, (n, 2) mm, not closed.
    """
    half, low = width_mm / 2 + past_mm, -height_mm - past_mm
    right = [(half, past_top_mm), (half, low + notch_mm)]
    if notch_mm:
        right += [(half - notch_mm, low + notch_mm), (half - notch_mm, low)]
    return np.array([*right, *[(-x, y) for x, y in reversed(right)]], dtype=np.float64)
