"""What a tab's own geometry says before anything is stitched, and what would mend it.

A remedy that names a number has been tried: the tab with that number has the finding no more.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import BAG, PARTS
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.parts.fasteners import Fastener
from stitchcraft.parts.silhouette import Silhouette
from stitchcraft.parts.turning import passage_mm, tightest_inner_mm, tightest_outer_mm
from stitchcraft.ranges import RANGES
from stitchcraft.units import both_text, least_text

_STEP_MM: Final = 0.5


def fastener_findings(
    shape: Silhouette, fastener: Fastener, at: tuple[float, float], inset_mm: float
) -> Iterator[Finding]:
    """A fastener too near the seam.

    Args:
        shape: The tab.
        fastener: What closes it.
        at: Where, in the front's frame, mm.
        inset_mm: Tip to that place.
    """
    path = shape.outline
    outline, inside = shapely.LineString(path), shapely.Polygon(path)
    needed = fastener.seam_clearance_mm

    def room(up: float) -> float:
        half = fastener.on_tab((at[0], at[1] + up))
        return float(outline.distance(half)) if inside.covers(half) else 0.0

    here = room(0.0)
    if here >= needed:
        return
    highest = shape.length - inset_mm
    # to a tenth of a millimetre, as it is said
    higher = np.ceil(10 * (inset_mm + np.arange(_STEP_MM, highest, _STEP_MM)) - 1e-6) / 10
    better = next((float(one) for one in higher if room(float(one) - inset_mm) >= needed), None)
    smaller = "widen the tab, or take a smaller " + fastener.title
    remedy = (
        f"Set {fastener.key}.inset to at least {least_text(better)}, {smaller}."
        if better is not None
        else f"{smaller[0].upper()}{smaller[1:]}."
    )
    yield Finding(
        Level.WARNING if here > 0 else Level.ERROR, f"{fastener.word}-near-seam", "tab-front",
        f"The {fastener.word} is {both_text(here)} from the seam; {fastener.seam_reason}.",
        remedy, round(here, 3), needed,
    )  # fmt: skip


def turning_findings(shape: Silhouette, fastener: Fastener, *, batting: bool) -> Iterator[Finding]:
    """Curves too tight to turn at this allowance, and a mouth too narrow to turn the tab through."""
    for way, limit, measure, why in (
        ("inward", BAG["allowance"].value, tightest_inner_mm,
         "the allowance outside it, wider than its radius, cannot be clipped to lie flat"),
        ("outward", PARTS["turn_point"].value, tightest_outer_mm,
         "what is turned into it does not come out round"),
    ):  # fmt: skip
        radius = measure(_whole(shape), limit)
        if radius < limit - 0.06:
            yield Finding(
                Level.WARNING, "curve-tight", "tab-front",
                f"A curve of the tab that bends {way} has a radius of {both_text(radius)}: {why}.",
                _rounder(shape, limit, measure), round(radius, 2), round(limit, 3),
            )  # fmt: skip
    narrow, needed = _passage(shape, fastener, batting=batting)
    if narrow < needed:
        yield Finding(
            Level.WARNING, "mouth-narrow", "tab-front",
            f"The way out of the tab is {both_text(narrow)} wide, too narrow to turn the rest of it through.",
            _wider(shape, fastener, batting=batting), round(narrow, 2), round(needed, 2),
        )  # fmt: skip


def _whole(shape: Silhouette) -> shapely.Polygon:
    """The shape as sewn, cut at the mouth."""
    return shapely.Polygon(shape.outline)


def _rounder(shape: Silhouette, limit: float, measure: Callable[[shapely.Polygon, float], float]) -> str:
    """How large a rounding of the tip mends a curve, or what else does."""

    def mended(other: Silhouette) -> bool:
        return measure(_whole(other), limit) >= limit - 0.06

    for more in (0.05, 0.5, 1.0, 2.0, 4.0):
        if _holds(lambda other: mended(other), shape, tip_radius=round(limit + more, 1)):
            return f"Set tab.tip_radius to at least {least_text(round(limit + more, 1))}."
    for share in np.arange(1.1, 4.1, 0.1):
        width = round(shape.width * float(share), 1)
        if width > RANGES["tab.width"][1]:
            break
        if _holds(mended, shape, width=width, waist=shape.waist * float(share), tip_radius=None):
            return f"Set tab.width to at least {least_text(width)} and leave tab.tip_radius out, or take another tip."
    return "Take another tip, or one of less depth."


def _wider(shape: Silhouette, fastener: Fastener, *, batting: bool) -> str:
    """How wide the waist or the whole tab has to be to be turned, or what else helps."""

    def mended(other: Silhouette) -> bool:
        narrow, needed = _passage(other, fastener, batting=batting)
        return narrow >= needed

    also = ", or leave the batting out (tab.batting)" if batting else ""
    if shape.waist < shape.width:
        for waist in np.arange(round(shape.waist) + 1.0, shape.width, 1.0):
            if _holds(mended, shape, waist=float(waist)):
                return f"Set tab.waist to at least {least_text(float(waist))}{also}."
    for width in np.arange(round(shape.width) + 1.0, 3 * shape.width + 20, 1.0):
        if width > RANGES["tab.width"][1]:
            break
        if _holds(mended, shape, width=float(width), waist=float(width) if shape.waist == shape.width else shape.waist):
            return f"Set tab.width to at least {least_text(float(width))}{also}."
    return f"Take a tip without a neck{also}."


def _passage(shape: Silhouette, fastener: Fastener, *, batting: bool) -> tuple[float, float]:
    thickness = PARTS["turned_thickness"].value + (PARTS["batting_thickness"].value if batting else 0.0)
    return passage_mm(shape.outline, thickness, PARTS["turned_packing"].value, fastener.rigid_mm)


def _holds(mended: Callable[[Silhouette], bool], shape: Silhouette, **changes: float | None) -> bool:
    """Whether a shape with changes can be made and is mended."""
    try:
        return mended(replace(shape, **changes))  # type: ignore[arg-type]
    except ParameterError:
        return False


def tick_findings(ticks: Sequence[FloatArray], length_mm: float) -> Iterator[Finding]:
    """Ticks so near to one another that the halves can be laid on each other askew."""
    least = PARTS["ticks_apart"].value
    levels = sorted({round(float(tick[0, 1]), 6) for tick in ticks})
    apart = levels[-1] - levels[0]
    if apart < least:
        yield Finding(
            Level.WARNING, "ticks-close", "tab-front",
            f"Its upper and lower ticks are {both_text(apart)} apart: the halves can be laid on each other askew.",
            f"Set tab.length to at least {least_text(np.ceil(10 * length_mm * least / apart) / 10)}.",
            round(apart, 3), least,
        )  # fmt: skip
