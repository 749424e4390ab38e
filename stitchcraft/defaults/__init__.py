"""Every default and limit stands here once, with its source."""

from stitchcraft.defaults.fabric_care import FABRIC_CARE, FabricCare
from stitchcraft.defaults.fabrics import (
    FABRIC_NAMES,
    FABRIC_NEEDLES,
    FABRICS,
    NEEDLES,
    DirectedPull,
    FabricProfile,
    density_limit,
    fabric_profile,
    pulls_at,
)
from stitchcraft.defaults.numbers import (
    ARTWORK,
    BAG,
    CLOTH,
    COLOURS,
    DECORATION,
    DENSITY,
    FRAMES,
    LETTERS,
    MACHINE,
    PALETTE,
    PARTS,
    PLANNING,
    STANDARD_WEIGHT,
    STANDARD_WIDTH_MM,
    Default,
    thread_width,
)

__all__ = [
    "ARTWORK", "BAG", "CLOTH", "COLOURS", "DECORATION", "DENSITY", "FABRICS", "FABRIC_CARE", "FABRIC_NAMES",
    "FABRIC_NEEDLES", "FRAMES", "LETTERS", "MACHINE", "NEEDLES", "PALETTE", "PARTS", "PLANNING", "STANDARD_WEIGHT",
    "STANDARD_WIDTH_MM", "Default", "DirectedPull", "FabricCare", "FabricProfile", "density_limit", "fabric_profile",
    "pulls_at", "thread_width",
]  # fmt: skip
