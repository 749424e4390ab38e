"""Runs in order of sewing become the rows of a plan: locks, jumps, trims and stops are put between them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.design import Kind, PlanStop, Role, StitchPlan
from stitchcraft.stitching.locks import locked
from stitchcraft.stitching.spacing import SHORTEST_MM, divided, far_enough, parts_of_moves
from stitchcraft.stitching.strands import Strand

SEWN_GAP_MM: Final = PLANNING["sewn_gap"].value
"""A gap up to this is sewn over: a jump would leave a loop as long, and a stitch lies flat."""


def threads_of(strands: Sequence[Strand], *, trim_over: float) -> list[list[Strand]]:
    """Group the strands of a stop by the thread that sews them without being cut.

    Args:
        strands: In order of sewing, each of two points at least.
        trim_over: A gap longer than this ends the thread, mm.

    Returns:
        For each thread its strands, with a jump between one and the next. A gap of no more than `SEWN_GAP_MM` has
        become a stitch.
    """
    threads: list[list[Strand]] = []
    for strand in strands:
        if not threads:
            threads.append([strand])
            continue
        last = threads[-1][-1]
        gap = math.dist(last.xy[-1], strand.xy[0])
        free = not (last.own_locks or strand.own_locks)
        if free and gap <= min(SEWN_GAP_MM, trim_over):
            threads[-1][-1] = _sewn_on(last, strand)
        elif gap <= trim_over and (free or gap >= SHORTEST_MM):
            threads[-1].append(strand)
        else:
            threads.append([strand])
    return threads


def _sewn_on(first: Strand, second: Strand) -> Strand:
    """Join two strands by a stitch, or by nothing if the second begins in the hole where the first ends."""
    role = second.role.copy()
    role[0] = Role.TRAVEL
    end = skip = 0
    if _too_near(first.xy[-1], second.xy[0]):
        # one hole of the two is enough; a repeated stitch comes back to its own, so there the other goes
        spare = second.exact and not first.exact and len(first.xy) > 2 and not _too_near(first.xy[-2], second.xy[0])
        end, skip = (1, 0) if spare else (0, 1)
        role[0] = first.role[-1]
    stay = slice(0, len(first.xy) - end)
    return Strand(
        np.vstack([first.xy[stay], second.xy[skip:]]),
        np.concatenate([first.role[stay], role[skip:]]),
        np.concatenate([first.element[stay], second.element[skip:]]),
        first.exact or second.exact,
    )


def _too_near(one: FloatArray, other: FloatArray) -> bool:
    return len(far_enough(np.vstack([one, other]))) < 2


@dataclass(slots=True)
class _Rows:
    """Rows of a plan as they grow."""

    here: FloatArray
    xy: list[FloatArray] = field(default_factory=list)
    kind: list[NDArray[np.uint8]] = field(default_factory=list)
    stop: list[NDArray[np.int32]] = field(default_factory=list)
    role: list[NDArray[np.uint8]] = field(default_factory=list)
    element: list[NDArray[np.int32]] = field(default_factory=list)

    def add(self, xy: FloatArray, kind: Kind, stop: int, role: object = Role.TOP, element: object = -1) -> None:
        count = len(xy)
        self.xy.append(xy)
        self.kind.append(np.full(count, kind, dtype=np.uint8))
        self.stop.append(np.full(count, stop, dtype=np.int32))
        self.role.append(np.full(count, role, dtype=np.uint8))
        self.element.append(np.full(count, element, dtype=np.int32))
        self.here = xy[-1]

    def command(self, kind: Kind, stop: int) -> None:
        self.add(self.here[None], kind, stop)

    def jump(self, to: FloatArray, stop: int) -> None:
        move = np.vstack([self.here, to])
        self.add(divided(move, parts_of_moves(move))[0][1:], Kind.JUMP, stop)


def assembled(
    name: str,
    stops: Sequence[tuple[PlanStop, Sequence[Strand]]],
    *,
    trim_over: float,
    trims: bool,
    origin: tuple[float, float],
) -> StitchPlan:
    """Put the strands of all stops into one plan.

    Every thread begins and ends with a lock, also where it is only laid to the next stitching. A stop begins with a
    jump and ends with a trim; a trim also ends every thread within a stop. Jumps are divided so that no row goes too
    far; the first is counted from the origin.

    Args:
        name: Name of the part.
        stops: For each stop what is known of it, and its strands in order of sewing, one at least.
        trim_over: A jump longer than this is trimmed, mm.
        trims: Whether the machine cuts threads; if not, nothing is trimmed.
        origin: The design's crosshair point, mm.
    """
    rows = _Rows(np.array(origin, dtype=np.float64))
    for index, (_, strands) in enumerate(stops):
        for thread in threads_of(strands, trim_over=trim_over):
            for strand in thread:
                # at a move within the thread too: not every file can say that the thread is not to be cut there
                own = not strand.own_locks
                xy, role, element = locked(strand.xy, strand.role, strand.element, start=own, end=own)
                rows.jump(xy[0], index)
                rows.add(xy, Kind.STITCH, index, role, element)
            if trims:
                rows.command(Kind.TRIM, index)
        rows.command(Kind.STOP if index < len(stops) - 1 else Kind.END, index)
    return StitchPlan(
        name=name,
        xy=np.vstack(rows.xy),
        kind=np.concatenate(rows.kind),
        stop=np.concatenate(rows.stop),
        role=np.concatenate(rows.role),
        element=np.concatenate(rows.element),
        stops=tuple(stop for stop, _ in stops),
        origin=origin,
    )
