"""Sewing without a jump, its needle points tidied."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.stitching.spacing import divided, far_enough, parts_of_moves


@dataclass(frozen=True, slots=True, eq=False)
class Strand:
    """Sewing without a jump.

    Attributes:
        xy: (n, 2) needle points, mm.
        role: uint8 (n,) values of `Role`.
        element: int32 (n,) index of the element that each point belongs to.
        exact: Its short stitches and shared holes are meant.
        own_locks: It brings locks of its own.
        loose: Its holes may move a little, to be shared or to keep off others.
    """

    xy: FloatArray
    role: NDArray[np.uint8]
    element: NDArray[np.int32]
    exact: bool = False
    own_locks: bool = False
    loose: bool = False


def tidied(strand: Strand) -> Strand:
    """Leave out the points that make stitches too short, and divide the stitches that are too long."""
    if not strand.exact:
        keep = far_enough(strand.xy)
        if len(keep) < len(strand.xy):
            strand = replace(strand, xy=strand.xy[keep], role=strand.role[keep], element=strand.element[keep])
    parts = parts_of_moves(strand.xy)
    if parts.max(initial=1) == 1:
        return strand
    xy, target = divided(strand.xy, parts)
    return replace(strand, xy=xy, role=strand.role[target], element=strand.element[target])
