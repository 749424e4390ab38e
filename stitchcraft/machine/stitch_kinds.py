"""A guess at what the stops of a plan are, from their penetrations alone: for files that do not say.

A stitch whose two holes it shares with at least two others is triple. Of the others, those that run on straight are
one line. Lines that turn right round, again and again, and move on a little each time are a satin if each is one
stitch from side to side and turns in one hole; if most have holes along them, or turn over a short step, they are the
rows of a fill. The rest is running stitch. What most of a stop's thread is decides; underlay, travel and locks are
the little that differs. A satin too wide for one stitch, split by holes along its lines, is built as a fill is, and
is called one.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, distinct
from stitchcraft.design import StitchPlan
from stitchcraft.machine.estimates import stitch_lengths
from stitchcraft.units import to_units


class StitchKind(StrEnum):
    """What a stop looks like."""

    RUNNING = "running"
    TRIPLE = "triple"
    SATIN = "satin"
    FILL = "fill"
    MARKS = "marks"
    MIXED = "mixed"


@dataclass(frozen=True, slots=True)
class StopGuess:
    """What one stop looks like, and its measures.

    Attributes:
        kind: What most of its thread is; ``"mixed"`` if no kind is most of it.
        share: Share of its thread that is of that kind, 0 to 1.
        length_mm: Stitch length of running stitch, triple stitch, marks or the rows of a fill; else None.
        passes: How often running stitch, triple stitch or marks go over their holes; else None.
        pitch_mm: Needle point to needle point on the same side of a satin, its wider side; else None.
        width_mm: Width of a satin: the length of its lines; else None.
        spacing_mm: Row to row of a fill; else None.
        angle_deg: Direction of the lines of a satin or of the rows of a fill, from 0 up to 180; None if they have
            none in common.
    """

    kind: StitchKind
    share: float
    length_mm: float | None = None
    passes: int | None = None
    pitch_mm: float | None = None
    width_mm: float | None = None
    spacing_mm: float | None = None
    angle_deg: float | None = None

    def to_dict(self) -> dict[str, Any]:
        """The guess as plain values for JSON; what does not apply is left out."""
        values = {
            "kind": self.kind.value, "share": round(self.share, 3), "length_mm": self.length_mm,
            "passes": self.passes, "pitch_mm": self.pitch_mm, "width_mm": self.width_mm,
            "spacing_mm": self.spacing_mm, "angle_deg": self.angle_deg,
        }  # fmt: skip
        return {key: value for key, value in values.items() if value is not None}

    def __str__(self) -> str:
        words = [str(self.kind)]
        if self.passes is not None and self.passes > 1:
            words.append(f"each stitch {self.passes} times")
        for value, what in (
            (self.length_mm, "stitches of"), (self.width_mm, "lines of"), (self.pitch_mm, "pitch"),
            (self.spacing_mm, "rows every"),
        ):  # fmt: skip
            if value is not None:
                words.append(f"{what} {value:.1f} mm" if value >= 1 else f"{what} {value:.2f} mm")
        if self.angle_deg is not None:
            words.append(f"at {round(self.angle_deg) % 180}°")
        return ", ".join(words)


_STRAIGHT: Final = np.cos(np.radians(20))
_ROUND: Final = -0.6  # cosine of a turn right round: lines up to 53 degrees apart
_LINK: Final = 0.6  # a step to the next row is shorter than this share of both rows
_FARTHEST: Final = 2.5  # lines farther apart are no satin and no fill, mm
_NO_STEP: Final = 0.05
_MOST: Final = 0.5
_CHORD: Final = 0.95  # a line of stitches whose ends are nearer than this share of its length is a curve
_ALIGNED: Final = 0.85
_MARK_MM: Final = 12.0
_MOST_MARKS: Final = 24


class _Stitches(NamedTuple):
    """The sewn stitches of a whole plan: from where, to where, of which stop and which unbroken run."""

    start: FloatArray
    end: FloatArray
    length: FloatArray
    stop: NDArray[np.int32]
    run: NDArray[np.int64]
    passes: NDArray[np.int64]


class _Lines(NamedTuple):
    """Straight stretches of stitches: start, end and direction of each, how many stitches, and which each is in."""

    start: FloatArray
    end: FloatArray
    length: FloatArray
    along: FloatArray
    run: NDArray[np.int64]
    stitches: NDArray[np.int64]
    tripled: NDArray[np.bool_]
    straight: NDArray[np.bool_]
    of: NDArray[np.int64]


class _Turns(NamedTuple):
    """Of each line: whether it goes to and fro with others; whether a step leads to it; and its measures."""

    found: NDArray[np.bool_]
    linked: NDArray[np.bool_]
    pitch: FloatArray
    apart: FloatArray
    side: NDArray[np.int64]


def guess_stops(plan: StitchPlan) -> tuple[StopGuess, ...]:
    """Guess what each stop of a plan is, from its penetrations alone.

    Args:
        plan: What is sewn; its purposes and roles are not looked at.

    Returns:
        One guess for each stop of the plan, in order; a stop in which nothing is sewn is ``"mixed"`` with share 0.
    """
    stitches = _stitches(plan)
    if not len(stitches.length):
        return (StopGuess(StitchKind.MIXED, 0.0),) * len(plan.stops)
    lines = _lines(stitches)
    turns = _turns(lines)
    return tuple(_guess(number, stitches, lines, turns) for number in range(len(plan.stops)))


def _guess(number: int, stitches: _Stitches, lines: _Lines, turns: _Turns) -> StopGuess:
    mine = stitches.stop == number
    total = float(stitches.length[mine].sum())
    if not total:
        return StopGuess(StitchKind.MIXED, 0.0)
    to_and_fro = mine & turns.found[lines.of]
    among = distinct(lines.of[to_and_fro])
    broken = turns.linked | (lines.stitches > 1)
    rows = 2 * float(lines.length[among][broken[among]].sum()) > float(lines.length[among].sum())
    rest = mine & ~to_and_fro
    parts = {
        StitchKind.RUNNING: rest & (stitches.passes < 3),
        StitchKind.TRIPLE: rest & (stitches.passes >= 3),
        StitchKind.FILL if rows else StitchKind.SATIN: to_and_fro,
    }
    shares = {kind: float(stitches.length[part].sum()) / total for kind, part in parts.items()}
    kind = max(shares, key=lambda one: shares[one])
    share, chosen = shares[kind], parts[kind]
    if share < _MOST:
        return StopGuess(StitchKind.MIXED, share)
    if kind is StitchKind.SATIN:
        return _satin(share, lines, among, turns)
    if kind is StitchKind.FILL:
        return _fill(share, stitches, chosen, lines, among, turns)
    return _line_stitch(kind, share, stitches, lines, chosen, mine)


def _stitches(plan: StitchPlan) -> _Stitches:
    lengths, points = stitch_lengths(plan), plan.needle_points
    ends = np.flatnonzero(lengths.sewn & (lengths.length > _NO_STEP))
    run = np.cumsum(~lengths.sewn, dtype=np.int64)
    holes = np.unique(to_units(points), axis=0, return_inverse=True)[1].ravel()
    # a stitch there and a stitch back lie in the same two holes; those of another stop are another matter
    pair = np.sort(np.column_stack([holes[ends - 1], holes[ends]]), axis=1)
    _, own, count = np.unique(
        np.column_stack([lengths.stop[ends], pair]), axis=0, return_inverse=True, return_counts=True
    )
    return _Stitches(
        points[ends - 1], points[ends], lengths.length[ends], lengths.stop[ends], run[ends], count[own.ravel()]
    )


def _lines(stitches: _Stitches) -> _Lines:
    step = stitches.end - stitches.start
    along = step / stitches.length[:, None]
    new = np.ones(len(along), dtype=bool)
    if len(along) > 1:
        bend = (along[1:] * along[:-1]).sum(axis=1)
        new[1:] = (bend < _STRAIGHT) | (np.diff(stitches.run) != 0)
        new[1:] |= (stitches.passes[1:] >= 3) | (stitches.passes[:-1] >= 3)
    of = np.cumsum(new) - 1
    first = np.flatnonzero(new)
    last = np.append(first[1:], len(new)) - 1
    start, end = stitches.start[first], stitches.end[last]
    length = np.hypot(*(end - start).T)
    safe = np.where(length > _NO_STEP, length, 1.0)
    path = np.bincount(of, weights=stitches.length, minlength=len(first))
    return _Lines(
        start=start, end=end, length=length, along=(end - start) / safe[:, None], run=stitches.run[first],
        stitches=last - first + 1, tripled=stitches.passes[first] >= 3, straight=length >= _CHORD * path, of=of,
    )  # fmt: skip


def _turns(lines: _Lines) -> _Turns:
    """Which lines turn round again and again while they move on, with or without a short step between them."""
    count = len(lines.length)
    found, linked = np.zeros(count, dtype=bool), np.zeros(count, dtype=bool)
    pitch, apart, side = np.full(count, np.nan), np.full(count, np.nan), np.zeros(count, dtype=np.int64)
    link = np.zeros(count, dtype=bool)
    if count > 2:
        shorter = np.minimum(lines.length[:-2], lines.length[2:])
        beside = np.abs(_across(lines.along[:-2], lines.end[1:-1] - lines.start[1:-1]))
        link[1:-1] = (beside < _FARTHEST) & (lines.length[1:-1] < _LINK * shorter)
        link[1:-1] &= (lines.run[:-2] == lines.run[2:]) & (_cosine(lines, np.arange(count - 2), 2) < _ROUND)
    row = np.flatnonzero(~link & ~lines.tripled & lines.straight)
    if len(row) < 3:
        return _Turns(found, linked, pitch, apart, side)
    a, b, c = row[:-2], row[1:-1], row[2:]
    good = (lines.run[a] == lines.run[c]) & (b - a <= 2) & (c - b <= 2)
    steps = []
    for one, other in ((a, b), (b, c)):
        good &= (lines.along[one] * lines.along[other]).sum(axis=1) < _ROUND
        off = (lines.start[other] + lines.end[other] - lines.start[one] - lines.end[one]) / 2
        steps.append(_across(lines.along[one], off))
        good &= (np.abs(steps[-1]) > _NO_STEP) & (np.abs(steps[-1]) < _FARTHEST)
    # on and on to the same side of the cloth: every other line runs back, so that its sides change places
    good &= steps[0] * steps[1] < 0
    for part in (a, b, c):
        found[part[good]] = True
    pitch[c[good]] = np.hypot(*(lines.start[c] - lines.start[a])[good].T)
    side[row] = np.arange(len(row)) % 2
    apart[b], apart[c[-1]] = np.abs(steps[0]), abs(float(steps[1][-1]))
    linked[1:] = link[:-1]
    return _Turns(found, linked, pitch, apart, side)


def _across(along: FloatArray, step: FloatArray) -> FloatArray:
    """How far steps lead to the left of directions."""
    across: FloatArray = along[:, 0] * step[:, 1] - along[:, 1] * step[:, 0]
    return across


def _cosine(lines: _Lines, one: NDArray[np.int64], on: int) -> FloatArray:
    cosine: FloatArray = (lines.along[one] * lines.along[one + on]).sum(axis=1)
    return cosine


def _satin(share: float, lines: _Lines, among: NDArray[np.int64], turns: _Turns) -> StopGuess:
    length = lines.length[among]
    # lines alternate between the two sides: the wider one is that on the outside of a bend
    sides = [turns.pitch[among[turns.side[among] == side]] for side in (0, 1)]
    medians = [float(np.nanmedian(side)) for side in sides if np.isfinite(side).any()]
    return StopGuess(
        StitchKind.SATIN, share,
        pitch_mm=round(max(medians), 2) if medians else None,
        width_mm=round(_quantile(length, length, 0.5), 2),
        angle_deg=_direction(lines.along[among], length),
    )  # fmt: skip


def _fill(
    share: float, stitches: _Stitches, chosen: NDArray[np.bool_], lines: _Lines, among: NDArray[np.int64],
    turns: _Turns,
) -> StopGuess:  # fmt: skip
    length = stitches.length[chosen]
    return StopGuess(
        StitchKind.FILL, share,
        # what is left over at the ends of rows is shorter than the stitch that was meant
        length_mm=round(_quantile(length, length, 0.75), 2),
        spacing_mm=round(float(np.mean(_without_outliers(turns.apart[among]))), 2),
        angle_deg=_direction(lines.along[among], lines.length[among]),
    )  # fmt: skip


def _without_outliers(values: FloatArray) -> FloatArray:
    """Those near their median: rows of an underlay lie much farther apart than those above it."""
    known = values[np.isfinite(values)]
    middle = np.median(known)
    near: FloatArray = known[np.abs(known - middle) <= 0.5 * middle + 0.1]
    return near


def _line_stitch(
    kind: StitchKind, share: float, stitches: _Stitches, lines: _Lines, chosen: NDArray[np.bool_],
    mine: NDArray[np.bool_],
) -> StopGuess:  # fmt: skip
    length, passes = stitches.length[chosen], stitches.passes[chosen].astype(np.float64)
    return StopGuess(
        StitchKind.MARKS if _are_marks(stitches, lines, mine) else kind, share,
        length_mm=round(_quantile(length, length, 0.5), 2), passes=round(_quantile(passes, length, 0.5)),
    )  # fmt: skip


def _are_marks(stitches: _Stitches, lines: _Lines, mine: NDArray[np.bool_]) -> bool:
    """Whether a stop is a few short straight strokes: ticks, crosses."""
    runs = distinct(stitches.run[mine])
    if len(runs) > _MOST_MARKS:
        return False
    for run in runs:
        of_run = mine & (stitches.run == run)
        points = np.vstack([stitches.start[of_run], stitches.end[of_run]])
        spread = np.hypot(*np.ptp(points, axis=0))
        own = distinct(lines.of[of_run])
        heavy = lines.along[own][lines.length[own] > 0.2 * spread]
        # directions whichever way along: a stroke has one, a cross two
        ways = distinct((np.round(np.degrees(np.arctan2(heavy[:, 1], heavy[:, 0])) % 180 / 15) % 12).astype(np.int64))
        if spread > _MARK_MM or len(ways) > 2:
            return False
        if len(ways) == 2 and not _crosses(points, heavy):
            return False
    return True


def _crosses(points: FloatArray, along: FloatArray) -> bool:
    """Whether all points lie on two lines through their common middle."""
    off = points - (points.min(axis=0) + points.max(axis=0)) / 2
    beside = np.abs(off[:, None, 0] * along[None, :, 1] - off[:, None, 1] * along[None, :, 0])
    return bool((beside.min(axis=1) < 0.5).all())


def _quantile(values: FloatArray, weight: FloatArray, share: float) -> float:
    """The value under which a share of the weight lies."""
    order = np.argsort(values, kind="stable")
    at = int(np.searchsorted(np.cumsum(weight[order]), weight.sum() * share))
    return float(values[order][min(at, len(values) - 1)])


def _direction(along: FloatArray, weight: FloatArray) -> float | None:
    """The direction that lines have in common, whichever way along them, degrees; None if they have none."""
    double = ((along[:, 0] + 1j * along[:, 1]) ** 2 * weight).sum() / weight.sum()
    if abs(double) < _ALIGNED:
        return None
    return round(float(np.degrees(np.angle(double)) / 2 % 180), 1) % 180
