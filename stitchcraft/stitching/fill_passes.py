"""How a section of a fill is sewn: in one pass, there and back, or in two halves at different times.

Travel is what it costs to be at the wrong corner of a section. A section sewn row after row always ends at the
far end, on a side that its number of rows decides. Sewn with every second row there and the rest back, it ends
where it began; in two halves it is crossed twice. Where only the side is wrong, one row is travelled under just
before it is sewn: the narrowest.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import IntEnum

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import IntArray
from stitchcraft.stitching.fill_sections import Rows

FEWEST_ROWS = 6
"""A section with fewer rows is sewn in one pass, row after row."""


class Kind(IntEnum):
    """What a pass sews of its section, and how."""

    THROUGH = 0
    THROUGH_CROSSED = 1
    BACK = 2
    BACK_CROSSED = 3
    EVEN = 4
    ODD = 5
    MOST = 6
    REST = 7


HALVES = ((Kind.EVEN, Kind.ODD), (Kind.MOST, Kind.REST))
"""Kinds that sew a section together: every second row each, or one row more and one less, for the other sides."""

WORTH_MM = np.array([0.0, 1.0, 0.5, 1.5, 0.6, 0.6, 0.7, 0.7])
"""Travel that a kind must save to be taken: rows in their order are best, if all else is equal."""


@dataclass(frozen=True, slots=True)
class Pass:
    """One pass over a section.

    Attributes:
        section: Which.
        kind: What is sewn of it.
        end: Where it starts: 0 at its bottom, 1 at its top.
        side: Where the first row starts: 0 at the left, 1 at the right.
    """

    section: int
    kind: Kind
    end: int
    side: int

    def spans(self, rows: Rows) -> IntArray:
        """The spans in order of sewing."""
        spans = rows.spans_of(self.section)
        if self.kind is Kind.EVEN:
            spans = spans[0::2]
        elif self.kind is Kind.ODD:
            spans = spans[1::2]
        elif self.kind is Kind.MOST:
            spans = np.concatenate([spans[:3], spans[4::2]])
        elif self.kind is Kind.REST:
            spans = spans[3::2]
        if self.end:
            spans = spans[::-1]
        if self.kind in (Kind.BACK, Kind.BACK_CROSSED):
            spans = np.concatenate([spans[0::2], spans[1::2][::-1]])
        return spans

    def crossing(self, rows: Rows) -> int:
        """The number of the row that is travelled under just before it is sewn; 0 for none."""
        if self.kind not in (Kind.THROUGH_CROSSED, Kind.BACK_CROSSED):
            return 0
        later = self.spans(rows)[1:]
        return 1 + int(np.argmin(rows.high[later] - rows.low[later]))

    def backward(self, rows: Rows) -> NDArray[np.bool_]:
        """Which of the rows are sewn from right to left."""
        turns = np.arange(len(self.spans(rows))) + self.side
        crossing = self.crossing(rows)
        if crossing:
            turns[crossing:] += 1
        return turns % 2 == 1


class Variants:
    """All ways to make a pass over a section, numbered ``32 * section + 4 * kind + 2 * end + side``.

    Attributes:
        enter: The corner that each begins at, ``4 * section + 2 * end + side``.
        leave: The corner that it ends at.
        turned: The same pass sewn backward.
        extra: What it costs by itself, mm; infinite where the section does not allow it.
    """

    def __init__(self, rows: Rows) -> None:
        count = np.diff(rows.start)
        number = np.arange(32 * len(count))
        section, kind, mode = number >> 5, number >> 2 & 7, number & 3
        half = count // 2
        sewn = np.stack([count, count + 1, count, count + 1, count - half, half, count - half + 1, half - 1])
        stays = (kind == Kind.BACK) | (kind == Kind.BACK_CROSSED)
        out = mode ^ (sewn[kind, section] & 1) ^ np.where(stays, 0, 2)
        self.enter, self.leave = 4 * section + mode, 4 * section + out
        self.turned = number - mode + out
        wide = (rows.high - rows.low)[rows.members]
        wide[rows.start[:-1]] = np.inf
        least = np.minimum.reduceat(wide, rows.start[:-1])
        self.extra = WORTH_MM[kind]
        crossed = (kind == Kind.THROUGH_CROSSED) | (kind == Kind.BACK_CROSSED)
        self.extra[crossed] += least[section[crossed]]
        few = count < FEWEST_ROWS
        self.extra[(kind != Kind.THROUGH) & few[section]] = np.inf
        self.extra[(kind >= Kind.BACK) & _ragged(rows)[section]] = np.inf


def passes_of(numbers: IntArray) -> list[Pass]:
    """The passes that a list of variants stands for."""
    return [Pass(v >> 5, Kind(v >> 2 & 7), v >> 1 & 1, v & 1) for v in numbers.tolist()]


def _ragged(rows: Rows) -> NDArray[np.bool_]:
    """Sections in which no turn may leave out a row: a side bends by more than a row's spacing."""
    members = rows.members
    ragged = np.zeros(rows.sections, dtype=bool)
    section = rows.section[members]
    inner = section[2:] == section[:-2]
    for side in (rows.low[members], rows.high[members]):
        bend = np.abs(side[1:-1] - (side[:-2] + side[2:]) / 2)
        ragged[section[2:][inner & (bend > rows.hatching.spacing)]] = True
    return ragged
