"""No decoration: the cloth as it is."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import shapely

from stitchcraft.decoration.base import Decoration, Drawing, Point


@dataclass(frozen=True, slots=True, kw_only=True)
class NoDecoration(Decoration):
    """Nothing: the area stays plain.

    Attributes:
        inset: Accepted like everywhere, and of no effect.
    """

    kind: ClassVar[str] = "none"

    def _draw(self, area: list[shapely.Polygon], anchor: Point) -> Drawing:  # noqa: ARG002
        return Drawing()
