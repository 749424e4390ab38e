"""The cloth that a part is sewn on: its colour, where the maker has named it, and whether holes stay in it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from stitchcraft.defaults import FABRIC_CARE
from stitchcraft.errors import Finding, Level
from stitchcraft.family import Family, Part, Style
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.wording import listed

_OUTER: Final = "outer cloth"
_ACCENT: Final = "accent cloth"


def cloth_under(part: Part, style: Style) -> str | None:
    """Colour of the cloth under a part's visible stitches, ``"#rrggbb"``; None if it is not known.

    Accents and connectors are of accent cloth, a tab's front and whatever is sewn on the panel itself of the outer
    cloth; of lining and labels no colour is named.
    """
    material = part.cloth[0][1] if part.cloth else _OUTER
    if material == _ACCENT and style.accent_cloth is not None:
        return style.accent_cloth
    return style.cloth if material in (_OUTER, _ACCENT) else None


def basting_findings(family: Family, sewn: Sequence[SewnPart]) -> Iterator[Finding]:
    """Basting boxes on panels of a fabric in which their holes stay; loose parts are cut out inside theirs.

    Args:
        family: The bag and its style.
        sewn: Its parts.
    """
    fabric = family.style.fabric.name
    care = FABRIC_CARE.get(fabric)
    if care is None or not care.holes_stay:
        return
    names = [one.name for one in sewn if one.part.placements]
    if names:
        yield Finding(
            Level.WARNING, "basting-holes", "",
            f"The basting boxes round {listed(names)} are sewn on the panels, and holes stay in {fabric}.",
            "Leave machine.basting out, and hold the cloth with tape outside the stitching.",
            float(len(names)), 0.0,
        )  # fmt: skip
