"""Threads that cannot be told from the cloth, or from one another."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import COLOURS
from stitchcraft.design import MARK_PURPOSES, SHOWN_PURPOSES, Purpose, StitchPlan, colour_from
from stitchcraft.errors import Finding, Level
from stitchcraft.wording import listed


def colour_distance(one: str, other: str) -> float:
    """How far apart two colours look: CIE 1976 delta E*ab, 0 for equal and about 2.3 for just noticeable.

    Args:
        one: ``"#rrggbb"``, sRGB as on a screen (IEC 61966-2-1), white D65.
        other: Likewise.

    Example:
        >>> round(colour_distance("#000000", "#ffffff"), 1), colour_distance("#2f5d62", "#2f5d62")
        (100.0, 0.0)
    """
    return float(np.linalg.norm(lab_of(one) - lab_of(other)))


def lab_of(colour: str) -> FloatArray:
    """The CIE L*, a*, b* of an sRGB colour ``"#rrggbb"``, white D65, (3,).

    Raises:
        ParameterError: If it is no such colour.
    """
    plain = colour_from(colour)
    channels = np.array([int(plain[at : at + 2], 16) for at in (1, 3, 5)]) / 255
    linear = np.where(channels <= 0.04045, channels / 12.92, ((channels + 0.055) / 1.055) ** 2.4)
    to_xyz = np.array([[0.4124, 0.3576, 0.1805], [0.2126, 0.7152, 0.0722], [0.0193, 0.1192, 0.9505]])
    # the white is what the matrix makes of (1, 1, 1), so that greys have no hue at all
    share = to_xyz @ linear / to_xyz.sum(axis=1)
    x, y, z = np.where(share > (6 / 29) ** 3, np.cbrt(share), share * (29 / 6) ** 2 / 3 + 4 / 29)
    return np.array([116 * y - 16, 500 * (x - y), 200 * (y - z)])


def colour_findings(plan: StitchPlan, name: str, *, cloth: str | None) -> Iterator[Finding]:
    """Threads that show too little on the cloth, and threads of one plan that are hard to tell apart.

    Tone on tone may be meant: only lettering that cannot be read, and marks that cannot be found, are more than a note.

    Args:
        plan: What is sewn.
        name: What the findings call it.
        cloth: Colour of the cloth under it, ``"#rrggbb"``; None for unknown.

    Raises:
        ParameterError: If *cloth* is no colour.
    """
    seen = [(k, stop) for k, stop in enumerate(plan.stops) if stop.purpose in SHOWN_PURPOSES]
    least = COLOURS["on_cloth"].value
    for k, stop in seen if cloth is not None else ():
        apart = colour_distance(stop.thread.colour, str(cloth))
        if apart < least:
            letters = stop.purpose is Purpose.LETTER
            yield Finding(
                Level.WARNING if letters else Level.NOTE, "colour-lost", name,
                f"The {_named(stop.thread.name, stop.thread.colour)} of stop {k + 1} ({stop.purpose}) hardly shows on "
                f"cloth of {cloth}: they are {apart:.0f} apart of 100 between black and white.",
                f"Take a thread at least {least:g} apart from the cloth{'' if letters else ', unless it is meant'}.",
                round(apart, 1), least, stops=(k + 1,),
            )  # fmt: skip
    if cloth is not None:
        yield from _lost_marks(plan, name, cloth)
    alike = COLOURS["alike"].value
    first = {stop.thread.colour: (k, stop) for k, stop in reversed(list(enumerate(plan.stops)))}
    for (k, one), (n, other) in combinations(sorted(first.values(), key=lambda pair: pair[0]), 2):
        apart = colour_distance(one.thread.colour, other.thread.colour)
        if apart < alike:
            yield Finding(
                Level.NOTE, "colours-alike", name,
                f"The {_named(one.thread.name, one.thread.colour)} of stop {k + 1} and the "
                f"{_named(other.thread.name, other.thread.colour)} of stop {n + 1} look alike: one is easily taken for "
                "the other.",
                f"Take one and the same thread for both, or threads at least {alike:g} apart.",
                round(apart, 1), alike, stops=(k + 1, n + 1),
            )  # fmt: skip


def _lost_marks(plan: StitchPlan, name: str, cloth: str) -> Iterator[Finding]:
    """Marks that hardly show, told once for each thread."""
    least = COLOURS["on_cloth"].value
    marks: dict[str, list[int]] = {}
    for k, stop in enumerate(plan.stops):
        if stop.purpose in MARK_PURPOSES:
            marks.setdefault(stop.thread.colour, []).append(k)
    for colour, stops in marks.items():
        apart = colour_distance(colour, cloth)
        if apart < least:
            told = listed([f"stop {k + 1} ({plan.stops[k].purpose})" for k in stops])
            yield Finding(
                Level.WARNING, "colour-lost", name,
                f"The {_named(plan.stops[stops[0]].thread.name, colour)} of {told} hardly shows on cloth of {cloth}: "
                f"they are {apart:.0f} apart of 100 between black and white, and these marks have to be found again.",
                f"Set material.palette.mark to a colour at least {least:g} apart from the cloth.",
                round(apart, 1), least, stops=tuple(k + 1 for k in stops),
            )  # fmt: skip


def _named(name: str, colour: str) -> str:
    return f"{name} thread ({colour})" if name else f"thread {colour}"
