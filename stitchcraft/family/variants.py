"""A family in other sizes and other threads: what grows with the bag, and what stays as it is.

With the bag grow its depth, the places of straps, shaping snaps and fastener, and the silhouettes: the tab's width,
the depth and rounding of its tip if they were given, the corner accents, and the connectors as far as they reach
past the straps. The tab's length follows from the closure. All that the hand, the needle or a shop sets stays: the
pattern's motifs and their spacing, drawings, the width of cover stitches, threads, stitch lengths, seam allowances,
the wall, the binding, the straps' width, the fastener and its distance from the tip, the label.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from itertools import product
from typing import Any, TypeVar

from stitchcraft.bag import Bag, Shaping, Straps
from stitchcraft.errors import ParameterError
from stitchcraft.family.room import label_width
from stitchcraft.parts import Palette
from stitchcraft.units import number_between

F = TypeVar("F")
"""A `stitchcraft.Family`, which is built upon this module."""

LEAST_FACTOR, MOST_FACTOR = 0.25, 4.0


def scaled_family(family: Any, size: float | Bag) -> Any:
    """The same `stitchcraft.Family` for a larger or smaller bag.

    Sizes that the first bag left to the family are taken as it chose them, so that proportions stay.

    Args:
        family: The family.
        size: How many times larger, 0.25 to 4; or the other bag, whose width and height then say it.

    Raises:
        ParameterError: If a part cannot be made at that size.
    """
    bag = size if isinstance(size, Bag) else scaled_bag(family.bag, size)
    across, down = bag.width_mm / family.bag.width_mm, bag.height_mm / family.bag.height_mm
    closure = family.closure
    drop = closure.drop_mm * down
    tab = {key: value for key, value in family.tab.items() if key != "length"}
    tab |= {key: float(tab[key]) * across for key in ("tip_depth", "tip_radius", "waist") if tab.get(key) is not None}
    solved = family.closure_tab
    own = "snap" if solved.fastener is None else "fastener"
    tab |= {"width": solved.width_mm * across, own: getattr(solved, own)}
    if len(closure.given) == 3:  # a closure that misses goes on missing, and says so
        tab["length"] = closure.length_mm + drop - closure.drop_mm
    label = dict(family.label)
    if label.get("text") and not {"width", "height"} & label.keys():
        label["width"] = label_width(family.bag, label)
    return replace(
        family, bag=bag, tab=tab, corner=_corner(family, across, down),
        connector=_connector(family, bag, across, down), label=label, drop=drop,
    )  # fmt: skip


def scaled_bag(bag: Bag, factor: float) -> Bag:
    """A bag in the same proportions; what is sewn or bought to a measure stays.

    Args:
        bag: The bag.
        factor: How many times larger, 0.25 to 4.

    Raises:
        ParameterError: If the factor is out of range, or the bag's sizes are.
    """
    by = float(number_between(factor, name="size", low=LEAST_FACTOR, high=MOST_FACTOR))
    shaping = bag.shaping
    return replace(
        bag,
        width=bag.width_mm * by,
        height=bag.height_mm * by,
        depth=bag.depth_mm * by,
        straps=Straps(spacing=bag.strap_spacing_mm * by, width=bag.strap_width_mm) if bag.has_straps else "none",
        shaping=None if shaping is None else Shaping(down=float(shaping.down) * by, over=float(shaping.over) * by),
    )


def family_variants(
    family: F, *, sizes: Mapping[str, float | Bag] | None = None, palettes: Mapping[str, Palette] | None = None
) -> tuple[F, ...]:
    """Every size in every palette, named after both; as `stitchcraft.Family.variants`."""
    whole: Any = family
    for name, values in (("sizes", sizes), ("palettes", palettes)):
        if values is not None and (not isinstance(values, Mapping) or not values):
            raise ParameterError(name, values, "a dictionary by name, with at least one entry")
    found = []
    for size, palette in product(sizes or ("",), palettes or ("",)):
        one = whole if sizes is None else scaled_family(whole, sizes[size])
        if palettes is not None:
            one = replace(one, style=replace(one.style, palette=palettes[palette]))
        found.append(replace(one, name=", ".join(word for word in (whole.name, size, palette) if word)))
    return tuple(found)


def _corner(family: Any, across: float, down: float) -> dict[str, Any]:
    if "corner" not in family.kinds:
        return dict(family.corner)
    accent = family.corner_accent
    return {**family.corner, "width": accent.width_mm * across, "height": accent.height_mm * down}


def _connector(family: Any, bag: Bag, across: float, down: float) -> dict[str, Any]:
    """A medallion stays: it is as large as its fastener. The others hold straps, whose width stays.

    On a bag with straps where the first had none, or the other way round, the layout is another unless the maker
    named it: its sizes are left to the bag then.
    """
    options, connector = dict(family.connector), family.strap_connector
    if bag.has_straps != family.bag.has_straps and "layout" not in options:
        sizes = ("width", "height", "ends", "snap_up", "snap_right", "spacing", "strap_width")
        return {key: value for key, value in options.items() if key not in sizes}
    if connector.layout == "medallion":
        return options
    options["height"] = connector.height_mm * down
    if options.get("ends", "both") != "both":
        if options.get("width") is not None:
            options["width"] = connector.width_mm * across
        return options
    spacing = family.bag.strap_spacing_mm if connector.layout == "bridge" else 0.0
    past = (connector.width_mm - spacing - family.bag.strap_width_mm) / 2
    least = connector.edge.half_mm + 1.0
    options["width"] = spacing * across + family.bag.strap_width_mm + 2 * max(least, past * across)
    return options
