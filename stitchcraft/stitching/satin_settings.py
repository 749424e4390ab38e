"""What a satin needs to know, resolved to numbers."""

from __future__ import annotations

from dataclasses import dataclass, fields

from stitchcraft.defaults import PLANNING, DirectedPull
from stitchcraft.units import LARGEST_MM, MACHINE_UNIT_MM, number_between


@dataclass(frozen=True, slots=True, kw_only=True)
class SatinSettings:
    """How a column is sewn; lengths in mm.

    Attributes:
        pitch: Needle point to needle point on the same side: there and back, twice the step.
        split: Lines longer than this get penetrations in between.
        compensation: Widening at each end of a line, constant part.
        compensation_share: Widening at each end, as a share of the width.
        directions: Both by the direction of a line; they go before the two above.
        underlay: Whether stitches go under it.
        underlay_length: Stitch length of the runs under it.
        underlay_inset: How far the edge run and the zigzag lie inside the edge.
        zigzag_pitch: Pitch of the zigzag under it.
        centre_below: Narrower columns take a centre run only.
        zigzag_from: Columns at least this wide take a zigzag over the edge run.
        needle_gap: No two needle points of the column nearer than this, nor than its pitch if that is less.
    """

    pitch: float
    split: float
    compensation: float
    compensation_share: float
    directions: tuple[DirectedPull, ...] = ()
    underlay: bool
    underlay_length: float
    underlay_inset: float
    zigzag_pitch: float
    centre_below: float
    zigzag_from: float
    needle_gap: float

    def __post_init__(self) -> None:
        ranges = {
            "pitch": (0.1, 20), "split": (2, 12), "compensation": (-2, 5), "compensation_share": (-0.2, 0.5),
            "underlay_length": (0.5, 12), "underlay_inset": (0, 10), "zigzag_pitch": (0.2, 20),
            "centre_below": (0, LARGEST_MM), "zigzag_from": (0, LARGEST_MM), "needle_gap": (0, 2),
        }  # fmt: skip
        for field in fields(self):
            if field.name in ranges:
                low, high = ranges[field.name]
                number_between(getattr(self, field.name), name=field.name, low=low, high=high)

    @property
    def gap(self) -> float:
        """The least distance between two needle points that can be aimed at with this pitch, mm."""
        return min(self.needle_gap, 0.95 * self.pitch)

    @property
    def sewn_gap(self) -> float:
        """The least distance that is left once positions are rounded to machine units, mm.

        Along an edge with needle points 0.3 mm apart there are runs of machine units that near, whichever way it
        goes; one that is denser than that can lose a unit.
        """
        limit = PLANNING["needle_gap"].value
        return max(limit if self.gap >= limit else 0.0, self.gap - MACHINE_UNIT_MM)
