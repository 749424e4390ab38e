"""From a design to stitches: running, triple, satin, fill, locks, travel, order."""

from stitchcraft.stitching.planner import plan

__all__ = ["plan"]
