"""The words of the papers fitted to the cloth: none that harms it is asked for."""

from __future__ import annotations

import re
from typing import Final

from stitchcraft.defaults import FABRIC_CARE, FabricCare, FabricProfile

_COOL: Final = (
    (re.compile(r"(?<![-\w])Press(?=[\s.,;])"), "Finger-press"),
    (re.compile(r"(?<![-\w])press(?=[\s.,;])"), "finger-press"),
    (re.compile(r"\bfleece fused to\b"), "fleece stuck to"),
    (re.compile(r"\bfuse to\b"), "stick to"),
    (re.compile(r"\bfuse before hooping\b"), "stick on before hooping"),
)
"""What an iron would do, done without one."""

STUCK_FLEECE: Final = (
    "Stick the fleece to the wrong side of {panels}, in the middle, where the panel will be: with spray "
    "adhesive, or double-sided tape where no needle goes. Fuse it only if a scrap has borne the heat, from the "
    "fleece's side, under a cloth."
)


def care_of(fabric: FabricProfile) -> FabricCare | None:
    """How a fabric is handled; None for one that is handled as plain woven cotton is, or of which nothing is known."""
    return FABRIC_CARE.get(fabric.name)


def heat_shy(fabric: FabricProfile) -> bool:
    """Whether an iron harms a fabric."""
    care = care_of(fabric)
    return care is not None and care.heat_shy


def handled(text: str, fabric: FabricProfile) -> str:
    """What is said to the hands, as it is done with a fabric.

    Example:
        >>> from stitchcraft.defaults import FABRICS
        >>> handled("Press it open.", FABRICS["faux leather"]), handled("Press it open.", FABRICS["denim"])
        ('Finger-press it open.', 'Press it open.')
    """
    if heat_shy(fabric):
        for pattern, instead in _COOL:
            text = pattern.sub(instead, text)
    return text
