"""What a fill needs to know, resolved to numbers."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.defaults import PLANNING, DirectedPull, pulls_at
from stitchcraft.errors import ParameterError
from stitchcraft.units import length_between, number_between


@dataclass(frozen=True, slots=True, kw_only=True)
class FillSettings:
    """How an area is filled with rows; lengths in mm.

    Attributes:
        row_spacing: Line to line; changed by half a row over the whole height, so that rows fit in.
        length: Longest stitch along a row.
        angle: Direction of the rows, degrees counter-clockwise from x. None picks, among multiples of 5 degrees, the
            one in which the area falls into fewest sections.
        repeat: After how many rows the penetrations line up again; each row is shifted by ``length / repeat``.
        compensation: How far each row is widened at both ends.
        directions: The same by the direction of the rows, in place of *compensation*.
        shortest: No stitch is shorter, save where the shape leaves no other.
        underlay: Whether to lay underlay where the area is wide enough for it.
        underlay_length: Stitch length of underlay and travel.
        underlay_spacing: Row spacing of the underlay's rows.
        underlay_inset: How far inside the edge the edge run is sewn.
    """

    row_spacing: float
    length: float
    angle: float | None
    repeat: int = 4
    compensation: float = 0.0
    directions: tuple[DirectedPull, ...] = ()
    shortest: float = PLANNING["shortest_stitch"].value
    underlay: bool = True
    underlay_length: float = PLANNING["underlay_length"].value
    underlay_spacing: float = PLANNING["underlay_fill_spacing"].value
    underlay_inset: float = PLANNING["underlay_edge_inset"].value

    def __post_init__(self) -> None:
        for name, low in (
            ("row_spacing", 0.05), ("length", 0.5), ("shortest", 0.0), ("compensation", 0.0),
            ("underlay_length", 0.5), ("underlay_spacing", 0.2), ("underlay_inset", 0.0),
        ):  # fmt: skip
            length_between(getattr(self, name), name=name, low=low)
        if not 2 * self.shortest <= self.length:
            raise ParameterError("shortest", self.shortest, f"at most half the stitch length of {self.length:g} mm")
        number_between(self.repeat, name="repeat", low=1, high=100)
        if self.angle is not None:
            number_between(self.angle, name="angle", low=-3600, high=3600)

    def widening(self, angle: float) -> float:
        """How far rows in a direction are widened at both ends, mm."""
        return float(pulls_at(self.directions, angle)[0]) if self.directions else self.compensation
