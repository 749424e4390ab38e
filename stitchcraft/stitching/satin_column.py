"""One satin column: underlay, then the top, in each of the ways that it can be sewn."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.defaults import PLANNING
from stitchcraft.design import FloatArray, Role
from stitchcraft.stitching.columns import Rails, from_a_side, stations, widened
from stitchcraft.stitching.pieces import Piece, Run, piece_of, run_joined, run_of
from stitchcraft.stitching.running import repeated, run_points
from stitchcraft.stitching.satin_settings import SatinSettings
from stitchcraft.stitching.satin_underlay import Underlay, underlay_begins, underlay_for, underlay_path
from stitchcraft.stitching.short_stitches import kept_apart
from stitchcraft.stitching.split_lines import split

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
    where = np.arange(len(drawn.a), dtype=np.float64)
    if not spaced:
        where = stations(lines, settings.pitch / 2)
        lines = lines.at(where)
    kind = underlay_for(float(np.median(drawn.at(where).width)), settings)
    if drawn.closed:
        return _closed_piece(drawn, where, lines, kind, settings, everywhere=spaced)
    return _open_piece(drawn, lines, kind, settings, everywhere=spaced)


def _split(
    xy: FloatArray,
    moved: FloatArray,
    on_a: NDArray[np.bool_],
    order: NDArray[np.intp],
    settings: SatinSettings,
    *,
    everywhere: bool,
) -> FloatArray:
    """The moved points in the order given, with lines that are too long to lie flat split."""
    pulled = (moved[order] != xy[order]).any(axis=1)
    return split(moved[order], on_a[order], settings.split, settings.gap, moved=pulled, everywhere=everywhere)


def _alternate(lines: Rails) -> tuple[FloatArray, NDArray[np.bool_]]:
    on_a = np.arange(len(lines.a)) % 2 == 0
    return np.where(on_a[:, None], lines.a, lines.b), on_a


def _open_piece(drawn: Rails, lines: Rails, kind: Underlay, settings: SatinSettings, *, everywhere: bool) -> Piece:
    """From either end to the other, or back to the same end."""
    xy, on_a = _alternate(lines)
    opposite = np.where(on_a[:, None], lines.b, lines.a)
    moved, keep = kept_apart(xy, opposite, settings.gap, everywhere=everywhere)
    top = _split(xy, moved, on_a, np.flatnonzero(keep), settings, everywhere=everywhere)
    tops = [top, top[::-1]]
    if kind == Underlay.NONE:
        return piece_of(*(run_of(xy) for xy in tops))
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
        return run_joined(run_of(below, Role.UNDERLAY), run_of(tops[order]))

    return Piece(begins[[begin for begin, _ in ways]], np.array([tops[order][-1] for _, order in ways]), sew)


def _closed_piece(
    drawn: Rails, where: FloatArray, lines: Rails, kind: Underlay, settings: SatinSettings, *, everywhere: bool
) -> Piece:
    """Once round from one of a few places."""
    xy, on_a = _alternate(lines)
    opposite = np.where(on_a[:, None], lines.b, lines.a)
    xy, on_a, opposite = xy[:-1], on_a[:-1], opposite[:-1]
    moved, keep = kept_apart(xy, opposite, settings.gap, ring=True, everywhere=everywhere)
    ring = np.flatnonzero(keep)
    begins = _begins(xy, moved, ring)

    def sew(way: int) -> Run:
        begin = begins[way]
        order = np.concatenate([ring[ring >= begin], ring[ring < begin]])
        order = np.append(order, len(moved))
        top = _split(
            np.vstack([xy, closing(begin)]), np.vstack([moved, closing(begin)]), np.append(on_a, on_a[begin]), order,
            settings, everywhere=everywhere,
        )  # fmt: skip
        below = underlay_path(drawn.rolled(float(where[begin])), kind, settings, goes_back=True)
        return _over(below, top)

    def closing(begin: int) -> FloatArray:
        """The last needle point: on the line of the first, but not in or near its hole."""
        at = int(np.searchsorted(ring, begin))
        others = moved[ring[np.arange(at - 12, at + 13) % len(ring)]]
        tries = moved[begin] + (opposite[begin] - moved[begin]) * np.linspace(0.1, 0.6, 11)[:, None]
        room = np.hypot(*(tries[:, None] - others[None]).transpose(2, 0, 1)).min(axis=1)
        good = np.flatnonzero(room >= settings.gap)
        return tries[good[0] if len(good) else int(np.argmax(room))][None]

    entries = moved[begins] if kind == Underlay.NONE else underlay_begins(drawn, where[begins], kind, settings)
    return Piece(entries, np.vstack([closing(begin) for begin in begins]), sew)


def _begins(xy: FloatArray, moved: FloatArray, ring: NDArray[np.intp]) -> list[int]:
    """Evenly spaced places to begin, each shifted to the nearest place where no needle point was moved."""
    count = min(CLOSED_STARTS, max(1, len(ring) // 8))
    quiet = np.ones(len(moved), dtype=bool)
    quiet[ring] = (moved[ring] == xy[ring]).all(axis=1)
    dropped = np.setdiff1d(np.arange(len(moved)), ring)
    quiet[dropped] = False
    around = np.all([np.roll(quiet, k) for k in range(-6, 7)], axis=0)
    spots = np.flatnonzero(around) if around.any() else ring
    wanted = ring[np.arange(count) * len(ring) // count]
    away = np.abs(spots[None] - wanted[:, None])
    away = np.minimum(away, len(moved) - away)
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
