"""The columns of one shape sewn in one go: the way from column to column lies under columns that are sewn later.

Columns that touch form a tree. The needle runs out along the middle of a column, sews what branches off on the
way, and comes back in satin over its own run; so nothing of the way shows, and the thread is never cut.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.design import Role
from stitchcraft.geometry.curves import distances_along, length_of
from stitchcraft.stitching.columns import Rails
from stitchcraft.stitching.pieces import Piece, Run, piece_of, run_joined, run_of
from stitchcraft.stitching.running import run_points
from stitchcraft.stitching.satin_column import column_piece
from stitchcraft.stitching.satin_settings import SatinSettings
from stitchcraft.stitching.satin_underlay import DETAIL_MM, TOLERANCE_MM, Underlay, underlay_for
from stitchcraft.stitching.short_stitches import kept_off_others
from stitchcraft.stitching.spacing import far_enough

TOUCHING_MM: Final = 0.7
"""Columns nearer than this are joined: they overlap by some tenths where one ends under the other."""

WAYS: Final = 4
"""How many ways of sewing a shape are offered: those with the least travel."""

_TRAVEL_MM: Final = 2.0
_SPLIT_MM: Final = 4.0
"""What dividing a column at a meeting counts for, in mm of travel."""


@dataclass(frozen=True, slots=True)
class _Branch:
    """A column that is reached from another: from line *at* of that to line *enters* of its own."""

    at: int
    column: int
    enters: int


@dataclass(slots=True)
class _Walk:
    """Steps in order: a path to run along, or lines ``first`` to ``last`` of a column to sew."""

    steps: list[FloatArray | tuple[int, int, int]] = field(default_factory=list)
    splits: int = 0

    def run(self, path: FloatArray) -> None:
        if self.steps and isinstance(self.steps[-1], np.ndarray):
            self.steps[-1] = np.vstack([self.steps[-1], path])
        else:
            self.steps.append(path)

    def sew(self, column: int, first: int, last: int) -> None:
        self.steps.append((column, first, last))

    @property
    def cost(self) -> float:
        runs = [step for step in self.steps if isinstance(step, np.ndarray)]
        return sum(length_of(run) for run in runs) + _SPLIT_MM * self.splits


def joined_pieces(polygon: shapely.Polygon, columns: Sequence[Rails], settings: SatinSettings) -> list[Piece]:
    """Sew the columns of a shape, those that touch in one go.

    Args:
        polygon: The shape, mm.
        columns: Its columns, each pair of points a line to sew, without compensation.
        settings: How they are sewn.

    Returns:
        A piece for each group of columns that touch.
    """
    pieces = []
    contacts = _contacts(polygon, columns)
    left = list(range(len(columns)))
    while left:
        group = _reached(left[0], contacts)
        left = [column for column in left if column not in group]
        if len(group) == 1:
            pieces.append(column_piece(columns[group[0]], settings, spaced=True))
            continue
        walks = [walk for root in group for walk in _walks(root, columns, contacts)]
        walks.sort(key=lambda walk: round(walk.cost, 6))
        sewer = _Sewer(columns, settings)
        pieces.append(piece_of(*(sewer.run(walk) for walk in walks[:WAYS])))
    return pieces


def _contacts(polygon: shapely.Polygon, columns: Sequence[Rails]) -> dict[tuple[int, int], tuple[float, int, int]]:
    """For columns that touch, either way round: how far their middles are from each other, and at which lines.

    The way between the two middles lies inside the shape: else it would show.
    """
    middles = [column.mixed(0.5) for column in columns]
    covers = [shapely.multilinestrings([*np.stack([column.a, column.b], axis=1)]) for column in columns]
    within = shapely.buffer(polygon, 0.05)
    shapely.prepare(within)
    found: dict[tuple[int, int], tuple[float, int, int]] = {}
    for i in range(len(columns)):
        for j in range(i + 1, len(columns)):
            if shapely.distance(covers[i], covers[j]) > TOUCHING_MM:
                continue
            gaps = np.hypot(*(middles[i][:, None] - middles[j][None]).transpose(2, 0, 1))
            # the nearest of the other to each line, both ways, nearest pairs first
            pairs = [(p, int(gaps[p].argmin())) for p in range(len(gaps))]
            pairs += [(int(gaps[:, q].argmin()), q) for q in range(gaps.shape[1])]
            pairs.sort(key=lambda pair: (round(float(gaps[pair]), 6), pair))
            links = shapely.linestrings([[middles[i][p], middles[j][q]] for p, q in pairs])
            inside = np.flatnonzero(shapely.covers(within, links))
            if len(inside):
                p, q = pairs[int(inside[0])]
                found[i, j], found[j, i] = (float(gaps[p, q]), p, q), (float(gaps[p, q]), q, p)
    return found


def _reached(start: int, contacts: dict[tuple[int, int], tuple[float, int, int]]) -> list[int]:
    group = [start]
    for column in group:
        group += sorted(j for i, j in contacts if i == column and j not in group)
    return sorted(group)


def _tree(root: int, contacts: dict[tuple[int, int], tuple[float, int, int]]) -> dict[int, list[_Branch]]:
    """What branches off each column, nearest contacts first (Prim)."""
    tree: dict[int, list[_Branch]] = {root: []}
    while True:
        reachable = [(*contact, i, j) for (i, j), contact in contacts.items() if i in tree and j not in tree]
        if not reachable:
            return tree
        _, at, enters, i, j = min(reachable)
        tree[i].append(_Branch(at, j, enters))
        tree[j] = []


def _walks(root: int, columns: Sequence[Rails], contacts: dict[tuple[int, int], tuple[float, int, int]]) -> list[_Walk]:
    """Ways to sew a group that begin on one of its columns."""
    tour = _Tour(columns, _tree(root, contacts))
    last = len(columns[root].a) - 1
    if columns[root].closed:
        left, right = (int(np.argmin(s * columns[root].mixed(0.5)[:, 0])) for s in (1, -1))
        return [tour.returning(root, start) for start in (left, right)]
    return [way(root, start) for start in (0, last) for way in (tour.returning, tour.onward)]


class _Tour:
    """Makes walks over a tree of columns."""

    def __init__(self, columns: Sequence[Rails], tree: dict[int, list[_Branch]]) -> None:
        self.columns = columns
        self.tree = tree
        self.middles = [column.mixed(0.5) for column in columns]
        self.along = [distances_along(middle) for middle in self.middles]

    def returning(self, column: int, start: int) -> _Walk:
        """Begin and end at a line of a column."""
        walk = _Walk()
        self._back(walk, column, start)
        return walk

    def onward(self, column: int, start: int) -> _Walk:
        """Begin at an end of a column and go on where its other end leads."""
        walk = _Walk()
        self._through(walk, column, start)
        return walk

    def _through(self, walk: _Walk, column: int, start: int) -> None:
        last = len(self.middles[column]) - 1
        end = last - start
        branches = self.tree[column]
        ahead = [branch for branch in branches if self._nearest_end(column, branch.at) == end]
        following = max(ahead, key=lambda branch: (self._size(branch.column), -branch.column), default=None)
        first = [branch for branch in branches if branch is not following]
        if first:
            turn = max((branch.at for branch in first), key=lambda at: abs(at - start))
            self._out(walk, column, start, turn, first)
            walk.run(self._path(column, turn, start))
        walk.sew(column, start, end)
        if following is None:
            return
        enters = self._nearest_end(following.column, following.enters)
        if enters is None or self.columns[following.column].closed:
            self._back(walk, following.column, following.enters)
        else:
            self._through(walk, following.column, enters)

    def _back(self, walk: _Walk, column: int, start: int) -> None:
        branches = self.tree[column]
        last = len(self.middles[column]) - 1
        if self.columns[column].closed:
            around = sorted(branches, key=lambda branch: (branch.at - start) % last)
            here = start
            for branch in around:
                walk.run(self._ring(column, here, branch.at))
                self._visit(walk, column, branch)
                here = branch.at
            if around:
                walk.run(self._ring(column, here, start))
            walk.sew(column, start, start)
            return
        end = self._nearest_end(column, start)
        if end is not None:
            self._out(walk, column, start, last - end, branches)
            walk.sew(column, last - end, end)
            return
        walk.splits += 1
        for first, limit in ((0, start), (last, start + 1)):
            side = [branch for branch in branches if (branch.at <= start) == (first == 0)]
            self._out(walk, column, start, first, side)
            walk.sew(column, first, limit)

    def _out(self, walk: _Walk, column: int, start: int, end: int, branches: Sequence[_Branch]) -> None:
        """Run from a line of a column to another, and sew what branches off on the way."""
        here = start
        for branch in sorted(branches, key=lambda branch: abs(branch.at - start)):
            walk.run(self._path(column, here, branch.at))
            self._visit(walk, column, branch)
            here = branch.at
        walk.run(self._path(column, here, end))

    def _visit(self, walk: _Walk, column: int, branch: _Branch) -> None:
        there = self.middles[branch.column][branch.enters : branch.enters + 1]
        walk.run(there)
        self._back(walk, branch.column, branch.enters)
        walk.run(self.middles[column][branch.at : branch.at + 1])

    def _nearest_end(self, column: int, at: int) -> int | None:
        """The end of a column that a line is as good as at, None if it is in the midst of it."""
        along = self.along[column]
        near = max(1.0, 0.75 * float(self.columns[column].width[at]))
        last = len(along) - 1
        end = 0 if along[at] <= along[-1] / 2 else last
        return end if abs(along[at] - along[end]) <= near else None

    def _path(self, column: int, start: int, end: int) -> FloatArray:
        middle = self.middles[column]
        return middle[start : end + 1] if start <= end else middle[end : start + 1][::-1]

    def _ring(self, column: int, start: int, end: int) -> FloatArray:
        """Forward along a closed column; from a line to itself once round."""
        last = len(self.middles[column]) - 1
        count = (end - start) % last or last
        return self.middles[column][(start + np.arange(count + 1)) % last]

    def _size(self, column: int) -> float:
        return float(self.along[column][-1]) + sum(self._size(branch.column) for branch in self.tree[column])


class _Sewer:
    """Turns walks into runs; what two walks sew alike is made once."""

    def __init__(self, columns: Sequence[Rails], settings: SatinSettings) -> None:
        self.columns = columns
        self.settings = settings
        self.made: dict[tuple[int, int, int, bool], Piece] = {}

    def run(self, walk: _Walk) -> Run:
        runs: list[Run] = []
        before: list[FloatArray] = []  # needle points of the satin so far
        for number, step in enumerate(walk.steps):
            if isinstance(step, np.ndarray):
                points = _travel(step)
                if runs and len(points) > 2 and math.dist(runs[-1].xy[-1], points[0]) < _TRAVEL_MM:
                    points = points[1:]  # it leads across the satin just sewn, and would lie on top of it
                # what comes next begins at its own place
                onward = number + 1 < len(walk.steps) and len(points) > 1
                runs.append(run_of(points[:-1] if onward else points, Role.TRAVEL))
                continue
            column, first, last = step
            led = bool(runs) and runs[-1].role[-1] == Role.TRAVEL
            piece = self._piece(column, first, last, led)
            if piece is None:
                continue
            way = 0 if first <= last else min(1, len(piece.entries) - 1)
            if self.columns[column].closed and runs:
                way = int(np.argmin(np.hypot(*(piece.entries - runs[-1].xy[-1]).T)))
            satin = piece.sew(way)
            runs.append(_off(satin, before, self.settings.gap) if before else satin)
            before.append(runs[-1].xy[runs[-1].role == Role.TOP])
        return run_joined(*runs)

    def _piece(self, column: int, first: int, last: int, led: bool) -> Piece | None:
        """Some lines of a column; *led* by a run along their middle, which stands for a centre run under them."""
        low, high = min(first, last), max(first, last)
        key = (column, low, high, led)
        if key in self.made:
            return self.made[key]
        rails = self.columns[column]
        if rails.closed:
            piece = column_piece(rails.rolled(float(first)), self.settings, spaced=True)
        elif high - low < 1:
            return None
        else:
            part = Rails(rails.a[low : high + 1], rails.b[low : high + 1])
            centred = underlay_for(float(np.median(part.width)), self.settings) == Underlay.CENTRE
            own = replace(self.settings, underlay=False) if led and centred else self.settings
            piece = column_piece(part, own, spaced=True)
        self.made[key] = piece
        return piece


def _off(satin: Run, before: Sequence[FloatArray], gap: float) -> Run:
    """The same satin, its needle points kept off those of the columns that it overlaps."""
    top = np.flatnonzero(satin.role == Role.TOP)
    if len(top) < 3:
        return satin
    xy = satin.xy.copy()
    xy[top] = kept_off_others(xy[top], np.vstack(before), gap)
    return Run(xy, satin.role)


def _travel(path: FloatArray) -> FloatArray:
    if length_of(path) < 0.3:
        return path[:1]
    path = path[np.append(True, np.hypot(*np.diff(path, axis=0).T) > 1e-9)]
    path = shapely.get_coordinates(shapely.simplify(shapely.LineString(path), DETAIL_MM, preserve_topology=False))
    points = run_points(path, length=_TRAVEL_MM, tolerance=TOLERANCE_MM)
    return points[far_enough(points)]
