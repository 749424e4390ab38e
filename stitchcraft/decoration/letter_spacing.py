"""How near to one another two letters are set."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration.letter_shapes import Glyph, glyph
from stitchcraft.geometry.curves import at_distances, length_of

LOWEST: Final = -8
HIGHEST: Final = 30
"""Heights, in letter units, between which the gap is looked at, row by row."""

USUAL_GAP: Final = 8.0
"""Mean gap of two letters with upright sides, letter units: HH and nn of the plain and serif faces have 8.0 to 8.2."""

WIDEST_GAP: Final = 13.0
"""What a row counts for where one of the letters is far away or absent: a letter and a half of white."""

NEAREST: Final = 3.5
"""No two letters are moved nearer to one another than this, letter units."""

MOST: Final = 5.0
"""No pair is moved together by more than this, letter units."""


@lru_cache(maxsize=8192)
def kern(first: str, second: str, face: str) -> float:
    """How much nearer than their widths say two letters are set, in letter units, 0 or more.

    The gap between them is averaged over the heights that both reach; hollow pairs such as AV come together
    until the mean is `USUAL_GAP`, but nowhere nearer than `NEAREST`.

    Args:
        first: A letter with its marks, as `stitchcraft.decoration.letter_shapes.glyph` takes it.
        second: The letter after it.
        face: The face of both.
    """
    left, right = glyph(first, face), glyph(second, face)
    if not left.strokes or not right.strokes:
        return 0.0
    reach, start = left.width + _leftmost(_flipped(left)), _leftmost(right)
    shared = np.isfinite(_rows_of(left)) & np.isfinite(_rows_of(right))
    if not shared.any():
        return 0.0
    gaps = np.minimum(reach + start, WIDEST_GAP)
    room = _nearest(reach, start) - NEAREST
    return max(0.0, min(float(gaps[shared].mean()) - USUAL_GAP, room, MOST))


def _flipped(letter: Glyph) -> Glyph:
    return Glyph(tuple(stroke * np.array([-1.0, 1.0]) for stroke in letter.strokes), letter.width)


def _leftmost(letter: Glyph) -> FloatArray:
    """The least x in each row; infinite where the letter has nothing."""
    least = np.full(HIGHEST - LOWEST + 1, np.inf)
    for stroke in letter.strokes:
        points = at_distances(stroke, np.arange(0.0, length_of(stroke) + 0.5, 0.5))
        rows = np.clip(np.rint(points[:, 1]).astype(np.int64), LOWEST, HIGHEST) - LOWEST
        np.minimum.at(least, rows, points[:, 0])
    return least


def _rows_of(letter: Glyph) -> FloatArray:
    """0 in each row between the letter's foot and its top, infinite elsewhere."""
    heights = np.arange(LOWEST, HIGHEST + 1)
    low, high = letter.points[:, 1].min(), letter.points[:, 1].max()
    return np.where((heights >= low) & (heights <= high), 0.0, np.inf)


def _nearest(reach: FloatArray, start: FloatArray) -> float:
    """Least distance between the two letters, looked for up to four rows up and down."""
    nearest = np.inf
    for shift in range(-4, 5):
        gap = reach[max(0, shift) : len(reach) + min(0, shift)] + start[max(0, -shift) : len(start) + min(0, -shift)]
        nearest = min(nearest, float(np.hypot(np.maximum(gap, 0.0), shift).min()))
    return nearest
