"""Satin: close zigzag between two rails."""

from __future__ import annotations

from typing import Final

import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.geometry.strokes import columns_of
from stitchcraft.stitching.columns import Rails, paired
from stitchcraft.stitching.joined_columns import joined_pieces
from stitchcraft.stitching.pieces import Piece
from stitchcraft.stitching.satin_column import CLOSED_STARTS, NARROWEST_MM, column_piece
from stitchcraft.stitching.satin_settings import SatinSettings

WIDEST_MM: Final = PLANNING["satin_widest"].value
"""Widest area that looks well in satin, mm."""

__all__ = ["CLOSED_STARTS", "NARROWEST_MM", "satin_area_pieces", "satin_piece", "satin_suits"]


def satin_piece(
    rail_a: FloatArray,
    rail_b: FloatArray,
    settings: SatinSettings,
    *,
    closed: bool | None = None,
) -> Piece:
    """Sew a satin column between two rails.

    Rails with equally many points are paired point by point, others at equal shares of their lengths. Lines are
    evenly spaced on whichever side is longer at the moment; on the shorter side, needle points that would crowd
    are pulled in along their lines, or left out. Underlay ends where the top begins. A column nowhere wider than
    `NARROWEST_MM` becomes a triple line along its middle.

    Args:
        rail_a: (n, 2) one side, mm.
        rail_b: (m, 2) the other side, mm, running the same way.
        settings: How it is sewn.
        closed: Whether the column closes on itself; None looks whether both rails end where they start.

    Returns:
        A piece. An open column can be sewn from either end to the other, and, where its underlay allows, from
        either end back to the same; a closed one begins at one of up to `CLOSED_STARTS` places.

    Raises:
        ParameterError: If a rail is no line of finite points, neither has any length, or *closed* is asked of rails
            that are open.
    """
    return column_piece(paired(rail_a, rail_b, closed), settings)


def satin_suits(polygon: shapely.Polygon | shapely.MultiPolygon, *, widest: float = WIDEST_MM) -> bool:
    """Say whether an area is narrow enough everywhere to look well in satin rather than in a fill.

    Args:
        polygon: The area, mm.
        widest: Widest satin, mm.
    """
    return bool(shapely.buffer(polygon, -widest / 2).is_empty)


def satin_area_pieces(polygon: shapely.Polygon | shapely.MultiPolygon, settings: SatinSettings) -> list[Piece]:
    """Sew an area as satin columns along its medial axis, as for a leaf, a petal or a letter.

    Each spine of the outline becomes a column, with lines square to it. A compact shape without a spine worth the
    name becomes a single column along its longer side, its lines split where they are long; `satin_suits` tells
    whether a fill would look better.

    Args:
        polygon: The area, holes allowed, mm.
        settings: How they are sewn.

    Returns:
        A piece for each group of columns that touch: what leads from one to the next lies under them. None for an
        area that is too small to hold a column.

    Raises:
        ParameterError: If the area is not valid.
    """
    if not polygon.is_valid:
        raise ParameterError("polygon", "an outline that crosses itself", "a valid polygon")
    pieces: list[Piece] = []
    for part in polygons_of(polygon):
        columns = [Rails(a, b, is_closed) for a, b, is_closed in columns_of(part, step=settings.pitch / 2)]
        pieces += joined_pieces(part, columns, settings)
    return pieces
