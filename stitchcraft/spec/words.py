"""The words that a spec may use where it has a choice."""

from __future__ import annotations

from typing import Final

UNITS: Final = ("mm", "cm", "in")
TOPS: Final = ("bound", "turned")
PARTS: Final = ("tab", "corner", "connector", "label", "shaping-marks", "snap-mark")
FORMATS: Final = ("dst", "pes", "jef", "exp", "vp3", "pec", "xxx", "u01", "tbf")
EDGES: Final = ("satin", "triple")
PROFILES: Final = ("quarter", "scallop", "ogee", "step", "straight", "wave")
TIPS: Final = ("round", "point", "ogee", "square", "clipped", "scallop", "notch", "leaf", "shield", "wave", "keyhole")
LAYOUTS: Final = ("bridge", "pair")
OUTLINES: Final = ("rounded", "oval", "ogee", "scallop", "clipped")
FACES: Final = ("plain", "bold", "script", "serif", "italic")
LINE_STITCHES: Final = ("running", "triple")
STITCHES: Final = (*LINE_STITCHES, "satin", "fill")

DECORATION_KEYS: Final[dict[str, tuple[str, ...]]] = {
    "dots": ("pitch", "diameter", "angle", "stitch", "inset", "joined"),
    "crosshatch": ("pitch", "angle", "stitch", "inset", "border"),
    "rings": ("pitch", "diameter", "angle", "stitch", "inset", "border"),
    "clamshell": ("pitch", "angle", "stitch", "inset", "border"),
    "petals": ("pitch", "angle", "stitch", "inset", "border"),
    "scallops": ("pitch", "angle", "stitch", "inset", "border"),
    "waves": ("pitch", "angle", "stitch", "inset", "border"),
    "chevrons": ("pitch", "angle", "stitch", "inset", "border"),
    "echo": ("pitch", "stitch", "inset"),
    "meander": ("pitch", "seed", "stitch", "inset"),
    "artwork": ("svg", "width", "angle", "stitch", "inset"),
    "none": (),
}
"""The keys, besides ``kind``, that each kind of decoration takes."""

DECORATION_STITCHES: Final = {"dots": STITCHES, "artwork": STITCHES, "petals": ("running", "triple", "satin")}
"""The stitches of the decorations that take others than running and triple."""

DECORATIONS: Final = tuple(DECORATION_KEYS)
