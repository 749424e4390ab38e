"""How much decoration each part of a family carries."""

from __future__ import annotations

from typing import TYPE_CHECKING

from stitchcraft.decoration import DecorationCount

if TYPE_CHECKING:
    from stitchcraft.family.family import Family


def decoration_counts(family: Family) -> dict[str, DecorationCount]:
    """Count the decoration of each part that can have one, by the part's name.

    Args:
        family: Whose parts; only kinds that are made are counted.
    """
    counts: dict[str, DecorationCount] = {}
    if "tab" in family.kinds:
        tab = family.closure_tab
        counts["tab-front"] = tab.decoration.describe(tab.decoration_area)
    if "corner" in family.kinds:
        corner = family.corner_accent
        counts |= dict.fromkeys(("corner-left", "corner-right"), corner.decoration.describe(corner.decoration_area))
    if "connector" in family.kinds:
        connector = family.strap_connector
        plain = connector.decoration.describe(connector.decoration_area(target=False))
        if connector.layout == "pair":
            counts |= dict.fromkeys(("connector-left", "connector-right"), plain)
        else:
            counts["connector-front"] = connector.decoration.describe(connector.decoration_area(target=True))
            counts["connector-back"] = plain
    return counts
