"""The five threads of a kit."""

from __future__ import annotations

from dataclasses import dataclass

from stitchcraft.defaults import PALETTE
from stitchcraft.design import Thread


@dataclass(frozen=True, slots=True, kw_only=True)
class Palette:
    """Which colour does what, each as ``"#rrggbb"``.

    Attributes:
        accent: Decoration of the tab and the accents.
        edge: Cover stitches.
        detail: Lettering.
        mark: Ticks, placement lines and snap targets.
        seam: Seams and tack-downs.
        weight: Thread weight number.
    """

    accent: str = PALETTE["accent"]
    edge: str = PALETTE["edge"]
    detail: str = PALETTE["detail"]
    mark: str = PALETTE["mark"]
    seam: str = PALETTE["seam"]
    weight: float = 40

    def __post_init__(self) -> None:
        for use in PALETTE:
            object.__setattr__(self, use, self.thread(use).colour)

    def thread(self, use: str) -> Thread:
        """The thread for one use.

        Raises:
            ParameterError: If its colour is none.
        """
        return Thread(getattr(self, use), use, self.weight)
