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
LAYOUTS: Final = ("bridge", "pair", "medallion")
ENDS: Final = ("both", "left", "right")
DIRECTIONS: Final = ("along", "across")
OUTLINES: Final = ("rounded", "oval", "ogee", "scallop", "clipped")
FACES: Final = ("plain", "bold", "script", "roman", "italic", "sans", "serif", "hand", "rounded")
LINE_STITCHES: Final = ("running", "triple")
STITCHES: Final = (*LINE_STITCHES, "satin", "fill")
LETTER_STITCHES: Final = ("auto", *STITCHES)
TEXT_SIDES: Final = ("above", "below")
FRAMES: Final = ("none", "ring", "shield")

PATTERN_EDGES: Final = ("clip", "whole", "fade")
DOT_LAYOUTS: Final = ("hexagonal", "square")
DRAWN_COLOURS: Final = ("drawn", "one")

_LINED: Final = ("pitch", "angle", "edge", "stitch", "inset", "shift", "border")
_ROWS: Final = ("pitch", "depth", "spacing", "angle", "edge", "stitch", "inset", "shift", "border", "joined")
FASTENER_KEYS: Final[dict[str, tuple[str, ...]]] = {
    "snap": ("diameter", "inset", "prongs", "slit"),
    "sew-in-snap": ("diameter", "inset", "holes"),
    "turn-lock": ("width", "height", "hole_width", "hole_height", "inset", "prongs", "post_prongs", "slit"),
    "button": ("diameter", "thickness", "inset", "direction", "bead"),
}
"""The keys, besides ``kind``, that each kind of fastener takes."""

FASTENERS: Final = tuple(FASTENER_KEYS)

DECORATION_KEYS: Final[dict[str, tuple[str, ...]]] = {
    "dots": ("pitch", "diameter", "layout", "angle", "edge", "stitch", "inset", "shift", "joined"),
    "crosshatch": _LINED,
    "rings": ("pitch", "diameter", "angle", "edge", "stitch", "inset", "shift", "border"),
    "clamshell": _LINED,
    "petals": _LINED,
    "scallops": _ROWS,
    "waves": _ROWS,
    "chevrons": _ROWS,
    "echo": ("pitch", "stitch", "inset"),
    "meander": ("pitch", "seed", "stitch", "inset"),
    "artwork": (
        "svg", "width", "pitch", "layout", "angle", "edge", "stitch", "colours", "bare", "inset", "shift",
    ),
    "lettering": (
        "text", "face", "font", "height", "width", "letter_spacing", "arc", "side", "angle", "stitch", "inset", "shift",
    ),
    "monogram": ("text", "face", "font", "height", "frame", "stitch", "inset", "shift"),
    "none": (),
}  # fmt: skip
"""The keys, besides ``kind``, that each kind of decoration takes."""

DECORATION_STITCHES: Final = {
    "dots": STITCHES, "artwork": STITCHES, "lettering": STITCHES, "monogram": STITCHES,
    "petals": ("running", "triple", "satin"),
}  # fmt: skip
"""The stitches of the decorations that take others than running and triple."""

DECORATION_EDGES: Final = {"dots": PATTERN_EDGES, "artwork": PATTERN_EDGES, "petals": PATTERN_EDGES}
"""The edges of the decorations that take others than clip and whole; of petals only satin ones fade."""

DECORATIONS: Final = tuple(DECORATION_KEYS)
