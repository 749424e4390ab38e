"""Parametric builders: each returns `Design`s of one ornament."""

from stitchcraft.parts.connector import StrapConnector
from stitchcraft.parts.corner import CornerAccent
from stitchcraft.parts.edges import Edge
from stitchcraft.parts.fasteners import FASTENERS, Button, Danger, Fastener, SewInSnap, Snap, TurnLock
from stitchcraft.parts.label import Label
from stitchcraft.parts.marks import ShapingMark, SnapMark
from stitchcraft.parts.swatch import Swatch, ToMeasure
from stitchcraft.parts.tab import ClosureTab
from stitchcraft.parts.threads import Palette

__all__ = [
    "FASTENERS",
    "Button",
    "ClosureTab",
    "CornerAccent",
    "Danger",
    "Edge",
    "Fastener",
    "Label",
    "Palette",
    "SewInSnap",
    "ShapingMark",
    "Snap",
    "SnapMark",
    "StrapConnector",
    "Swatch",
    "ToMeasure",
    "TurnLock",
]  # fmt: skip
