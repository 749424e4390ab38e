"""Drawing on a PDF page in millimetres, y up."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
from numpy.typing import ArrayLike
from reportlab.pdfgen.canvas import Canvas

MM: Final = 72 / 25.4
"""Points in a millimetre."""


def path_code(xy: ArrayLike, *, close: bool = False) -> str:
    """A path as PDF operators, in the units in force, to a thousandth."""
    points = np.asarray(xy, dtype=np.float64).reshape(-1, 2)
    # halves and zeros fall alike whichever processor they come from: its noise is cleared first
    rounded = np.round(np.round(points, 7), 3) + 0.0
    steps = [f"{x:.3f} {y:.3f}" for x, y in rounded.tolist()]
    return f"{steps[0]} m " + " ".join(f"{step} l" for step in steps[1:]) + (" h" if close else "")


def stroke(
    canvas: Canvas,
    paths: Sequence[ArrayLike],
    *,
    width: float,
    colour: str = "#000000",
    dash: Sequence[float] = (),
    close: bool = False,
) -> None:
    """Draw lines; positions, width and dashes in mm, on a canvas scaled to mm."""
    r, g, b = unit_rgb(colour)
    code = [f"q {width:.3f} w 1 J 1 j {r:.3f} {g:.3f} {b:.3f} RG"]
    if dash:
        code.append("0 J [" + " ".join(f"{step:.3f}" for step in dash) + "] 0 d")
    code += [path_code(path, close=close) for path in paths]
    code.append("S Q")
    canvas.addLiteral("\n".join(code))


def fill(canvas: Canvas, path: ArrayLike, colour: str) -> None:
    """Fill an outline, mm, on a canvas scaled to mm."""
    r, g, b = unit_rgb(colour)
    canvas.addLiteral(f"q {r:.3f} {g:.3f} {b:.3f} rg {path_code(path, close=True)} f Q")


def unit_rgb(colour: str) -> tuple[float, float, float]:
    """``"#rrggbb"`` as three shares from 0 to 1."""
    return (int(colour[1:3], 16) / 255, int(colour[3:5], 16) / 255, int(colour[5:7], 16) / 255)


def inked(colour: str) -> str:
    """A thread's colour dark enough to show on white paper, its hue kept."""
    r, g, b = unit_rgb(colour)
    light = 0.299 * r + 0.587 * g + 0.114 * b
    if light <= 0.6:
        return colour
    share = 0.6 / light
    return "#" + "".join(f"{round(255 * part * share):02x}" for part in (r, g, b))
