"""The five threads of a kit, and those of its drawings."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import TypeAlias

from stitchcraft.defaults import PALETTE
from stitchcraft.design import Thread
from stitchcraft.errors import ParameterError

Drawn: TypeAlias = Mapping[str, str] | tuple[tuple[str, str], ...]


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
        drawn: Threads for the colours of drawings, where they are to differ from the drawing's own: each colour
            drawn, and its thread's colour or one of the five uses above. Stored as pairs, in the order given.

    Raises:
        ParameterError: If a colour is none.
    """

    accent: str = PALETTE["accent"]
    edge: str = PALETTE["edge"]
    detail: str = PALETTE["detail"]
    mark: str = PALETTE["mark"]
    seam: str = PALETTE["seam"]
    weight: float = 40
    drawn: Drawn = ()

    def __post_init__(self) -> None:
        for use in PALETTE:
            object.__setattr__(self, use, self.thread(use).colour)
        pairs = self.drawn.items() if isinstance(self.drawn, Mapping) else self.drawn
        object.__setattr__(self, "drawn", tuple((_colour(key), _colour_or_use(thread)) for key, thread in pairs))

    def thread(self, use: str) -> Thread:
        """The thread for one use.

        Raises:
            ParameterError: If its colour is none.
        """
        return Thread(getattr(self, use), use, self.weight)

    def drawn_thread(self, colour: str | None) -> Thread:
        """The thread for a colour of a drawing; for None the accent's.

        It is the one of `drawn`; else that of the five which has the colour, so that it is not bought twice; else
        one in the drawing's own colour.
        """
        if colour is None:
            return self.thread("accent")
        wanted = dict(self.drawn).get(colour, colour)
        use = wanted if wanted in PALETTE else next((use for use in PALETTE if getattr(self, use) == wanted), None)
        return Thread(wanted, "drawing", self.weight) if use is None else self.thread(use)


def _colour(value: object) -> str:
    try:
        return Thread(value).colour  # type: ignore[arg-type]
    except ParameterError as error:
        raise ParameterError("palette.drawn", value, error.needs) from None


def _colour_or_use(value: object) -> str:
    if isinstance(value, str) and value in PALETTE:
        return value
    try:
        return _colour(value)
    except ParameterError as error:
        raise ParameterError("palette.drawn", value, f"{error.needs} or one of {', '.join(PALETTE)}") from None
