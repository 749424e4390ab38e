"""In which order the dots of a lattice hang on strings, so that one run sews many of them."""

from __future__ import annotations

import math
from itertools import pairwise
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import length_of

ALONG: Final = 1.01
"""Dots of one row hang together where they are one pitch apart, and this much for rounding."""

WIDEST: Final = 80.0
"""A string meets a dot's edge at no more than this from straight out: at 90 degrees it would run along it, degrees."""

IN_ROW: Final = 1e-3
"""Twice the angle, in degrees, by which a string in a row may differ from it."""

TURN: Final = 2.0
"""From the end of a row to the next row a string spans no more than so many pitches."""


def strings_of(rows: list[list[int]], centres: FloatArray, pitch: float, part: shapely.Polygon) -> list[list[int]]:
    """Lay strings to and fro along the rows, from the end of one to the nearer end of the next.

    Args:
        rows: The dots of each row of the lattice by number, left to right; rows without any as well.
        centres: (n, 2) centre of each dot, mm.
        pitch: Centre to nearest centre, mm.
        part: What no string may leave.

    Returns:
        The dots of each string in order; each dot once.
    """
    left = [_pieces(row, centres, pitch, part) for row in rows]
    strings: list[list[int]] = []
    for level, pieces in enumerate(left):
        while pieces:
            string = pieces.pop(0)
            for above in left[level + 1 :]:
                onward = _onward(string, above, centres, pitch, part)
                if onward is None:
                    break
                string += onward
            strings.append(string)
    return strings


def headings(centres: FloatArray, angle: float) -> list[float]:
    """Direction in which a string passes each of its dots, degrees.

    As far as can be that of the rows; it turns off as little as keeps the string from crossing the dot on its way.

    Args:
        centres: (n, 2) centres in the order of the string, two at least, mm.
        angle: Of the rows, degrees.
    """
    legs = np.degrees(np.arctan2(*np.diff(centres, axis=0).T[::-1])).tolist()
    found = [_along_row(legs[0], angle)]
    for come, leave in pairwise(legs):
        turn = _half_turn(leave - come)
        bend = math.copysign(max(0.0, abs(turn) - WIDEST), turn)
        if abs(_half_turn(2 * (come - angle))) < IN_ROW:
            found.append(come + bend)
        elif abs(_half_turn(2 * (leave - angle))) < IN_ROW:
            found.append(leave - bend)
        else:
            found.append(come + turn / 2)
    return [*found, _along_row(legs[-1], angle)]


def _along_row(leg: float, angle: float) -> float:
    """The direction of the rows that is nearer to a leg of the string."""
    return angle if abs(_half_turn(leg - angle)) <= 90.0 else angle + 180.0


def _half_turn(angle: float) -> float:
    """The same direction from -180 to 180 degrees."""
    return math.remainder(angle, 360.0)


def _pieces(row: list[int], centres: FloatArray, pitch: float, part: shapely.Polygon) -> list[list[int]]:
    """A row, parted where it leaves the area or a dot is missing."""
    pieces: list[list[int]] = []
    for dot in row:
        if pieces and _spans(pieces[-1][-1], dot, centres, ALONG * pitch, part):
            pieces[-1].append(dot)
        else:
            pieces.append([dot])
    return pieces


def _onward(
    string: list[int], pieces: list[list[int]], centres: FloatArray, pitch: float, part: shapely.Polygon
) -> list[int] | None:
    """Take out of a row the piece whose one end is nearest to the string's, in the order in which it is met."""
    ways = [
        (math.dist(centres[string[-1]], centres[piece[end]]), number, end)
        for number, piece in enumerate(pieces)
        for end in (0, -1)
        if _spans(string[-1], piece[end], centres, TURN * pitch, part)
    ]
    if not ways:
        return None
    _, number, end = min(ways)
    piece = pieces.pop(number)
    return piece if end == 0 else piece[::-1]


def _spans(one: int, other: int, centres: FloatArray, reach: float, part: shapely.Polygon) -> bool:
    way = centres[[one, other]]
    return bool(length_of(way) <= reach and part.contains(shapely.LineString(way)))
