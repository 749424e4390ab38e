"""What the stitchers hand to the planner: continuous sewing, with a choice of where to begin."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.design import Role


@dataclass(frozen=True, slots=True, eq=False)
class Run:
    """One continuous piece of sewing: the needle goes down at every point and the thread is never cut.

    Attributes:
        xy: (n, 2) needle points, mm, n >= 1.
        role: uint8 (n,) values of `Role`: what the stitch that ends at each point is there for.
    """

    xy: FloatArray
    role: NDArray[np.uint8]

    def __post_init__(self) -> None:
        object.__setattr__(self, "xy", np.ascontiguousarray(self.xy, dtype=np.float64).reshape(-1, 2))
        object.__setattr__(self, "role", np.ascontiguousarray(self.role, dtype=np.uint8).reshape(len(self.xy)))


def run_of(xy: FloatArray, role: Role = Role.TOP) -> Run:
    """Make a run whose stitches all have one role."""
    return Run(xy, np.full(len(xy), role, dtype=np.uint8))


def run_joined(*runs: Run) -> Run:
    """Join runs end to end; the stitch between two takes the role of the first point of the later one."""
    return Run(np.vstack([run.xy for run in runs]), np.concatenate([run.role for run in runs]))


@dataclass(frozen=True, slots=True, eq=False)
class Piece:
    """Something to sew without a jump, in one of several equivalent ways.

    Attributes:
        entries: (k, 2) where the needle starts in each way, mm.
        exits: (k, 2) where it ends in each way, mm.
        sew: Makes the run for way ``i`` in ``range(k)``; the run starts at ``entries[i]`` and ends at
            ``exits[i]``.
    """

    entries: FloatArray
    exits: FloatArray
    sew: Callable[[int], Run]


def piece_of(*ways: Run) -> Piece:
    """Make a piece of runs that are ready."""
    return Piece(np.array([way.xy[0] for way in ways]), np.array([way.xy[-1] for way in ways]), lambda way: ways[way])
