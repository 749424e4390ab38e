"""What to cut for the bag itself; the ornaments add their own pieces."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.bag.bag import Bag
from stitchcraft.units import both_text


@dataclass(frozen=True, slots=True)
class CutPiece:
    """A piece to cut.

    Attributes:
        name: What it is.
        material: What it is cut from.
        count: How many.
        width_mm: Cut width.
        height_mm: Cut height, or the length of a strip.
        note: What to mind; may be empty.
    """

    name: str
    material: str
    count: int
    width_mm: float
    height_mm: float
    note: str = ""


def cut_list(bag: Bag) -> tuple[CutPiece, ...]:
    """List the pieces of the bag itself, cut sizes in mm."""
    width, height = bag.panel_cut_mm
    notch = lining_notch = ""
    if bag.depth_mm:
        wide, high = bag.lining_corner_cut_mm
        notch = f"after the embroidery, cut a square of {both_text(bag.corner_cut_mm)} from each lower corner"
        lining_notch = f"cut {both_text(wide)} wide, {both_text(high)} high from each lower corner"
    pieces = [
        CutPiece("panel", "outer cloth", 2, width, height, "hoop a larger piece, sew the ornaments, then cut to size"),
        CutPiece("panel backing", "fusible fleece", 2, width, height, "fuse before hooping"),
        CutPiece("lining", "lining cloth", 2, width, height, lining_notch),
    ]
    if bag.binding_mm is not None:
        strip, length = bag.binding_mm
        pieces.append(
            CutPiece("binding strip", "binding cloth", 1, strip, length, "one end straight, one at 45 degrees")
        )
    if bag.base_mm is not None:
        pieces.append(CutPiece("base stiffener", "stiffener", 1, *bag.base_mm, "trim the corners round"))
    if notch:
        pieces[0] = CutPiece("panel", "outer cloth", 2, width, height, pieces[0].note + "; " + notch)
    return tuple(pieces)
