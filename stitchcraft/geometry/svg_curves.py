"""Path data and basic shapes as points: SVG's drawing commands in, cubic curves between, flat lines out.

Every segment becomes a cubic: lines and quadratics exactly, arcs to within four parts in ten million of their
radius. So one affine map and one rule for flatness serve them all.
"""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Final

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray
from stitchcraft.defaults import ARTWORK
from stitchcraft.geometry.curves import FLATNESS_MM, joined
from stitchcraft.geometry.svg_values import NUMBER, Matrix, SvgError, shown
from stitchcraft.units import LARGEST_MM

_SPACE: Final = re.compile(r"\s*", re.ASCII)
_NEXT_NUMBER: Final = re.compile(rf"\s*,?\s*({NUMBER})", re.ASCII)
_NEXT_FLAG: Final = re.compile(r"\s*,?\s*([01])", re.ASCII)
_ARGUMENTS: Final = {"m": 2, "l": 2, "h": 1, "v": 1, "c": 6, "s": 4, "q": 4, "t": 2, "a": 7, "z": 0}
_ARC_PIECE_DEG: Final = 30.0


@dataclass(slots=True)
class Subpath:
    """One stroke of the pen: where it starts, its cubic pieces as complex control points, and whether it is closed."""

    start: complex
    cubics: list[tuple[complex, complex, complex, complex]] = field(default_factory=list)
    closed: bool = False

    @property
    def at(self) -> complex:
        """Where the pen is."""
        return self.cubics[-1][3] if self.cubics else self.start

    def line(self, end: complex) -> None:
        """Draw a straight line."""
        here = self.at
        self.cubics.append((here, here + (end - here) / 3, here + 2 * (end - here) / 3, end))

    def close(self) -> None:
        """Draw back to the start."""
        if self.cubics and abs(self.at - self.start) > 0:
            self.line(self.start)
        self.closed = True


def path_subpaths(text: str, *, most: int) -> list[Subpath]:
    """Read the ``d`` of a path (SVG 2, section 9.3), refusing whatever is not in its grammar.

    Args:
        text: Path data.
        most: How many more commands the drawing may have.

    Raises:
        SvgError: If the data cannot be read to its end or holds too many commands.
    """
    done: list[Subpath] = []
    pen: Subpath | None = None
    last, control, position, count = "", 0j, _SPACE.match(text).end(), 0  # type: ignore[union-attr]
    while position < len(text):
        letter = text[position]
        kind = letter.lower()
        if kind not in _ARGUMENTS or (pen is None and kind != "m"):
            raise SvgError(f"path data cannot be read at {shown(text[position:].strip())}")
        rows, position = _arguments(text, position + 1, kind)
        for row in rows:
            count += 1
            if count > most:
                raise SvgError(f"the drawing has more than the {ARTWORK['commands'].value:g} path commands allowed")
            pen = _moved_on(done, pen, kind, letter, row) if kind in "mz" else _drawing_pen(done, pen)
            if kind == "m":
                kind, letter = "l", "l" if letter == "m" else "L"  # pairs after the first are lines
            elif kind != "z":
                control = _drawn(pen, kind, letter.islower(), row, control if last in _SMOOTH.get(kind, ()) else None)
            last = kind
        position = _SPACE.match(text, position).end()  # type: ignore[union-attr]
    return [subpath for subpath in done if subpath.cubics]


_SMOOTH: Final = {"s": ("c", "s"), "t": ("q", "t")}


def _arguments(text: str, position: int, kind: str) -> tuple[list[list[float]], int]:
    wanted = _ARGUMENTS[kind]
    rows: list[list[float]] = []
    if not wanted:
        return [[]], position
    while True:
        row: list[float] = []
        start = position
        for index in range(wanted):
            pattern = _NEXT_FLAG if kind == "a" and index in (3, 4) else _NEXT_NUMBER
            match = pattern.match(text, position)
            if match is None:
                break
            row.append(float(match[1]))
            position = match.end()
        if len(row) < wanted:
            if row or not rows:
                raise SvgError(f"path data cannot be read at {shown(text[start:].strip())}")
            return rows, start
        if not all(math.isfinite(value) for value in row):
            raise SvgError(f"a number is too large in {shown(text[start:].strip())}")
        rows.append(row)


def _moved_on(done: list[Subpath], pen: Subpath | None, kind: str, letter: str, row: list[float]) -> Subpath:
    if kind == "z" and pen is not None:
        pen.close()
        return pen
    origin = 0j if pen is None or letter == "M" else pen.at  # a closed one has gone back to its start
    done.append(Subpath(origin + complex(row[0], row[1])))
    return done[-1]


def _drawing_pen(done: list[Subpath], pen: Subpath | None) -> Subpath:
    if pen is None:
        raise SvgError("path data does not start with a moveto")
    if pen.closed:  # drawing on after a closepath starts anew where the closed one started
        done.append(Subpath(pen.start))
        return done[-1]
    return pen


def _drawn(pen: Subpath, kind: str, relative: bool, row: list[float], mirror: complex | None) -> complex:
    """Draw one command; returns the control point that a smooth command after it mirrors."""
    here = pen.at
    if kind in "hv":
        along = (
            complex(row[0], here.imag if not relative else 0)
            if kind == "h"
            else complex(here.real if not relative else 0, row[0])
        )
        pen.line(here + along if relative else along)
        return pen.at
    base = here if relative else 0j
    points = [base + complex(row[i], row[i + 1]) for i in range(5 if kind == "a" else 0, len(row) - 1, 2)]
    end = points[-1]
    if kind == "l":
        pen.line(end)
    elif kind == "a":
        _arc_to(pen, row, end)
    elif kind in "qt":
        control = points[0] if kind == "q" else (2 * here - mirror if mirror is not None else here)
        pen.cubics.append((here, here + 2 * (control - here) / 3, end + 2 * (control - end) / 3, end))
        return control
    else:
        first = points[0] if kind == "c" else (2 * here - mirror if mirror is not None else here)
        pen.cubics.append((here, first, points[-2], end))
        return points[-2]
    return end


def _arc_to(pen: Subpath, row: list[float], end: complex) -> None:
    across, down = abs(row[0]), abs(row[1])
    here = pen.at
    if end == here:
        return
    if across == 0 or down == 0:  # SVG 2, section 9.5.1: a straight line
        pen.line(end)
        return
    from svgpathtools import Arc  # takes over a second to load, and many drawings hold no arc

    try:
        arc = Arc(here, complex(across, down), row[2], bool(row[3]), bool(row[4]), end)
        pieces = arc_cubics(arc.center, arc.radius.real, arc.radius.imag, row[2], arc.theta, arc.delta)
    except (ArithmeticError, AssertionError, ValueError):
        raise SvgError(f"arc {shown(' '.join(f'{value:g}' for value in row))} cannot be drawn") from None
    if pieces:
        pieces[0] = (here, *pieces[0][1:])
        pieces[-1] = (*pieces[-1][:3], end)
    pen.cubics.extend(pieces)


def arc_cubics(
    centre: complex, across: float, down: float, tilt_deg: float, start_deg: float, sweep_deg: float
) -> list[tuple[complex, complex, complex, complex]]:
    """Draw part of an ellipse as cubics, one for every 30 degrees or less.

    Args:
        centre: Its centre.
        across: Radius along its own first axis.
        down: Radius along its own second axis.
        tilt_deg: Turn of the first axis from x.
        start_deg: Parameter angle of the first point.
        sweep_deg: Signed angle to the last.
    """
    count = max(1, math.ceil(abs(sweep_deg) / _ARC_PIECE_DEG - 1e-9))
    angles = np.radians(np.linspace(start_deg, start_deg + sweep_deg, count + 1))
    reach = 4 / 3 * math.tan(math.radians(sweep_deg / count) / 4)
    turn = complex(math.cos(math.radians(tilt_deg)), math.sin(math.radians(tilt_deg)))
    cos, sin = np.cos(angles), np.sin(angles)
    on = centre + turn * (across * cos + 1j * down * sin)
    tangent = reach * turn * (-across * sin + 1j * down * cos)
    columns = (on[:-1], on[:-1] + tangent[:-1], on[1:] - tangent[1:], on[1:])
    return [(complex(a), complex(b), complex(c), complex(d)) for a, b, c, d in zip(*columns, strict=True)]


def ellipse_subpath(centre: complex, across: float, down: float) -> Subpath:
    """Draw a whole ellipse from its rightmost point."""
    path = Subpath(centre + across)
    path.cubics = arc_cubics(centre, across, down, 0.0, 0.0, 360.0)
    path.cubics[-1] = (*path.cubics[-1][:3], path.start)
    path.closed = True
    return path


def rectangle_subpath(x: float, y: float, width: float, height: float, across: float, down: float) -> Subpath:
    """Draw a rectangle with corners rounded by quarter ellipses (SVG 2, section 10.2)."""
    across, down = min(across, width / 2), min(down, height / 2)
    if across <= 0 or down <= 0:
        return points_subpath([x, y, x + width, y, x + width, y + height, x, y + height], closed=True)
    path = Subpath(complex(x + across, y))
    for corner_x, corner_y, start in (
        (x + width - across, y + down, -90.0), (x + width - across, y + height - down, 0.0),
        (x + across, y + height - down, 90.0), (x + across, y + down, 180.0),
    ):  # fmt: skip
        quarter = arc_cubics(complex(corner_x, corner_y), across, down, 0.0, start, 90.0)
        path.line(quarter[0][0])
        path.cubics.extend(quarter)
    path.close()
    return path


def points_subpath(values: list[float], *, closed: bool) -> Subpath:
    """Draw straight lines through points given as x, y, x, y ..."""
    points = [complex(values[i], values[i + 1]) for i in range(0, len(values), 2)]
    path = Subpath(points[0])
    for point in points[1:]:
        path.line(point)
    if closed:
        path.close()
    return path


def flattened(subpath: Subpath, to_mm: Matrix, *, most: int, flatness: float = FLATNESS_MM) -> FloatArray:
    """Map a subpath to mm and draw it as straight lines.

    How many lines a piece takes is Wang's bound for a cubic, sqrt(3/4 D / flatness) with D the larger second
    difference of its control points (from memory; the tests measure the result).

    Args:
        subpath: With at least one piece.
        to_mm: The map from its coordinates to mm.
        most: How many more points the drawing may have.
        flatness: Largest distance to the true curve, mm.

    Returns:
        (n, 2) points in mm; a closed subpath ends where it starts.

    Raises:
        SvgError: If it takes too many points, or reaches past `stitchcraft.units.LARGEST_MM`.
    """
    a, b, c, d, e, f = to_mm
    control = np.asarray(subpath.cubics, dtype=np.complex128)
    with np.errstate(over="ignore", invalid="ignore"):
        x = a * control.real + c * control.imag + e
        y = b * control.real + d * control.imag + f
        bend = np.hypot(np.diff(x, 2, axis=1), np.diff(y, 2, axis=1)).max(axis=1)
        steps = np.ceil(np.sqrt(0.75 * bend / flatness))
    if not (np.isfinite(x).all() and np.isfinite(y).all() and np.isfinite(steps).all()):
        raise SvgError("it has coordinates that are no finite numbers")
    reach = max(float(np.abs(x).max()), float(np.abs(y).max()))
    if reach > LARGEST_MM:
        raise SvgError(f"reaches {reach:.4g} mm from the corner of the page; it needs to stay within {LARGEST_MM:g} mm")
    counts = np.maximum(steps, 1.0)
    if counts.sum() > most:
        raise SvgError(
            f"the drawing's curves take more than the {ARTWORK['points'].value:g} points allowed; simplify or shrink it"
        )
    path = _sampled(x, y, counts.astype(np.int64))
    if subpath.closed:
        path[-1] = path[0]  # to the last bit, which tools for polygons want
    return path


def _sampled(x: FloatArray, y: FloatArray, counts: NDArray[np.int64]) -> FloatArray:
    piece = np.repeat(np.arange(len(counts)), counts)
    first = np.repeat(np.cumsum(counts) - counts, counts)
    t = (np.arange(counts.sum()) - first + 1) / counts[piece]
    weights = np.column_stack([(1 - t) ** 3, 3 * (1 - t) ** 2 * t, 3 * (1 - t) * t**2, t**3])
    points = np.column_stack([(weights * x[piece]).sum(axis=1), (weights * y[piece]).sum(axis=1)])
    return joined(np.array([[x[0, 0], y[0, 0]]]), points)
