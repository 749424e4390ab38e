"""Profiles of a corner accent: the free edge from the side seam to the bottom seam.

A profile is a function that returns (n, 2) points in shares of the accent's width and height, from (0, 1) on
the side seam to (1, 0) on the bottom seam.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import numpy as np

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.curves import arc, cubic, joined
from stitchcraft.plugins import Registry, guarded

_FINE: Final = 2e-5  # shares of a few hundred mm: still a hundredth of a mm


def _quarter() -> FloatArray:
    return arc((0.0, 0.0), 1.0, 90.0, 0.0, flatness=_FINE)


def _scallop() -> FloatArray:
    # half a lobe at each seam, which its neighbour makes whole, and a whole one between
    first = arc((0.0, 0.0), 1.0, 90.0, 12.0, flatness=_FINE) * [0.42, 0.34] + [0.0, 0.66]
    start, end = first[-1], first[-1][::-1]
    across, out = end - start, np.array([1.0, 1.0])
    t = np.linspace(0.0, np.pi, 90)[1:, None]
    middle = start + across * (1 - np.cos(t)) / 2 + out * 0.19 * np.sin(t)
    return joined(first, middle, first[::-1][1:, ::-1])


def _ogee() -> FloatArray:
    peak = (0.72, 0.72)
    half = cubic((0.0, 1.0), (0.42, 1.0), (0.30, 0.74), peak)
    return joined(half, half[::-1][1:, ::-1])


def _step() -> FloatArray:
    return np.array(
        [[0, 1], [1 / 3, 1], [1 / 3, 2 / 3], [2 / 3, 2 / 3], [2 / 3, 1 / 3], [1, 1 / 3], [1, 0]], dtype=float
    )


def _straight() -> FloatArray:
    return np.array([[0.0, 1.0], [1.0, 0.0]])


def _wave() -> FloatArray:
    t = np.linspace(0.0, 1.0, 160)
    swing = 0.09 * np.sin(4 * np.pi * t) * np.sin(np.pi * t) ** 0.5
    return np.column_stack([t + swing, 1 - t + swing])


_PROFILES: Final[dict[str, Callable[[], FloatArray]]] = {
    "quarter": _quarter,
    "scallop": _scallop,
    "ogee": _ogee,
    "step": _step,
    "straight": _straight,
    "wave": _wave,
}
"""Our own profiles by name; their proportions are our own choice, set by eye."""

PROFILES: Final = Registry("profiles", _PROFILES, takes=callable, needs="a function that returns points", guard=guarded)
"""Every profile by name, those of other packages included."""
