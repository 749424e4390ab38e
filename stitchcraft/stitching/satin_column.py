"""One satin column: underlay, then the top, in each of the ways that it can be sewn."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import PLANNING
from stitchcraft.design import Role
from stitchcraft.stitching.columns import Rails, from_a_side, rail_at, stations, widened
from stitchcraft.stitching.pieces import Piece, Run, run_joined, run_of
from stitchcraft.stitching.running import repeated, run_points
from stitchcraft.stitching.satin_settings import SatinSettings
from stitchcraft.stitching.satin_underlay import Underlay, underlay_begins, underlay_for, underlay_path
from stitchcraft.stitching.short_stitches import BESIDE, kept_apart, shift_apart
from stitchcraft.stitching.split_lines import split
from stitchcraft.units import MACHINE_UNIT_MM, to_units

NARROWEST_MM: Final = PLANNING["satin_narrowest"].value
"""A column nowhere wider than this is sewn as a triple line along its middle."""

CLOSED_STARTS: Final = 8
"""At how many places, evenly spaced, a closed column offers to begin."""


def column_piece(drawn: Rails, settings: SatinSettings, *, spaced: bool = False) -> Piece:
    """Sew paired rails.

    Args:
        drawn: The rails, without compensation.
        settings: How they are sewn.
        spaced: The pairs are the lines to sew; otherwise lines are spaced evenly along them.
    """
    if drawn.width.max() <= NARROWEST_MM:
        return _line_piece(drawn, settings)
    if drawn.closed and not spaced:
        drawn = from_a_side(drawn)
    lines = widened(drawn, settings.compensation, settings.compensation_share, directions=settings.directions)
    where = np.arange(len(drawn.a), dtype=np.float64) if spaced else stations(lines, settings.pitch / 2)
    kind = underlay_for(float(np.median(np.interp(where, np.arange(len(drawn.a)), drawn.width))), settings)
    # a long column is large: one side after the other, and nothing is kept that has served
    a, b = lines.a, lines.b
    del lines
    a = rail_at(a, where)
    b = rail_at(b, where)
    zigzag = _Zigzag(a, b, settings, ring=drawn.closed, everywhere=spaced)
    del a, b
    if drawn.closed:
        return _closed_piece(drawn, where, zigzag, kind)
    del where
    return _open_piece(drawn, zigzag, kind)


class _Zigzag:
    """The needle points of the lines of a column, alternating between its sides, none too near to another.

    Attributes:
        settings: How the column is sewn.
        xy: (n, 2) the needle points, mm.
        opposite: (n, 2) the other end of the line of each, mm.
        order: (m,) which of them are sewn.
        moved: (n,) which of them are not at the end of their line.
    """

    def __init__(self, a: FloatArray, b: FloatArray, settings: SatinSettings, *, ring: bool, everywhere: bool) -> None:
        """Take over the ends of the lines, (n, 2) each; once round, the last line is the first again."""
        self.settings, self._everywhere = settings, everywhere
        meant, self.opposite = (a[:-1], b[:-1]) if ring else (a, b)
        meant[1::2], self.opposite[1::2] = self.opposite[1::2], meant[1::2].copy()
        xy, keep = kept_apart(meant, self.opposite, settings.gap, ring=ring, everywhere=everywhere)
        self.order = np.flatnonzero(keep)
        self.xy = meant.copy() if xy is meant else xy
        shift_apart(self.xy, self.opposite, self.order, settings.sewn_gap, ring=ring, everywhere=everywhere)
        self.moved = (self.xy[:, 0] != meant[:, 0]) | (self.xy[:, 1] != meant[:, 1])

    def top(self, order: NDArray[np.intp], closing: FloatArray | None = None) -> FloatArray:
        """The needle points in the order given, and a last one, with the lines that are too long to lie flat split."""
        xy, on_a, moved = self.xy[order], order % 2 == 0, self.moved[order]
        if closing is not None:
            xy, on_a, moved = np.vstack([xy, closing]), np.append(on_a, on_a[:1]), np.append(moved, False)
        settings = self.settings
        return split(xy, on_a, settings.split, settings.gap, moved=moved, everywhere=self._everywhere)


def _open_piece(drawn: Rails, zigzag: _Zigzag, kind: Underlay) -> Piece:
    """From either end to the other, or back to the same end."""
    settings, top = zigzag.settings, zigzag.top(zigzag.order)
    ends = top[[0, -1]]
    if kind == Underlay.NONE:
        return Piece(ends, ends[::-1], lambda way: run_of(top[::-1] if way else top))
    far_end = len(drawn.a) - 1
    begins = underlay_begins(drawn, np.array([0, far_end]), kind, settings)
    # through from either end, and back to it again where a single pass of underlay leads to the far end
    ways = (
        [(0, 0), (1, 1), (0, 1), (1, 0)] if kind in (Underlay.CENTRE, Underlay.EDGES_AND_ZIGZAG) else [(0, 0), (1, 1)]
    )

    def sew(way: int) -> Run:
        begin, order = ways[way]
        rails = drawn.backward() if begin else drawn
        below = underlay_path(rails, kind, settings, goes_back=begin == order)
        return _over(below, top[::-1] if order else top)

    return Piece(begins[[begin for begin, _ in ways]], ends[[1 - order for _, order in ways]], sew)


def _closed_piece(drawn: Rails, where: FloatArray, zigzag: _Zigzag, kind: Underlay) -> Piece:
    """Once round from one of a few places."""
    settings, ring = zigzag.settings, zigzag.order
    begins = _begins(zigzag)

    def sew(way: int) -> Run:
        begin = begins[way]
        top = zigzag.top(np.concatenate([ring[ring >= begin], ring[ring < begin]]), _closing(zigzag, begin))
        return _over(underlay_path(drawn.rolled(float(where[begin])), kind, settings, goes_back=True), top)

    entries = zigzag.xy[begins] if kind == Underlay.NONE else underlay_begins(drawn, where[begins], kind, settings)
    return Piece(entries, np.vstack([_closing(zigzag, begin) for begin in begins]), sew)


def _closing(zigzag: _Zigzag, begin: int) -> FloatArray:
    """The last needle point, (1, 2): on the line of the first, but not in or near its hole."""
    ring, first = zigzag.order, zigzag.xy[begin]
    at = int(np.searchsorted(ring, begin))
    others = to_units(zigzag.xy[ring[np.arange(at - BESIDE, at + BESIDE + 1) % len(ring)]])
    tries = first + (zigzag.opposite[begin] - first) * np.linspace(0.1, 0.6, 11)[:, None]
    room = np.hypot(*(to_units(tries)[:, None] - others[None]).transpose(2, 0, 1)).min(axis=1) * MACHINE_UNIT_MM
    good = np.flatnonzero(room >= zigzag.settings.gap)
    return tries[good[0] if len(good) else int(np.argmax(room))][None]


def _begins(zigzag: _Zigzag) -> list[int]:
    """Evenly spaced places to begin, each shifted to the nearest place where no needle point was moved."""
    ring = zigzag.order
    count = min(CLOSED_STARTS, max(1, len(ring) // 8))
    quiet = np.zeros(len(zigzag.xy), dtype=bool)
    quiet[ring] = ~zigzag.moved[ring]
    around = np.all([np.roll(quiet, k) for k in range(-6, 7)], axis=0)
    spots = np.flatnonzero(around) if around.any() else ring
    wanted = ring[np.arange(count) * len(ring) // count]
    away = np.abs(spots[None] - wanted[:, None])
    away = np.minimum(away, len(quiet) - away)
    return sorted(set(spots[np.argmin(away, axis=1)].tolist()))


def _line_piece(drawn: Rails, settings: SatinSettings) -> Piece:
    middle = drawn.mixed(0.5)
    if np.hypot(*np.diff(middle, axis=0).T).sum() < settings.gap:
        ways = [middle[:1]]
    else:
        points = repeated(run_points(middle, length=settings.underlay_length))
        ways = [points] if drawn.closed else [points, points[::-1]]
    return Piece(np.array([way[0] for way in ways]), np.array([way[-1] for way in ways]), lambda way: run_of(ways[way]))


def _over(below: FloatArray, top: FloatArray) -> Run:
    return run_joined(run_of(below, Role.UNDERLAY), run_of(top)) if len(below) else run_of(top)
