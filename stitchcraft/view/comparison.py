"""Two machine files laid on one another: what both sew in grey, what only one of them sews in its own colour."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.checks.comparing import Comparison
from stitchcraft.geometry.sketch import Sketch
from stitchcraft.machine import MachineFile, stitch_lengths
from stitchcraft.units import MACHINE_UNIT_MM
from stitchcraft.view.canvas import Canvas, rgb

_BOTH: Final = "#c9c4ba"
_FIRST: Final = "#0b63b5"
_SECOND: Final = "#c43d00"
_INK: Final = "#303030"
_LONGEST_NAME: Final = 40
_LINE_MM: Final = 0.14
_DOTS_MM: Final = (0.6, 0.36)  # those of the second lie on top: a rim of the first shows under them


@dataclass(frozen=True, slots=True, eq=False)
class _Layers:
    """What is drawn: straight stitches (n, 2, 2) mm, holes (n, 2) mm, and words, each with its colour."""

    stitches: tuple[tuple[str, FloatArray], ...]
    holes: tuple[tuple[str, FloatArray], ...]
    words: tuple[tuple[str, str], ...]
    bounds: tuple[float, float, float, float]


def comparison_svg(comparison: Comparison) -> str:
    """Draw a comparison as SVG whose user unit is 1 mm.

    The second file is drawn where it lies, or moved by its best shift if fewer holes differ then; the words below
    the picture say so.
    """
    layers = _layers(comparison)
    sketch = Sketch()
    for colour, stitches in layers.stitches:
        sketch.lines(stitches, stroke=colour, width=_LINE_MM)
    for (colour, holes), diameter in zip(layers.holes, _DOTS_MM, strict=True):
        sketch.dots(holes, colour=colour, diameter=diameter)
    left, bottom, right, top = layers.bounds
    size = _letter(layers)
    sketch.rectangle((left, bottom, right, top), stroke="none")
    for k, (colour, words) in enumerate(layers.words):
        y = bottom - (1.6 + 1.6 * k) * size
        sketch.rectangle((left, y - 0.35 * size, left + 2 * size, y + 0.35 * size), fill=colour)
        sketch.words((left + 2.6 * size, y), words, size=size, colour=_INK, align="start")
    return sketch.svg(f"{comparison.first.name} and {comparison.second.name}", margin=4.0, ground="#ffffff")


def comparison_png(comparison: Comparison, *, width_px: int = 1600) -> bytes:
    """Draw a comparison as PNG, as `comparison_svg` does.

    Args:
        comparison: What to draw.
        width_px: The longer side of the picture, about.
    """
    layers = _layers(comparison)
    left, bottom, right, top = layers.bounds
    size = _letter(layers)
    longest = max(len(words) for _, words in layers.words)
    box = (
        left - 4, bottom - (1.6 * len(layers.words) + 1.2) * size, max(right, left + (2.6 + 0.5 * longest) * size) + 4,
        top + 4,
    )  # fmt: skip
    canvas = Canvas(box, pixels_per_mm=min(30.0, width_px / max(box[2] - box[0], box[3] - box[1])))
    for colour, stitches in layers.stitches:
        if len(stitches):
            canvas.segments(stitches[:, 0], stitches[:, 1], [rgb(colour)] * len(stitches), width=_LINE_MM)
    for (colour, holes), diameter in zip(layers.holes, _DOTS_MM, strict=True):
        canvas.dots(holes, colour, diameter=diameter)
    for k, (colour, words) in enumerate(layers.words):
        y = bottom - (1.6 + 1.6 * k) * size
        canvas.polygon(_box(left, y - 0.35 * size, left + 2 * size, y + 0.35 * size), colour)
        canvas.text((left + 2.6 * size, y), words, _INK, height=0.72 * size, anchor="lm")
    return canvas.png()


def _layers(comparison: Comparison) -> _Layers:
    one, other = comparison.first, comparison.second
    differ, moved = comparison.holes, comparison.shifted
    shifted = len(moved.only_first) + len(moved.only_second) < len(differ.only_first) + len(differ.only_second)
    shift = np.round(np.array(comparison.shift_mm if shifted else (0.0, 0.0)) / MACHINE_UNIT_MM).astype(np.int64)
    holes = moved if shifted else differ
    ours, theirs = _stitches(one, np.zeros(2, dtype=np.int64)), _stitches(other, shift)
    both, only_ours, only_theirs = ours & theirs, ours - theirs, theirs - ours
    points = np.vstack([one.units, other.units + shift]) * MACHINE_UNIT_MM
    (left, bottom), (right, top) = points.min(axis=0), points.max(axis=0)
    names = [_name(file) for file in (one, other)]
    where = f", moved by ({comparison.shift_mm[0]:g}, {comparison.shift_mm[1]:g}) mm" if shifted else ""
    return _Layers(
        stitches=((_BOTH, _lines(both)), (_FIRST, _lines(only_ours)), (_SECOND, _lines(only_theirs))),
        holes=((_FIRST, holes.only_first), (_SECOND, holes.only_second)),
        words=(
            (_BOTH, "in both"),
            (_FIRST, f"only in the first, {names[0]}: {len(holes.only_first)} holes"),
            (_SECOND, f"only in the second, {names[1]}: {len(holes.only_second)} holes{where}"),
        ),
        bounds=(float(left), float(bottom), float(right), float(top)),
    )


def _name(file: MachineFile) -> str:
    name = file.path.rsplit("/", 1)[-1] or file.name
    return name if len(name) <= _LONGEST_NAME else name[: _LONGEST_NAME - 3] + "..."


def _stitches(file: MachineFile, shift: NDArray[Any]) -> set[tuple[int, int, int, int]]:
    """What a file sews, hole to hole, whichever way, in units."""
    ends = np.flatnonzero(stitch_lengths(file.plan()).sewn)
    units = file.units.astype(np.int64) + shift
    pairs = np.hstack([units[ends - 1], units[ends]])
    turn = (pairs[:, 0] > pairs[:, 2]) | ((pairs[:, 0] == pairs[:, 2]) & (pairs[:, 1] > pairs[:, 3]))
    pairs[turn] = pairs[turn][:, [2, 3, 0, 1]]
    return set(map(tuple, pairs.tolist()))


def _lines(stitches: Iterable[tuple[int, int, int, int]]) -> FloatArray:
    lines: FloatArray = np.array(sorted(stitches), dtype=np.float64).reshape(-1, 2, 2) * MACHINE_UNIT_MM
    return lines


def _letter(layers: _Layers) -> float:
    left, bottom, right, top = layers.bounds
    return max(1.6, max(right - left, top - bottom) / 45)


def _box(left: float, bottom: float, right: float, top: float) -> list[tuple[float, float]]:
    return [(left, bottom), (right, bottom), (right, top), (left, top)]
