"""Whether stitching fits the sewing fields at hand, and what it would need if it does not."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

from numpy.typing import ArrayLike

from stitchcraft.arrays import frozen_path
from stitchcraft.errors import Finding, Level
from stitchcraft.machine import Hoop
from stitchcraft.ranges import RANGES

if TYPE_CHECKING:
    from stitchcraft.machine import NeededField


def hoop_finding(points: ArrayLike, hoops: Sequence[Hoop], *, part: str, margin: float = 0.0) -> Finding | None:
    """Say of stitching that fits none of the fields at any angle what it would need.

    Args:
        points: (n, 2) penetrations, mm.
        hoops: The fields at hand, one at least.
        part: What the finding calls it.
        margin: Kept free inside the edge of a field, mm.

    Returns:
        An error with the code ``"hoop-fit"``, or None if it fits.

    Raises:
        ParameterError: If there are no points, or *margin* leaves no field.
    """
    from stitchcraft.machine import needed_field, smallest_fit  # most files are held against no field

    if smallest_fit(points, hoops, margin=margin) is not None:
        return None
    xy = frozen_path(points, name="points", at_least=1)
    (left, bottom), (right, top) = xy.min(axis=0), xy.max(axis=0)
    names = hoops[0].name if len(hoops) == 1 else f"none of the listed fields ({', '.join(one.name for one in hoops)})"
    fits = f"fits {names} at no angle" if len(hoops) == 1 else f"fits {names} at any angle"
    kept = f" with {margin:g} mm kept free" if margin else ""
    need = needed_field(xy, hoops, margin=margin)
    # a damaged file may be wider than any field can be
    any_field = max(need.upright.width, need.upright.height) <= RANGES["machine.hoops"][1]
    remedy = _remedy(need) if any_field else "No field is as large as that: look at the file in a picture."
    largest = max(hoops, key=lambda hoop: hoop.area)
    return Finding(
        Level.ERROR, "hoop-fit", part,
        f"Its stitching is {right - left:.1f} x {top - bottom:.1f} mm and {fits}{kept}.", remedy,
        round(float(max(right - left, top - bottom)), 2), max(largest.width, largest.height),
    )  # fmt: skip


def _remedy(need: NeededField) -> str:
    remedy = f"It needs a field of {need.upright.name} mm"
    if need.turned.area < 0.98 * need.upright.area:
        remedy += f", or {need.turned.name} mm turned by {need.turned_deg:.0f} degrees"
    if need.scale is not None and need.scale_hoop is not None:
        turn = f" turned by {need.scale_deg:.0f} degrees" if need.scale_deg % 90 > 0.5 else ""
        share = math.floor(100 * need.scale + 1e-9)  # rounded up, it would not fit
        remedy += f"; at {share} % of its size it would fit {need.scale_hoop.name}{turn}"
    return remedy + "."
