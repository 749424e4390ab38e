"""Laying a drawing over several sheets of paper that overlap."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

OVERLAP_MM: Final = 12.0
"""Shared by two neighbouring sheets: room for the marks that join them."""

_CLEAR_MM: Final = 7.0
_SHARES: Final = ((0.3, 0.36, 0.24, 0.42, 0.18, 0.47), (0.7, 0.64, 0.76, 0.58, 0.82, 0.53))


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet's part of a drawing.

    Attributes:
        row: From the top, from 0.
        column: From the left, from 0.
        left: Left edge in the drawing, mm.
        bottom: Bottom edge in the drawing, mm.
    """

    row: int
    column: int
    left: float
    bottom: float


@dataclass(frozen=True, slots=True)
class Tiling:
    """A drawing laid over sheets.

    Attributes:
        width: Of a tile, mm.
        height: Of a tile, mm.
        rows: How many.
        columns: How many.
        tiles: Row by row from the top left.
        joins: Registration marks: name, x, y; each lies in the overlap of two tiles at least.
    """

    width: float
    height: float
    rows: int
    columns: int
    tiles: tuple[Tile, ...]
    joins: tuple[tuple[str, float, float], ...]


def tiling(
    bounds: tuple[float, float, float, float],
    width: float,
    height: float,
    *,
    keep_off: BaseGeometry | None = None,
) -> Tiling:
    """Lay a drawing over tiles of one size, in the middle of them all.

    Args:
        bounds: Left, bottom, right, top of the drawing, mm.
        width: Of a tile, mm; more than the overlap.
        height: Of a tile, mm; more than the overlap.
        keep_off: What a registration mark should not be drawn over, mm.
    """
    left, bottom, right, top = bounds
    columns, rows = _count(right - left, width), _count(top - bottom, height)
    step_x, step_y = width - OVERLAP_MM, height - OVERLAP_MM
    first_x = (left + right) / 2 - (columns * step_x + OVERLAP_MM) / 2
    first_y = (bottom + top) / 2 - (rows * step_y + OVERLAP_MM) / 2
    tiles = tuple(
        Tile(row, column, first_x + column * step_x, first_y + (rows - 1 - row) * step_y)
        for row in range(rows)
        for column in range(columns)
    )
    joins: list[tuple[float, float]] = []
    for tile in tiles:
        right_x, below_y = tile.left + width - OVERLAP_MM / 2, tile.bottom + OVERLAP_MM / 2
        if tile.column < columns - 1:
            joins += [_clear([(right_x, tile.bottom + s * height) for s in shares], keep_off) for shares in _SHARES]
        if tile.row < rows - 1:
            joins += [_clear([(tile.left + s * width, below_y) for s in shares], keep_off) for shares in _SHARES]
    named = tuple((_letters(number), x, y) for number, (x, y) in enumerate(joins))
    return Tiling(width, height, rows, columns, tiles, named)


def _clear(spots: Sequence[tuple[float, float]], keep_off: BaseGeometry | None) -> tuple[float, float]:
    """The first of the spots that is clear of what to keep off, or the one that is farthest from it."""
    if keep_off is None:
        return spots[0]
    rooms = [float(shapely.distance(keep_off, shapely.Point(spot))) for spot in spots]
    clear = next((spot for spot, room in zip(spots, rooms, strict=True) if room >= _CLEAR_MM), None)
    return spots[rooms.index(max(rooms))] if clear is None else clear


def _count(length: float, tile: float) -> int:
    return max(1, math.ceil((length - OVERLAP_MM) / (tile - OVERLAP_MM) - 1e-9))


def _letters(number: int) -> str:
    """A, B, ... Z, AA, AB, ..."""
    name = ""
    number += 1
    while number:
        number, rest = divmod(number - 1, 26)
        name = chr(65 + rest) + name
    return name
