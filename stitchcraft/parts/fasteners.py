"""Fasteners: what their targets look like and how much room they need."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely

from stitchcraft.defaults import PARTS
from stitchcraft.design import FloatArray, Line, Running
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.units import Length, length_between, mm_text


@dataclass(frozen=True, slots=True, kw_only=True)
class Snap:
    """A magnetic snap whose prongs go through slits. Lengths in (a number is mm), mm stored.

    Attributes:
        diameter: Outer diameter.
        inset: Tip of the tab to the snap's centre; None leaves it to the closure.
        prongs: Prong to prong, centre to centre.
        slit: Length of each prong's slit; None takes the usual, less on a small snap.
    """

    diameter: Length = PARTS["snap_diameter"].value
    inset: Length | None = None
    prongs: Length | None = None
    slit: Length | None = None

    def __post_init__(self) -> None:
        diameter = length_between(self.diameter, name="tab.snap.diameter", low=5, high=60)
        usual = min(PARTS["snap_prongs"].value, round(diameter * 0.6, 1))
        prongs = usual if self.prongs is None else length_between(self.prongs, name="tab.snap.prongs", low=2, high=60)
        usual_slit = min(PARTS["snap_slit"].value, round(diameter * 0.5, 1))
        slit = usual_slit if self.slit is None else length_between(self.slit, name="tab.snap.slit", low=1, high=30)
        if prongs >= diameter:
            raise ParameterError("tab.snap.prongs", self.prongs, f"less than the snap's diameter ({mm_text(diameter)})")
        if slit >= diameter:
            raise ParameterError("tab.snap.slit", self.slit, f"less than the snap's diameter ({mm_text(diameter)})")
        object.__setattr__(self, "diameter", diameter)
        object.__setattr__(self, "prongs", prongs)
        object.__setattr__(self, "slit", slit)
        if self.inset is not None:
            object.__setattr__(self, "inset", length_between(self.inset, name="tab.snap.inset", low=3, high=500))

    @property
    def diameter_mm(self) -> float:
        """Outer diameter, mm."""
        return float(self.diameter)

    @property
    def keepout_mm(self) -> float:
        """No needle nearer to the snap's centre than this once the metal is in, mm."""
        return self.diameter_mm / 2 + PARTS["snap_keepout"].value

    def target(self, centre: tuple[float, float]) -> tuple[Line, ...]:
        """The stitched target: a circle of the snap's size, then the two slits for its prongs.

        Args:
            centre: (x, y), mm.
        """
        middle = np.asarray(centre, dtype=np.float64)
        ring = Line(circle(middle, self.diameter_mm / 2), Running(length=2.0, tolerance=0.05))
        return (ring, *(Line(slit, Running(length=1.5)) for slit in self.slits(centre)))

    def slits(self, centre: tuple[float, float]) -> tuple[FloatArray, FloatArray]:
        """The two slits, each from bottom to top, (2, 2) mm."""
        middle = np.asarray(centre, dtype=np.float64)
        half_gap, half_slit = float(self.prongs or 0) / 2, float(self.slit or 0) / 2
        left, right = (
            middle + np.array([[side * half_gap, -half_slit], [side * half_gap, half_slit]]) for side in (-1, 1)
        )
        return left, right

    def keepout(self, centre: tuple[float, float]) -> shapely.Polygon:
        """The disc that later stitching stays out of."""
        return shapely.Polygon(circle(centre, self.keepout_mm))
