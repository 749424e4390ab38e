"""Rails of a satin column: how they are paired, widened against the pull, and divided into lines.

A *line* runs from one rail to the other; the needle goes down at alternate ends of successive lines. The
*step* is the distance between successive lines on the longer side, half the pitch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray, frozen_path
from stitchcraft.defaults import DirectedPull, pulls_at
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import distances_along

TIP_DEG: Final = 25.0
"""A turn of the longer side sharper than this is a corner with a needle point of its own."""

SHORTEST_SIDE: Final = 12
"""Corners nearer to one another than so many steps do not both get one: the steps between would be uneven."""


@dataclass(frozen=True, slots=True, eq=False)
class Rails:
    """Two rails of equally many points; a line runs from each point of *a* to the same point of *b*.

    Attributes:
        a: (n, 2) mm, n >= 2.
        b: (n, 2) mm.
        closed: Whether both end where they start.
    """

    a: FloatArray
    b: FloatArray
    closed: bool = False

    def at(self, index: FloatArray) -> Rails:
        """Both rails at fractional indices; not closed."""
        return Rails(rail_at(self.a, index), rail_at(self.b, index))

    def rolled(self, index: float) -> Rails:
        """Closed rails with another start, given as a fractional index."""
        whole = np.arange(len(self.a), dtype=np.float64)
        before, after = whole[whole < index], whole[whole > index]
        order = np.concatenate([[index], after[:-1], [0.0], before[before > 0], [index]])
        turned = self.at(order if index > 0 else whole)
        return Rails(turned.a, turned.b, closed=True)

    def backward(self) -> Rails:
        """The same rails, run the other way."""
        return Rails(self.a[::-1], self.b[::-1], self.closed)

    def mixed(self, share: FloatArray | float) -> FloatArray:
        """Points on the lines, at a share (0 is on *a*, 1 on *b*), (n, 2)."""
        return self.a + (self.b - self.a) * np.reshape(share, (-1, 1))

    @property
    def width(self) -> FloatArray:
        """Length of each line, (n,) mm."""
        return np.hypot(self.b[:, 0] - self.a[:, 0], self.b[:, 1] - self.a[:, 1])

    @property
    def travelled(self) -> FloatArray:
        """How far the longer side has come at each point, (n,) mm."""
        travelled = np.zeros(len(self.a))
        np.maximum(_steps(self.a), _steps(self.b), out=travelled[1:])
        return np.cumsum(travelled, out=travelled)


def rail_at(rail: FloatArray, index: FloatArray) -> FloatArray:
    """Points of a rail at fractional indices, (n, 2)."""
    whole = np.arange(len(rail), dtype=np.float64)
    points = np.empty((len(index), 2))
    for axis in (0, 1):
        points[:, axis] = np.interp(index, whole, rail[:, axis])
    return points


def _steps(rail: FloatArray) -> FloatArray:
    """Length of each step of a rail, (n - 1,) mm."""
    return np.hypot(np.diff(rail[:, 0]), np.diff(rail[:, 1]))


def paired(rail_a: FloatArray, rail_b: FloatArray, closed: bool | None = None) -> Rails:
    """Pair two rails point by point if they have equally many points, else at equal shares of their lengths.

    Raises:
        ParameterError: If a rail is no line of finite points, or neither has any length.
    """
    a, b = frozen_path(rail_a, name="rail_a"), frozen_path(rail_b, name="rail_b")
    if max(_steps(a).sum(), _steps(b).sum()) < 1e-6:
        raise ParameterError("rail_a", "a line without length, as is rail_b", "a line with some length")
    ends_meet = (
        len(a) > 2 and len(b) > 2 and np.allclose(a[0], a[-1], atol=1e-6) and np.allclose(b[0], b[-1], atol=1e-6)
    )
    if closed and not ends_meet:
        raise ParameterError("closed", closed, "left out, or False, for rails that do not end where they start")
    if len(a) != len(b):
        along_a, along_b = distances_along(a), distances_along(b)
        share_a, share_b = along_a / max(along_a[-1], 1e-300), along_b / max(along_b[-1], 1e-300)
        share = np.union1d(share_a, share_b)
        a = np.column_stack([np.interp(share, share_a, a[:, 0]), np.interp(share, share_a, a[:, 1])])
        b = np.column_stack([np.interp(share, share_b, b[:, 0]), np.interp(share, share_b, b[:, 1])])
    moving = np.append(True, _steps(a) + _steps(b) > 1e-9)
    if not moving.all():
        a, b = a[moving], b[moving]
    return Rails(a, b, ends_meet if closed is None else bool(closed))


def widened(rails: Rails, constant: float, share: float, *, directions: Sequence[DirectedPull] = ()) -> Rails:
    """Move both ends of every line outward along it by ``constant + share * width``, mm.

    A line without length takes the direction of its nearest neighbour.

    Args:
        rails: The rails.
        constant: mm.
        share: Of the width.
        directions: Both by the direction of the line, in place of the two above.
    """
    if constant == 0 and share == 0 and not directions:
        return rails
    direction, width = rails.b - rails.a, rails.width
    known = np.flatnonzero(width > 1e-6)
    if not len(known):
        return rails
    if len(known) < len(width):
        nearest = known[np.searchsorted(known, np.arange(len(width))).clip(0, len(known) - 1)]
        direction = direction[nearest] / width[nearest][:, None]
    else:
        direction /= width[:, None]
    if directions:
        constants, shares = pulls_at(directions, np.degrees(np.arctan2(direction[:, 1], direction[:, 0])))
        direction *= (constants + shares * width)[:, None]
    else:
        direction *= (constant + share * width)[:, None]
    return Rails(rails.a - direction, rails.b + direction, rails.closed)


def stations(rails: Rails, step: float) -> FloatArray:
    """Where the lines go: fractional indices with equal steps of the longer side, as near to *step* as fits.

    The sharp corners of the longer side are hit, by a line whose needle point lies on that side; between two of
    them the steps are equal. A closed column gets an even number of steps, so that its needle points close up.

    Args:
        rails: The rails.
        step: Line to line on the longer side, mm.

    Returns:
        (n,) indices, first 0 and last ``len(rails.a) - 1``.
    """
    travelled = rails.travelled
    total = float(travelled[-1])
    at, odd = [0.0], [0]
    for index, on_b in _tips(rails):
        place = float(travelled[index])
        if place - at[-1] >= SHORTEST_SIDE * step and total - place >= SHORTEST_SIDE * step:
            at.append(place)
            odd.append(on_b)
    at.append(total)
    odd.append(0)
    marks = [np.zeros(1)]
    for k in range(len(at) - 1):
        ratio = (at[k + 1] - at[k]) / step
        if k == len(at) - 2 and not rails.closed:
            count = max(1, round(ratio))
        else:
            parity = odd[k] ^ odd[k + 1]
            count = max(2 - parity, 2 * round((ratio - parity) / 2) + parity)
        marks.append(np.linspace(at[k], at[k + 1], count + 1)[1:])
    return np.interp(np.concatenate(marks), travelled, np.arange(len(travelled), dtype=np.float64))


def from_a_side(rails: Rails) -> Rails:
    """Turn closed rails so that they begin in the middle of their longest stretch without a corner."""
    tips = sorted({index for index, _ in _tips(rails)})
    if not tips:
        return rails
    travelled = rails.travelled
    total = float(travelled[-1])
    places = travelled[tips]
    room = np.diff(np.append(places, places[0] + total))
    longest = int(np.argmax(np.round(room, 6)))
    middle = (float(places[longest]) + float(room[longest]) / 2) % total
    return rails.rolled(float(np.interp(middle, travelled, np.arange(len(travelled), dtype=np.float64))))


def _tips(rails: Rails) -> list[tuple[int, int]]:
    """The sharp corners of whichever side is longer there: (index, 0 on *a* or 1 on *b*)."""
    found: list[tuple[int, int]] = []
    lengths = _steps(rails.a), _steps(rails.b)
    for side, rail in enumerate((rails.a, rails.b)):
        own, other = lengths[side], lengths[1 - side]
        x, y = np.diff(rail[:, 0]), np.diff(rail[:, 1])
        straight = x[:-1] * x[1:]
        straight += y[:-1] * y[1:]
        sharp = straight < math.cos(math.radians(TIP_DEG)) * own[:-1] * own[1:]
        longer = (own > other) & (own > 1e-6)
        found += [(int(index) + 1, side) for index in np.flatnonzero(sharp & longer[:-1] & longer[1:])]
    return sorted(found)
