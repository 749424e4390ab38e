"""One style applied to a bag: all its parts, matched to each other and in place."""

from stitchcraft.family.family import PART_KINDS, Family
from stitchcraft.family.part import Part, Placed, Style

__all__ = ["PART_KINDS", "Family", "Part", "Placed", "Style"]
