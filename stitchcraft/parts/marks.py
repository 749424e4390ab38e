"""Marks sewn straight onto a panel: where a snap goes. A mark's origin is its own centre."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from stitchcraft.defaults import PARTS
from stitchcraft.design import Design, Line, Purpose, Running, Stop
from stitchcraft.geometry.curves import circle
from stitchcraft.parts.fasteners import Fastener, Snap
from stitchcraft.parts.threads import Palette
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class SnapMark:
    """The target of the tab's fastener, alone, for a bag whose connectors are a pair.

    Attributes:
        snap: The snap that closes the tab.
        fastener: What closes it in the snap's stead; None for the snap.
        palette: Threads.
    """

    snap: Snap = Snap()
    fastener: Fastener | None = None
    palette: Palette = Palette()

    def design(self) -> Design:
        """The mark: the fastener's target, its middle at the origin."""
        fastener = self.snap if self.fastener is None else self.fastener
        stop = Stop(
            Purpose.SNAP, self.palette.thread("mark"), fastener.target((0.0, 0.0)),
            "Hoop the front panel with its backing, right side up; the template's crosshair goes on its mark.",
        )  # fmt: skip
        return Design("snap-mark", (stop,))


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ShapingMark:
    """The mark of a shaping snap: a circle of its size with a cross. Lengths in (a number is mm), mm stored.

    Attributes:
        diameter: Diameter of the shaping snap.
        palette: Threads.
    """

    diameter: Length = PARTS["shaping_snap"].value
    palette: Palette = Palette()

    def __post_init__(self) -> None:
        object.__setattr__(self, "diameter", length_between(self.diameter, name="shaping.diameter", low=4, high=40))

    def design(self) -> Design:
        """The mark, used once for each shaping snap."""
        radius = float(self.diameter) / 2
        arm = 0.6 * radius
        short = Running(length=1.5)
        elements = (
            Line(circle((0.0, 0.0), radius), Running(length=2.0, tolerance=0.05)),
            Line(np.array([[-arm, 0.0], [arm, 0.0]]), short),
            Line(np.array([[0.0, -arm], [0.0, arm]]), short),
        )
        stop = Stop(
            Purpose.SNAP, self.palette.thread("mark"), elements,
            "Hoop the panel with its backing, right side up; the template's crosshair goes on the snap's place.",
        )  # fmt: skip
        return Design("shaping-marks", (stop,))
