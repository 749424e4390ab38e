"""Satin: close zigzag between two rails."""

from __future__ import annotations

from typing import Final

import shapely

from stitchcraft.defaults import PLANNING, DirectedPull
from stitchcraft.design import FloatArray
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import polygons_of
from stitchcraft.geometry.strokes import columns_of
from stitchcraft.stitching.columns import Rails, paired
from stitchcraft.stitching.pieces import Piece
from stitchcraft.stitching.satin_column import CLOSED_STARTS, NARROWEST_MM, column_piece
from stitchcraft.stitching.satin_settings import SatinSettings

WIDEST_MM: Final = PLANNING["satin_widest"].value
"""Widest area that looks well in satin, mm."""

__all__ = ["CLOSED_STARTS", "NARROWEST_MM", "satin_area_pieces", "satin_piece", "satin_suits"]


def satin_piece(
    rail_a: FloatArray,
    rail_b: FloatArray,
    *,
    pitch: float,
    split: float,
    compensation: float,
    compensation_share: float,
    underlay: bool,
    underlay_length: float,
    underlay_inset: float,
    zigzag_pitch: float,
    centre_below: float,
    zigzag_from: float,
    needle_gap: float,
    directions: tuple[DirectedPull, ...] = (),
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
        pitch: Needle point to needle point on the same side, mm: there and back, twice the step.
        split: Lines longer than this get staggered penetrations, mm.
        compensation: Widening at each end of a line, mm.
        compensation_share: Further widening at each end, as a share of the width.
        underlay: Whether stitches go under it; which ones follows from the column's middle width.
        underlay_length: Stitch length of the runs under it, mm.
        underlay_inset: How far edge run and zigzag lie inside the edge, mm.
        zigzag_pitch: Pitch of the zigzag under it, mm.
        centre_below: Narrower columns take a centre run only, mm.
        zigzag_from: Columns at least this wide take a zigzag over the edge run, mm.
        needle_gap: No two needle points of the top nearer than this, mm (nor than the pitch, if that is less).
        directions: Widening by the direction of each line, in place of *compensation* and *compensation_share*.
        closed: Whether the column closes on itself; None looks whether both rails end where they start.

    Returns:
        A piece. An open column can be sewn from either end to the other, and, where its underlay allows, from
        either end back to the same; a closed one begins at one of up to `CLOSED_STARTS` places.

    Raises:
        ParameterError: If a rail is no line of finite points, neither has any length, *closed* is asked of rails
            that are open, or a number is out of range.
    """
    settings = SatinSettings(
        pitch=pitch, split=split, compensation=compensation, compensation_share=compensation_share,
        underlay=underlay, underlay_length=underlay_length, underlay_inset=underlay_inset,
        zigzag_pitch=zigzag_pitch, centre_below=centre_below, zigzag_from=zigzag_from, needle_gap=needle_gap,
        directions=directions,
    )  # fmt: skip
    return column_piece(paired(rail_a, rail_b, closed), settings)


def satin_suits(polygon: shapely.Polygon | shapely.MultiPolygon, *, widest: float = WIDEST_MM) -> bool:
    """Say whether an area is narrow enough everywhere to look well in satin rather than in a fill.

    Args:
        polygon: The area, mm.
        widest: Widest satin, mm.
    """
    return bool(shapely.buffer(polygon, -widest / 2).is_empty)


def satin_area_pieces(
    polygon: shapely.Polygon | shapely.MultiPolygon,
    *,
    pitch: float,
    split: float,
    compensation: float,
    compensation_share: float,
    underlay: bool,
    underlay_length: float,
    underlay_inset: float,
    zigzag_pitch: float,
    centre_below: float,
    zigzag_from: float,
    needle_gap: float,
    directions: tuple[DirectedPull, ...] = (),
) -> list[Piece]:
    """Sew an area as satin columns along its medial axis, as for a leaf, a petal or a letter.

    Each spine of the outline becomes a column, with lines square to it. A compact shape without a spine worth the
    name becomes a single column along its longer side, its lines split where they are long; `satin_suits` tells
    whether a fill would look better.

    Args:
        polygon: The area, holes allowed, mm.
        pitch: As in `satin_piece`, like the rest.
        split: As in `satin_piece`.
        compensation: As in `satin_piece`.
        compensation_share: As in `satin_piece`.
        underlay: As in `satin_piece`.
        underlay_length: As in `satin_piece`.
        underlay_inset: As in `satin_piece`.
        zigzag_pitch: As in `satin_piece`.
        centre_below: As in `satin_piece`.
        zigzag_from: As in `satin_piece`.
        needle_gap: As in `satin_piece`.
        directions: As in `satin_piece`.

    Returns:
        One piece for each column; none for an area that is too small to hold one.

    Raises:
        ParameterError: If the area is not valid, or a number is out of range.
    """
    settings = SatinSettings(
        pitch=pitch, split=split, compensation=compensation, compensation_share=compensation_share,
        underlay=underlay, underlay_length=underlay_length, underlay_inset=underlay_inset,
        zigzag_pitch=zigzag_pitch, centre_below=centre_below, zigzag_from=zigzag_from, needle_gap=needle_gap,
        directions=directions,
    )  # fmt: skip
    if not polygon.is_valid:
        raise ParameterError("polygon", "an outline that crosses itself", "a valid polygon")
    columns = [column for part in polygons_of(polygon) for column in columns_of(part, step=settings.pitch / 2)]
    return [column_piece(Rails(a, b, is_closed), settings, spaced=True) for a, b, is_closed in columns]
