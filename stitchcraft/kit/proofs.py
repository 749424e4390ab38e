"""What a kit promises about its parts together, measured on the files read back.

Every number here comes from the needle points in the bytes; the plan only says which of them belong to the
top of a cover stitch.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from typing import Final

import numpy as np
import shapely

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import BAG
from stitchcraft.design import Purpose, Role
from stitchcraft.family import Family
from stitchcraft.geometry.curves import mirrored
from stitchcraft.kit.sewn import SewnPart
from stitchcraft.machine import Proof
from stitchcraft.units import to_units

MEET_MM: Final = 0.1
CROSSING_MM: Final = 0.5
NO_FIELD_MM: Final = 9999.0
_LONGEST_IN_TICK_MM: Final = 4.0
"""Stands for "over every edge" where no field takes a part: JSON has no infinity."""


def kit_proofs(family: Family, sewn: Sequence[SewnPart]) -> tuple[Proof, ...]:
    """Measure everything that can be measured on the parts at hand."""
    by_name = {one.name: one for one in sewn}
    proofs: list[Proof] = []
    if {"tab-front", "tab-back"} <= by_name.keys():
        front, back = by_name["tab-front"], by_name["tab-back"]
        pair = ("tab-front", "tab-back")
        proofs += [
            Proof("ticks-meet", _worst(front, back, _ticks_gap), MEET_MM, "mm", pair),
            Proof("halves-meet", _worst(front, back, _halves_gap), MEET_MM, "mm", pair),
            Proof("seam-doubled", _worst_one(front, _holes_not_doubled), 0.0, "holes", pair[:1]),
            Proof("mouth-open", _worst_one(front, _stitches_over_mouth), 0.0, "stitches", pair[:1]),
        ]
        target = by_name.get("connector-front") or by_name.get("snap-mark")
        closing = [one for one in sewn if one.name.startswith("tab-") and Purpose.SNAP in _purposes(one)]
        if target is not None and closing:
            miss = max(_snap_miss(one, target, fmt, family) for one in closing for fmt in one.files)
            names = (*(one.name for one in closing), target.name)
            proofs.append(Proof("snap-mates", _shown(miss), BAG["closure_miss"].value, "mm", names))
    if {"corner-left", "corner-right"} <= by_name.keys():
        left, right = by_name["corner-left"], by_name["corner-right"]
        if all(Purpose.COVER in _purposes(one) for one in (left, right)):
            gap = _worst(left, right, _crossings_gap)
            proofs.append(Proof("corners-meet", gap, CROSSING_MM, "mm", ("corner-left", "corner-right")))
    for one in sewn:
        proofs.append(Proof("hoop-fit", _over_the_field(one), 0.0, "mm", (one.name,)))
    return tuple(proofs)


# -- points of a file, back in the part's own frame -----------------------------------------------------


def _points(one: SewnPart, fmt: str, purpose: Purpose) -> FloatArray:
    """The needle points of a file's stops with one purpose, (n, 2) mm, in the part's frame."""
    file, placement = one.files[fmt], one.hooped.placement
    wanted = [number for number, stop in enumerate(one.plan.stops) if stop.purpose is purpose]
    points = file.needle_points[np.isin(file.stop_of, wanted)]
    return placement.taken_back(points)


def _purposes(one: SewnPart) -> set[Purpose]:
    return {stop.purpose for stop in one.plan.stops}


def _worst(one: SewnPart, other: SewnPart, measure: Callable[[SewnPart, SewnPart, str], float]) -> float:
    return _shown(max(measure(one, other, fmt) for fmt in one.files))


def _worst_one(one: SewnPart, measure: Callable[[SewnPart, str], float]) -> float:
    return _shown(max(measure(one, fmt) for fmt in one.files))


def _shown(value: float) -> float:
    """Rounded for the report, which holds no infinities: what cannot be measured is as far off as can be."""
    if not math.isfinite(value):
        return 9999.0
    return round(float(value), 4) + 0.0


# -- the measures ---------------------------------------------------------------------------------------


def _ticks_gap(front: SewnPart, back: SewnPart, fmt: str) -> float:
    """Farthest that a hole of one half's ticks lies from the other's ticks, laid on it, mm.

    From their lines, not from their holes: where the thread is locked differs with the order that each half is sewn in.
    """
    here = _points(front, fmt, Purpose.TICKS)
    there = mirrored(_points(back, fmt, Purpose.TICKS))
    return max(_off_stitches(here, there), _off_stitches(there, here))


def _off_stitches(points: FloatArray, sewn: FloatArray) -> float:
    steps = np.stack([sewn[:-1], sewn[1:]], axis=1)
    # the way from one tick to the next is longer than any stitch of a tick
    ticks = steps[np.hypot(*(steps[:, 1] - steps[:, 0]).T) <= _LONGEST_IN_TICK_MM]
    return float(shapely.distance(shapely.points(points), shapely.MultiLineString(list(ticks))).max())


def _halves_gap(front: SewnPart, back: SewnPart, fmt: str) -> float:
    """Farthest that the back's outline, laid on the front, lies from the seam's line, or the seam from it, mm."""
    seam = _points(front, fmt, Purpose.SEAM)
    outline = mirrored(_points(back, fmt, Purpose.OUTLINE))
    return max(_off_line(seam, outline), _off_line(outline, seam))


def _off_line(points: FloatArray, line: FloatArray) -> float:
    return float(shapely.distance(shapely.points(points), shapely.LineString(line)).max())


def _holes_not_doubled(front: SewnPart, fmt: str) -> float:
    """How many holes of the seam are not used exactly twice."""
    file = front.files[fmt]
    seam = [number for number, stop in enumerate(front.plan.stops) if stop.purpose is Purpose.SEAM]
    _, used = np.unique(file.units[np.isin(file.stop_of, seam)], axis=0, return_counts=True)
    return float(np.count_nonzero(used != 2))


def _stitches_over_mouth(front: SewnPart, fmt: str) -> float:
    """How many stitches of the seam cross the mouth: the line between the two ends, short of the ends themselves."""
    seam = _points(front, fmt, Purpose.SEAM)
    top = seam[:, 1].max()
    ends = seam[seam[:, 1] > top - 0.15]
    mouth = shapely.LineString([(ends[:, 0].min() + 1.0, top), (ends[:, 0].max() - 1.0, top)])
    # a stitch that closed the mouth lower down would cross the middle line above the snap
    middle = shapely.LineString([(0.0, top + 1.0), (0.0, 0.5 * seam[:, 1].min())])
    stitches = shapely.linestrings(np.stack([seam[:-1], seam[1:]], axis=1))
    return float(np.count_nonzero(shapely.intersects(stitches, mouth) | shapely.intersects(stitches, middle)))


def _snap_miss(half: SewnPart, target: SewnPart, fmt: str, family: Family) -> float:
    """Distance on the front panel from where one part of the tab closes to the target, mm."""
    bag, fastener = family.bag, family.fastener
    points = _points(half, fmt, Purpose.SNAP)
    # the back is laid face down: left and right change places
    x, y = fastener.closes_at(mirrored(points) if half.name == "tab-back" else points)
    # the tab climbs b, crosses t and hangs down
    lies = (x, -(-y - bag.root_depth_mm - bag.wall_mm))
    tx, ty = fastener.target_at(_points(target, fmt, Purpose.SNAP))
    at_x, at_y = target.part.placements[0].at_mm
    return math.hypot(lies[0] - (tx + at_x), lies[1] - (ty + at_y))


def _crossings_gap(left: SewnPart, right: SewnPart, fmt: str) -> float:
    """How far apart the two accents' cover stitches cross the side seam and the bottom seam, mm."""
    one, other = _crossings(left, fmt, 1.0), _crossings(right, fmt, -1.0)
    return max(abs(a - b) for a, b in zip(one, other, strict=True))


def _crossings(one: SewnPart, fmt: str, side: float) -> tuple[float, float]:
    """Where the middle of the cover stitch crosses the side seam (y) and the bottom seam (x), mm."""
    file, placement = one.files[fmt], one.hooped.placement
    top = one.plan.role[one.plan.is_stitch] == Role.TOP
    cover = [number for number, stop in enumerate(one.plan.stops) if stop.purpose is Purpose.COVER]
    points = file.needle_points[np.isin(file.stop_of, cover) & top]
    points = placement.taken_back(points) * np.array([side, 1.0])
    middle = (points[:-1] + points[1:]) / 2
    return _level_where(middle, 0), _level_where(middle, 1)


def _level_where(path: FloatArray, axis: int) -> float:
    """Mean of the other coordinate where a path crosses zero on one axis."""
    here, there = path[:-1], path[1:]
    cross = (here[:, axis] < 0) != (there[:, axis] < 0)
    if not cross.any():
        return math.inf
    a, b = here[cross], there[cross]
    share = a[:, axis] / (a[:, axis] - b[:, axis])
    return float(np.mean(a[:, 1 - axis] + share * (b[:, 1 - axis] - a[:, 1 - axis])))


def _over_the_field(one: SewnPart) -> float:
    """How far the stitching reaches over the edge of its field, mm; negative is room left."""
    hoop = one.hooped.hoop
    if hoop is None:
        return NO_FIELD_MM
    room = to_units([hoop.width / 2, hoop.height / 2])
    over = max(int((np.abs(file.units).max(axis=0) - room).max()) for file in one.files.values())
    return _shown(over / 10.0)
