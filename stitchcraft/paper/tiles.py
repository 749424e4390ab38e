"""Laying a drawing over several sheets of paper that overlap."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

OVERLAP_MM: Final = 12.0
"""Shared by two neighbouring sheets: room for the marks that join them."""


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


def tiling(bounds: tuple[float, float, float, float], width: float, height: float) -> Tiling:
    """Lay a drawing over tiles of one size, in the middle of them all.

    Args:
        bounds: Left, bottom, right, top of the drawing, mm.
        width: Of a tile, mm; more than the overlap.
        height: Of a tile, mm; more than the overlap.
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
    joins: list[tuple[str, float, float]] = []
    for tile in tiles:
        right_x, below_y = tile.left + width - OVERLAP_MM / 2, tile.bottom + OVERLAP_MM / 2
        if tile.column < columns - 1:
            joins += [("", right_x, tile.bottom + share * height) for share in (0.3, 0.7)]
        if tile.row < rows - 1:
            joins += [("", tile.left + share * width, below_y) for share in (0.3, 0.7)]
    named = tuple((_letters(number), x, y) for number, (_, x, y) in enumerate(joins))
    return Tiling(width, height, rows, columns, tiles, named)


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
