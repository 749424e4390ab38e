"""Satin: close zigzag between two rails."""

from __future__ import annotations

from stitchcraft.design import FloatArray
from stitchcraft.stitching.columns import paired
from stitchcraft.stitching.pieces import Piece
from stitchcraft.stitching.satin_column import CLOSED_STARTS, NARROWEST_MM, column_piece
from stitchcraft.stitching.satin_settings import SatinSettings

__all__ = ["CLOSED_STARTS", "NARROWEST_MM", "satin_piece"]


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
    )  # fmt: skip
    return column_piece(paired(rail_a, rail_b, closed), settings)
