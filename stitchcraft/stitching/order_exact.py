"""The costs of an ordering task, and its exact solution while the pieces are few.

A *state* is a piece together with the way it is sewn. All states are numbered through, piece by piece; the
number after the last stands for "before the first piece and after the last one".
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, TypeAlias

import numpy as np
from numpy.typing import ArrayLike

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.errors import ParameterError
from stitchcraft.stitching.distances import distance

Order: TypeAlias = list[tuple[int, int]]

EXACT_WORK: Final = 16_000_000
"""Largest 2^pieces x states^2 that is solved exactly: some 0.1 s, such as 14 pieces with two ways each."""


@dataclass(frozen=True, slots=True, eq=False)
class Task:
    """Pieces to be ordered, their ways numbered through.

    Attributes:
        entry: (m, 2) where each state starts, mm.
        exit: (m, 2) where it ends, mm.
        piece: (m,) the piece of each state.
        first: (n + 1,) the first state of each piece, and m.
        start: Where the needle comes from, or None if that costs nothing.
        end: Where it has to go afterwards, or None.
    """

    entry: FloatArray
    exit: FloatArray
    piece: IntArray
    first: IntArray
    start: FloatArray | None
    end: FloatArray | None

    @property
    def pieces(self) -> int:
        """How many pieces."""
        return len(self.first) - 1

    @property
    def states(self) -> int:
        """How many states."""
        return len(self.piece)

    def costs(self) -> FloatArray:
        """Travel from each state's exit to each state's entry, (m + 1, m + 1) mm; row and column m are the ends."""
        size = self.states
        table = np.zeros((size + 1, size + 1))
        gap = self.exit[:, None, :] - self.entry[None, :, :]
        table[:size, :size] = distance(gap[..., 0], gap[..., 1])
        if self.start is not None:
            table[size, :size] = distance(*(self.entry - self.start).T)
        if self.end is not None:
            table[:size, size] = distance(*(self.exit - self.end).T)
        return table

    def legs(self, before: IntArray, after: IntArray) -> FloatArray:
        """Travel from states to states, in any shapes that broadcast, mm; the number m stands for the ends."""
        size = self.states
        before, after = np.broadcast_arrays(before, after)
        leave = np.vstack([self.exit, [[0.0, 0.0]] if self.start is None else self.start])
        come = np.vstack([self.entry, [[0.0, 0.0]] if self.end is None else self.end])
        gap = come[after] - leave[before]
        travel: FloatArray = distance(gap[..., 0], gap[..., 1])
        if self.start is None:
            travel[before == size] = 0.0
        if self.end is None:
            travel[after == size] = 0.0
        return travel

    def between(self, before: IntArray, after: IntArray) -> FloatArray:
        """Travel from each of some states to each of others, a table in mm; the ends are not among them."""
        gap = self.entry[after][None] - self.exit[before][:, None]
        table: FloatArray = distance(gap[..., 0], gap[..., 1])
        return table

    def part(self, states: IntArray, start: FloatArray | None, end: FloatArray | None) -> tuple[Task, IntArray]:
        """A task of the pieces of some states alone, and the number in this task of each of its states."""
        own = [np.arange(self.first[p], self.first[p + 1]) for p in self.piece[states]]
        numbers = np.concatenate(own).astype(np.int64)
        counts = np.array([len(ways) for ways in own], dtype=np.int64)
        part = Task(
            entry=self.entry[numbers],
            exit=self.exit[numbers],
            piece=np.repeat(np.arange(len(own)), counts),
            first=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
            start=start,
            end=end,
        )
        return part, numbers

    def order(self, states: Sequence[int] | IntArray) -> Order:
        """Say a sequence of states as pieces and ways."""
        return [(int(self.piece[s]), int(s - self.first[self.piece[s]])) for s in states]


def task_of(
    entries: Sequence[ArrayLike], exits: Sequence[ArrayLike], start: ArrayLike | None, end: ArrayLike | None
) -> Task:
    """Check what a caller hands over and number the states.

    Raises:
        ParameterError: If entries and exits do not match, a piece has no way, or a coordinate is not finite.
    """
    if len(entries) != len(exits):
        raise ParameterError("exits", f"{len(exits)} arrays", f"one array for each of the {len(entries)} entries")
    into = [_points(entry, f"entries[{i}]") for i, entry in enumerate(entries)]
    out = [_points(leave, f"exits[{i}]") for i, leave in enumerate(exits)]
    for i, (a, b) in enumerate(zip(into, out, strict=True)):
        if len(a) != len(b):
            raise ParameterError(f"exits[{i}]", f"{len(b)} points", f"as many as the {len(a)} entries of that piece")
    counts = np.array([len(a) for a in into], dtype=np.int64)
    return Task(
        entry=np.vstack([*into, np.empty((0, 2))]),
        exit=np.vstack([*out, np.empty((0, 2))]),
        piece=np.repeat(np.arange(len(into)), counts),
        first=np.concatenate([[0], np.cumsum(counts)]).astype(np.int64),
        start=None if start is None else _points(start, "start", rows=1)[0],
        end=None if end is None else _points(end, "end", rows=1)[0],
    )


def _points(values: ArrayLike, name: str, *, rows: int | None = None) -> FloatArray:
    xy = np.asarray(values, dtype=np.float64)
    if rows == 1 and xy.shape == (2,):
        xy = xy[None]
    if xy.ndim != 2 or xy.shape[1] != 2 or len(xy) == 0 or (rows is not None and len(xy) != rows):
        what = "one point (x, y)" if rows == 1 else "an array of shape (k, 2) with k of at least 1"
        raise ParameterError(name, f"an array of shape {xy.shape}", what)
    if not np.isfinite(xy).all():
        raise ParameterError(name, values, "finite coordinates in mm")
    return xy


def is_small(task: Task) -> bool:
    """Whether `exact` solves the task in a moment."""
    return bool(task.pieces <= 16 and 2**task.pieces * task.states**2 <= EXACT_WORK)


def exact(task: Task, costs: FloatArray) -> IntArray:
    """Find the order and the ways of least travel, by dynamic programming over (set of pieces, last state).

    Source: M. Held, R. M. Karp, "A dynamic programming approach to sequencing problems", J. SIAM 10 (1962)
    196-210, with the way of the last piece added to the state. Time and memory grow as 2^pieces.

    Returns:
        (n,) states in sewing order.
    """
    count, size = task.pieces, task.states
    best = np.full((1 << count, size), np.inf)
    ways = [np.arange(task.first[i], task.first[i + 1]) for i in range(count)]
    for i in range(count):
        best[1 << i, ways[i]] = costs[size, ways[i]]
    sets = np.arange(1 << count)
    members = sum((sets >> i) & 1 for i in range(count))
    for held in range(1, count):
        layer = sets[members == held]
        for i in range(count):
            without = layer[(layer >> i) & 1 == 0]
            # one state at a time keeps the temporary at sets x states
            for state in ways[i]:
                best[without | (1 << i), state] = (best[without] + costs[None, :size, state]).min(axis=1)
    return _walked_back(task, costs, best)


def _walked_back(task: Task, costs: FloatArray, best: FloatArray) -> IntArray:
    size = task.states
    held = (1 << task.pieces) - 1
    after = size
    states: list[int] = []
    while held:
        after = int(np.argmin(best[held] + costs[:size, after]))
        states.append(after)
        held &= ~(1 << int(task.piece[after]))
    return np.array(states[::-1], dtype=np.int64)
