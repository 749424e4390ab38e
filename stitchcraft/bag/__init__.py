"""The bag as a solid thing: panels, closure arithmetic, cut list."""

from stitchcraft.bag.bag import Bag, Binding, Shaping, Straps
from stitchcraft.bag.closure import Closure, solve_closure
from stitchcraft.bag.cut_list import CutPiece, cut_list

__all__ = ["Bag", "Binding", "Closure", "CutPiece", "Shaping", "Straps", "cut_list", "solve_closure"]
