"""How each cloth wants to be handled: its needle's point, heat, pins, nap. All of it common practice, no source."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from stitchcraft.defaults.numbers import COMMON


@dataclass(frozen=True, slots=True, kw_only=True)
class FabricCare:
    """What hands and papers go by with a cloth.

    Attributes:
        words: What to mind, whole sentences.
        point: The point of its needle; empty for whatever the thread's needle has.
        hooped: What is added to how it goes into the frame; may be empty.
        holes_stay: Every hole of a needle or pin is seen for ever.
        heat_shy: An iron harms it, so that seams are pressed with the finger and fleece is not fused to it.
        source: Where that is from.
    """

    words: str
    point: str = ""
    hooped: str = ""
    holes_stay: bool = False
    heat_shy: bool = False
    source: str = COMMON


FABRIC_CARE: Final[dict[str, FabricCare]] = {
    "canvas": FabricCare(
        words="Canvas frays: overcast the edges that stay raw. Its seams are thick: trim their allowances to unequal "
        "widths and flatten them before the needle crosses them.",
    ),
    "denim": FabricCare(
        words="Denim shrinks and gives off its dye: wash, dry and iron it before you cut, and keep it off light lining "
        "until then. Flatten seams before the needle crosses them.",
    ),
    "felt": FabricCare(
        words="Felt does not fray: an edge that shows may stay raw, and needs no overcasting. It has no grain, but it "
        "stretches: do not pull it taut in the frame. Felt of synthetic fibre shrinks and melts under a hot iron: try "
        "the heat on a scrap, under a cloth.",
        point="sharp point",
    ),
    "faux leather": FabricCare(
        words="Every hole of a needle or a pin stays: clip or tape the layers together where you would pin them, "
        "baste only inside the seam allowances, and do not unpick. Heat melts or dulls the coating: press seams open "
        "with your finger or a roller, or glue them; where heat must be, the lowest that a scrap has borne, from the "
        "wrong side, under a cloth. It does not fray. Mark the wrong side, or try on a scrap whether the marker comes "
        "off the coating. If it sticks under the presser foot, take a foot with a smooth sole.",
        point="sharp point (a cutting leather point slits the coating)",
        hooped="lay the cloth on the hooped stabilizer if the frame would mark it, held by tape outside the stitching",
        holes_stay=True,
        heat_shy=True,
    ),
    "minky": FabricCare(
        words="Minky has a nap: lay all pieces with the pile running down the bag. Its pile swallows stitches: lay "
        "water-soluble topping over it for every hooping, and tear the topping away afterwards. It creeps and sheds: "
        "clip or pin closely, and cut it from the wrong side, the backing only. Heat flattens and melts the pile: "
        "press seams open with your finger; where heat must be, the lowest that a scrap has borne, from the wrong "
        "side, under a cloth.",
        point="light ballpoint",
        hooped="water-soluble topping over the pile",
        heat_shy=True,
    ),
}
"""By the name of the fabric; what is missing here is handled as plain woven cotton is."""
