"""What can hurt, said where it belongs. The machine's manual, local rules and trained people go first."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from stitchcraft.parts import Danger

FIRST: Final = (
    "Your machine's manual, the makers of your materials, local rules and codes, and the advice of people licensed or "
    "trained to give it go before this sheet. No file of this kit has been sewn for you: sew a test on the real layers."
)
MACHINE: Final = (
    "The needle and the hoop move by themselves. Keep hands, hair, cords and sleeves away while the machine runs; keep "
    "the space behind and beside it clear. Stop it before you place, trim or reach into the hoop. Stop at once at a "
    "strange noise."
)
METAL: Final = (
    "Keep pins, snaps and other metal out of the needle's way: a needle that strikes metal can shatter. Wear glasses, "
    "and turn the first stitches near metal by hand."
)
BLADES: Final = (
    "Blades: close a rotary cutter after every cut, keep fingers behind the ruler's edge, wrap used blades. Keep them "
    "from children."
)
CHISEL: Final = "Chisel: cut slits on a block of wood, the other hand behind the edge, never under it."
IRON: Final = (
    "Iron: hot metal and steam burn. Test heat on a scrap; fleece, film and foam shrink or melt. Let fused layers cool "
    "flat, unplug the iron when you leave it."
)
MAGNETS: Final = (
    "Magnets: keep magnetic snaps at least 6 in (15 cm) from pacemakers, defibrillators and other implanted devices, "
    "before and after they are set; ask the wearer's doctor. Keep them from cards and watches, and from the iron."
)
SMALL_PARTS: Final = (
    "Small parts: snaps, magnets, feet and needles can be swallowed; two swallowed magnets are an emergency. Keep them "
    "from children, and check that each is fast in the finished bag."
)
NEEDLES: Final = (
    "Needles: keep count of hand needles and pins, use a thimble, and put each back before the bag is turned."
)
_ABOUT: Final = {
    Danger.METAL: METAL, Danger.CHISEL: CHISEL, Danger.BLADES: BLADES, Danger.MAGNETS: MAGNETS,
    Danger.NEEDLES: NEEDLES, Danger.SMALL_PARTS: SMALL_PARTS,
}  # fmt: skip


def about(dangers: Iterable[Danger]) -> tuple[str, ...]:
    """What to mind of each danger, each once."""
    return tuple(_ABOUT[danger] for danger in dict.fromkeys(dangers))
