"""Rows of a fill and the sections they fall into.

A section is a chain of rows, one above the other, that can be sewn to and fro without leaving the shape: the
rows are cut into a new section wherever a row splits, or rows join. This is the boustrophedon cellular
decomposition (Choset, "Coverage of known spaces", Autonomous Robots 9, 2000), taken on the rows themselves.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.geometry.hatching import Hatching, hatched, in_row_frame

ANGLES_TRIED = 36
ROWS_TO_COUNT_SECTIONS = 240


@dataclass(frozen=True, slots=True, eq=False)
class Rows:
    """The rows of one connected area and their sections, in the row frame.

    Attributes:
        row: int64 (n,) row of each span; spans are sorted by row, then from left to right.
        left: (n,) where its stitches start, widened by the compensation, mm.
        right: (n,) where they end, mm; the same place, in the middle, where a row is too narrow for two points.
        low: (n,) where the span starts, mm.
        high: (n,) where it ends, mm.
        y: (n,) its height, mm.
        section: int64 (n,) which section it belongs to.
        members: int64 (n,) the spans by section, upward in each.
        start: int64 (sections + 1,) where each section starts in *members*.
        links: int64 (m, 2) spans that touch but lie in different sections: lower, upper.
        hatching: The lines before they were widened.
    """

    row: IntArray
    left: FloatArray
    right: FloatArray
    low: FloatArray
    high: FloatArray
    y: FloatArray
    section: IntArray
    members: IntArray
    start: IntArray
    links: IntArray
    hatching: Hatching

    @property
    def sections(self) -> int:
        """How many sections there are."""
        return len(self.start) - 1

    def spans_of(self, section: int) -> IntArray:
        """The spans of a section, upward."""
        return self.members[self.start[section] : self.start[section + 1]]


def rows_of(
    area: shapely.Polygon,
    *,
    spacing: float,
    angle: float,
    compensation: float = 0.0,
    narrow: float = 0.0,
    long_step: float = np.inf,
) -> Rows:
    """Lay rows into an area and sort them into sections.

    Args:
        area: One polygon, holes allowed, mm.
        spacing: Line to line, mm; changed by half a row in all to fit the height.
        angle: Direction of the rows, degrees.
        compensation: How far each row is widened at both ends, mm. Spans of a row that then meet become one.
        narrow: A row shorter than this takes one point, in its middle, mm.
        long_step: A single step of the outline along the rows longer than this starts a new section, mm.
    """
    lines = hatched(area, spacing=spacing, angle=angle)
    row, left, right = _widened(lines, compensation)
    low, high, below = _neighbours(row, left, right)
    go_on = (high - low == 1) & (below[np.minimum(low, max(len(row) - 1, 0))] == 1)
    if np.isfinite(long_step):
        go_on &= ~_breaks(left, right, low, go_on, long_step)
    section = _chains(low, go_on)
    members = np.lexsort((row, section))
    start = np.searchsorted(section[members], np.arange(section.max(initial=-1) + 2))
    lower = np.repeat(np.arange(len(row)), high - low)
    upper = np.arange(len(lower)) + np.repeat(low - (np.cumsum(high - low) - (high - low)), high - low)
    links = np.column_stack([lower, upper])[section[lower] != section[upper]]
    middle, wide = (left + right) / 2, right - left >= narrow
    y: FloatArray = np.asarray(lines.base + row * lines.spacing)
    return Rows(
        row, np.where(wide, left, middle), np.where(wide, right, middle), left, right,
        y, section, members, start, links, lines,
    )  # fmt: skip


def angle_of_fewest_sections(area: shapely.Polygon | shapely.MultiPolygon, *, spacing: float) -> float:
    """Find the row direction in which an area falls into fewest sections, then into fewest rows.

    Args:
        area: One polygon, mm.
        spacing: Line to line, mm; tall areas are looked at with wider rows.

    Returns:
        The angle in degrees, a multiple of 5 from 0 up to 175; the smallest one if several are as good.
    """
    best = (np.inf, np.inf, 0.0)
    for turn in range(ANGLES_TRIED):
        angle = turn * 180.0 / ANGLES_TRIED
        across = in_row_frame(shapely.get_coordinates(area), angle)[:, 1]
        lines = hatched(area, spacing=max(spacing, float(np.ptp(across)) / ROWS_TO_COUNT_SECTIONS), angle=angle)
        low, high, below = _neighbours(lines.row, lines.left, lines.right)
        go_on = (high - low == 1) & (below[np.minimum(low, max(len(lines.row) - 1, 0))] == 1)
        sections = len(lines.row) - int(np.count_nonzero(go_on))
        best = min(best, (sections, round(len(lines.row) * lines.spacing, 3), angle))
    return best[2]


def _widened(lines: Hatching, compensation: float) -> tuple[IntArray, FloatArray, FloatArray]:
    wide = lines.right - lines.left > 1e-6
    row, left, right = lines.row[wide], lines.left[wide] - compensation, lines.right[wide] + compensation
    apart = np.ones(len(row), dtype=bool)
    apart[1:] = (row[1:] != row[:-1]) | (left[1:] > right[:-1])
    last = np.flatnonzero(np.append(apart[1:], True)) if len(row) else np.empty(0, dtype=np.int64)
    return row[apart], left[apart], right[last]


def _neighbours(row: IntArray, left: FloatArray, right: FloatArray) -> tuple[IntArray, IntArray, IntArray]:
    """For every span, which spans of the next row it touches (from, to), and how many of the row before."""
    if not len(row):
        none = np.empty(0, dtype=np.int64)
        return none, none, np.zeros(1, dtype=np.int64)
    # one number per row and place, so that a single search finds the place within the right row
    origin = left.min()
    stride = 2.0 * (right.max() - origin) + 1.0
    low = np.searchsorted(row * stride + (right - origin), (row + 1) * stride + (left - origin), side="right")
    high = np.searchsorted(row * stride + (left - origin), (row + 1) * stride + (right - origin), side="left")
    high = np.maximum(low, high)
    edges = np.zeros(len(row) + 1, dtype=np.int64)
    np.add.at(edges, low, 1)
    np.add.at(edges, high, -1)
    return low, high, np.cumsum(edges)[:-1]


def _breaks(
    left: FloatArray, right: FloatArray, low: IntArray, go_on: NDArray[np.bool_], limit: float
) -> NDArray[np.bool_]:
    """Where one step of the outline is long and the steps around it are not, as at the foot of a tab."""
    above = np.minimum(low, len(left) - 1)
    broken = np.zeros(len(left), dtype=bool)
    for side in (left, right):
        long = go_on & (np.abs(side[above] - side) > limit)
        before = np.zeros(len(left), dtype=bool)
        before[above[long]] = True
        broken |= long & ~before & ~(long[above] & go_on)
    return broken


def _chains(above: IntArray, go_on: NDArray[np.bool_]) -> IntArray:
    """Number the chains of spans; each gets the number of its place among the chains' first spans."""
    count = len(above)
    root = np.arange(count)
    root[above[go_on]] = np.flatnonzero(go_on)
    while True:
        further = root[root]
        if np.array_equal(further, root):
            break
        root = further
    return np.unique(root, return_inverse=True)[1].astype(np.int64) if count else root
