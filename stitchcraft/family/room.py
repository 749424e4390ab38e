"""What a bag has room for: the sizes that its parts take when the maker names none."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.bag import Bag
from stitchcraft.decoration.letter_shapes import FACES
from stitchcraft.defaults import FABRIC_CARE, PARTS, FabricProfile
from stitchcraft.geometry.curves import joined
from stitchcraft.parts import Edge, Fastener, Label
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.tips import TIPS, middle_rise
from stitchcraft.ranges import RANGES

_STEP_MM: Final = 2.0


def tab_width(bag: Bag) -> float:
    """Three inches, less on a narrow bag, mm."""
    share = round(bag.width_mm * PARTS["tab_width_share"].value, 1)
    return max(RANGES["tab.width"][0], min(PARTS["tab_width"].value, share))


def usual_inset(bag: Bag, tab: Mapping[str, Any], fastener: Fastener) -> float:
    """The fastener's own inset, from where the tip's edge crosses the tab's middle, mm.

    Args:
        bag: The bag.
        tab: The tab's options.
        fastener: What closes it.
    """
    tip = tab.get("tip", "round")
    if not isinstance(tip, str) or tip not in TIPS:
        return fastener.usual_inset_mm
    depth = tab.get("tip_depth")
    width = float(tab["width"]) if "width" in tab else tab_width(bag)
    return round(fastener.usual_inset_mm + middle_rise(tip, width, None if depth is None else float(depth)), 1)


def connector_height(bag: Bag, drop_mm: float, edge: Edge, fastener: Fastener | None) -> float:
    """Two inches, less where the top edge is near, but always enough for the fastener's target, mm."""
    margin = bag.root_depth_mm + PARTS["connector_clear"].value
    least = 12.0
    if fastener is not None:
        _, bottom, _, top = fastener.on_bag((0.0, 0.0)).bounds
        least = max(least, top - bottom + 4 * edge.half_mm)
    return round(max(min(PARTS["connector_height"].value, 2 * (drop_mm - margin)), least), 1)


def connector_width(bag: Bag, edge: Edge, *, bridge: bool) -> float:
    """Past the straps by its margin, less where the side seams are near, but always enough for the straps, mm."""
    straps = bag.strap_width_mm + (bag.strap_spacing_mm if bridge else 0.0)
    least = straps + 2 * edge.half_mm + 2
    beside = bag.width_mm if bridge else min(bag.width_mm - bag.strap_spacing_mm, bag.strap_spacing_mm)
    room = beside - 2 * edge.half_mm - 2
    return round(max(min(straps + 2 * PARTS["connector_margin"].value, room), least), 1)


def medallion_width(fastener: Fastener, edge: Edge) -> float:
    """Enough for the fastener's target and a rim of cloth beside it, mm."""
    left, _, right, _ = fastener.on_bag((0.0, 0.0)).bounds
    return round(float(right - left) + 2 * (PARTS["snap_keepout"].value + edge.half_mm), 1)


def label_width(bag: Bag, options: Mapping[str, Any]) -> float:
    """The usual lettering, less inside a narrow bag, and as much more as its letters need to be read, mm.

    Args:
        bag: The bag.
        options: The label's own: its text, face and so on.
    """
    usual = max(RANGES["label.width"][0], min(PARTS["label_width"].value, round(bag.width_mm / 2, 1)))
    label = Label(**{**options, "width": usual})
    letters = label.lettering
    short = letters.lowest(letters.stitch(label.stitch)) / letters.cap_height_mm
    if short <= 1 or label.arc is not None:
        return usual
    needed = math.ceil(10 * letters.straight_width_mm * short + 1e-6) / 10
    return max(usual, min(needed, round(bag.width_mm - 4 * PARTS["label_margin"].value, 1)))


def label_stitch(fabric: FabricProfile, options: Mapping[str, Any]) -> str:
    """A label's stitch where the maker names none: one hole at a place where holes stay, or what suits the face.

    Args:
        fabric: What it is sewn on.
        options: The label's own.
    """
    care = FABRIC_CARE.get(fabric.name)
    lines = options.get("font") is None and options.get("face", "plain") in FACES
    return "running" if care is not None and care.holes_stay and lines else "auto"


def corner_size(bag: Bag, profile: str | FloatArray, edge: Edge, taken: shapely.Geometry | None) -> float | None:
    """Width and height of a corner accent that reaches well past a boxed base and keeps clear of everything else.

    Args:
        bag: The bag.
        profile: Its free edge.
        edge: What covers it.
        taken: What else is sewn on the panel, panel frame, cover stitches included; None for nothing.

    Returns:
        mm; None if no such accent has room on the panel.
    """
    notch = bag.depth_mm / 2
    clear = edge.half_mm + PARTS["decoration_clearance"].value + 2.0
    least = max(notch + 2 * edge.half_mm + 4, 10.0)
    most = min(0.46 * bag.width_mm, bag.width_mm / 2 - clear, bag.height_mm - bag.root_depth_mm - 2 * clear)
    wanted = max(min(PARTS["accent_share"].value * bag.width_mm, PARTS["accent_most"].value), notch + 25.4)
    wanted = max(min(wanted, 0.6 * bag.height_mm, most), least)
    shares = PROFILES[profile]() if isinstance(profile, str) else np.asarray(profile)

    def fits(size: float) -> bool:
        shape = shapely.Polygon(joined(shares * size, [[0.0, 0.0]]))
        free = shapely.LineString(shares * size)
        inmost, base = shapely.Point(notch, notch), shapely.box(0.0, 0.0, notch, notch)
        if not shape.covers(inmost) or (notch > 0 and free.distance(base) < clear):
            return False
        placed = shapely.transform(shape, lambda xy: xy - [bag.width_mm / 2, bag.height_mm])
        return taken is None or placed.distance(taken) > clear

    # the nearest to what is wanted: smaller ones stay clear of other parts, larger ones reach past the base
    steps = np.arange(0.0, max(most - wanted, wanted - least, 0.0) + _STEP_MM, _STEP_MM)
    sizes = [round(float(size), 1) for step in steps for size in (wanted - step, wanted + step)]
    return next((size for size in sizes if least <= size <= most and fits(size)), None)
