"""The colour that each stop has in a file, so that a machine waits between any two."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import Final

from stitchcraft.design import PlanStop

STEP_COLOURS: Final = (
    "#ff0000", "#0000ff", "#ffff00", "#008000", "#ff8000", "#800080", "#000000", "#ffffff",
)  # fmt: skip
"""Colours far apart in every palette, for a stop that needs another colour than its thread's; our own choice."""


def file_colours(stops: Sequence[PlanStop]) -> list[str]:
    """Choose the colour that each stop is given in a file.

    It is the thread's own unless a format with a fixed list of colours could merge it with the stop before,
    in which case the machine might not wait: then it is a step colour that is taken for neither neighbour. The
    sheet says which thread to use.

    Args:
        stops: The colour stops in order of sewing.

    Returns:
        ``"#rrggbb"`` for each; no two neighbours share an entry of a palette.
    """
    colours: list[str] = []
    for k, stop in enumerate(stops):
        own = stop.thread.colour
        if k and palettes_merge(colours[-1], own):
            after = [stops[k + 1].thread.colour] if k + 1 < len(stops) else []
            neighbours = [colours[-1], *after]
            own = next(step for step in STEP_COLOURS if not any(palettes_merge(step, other) for other in neighbours))
        colours.append(own)
    return colours


def palettes_merge(colour: str, other: str) -> bool:
    """Whether two colours are one and the same, or have the same nearest entry in some format's palette."""
    return colour == other or any(a == b for a, b in zip(_entries(colour), _entries(other), strict=True))


@cache
def _entries(colour: str) -> tuple[int, ...]:
    """Where a colour lands in each fixed palette that a format has."""
    # loaded here so that quick commands need not load the file library
    from pyembroidery import EmbThread
    from pyembroidery.EmbThreadJef import get_thread_set as jef_palette
    from pyembroidery.EmbThreadPec import get_thread_set as pec_palette

    thread = EmbThread(int(colour[1:], 16))
    return tuple(thread.find_nearest_color_index(palette()) for palette in (pec_palette, jef_palette))
