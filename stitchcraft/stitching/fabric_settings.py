"""Stitch styles with every open field settled by the fabric."""

from __future__ import annotations

from dataclasses import replace

from stitchcraft.defaults import (
    PLANNING,
    STANDARD_WEIGHT,
    STANDARD_WIDTH_MM,
    DirectedPull,
    FabricProfile,
    thread_width,
)
from stitchcraft.design import DoubleRun, Fill, LineStitch, Satin, Triple
from stitchcraft.stitching.fill_settings import FillSettings
from stitchcraft.stitching.satin_settings import SatinSettings


def length_for(stitch: LineStitch, profile: FabricProfile) -> float:
    """Stitch length of a line, mm: its own, or the fabric's for that kind of stitch."""
    if stitch.length is not None:
        return stitch.length
    if isinstance(stitch, DoubleRun):
        return profile.seam_length
    return profile.triple_length if isinstance(stitch, Triple) else profile.run_length


def satin_settings(stitch: Satin, profile: FabricProfile, *, weight: float = STANDARD_WEIGHT) -> SatinSettings:
    """Settle a satin: its own values where it has them, then the fabric's, then the defaults of planning.

    Needle points keep farther apart with thread thicker than usual, of a smaller *weight* number.
    """
    return SatinSettings(
        pitch=profile.satin_pitch if stitch.pitch is None else stitch.pitch,
        split=PLANNING["satin_split"].value if stitch.split is None else stitch.split,
        compensation=profile.pull if stitch.compensation is None else stitch.compensation,
        compensation_share=profile.pull_share if stitch.compensation_share is None else stitch.compensation_share,
        directions=_directions(stitch, profile),
        underlay=stitch.underlay and profile.underlay,
        underlay_length=PLANNING["underlay_length"].value,
        underlay_inset=PLANNING["underlay_edge_inset"].value,
        zigzag_pitch=PLANNING["underlay_zigzag_pitch"].value,
        centre_below=PLANNING["underlay_centre_below"].value,
        zigzag_from=PLANNING["underlay_zigzag_from"].value,
        needle_gap=PLANNING["needle_gap"].value * max(1.0, thread_width(weight) / STANDARD_WIDTH_MM),
    )


def fill_settings(stitch: Fill, profile: FabricProfile) -> FillSettings:
    """Settle a fill: its own values where it has them, then the fabric's, then the defaults of planning."""
    return FillSettings(
        row_spacing=profile.row_spacing if stitch.row_spacing is None else stitch.row_spacing,
        length=profile.fill_length if stitch.length is None else stitch.length,
        angle=stitch.angle,
        repeat=stitch.repeat,
        compensation=profile.pull if stitch.compensation is None else stitch.compensation,
        directions=profile.directions if stitch.compensation is None else (),
        underlay=stitch.underlay and profile.underlay,
    )


def _directions(stitch: Satin, profile: FabricProfile) -> tuple[DirectedPull, ...]:
    """The fabric's pull by direction, but for what the stitch itself says."""
    own = {
        key: value
        for key, value in (("pull", stitch.compensation), ("pull_share", stitch.compensation_share))
        if value is not None
    }
    return () if len(own) == 2 else tuple(replace(one, **own) for one in profile.directions)
