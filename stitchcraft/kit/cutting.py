"""Where to cut a part that fits no field, so that few stitches are cut and every piece fits one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, turned
from stitchcraft.defaults import PARTS
from stitchcraft.design import StitchPlan
from stitchcraft.machine import Hoop, needed_field, smallest_fit, stitch_lengths

ARM_MM: Final = PARTS["cross_arm"].value
"""From the centre of a registration cross to the end of its arms."""

OVERLAP_MM: Final = PARTS["cut_overlap"].value
"""What is divided is sewn past the cut by this at least."""

_CLEAR_MM: Final = PARTS["cross_clear"].value
_STEP_MM: Final = 1.0
_WHOLE_UP_TO_MM: Final = PARTS["uncut_element"].value
_MOST_PIECES: Final = 6


@dataclass(frozen=True, slots=True, eq=False)
class Cuts:
    """How a part is cut into strips.

    Attributes:
        angle_deg: Direction in which the strips follow each other.
        at_mm: Where the cuts lie along that direction, one fewer than strips.
        strip: int32 (n,), the strip of each penetration.
        along_mm: (n,), where each penetration lies along that direction.
        divided: Boolean (n,), whether it belongs to an element that may be cut.
        crosses: For each cut the centres of its two crosses, (2, 2) mm, on whole 0.1 mm.
        stitches_cut: How many stitches run across the cuts.
    """

    angle_deg: float
    at_mm: tuple[float, ...]
    strip: NDArray[np.int32]
    along_mm: FloatArray
    divided: NDArray[np.bool_]
    crosses: tuple[FloatArray, ...]
    stitches_cut: int


def cross_points(centre: FloatArray) -> FloatArray:
    """The ends of a cross, (4, 2) mm: left, right, bottom, top."""
    return centre + ARM_MM * np.array([[-1.0, 0.0], [1.0, 0.0], [0.0, -1.0], [0.0, 1.0]])


def cuts_of(plan: StitchPlan, hoops: Sequence[Hoop], *, margin: float) -> Cuts | None:
    """Cut a part into as few parallel strips as fit the fields, where the fewest stitches are cut.

    An element of up to 20 mm is never cut: it goes with its middle. Each cut has a cross beyond the stitching at
    either end, and both strips must take both crosses.

    Args:
        plan: The part's stitches.
        hoops: The fields.
        margin: Kept free inside the edge of a field, mm.

    Returns:
        The cuts, or None if no such strips fit.
    """
    need = needed_field(plan.needle_points, hoops, margin=margin)
    angles = dict.fromkeys([0.0, 90.0, -need.turned_deg, 90.0 - need.turned_deg])
    found = [cuts for angle in angles if (cuts := _Strips(plan, hoops, angle, margin).best()) is not None]
    return min(found, key=lambda cuts: (len(cuts.at_mm), cuts.stitches_cut), default=None)


class _Strips:
    """Strips that follow each other in one direction."""

    def __init__(self, plan: StitchPlan, hoops: Sequence[Hoop], angle: float, margin: float) -> None:
        self.angle, self.hoops, self.margin = angle, hoops, margin
        self.points = plan.needle_points
        # along the direction, and across it
        self.flat = turned(self.points, -angle)
        sewn = plan.is_stitch
        keys = np.column_stack([plan.stop[sewn], plan.element[sewn]])
        _, group = np.unique(keys, axis=0, return_inverse=True)
        along = self.flat[:, 0]
        low, high = np.full(group.max() + 1, np.inf), np.full(group.max() + 1, -np.inf)
        np.minimum.at(low, group, along)
        np.maximum.at(high, group, along)
        own = (high - low <= _WHOLE_UP_TO_MM) & (np.bincount(group) > 1)
        self.divided = ~own[group]
        # what is not cut counts as lying where its middle lies
        self.side = np.where(own[group], ((low + high) / 2)[group], along)
        begin, end = float(along.min()), float(along.max())
        inner = np.arange(begin + _STEP_MM, end, _STEP_MM)
        self.lines = np.round(np.concatenate([[begin - 1.0], inner, [end + 1.0]]), 1)
        self.linked = stitch_lengths(plan).sewn[1:]
        self.corners = self._corners()
        ends = np.sort(np.column_stack([self.side[:-1], self.side[1:]])[self.linked], axis=1)
        # stitches that a line cuts, and then elements that it runs through though they are not cut
        self.cost = np.array([
            (((ends[:, 0] <= at) & (ends[:, 1] > at)).sum(), ((low < at) & (high > at)).sum()) for at in self.lines
        ])  # fmt: skip

    def crosses(self, line: int) -> FloatArray:
        """Centres of the crosses of a cut, beyond all stitching near it."""
        at = self.lines[line]
        near = np.abs(self.flat[:, 0] - at) <= ARM_MM + _CLEAR_MM
        across = self.flat[near, 1] if near.any() else self.flat[:, 1]
        room = ARM_MM + _CLEAR_MM
        centres = np.array([[at, across.min() - room], [at, across.max() + room]])
        return np.round(turned(centres, self.angle), 1)

    def fits(self, first: int, last: int) -> bool:
        """Whether the strip between two lines fits a field with its crosses and the stitches that its cuts cut."""
        points = [own for own in self.corners[first:last] if len(own)]
        if not points:
            return True
        points += [cross_points(one) for line in self._cut(first, last) for one in self.crosses(line)]
        return smallest_fit(np.vstack(points), self.hoops, margin=self.margin) is not None

    def _corners(self) -> list[FloatArray]:
        """For each stretch from line to line the corners of what is sewn there, with the stitches that leave it."""
        found = []
        stretch = np.searchsorted(self.lines, self.side, side="left") - 1
        for number in range(len(self.lines) - 1):
            inside = stretch == number
            # a strip overlaps its neighbours a little
            low, high = self.lines[number] - OVERLAP_MM, self.lines[number + 1] + OVERLAP_MM
            wide = inside | (self.divided & (self.flat[:, 0] > low) & (self.flat[:, 0] < high))
            reached = wide.copy()
            wide[1:] |= reached[:-1] & self.linked
            wide[:-1] |= reached[1:] & self.linked
            points = self.points[wide]
            hull = shapely.convex_hull(shapely.MultiPoint(points)) if len(points) else shapely.Point()
            found.append(shapely.get_coordinates(hull))
        return found

    def _cut(self, *lines: int) -> list[int]:
        return [line for line in lines if 0 < line < len(self.lines) - 1]

    def best(self) -> Cuts | None:
        """The fewest strips, of those the fewest stitches cut; by going from line to line."""
        last = len(self.lines) - 1
        reach = self._reach()
        # for so many strips up to a line: stitches cut, elements run through, how uneven, and the lines on the way
        ways: dict[int, tuple[int, int, float, tuple[int, ...]]] = {0: (0, 0, 0.0, ())}
        for count in range(1, _MOST_PIECES + 1):
            onward: dict[int, tuple[int, int, float, tuple[int, ...]]] = {}
            for first, (cut, through, uneven, lines) in ways.items():
                for line in range(first + 1, reach[first] + 1):
                    if line != last and line - first < 10:
                        continue  # a strip of less than a centimetre is none
                    stitches, elements = (0, 0) if line == last else self.cost[line].tolist()
                    new = (cut + stitches, through + elements, uneven + float(line - first) ** 2, (*lines, line))
                    if line not in onward or new < onward[line]:
                        onward[line] = new
            if last in onward:
                return self._made(onward[last][3][:-1], onward[last][0])
            ways = onward
            if count == 1 and not ways:
                return None
        return None

    def _reach(self) -> list[int]:
        """For each line the last one up to which a strip from it fits."""
        reach, end = [], 0
        last = len(self.lines) - 1
        for first in range(last + 1):
            end = max(end, first)
            while end < last and self.fits(first, end + 1):
                end += 1
            # the crosses of a line may lie farther out than those of the next
            reach.append(end if end in (last, first) or self.fits(first, end) else first)
        return reach

    def _made(self, lines: tuple[int, ...], cut: int) -> Cuts | None:
        edges = [self.lines[line] for line in lines]
        strip = np.searchsorted(np.array(edges), self.side, side="left").astype(np.int32)
        crosses = tuple(self.crosses(line) for line in lines)
        at_mm = tuple(float(at) for at in edges)
        return Cuts(self.angle, at_mm, strip, self.flat[:, 0], self.divided, crosses, cut)
