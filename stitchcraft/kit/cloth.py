"""The colour of the cloth that a part is sewn on, where the maker has named it."""

from __future__ import annotations

from typing import Final

from stitchcraft.family import Part, Style

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
