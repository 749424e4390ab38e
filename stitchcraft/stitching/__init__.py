"""From a design to stitches: running, triple, satin, fill, locks, travel, order; and a cloth's pull from a swatch."""

from stitchcraft.stitching.calibration import Calibration, Measured, fit_profile
from stitchcraft.stitching.planner import plan

__all__ = ["Calibration", "Measured", "fit_profile", "plan"]
