"""What lies under a satin: a centre run, an edge run, or an edge run and a zigzag, by the width of the column."""

from __future__ import annotations

from enum import IntEnum
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.stitching.columns import Rails, stations
from stitchcraft.stitching.running import run_points
from stitchcraft.stitching.satin_settings import SatinSettings
from stitchcraft.stitching.spacing import far_enough
from stitchcraft.stitching.split_lines import split

DEEPEST_SHARE: Final = 0.35
"""An inset is at most this share of the width, so that the two edge runs of a narrow place stay apart."""

DETAIL_MM: Final = 0.02
"""Vertices that stray less than this are left out of a run under the satin."""

STRETCH: Final = 256
"""A run under the satin is simplified in stretches of so many vertices."""

TOLERANCE_MM: Final = 0.15
"""How far a stitch of a run under the satin may cut a curve."""


class Underlay(IntEnum):
    """Which stitches go under a column."""

    NONE = 0
    CENTRE = 1
    EDGES = 2
    EDGES_AND_ZIGZAG = 3


def underlay_for(width: float, settings: SatinSettings) -> Underlay:
    """Choose what goes under a column of this width, mm."""
    if not settings.underlay:
        return Underlay.NONE
    if width < settings.centre_below:
        return Underlay.CENTRE
    return Underlay.EDGES if width < settings.zigzag_from else Underlay.EDGES_AND_ZIGZAG


def underlay_path(drawn: Rails, kind: Underlay, settings: SatinSettings, *, goes_back: bool) -> FloatArray:
    """Lay out the stitches under a column.

    Args:
        drawn: The rails without compensation, from the end where sewing begins.
        kind: Which stitches.
        settings: Their lengths.
        goes_back: End where the column begins; otherwise end at its far end (not for the edge run alone).

    Returns:
        (n, 2) needle points, mm; none for `Underlay.NONE`.
    """
    if kind == Underlay.NONE:
        return np.empty((0, 2))
    inner = _inset(drawn, settings.underlay_inset)
    if kind == Underlay.CENTRE:
        middle = inner.mixed(0.5)
        return _run(np.vstack([middle, middle[::-1]]) if goes_back and not drawn.closed else middle, settings)
    loop = _run(np.vstack([inner.a, inner.b[::-1], inner.a[:1]]), settings)
    if kind == Underlay.EDGES:
        return loop
    there = _zigzag(inner, settings.zigzag_pitch * (2 if goes_back and not drawn.closed else 1), settings)
    back = _zigzag(inner, settings.zigzag_pitch * 2, settings, from_b=True)[::-1] if goes_back else there[:0]
    path = np.vstack([loop, there] if drawn.closed else [loop, there, back])
    return path[far_enough(path)]


def underlay_begins(drawn: Rails, index: FloatArray, kind: Underlay, settings: SatinSettings) -> FloatArray:
    """Where the stitches under a column begin, (k, 2), if it is begun at fractional indices (k,).

    An open column can be begun at its two ends only.
    """
    if not drawn.closed:
        inside = _ends(drawn, settings.underlay_inset)
        index = np.where(index == 0, inside[0], inside[1])
    inner = _sides_in(drawn.at(index), settings.underlay_inset)
    return inner.mixed(0.5) if kind == Underlay.CENTRE else inner.a


def _ends(drawn: Rails, inset: float) -> FloatArray:
    """Fractional indices of an open column's ends, moved in."""
    travelled = drawn.travelled
    cut = min(inset, 0.25 * float(travelled[-1]))
    return np.interp([cut, travelled[-1] - cut], travelled, np.arange(len(travelled), dtype=np.float64))


def _sides_in(lines: Rails, inset: float) -> Rails:
    share = np.minimum(inset / np.maximum(lines.width, 1e-9), DEEPEST_SHARE)
    return Rails(lines.mixed(share), lines.mixed(1 - share), lines.closed)


def _inset(drawn: Rails, inset: float) -> Rails:
    """Move both rails in, and an open column's ends as well."""
    if drawn.closed:
        return _sides_in(drawn, inset)
    ends = _ends(drawn, inset)
    index = np.arange(len(drawn.a), dtype=np.float64)
    index = np.concatenate([ends[:1], index[(index > ends[0]) & (index < ends[1])], ends[1:]])
    return _sides_in(drawn.at(index), inset)


def _run(path: FloatArray, settings: SatinSettings) -> FloatArray:
    if np.hypot(*np.diff(path, axis=0).T).sum() < settings.gap:
        return path[:1]
    points = run_points(_plain(path), length=settings.underlay_length, tolerance=TOLERANCE_MM)
    return points[far_enough(points)]


def _plain(path: FloatArray) -> FloatArray:
    """A path without the outline's detail, which may be fine: a run under the satin needs none of it.

    It is simplified in stretches, since all of a long one would take time that grows faster than its length.
    """
    first = np.arange(0, len(path) - 1, STRETCH)
    place = np.minimum(first[:, None] + np.arange(STRETCH + 1), len(path) - 1)
    stretches = shapely.linestrings(path[place])
    plain = shapely.get_coordinates(shapely.simplify(stretches, DETAIL_MM, preserve_topology=False))
    return plain[np.append(True, (plain[1:] != plain[:-1]).any(axis=1))]


def _zigzag(inner: Rails, pitch: float, settings: SatinSettings, *, from_b: bool = False) -> FloatArray:
    placed = inner.at(stations(inner, pitch / 2))
    on_a = (np.arange(len(placed.a)) % 2 == 0) != from_b
    points = np.where(on_a[:, None], placed.a, placed.b)
    return split(points, on_a, settings.split, settings.gap)
