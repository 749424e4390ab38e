"""What is said of letters that are too small to read as sewn."""

from __future__ import annotations

import math

from stitchcraft.decoration.lettering import Lettering
from stitchcraft.errors import Finding, Level
from stitchcraft.units import both_text, least_text


def small_letters(
    lettering: Lettering, wish: str, *, code: str, part: str, key: str, scale: float = 1.0
) -> tuple[Finding, ...]:
    """Find letters that are too small for their stitch.

    Args:
        lettering: What is sewn.
        wish: The stitch that was asked for.
        code: Code of the finding.
        part: The part that carries it.
        key: The spec's key for the size, ``...width`` or ``...height``, which the remedy names.
        scale: The size that the key sets, as a multiple of the height of these letters or of their width.

    Returns:
        One finding, or none.
    """
    stitch = lettering.stitch(wish)
    low, height = lettering.lowest(stitch), lettering.cap_height_mm
    if height >= low - 1e-9:
        return ()
    # sizes are named to a tenth of a millimetre, rounded up, and a width in proportion
    wanted = scale * (low if key.endswith("height") else lettering.straight_width_mm * low / height)
    size = f"Set {key} to at least {least_text(math.ceil(10 * wanted + 1e-6) / 10)}"
    others = "use fewer words"
    if lettering.outlined:
        heavier = "" if lettering.face == "rounded" else ", or a heavier one, such as rounded"
        others = f"take a face of single lines, such as plain{heavier}"
    return (
        Finding(
            Level.WARNING, code, part,
            f"Its capitals are {both_text(height)} high; in {stitch} these letters read from {both_text(low)}.",
            f"{size}, or {others}.",
            round(height, 2), round(low, 2),
        ),
    )  # fmt: skip
