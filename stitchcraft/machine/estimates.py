"""How long a plan takes to sew, and how much thread it uses."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import MACHINE
from stitchcraft.design import Kind, StitchPlan
from stitchcraft.machine.fields import Machine
from stitchcraft.units import Length, length_between


@dataclass(frozen=True, slots=True)
class StopThread:
    """Thread that one colour stop uses.

    Attributes:
        top_m: Needle thread, m.
        bobbin_m: Bobbin thread, m.
    """

    top_m: float
    bobbin_m: float


@dataclass(frozen=True, slots=True)
class ThreadUse:
    """Thread that a plan uses, without the ends that are cut off.

    Attributes:
        stops: One entry for each colour stop, in order.
    """

    stops: tuple[StopThread, ...]

    @property
    def top_m(self) -> float:
        """Needle thread of all stops, m."""
        return sum(stop.top_m for stop in self.stops)

    @property
    def bobbin_m(self) -> float:
        """Bobbin thread of all stops, m."""
        return sum(stop.bobbin_m for stop in self.stops)


@dataclass(frozen=True, slots=True, eq=False)
class StitchLengths:
    """How far the thread goes to each penetration, and how.

    Attributes:
        length: (n,) mm from the penetration before; 0 for the first.
        sewn: Boolean (n,): reached by a stitch, without a jump, a trim or a stop on the way.
        laid: Boolean (n,): the thread runs there unbroken, sewn or along a jump.
        stop: int32 (n,), the stop of each penetration.
    """

    length: FloatArray
    sewn: NDArray[np.bool_]
    laid: NDArray[np.bool_]
    stop: NDArray[np.int32]


def stitch_lengths(plan: StitchPlan) -> StitchLengths:
    """Measure the way to each penetration of a plan."""
    at = np.flatnonzero(plan.is_stitch)
    length = np.hypot(*np.diff(plan.xy[at], axis=0, prepend=plan.xy[at][:1]).T)

    def between(kind: Kind) -> NDArray[np.bool_]:
        return np.diff(np.cumsum(plan.kind == kind)[at], prepend=0) > 0

    stop = plan.stop[at]
    cut = between(Kind.TRIM) | between(Kind.STOP) | (np.diff(stop, prepend=-1) != 0)
    cut[:1] = True
    return StitchLengths(length, ~cut & ~between(Kind.JUMP), ~cut, stop)


def uncut_moves(plan: StitchPlan, machine: Machine | None = None) -> FloatArray:
    """Lengths of the moves whose thread is left lying although a machine that trims would cut it, (n,) mm.

    Args:
        plan: What is sewn.
        machine: How far it moves without a cut; a common one if None.
    """
    used = machine if machine is not None else Machine()
    lengths = stitch_lengths(plan)
    return lengths.length[lengths.laid & ~lengths.sewn & (lengths.length > used.trim_over)]


@dataclass(frozen=True, slots=True)
class Threads:
    """The threads of a plan: what is sewn and laid from one cut to the next, of two penetrations at least.

    Attributes:
        stop: (n,) the stop, from 0, of each.
        first: (n,) number of its first penetration, counted over the whole plan.
        last: (n,) number of its last one.
        held_first: Boolean (n,): its beginning is locked.
        held_last: Boolean (n,): its end is locked.
    """

    stop: NDArray[np.int32]
    first: NDArray[np.int64]
    last: NDArray[np.int64]
    held_first: NDArray[np.bool_]
    held_last: NDArray[np.bool_]


_LOCK_HOLES: Final = 7
_LOCK_LONGEST_MM: Final = 2.0
_LOCK_TURN: Final = -0.85
_RETURN_LONGEST_MM: Final = 3.0
_SAME_HOLE_MM: Final = 0.05


def threads_of(plan: StitchPlan) -> Threads:
    """Find the threads of a plan, and whether their ends are locked.

    An end is locked if within its outermost seven penetrations the thread turns right back between stitches of 2 mm
    at most, or goes back into the hole that it came from by stitches of 3 mm at most, or turns right back over two
    stitches of 2 mm at most: tiny stitches forward and back are the habit of the trade, a narrow zigzag or a triple
    stitch holds itself, and so does a backstitch that the seam is sewn over, however long its own stitches are.
    """
    lengths, points = stitch_lengths(plan), plan.needle_points
    first = np.flatnonzero(~lengths.laid)
    last = np.append(first[1:], len(points)) - 1
    first, last = first[last > first], last[last > first]
    back = np.zeros(len(points), dtype=bool)
    step = np.diff(points, axis=0)
    length = lengths.length[1:]
    sewn = (length > 0) & lengths.sewn[1:]
    short = (length <= _LOCK_LONGEST_MM) & sewn
    cosine = (step[1:] * step[:-1]).sum(axis=1) / np.where(length[1:] * length[:-1] > 0, length[1:] * length[:-1], 1.0)
    same = np.hypot(*(points[2:] - points[:-2]).T) <= _SAME_HOLE_MM
    near = (length <= _RETURN_LONGEST_MM) & sewn
    turned = cosine < _LOCK_TURN
    back[1:-1] = (short[1:] & short[:-1] & turned) | (near[1:] & near[:-1] & same)
    two_short = short[1:] & short[:-1]
    over_first, over_last = back.copy(), back.copy()
    over_first[2:-1] |= turned[1:] & two_short[:-1] & sewn[2:]
    over_last[1:-2] |= turned[:-1] & two_short[1:] & sewn[:-2]

    def any_between(found: NDArray[np.bool_], low: NDArray[np.int64], high: NDArray[np.int64]) -> NDArray[np.bool_]:
        turns = np.concatenate([[0], np.cumsum(found)])
        return turns[high + 1] > turns[low]

    reach = _LOCK_HOLES - 1
    return Threads(
        lengths.stop[first], first, last,
        any_between(over_first, first, np.minimum(first + reach, last)),
        any_between(over_last, np.maximum(last - reach, first), last),
    )  # fmt: skip


def thread_metres(plan: StitchPlan, *, thickness: Length = MACHINE["stack_thickness"].value) -> ThreadUse:
    """Estimate the thread that a plan uses, by a lockstitch whose knot lies under the cloth.

    A stitch of length L through a stack of thickness T takes L + 2T of needle thread, along the top and down and
    up again, and L of bobbin thread. In all that is 2L + 2T: the published consumption of stitch type 301,
    C = 2 + 2TS for S stitches per unit of seam (trade texts on thread consumption). How it divides between needle
    and bobbin follows the habit of embroidery, where the needle thread is drawn to the back.

    Args:
        plan: What is sewn.
        thickness: Cloth and stabilizer under the needle, a length up to 20 mm. The default is fitted to the thread
            makers' 5 m of top and 3 m of bobbin thread for 1,000 stitches of 3 mm.

    Returns:
        Metres by stop. Ends that are cut off are not counted; shop floors allow 10 to 15 % for them.

    Raises:
        ParameterError: If *thickness* is no length from 0 to 20 mm.
    """
    stack = length_between(thickness, name="thickness", low=0, high=20)
    lengths = stitch_lengths(plan)
    along = np.where(lengths.laid, lengths.length, 0.0)
    count = len(plan.stops)
    bobbin = np.bincount(lengths.stop, weights=along, minlength=count) / 1000
    top = bobbin + 2 * stack * np.bincount(lengths.stop, minlength=count) / 1000
    return ThreadUse(tuple(StopThread(float(a), float(b)) for a, b in zip(top, bobbin, strict=True)))


def minutes(plan: StitchPlan, machine: Machine | None = None) -> float:
    """Estimate how long the machine runs: stitches at its speed, and its own trims.

    Args:
        plan: What is sewn.
        machine: Its speed, and whether it trims; a common one if None.

    Returns:
        Minutes. Changing threads and placing cloth are in `hands_on_minutes`.
    """
    return sum(stop_minutes(plan, machine))


def stop_minutes(plan: StitchPlan, machine: Machine | None = None) -> tuple[float, ...]:
    """Estimate how long the machine runs for each colour stop, in order: its stitches, and its own trims.

    Args:
        plan: What is sewn.
        machine: Its speed, and whether it trims; a common one if None.
    """
    used = machine if machine is not None else Machine()
    count = len(plan.stops)
    stitches = np.bincount(plan.stop[plan.is_stitch], minlength=count)
    trims = np.bincount(plan.stop[plan.kind == Kind.TRIM], minlength=count) if used.trims else np.zeros(count)
    seconds = MACHINE["trim_seconds"].value
    return tuple(float(a / used.speed + b * seconds / 60) for a, b in zip(stitches, trims, strict=True))


def hands_on_minutes(plan: StitchPlan, machine: Machine | None = None) -> float:
    """Estimate how long the machine waits for the maker: to change threads, to place cloth, and to trim if it can't.

    Args:
        plan: What is sewn.
        machine: Whether it trims; a common one if None.

    Returns:
        Minutes, from the first thread in the needle to the last stitch.
    """
    used = machine if machine is not None else Machine()
    threads = [(stop.thread.colour, stop.thread.weight) for stop in plan.stops]
    changes = sum(a != b for a, b in pairwise(threads))
    placings = sum(bool(stop.before) for stop in plan.stops)
    seconds = changes * MACHINE["rethread_seconds"].value + placings * MACHINE["placing_seconds"].value
    if not used.trims:
        seconds += (plan.trims + len(uncut_moves(plan, used))) * MACHINE["trim_seconds"].value
    return seconds / 60
