"""How fast satin is planned, as ratios measured in one run: python tests/benchmarks/bench_satin.py.

Against (a) pyembroidery writing the same stitches to DST and (b) numpy copying the same arrays, for a long column of
gentle curves, with and without underlay; then columns full of corners and of tight curves, where short stitches are
settled one by one; and a letter from its outline, against a straight column. Ratios, since seconds depend on the
machine; processor time, since its other work does not matter.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

import io
from dataclasses import replace
from typing import Final

import numpy as np
import pyembroidery
import shapely
from timing import best_of

from stitchcraft.arrays import FloatArray
from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.curves import closed
from stitchcraft.stitching.pieces import Run
from stitchcraft.stitching.satin import satin_area_pieces, satin_piece
from stitchcraft.stitching.satin_settings import SatinSettings

SETTINGS: Final = SatinSettings(
    pitch=0.4, split=7.0, compensation=0.1, compensation_share=0.02, underlay=False, underlay_length=2.5,
    underlay_inset=0.6, zigzag_pitch=2.0, centre_below=1.5, zigzag_from=4.0, needle_gap=0.3,
)  # fmt: skip


def meander(length: float) -> FloatArray:
    """A path of about this length in rows that swing gently, within a square of 4 m."""
    rows = max(1, round(length / 3000))
    x = np.linspace(0, length / rows, max(8, round(length / rows / 0.25)))
    row = np.column_stack([x, 5 * np.sin(x / 12)])
    return np.vstack([row[:: (-1) ** k] + (0, 20 * k) for k in range(rows)])


def scalloped(count: int) -> FloatArray:
    """A closed star with many sharp corners."""
    angle = np.arange(2 * count) * np.pi / count
    radius = np.where(np.arange(2 * count) % 2 == 0, 8.0, 6.0) * count / 8
    return closed(radius[:, None] * np.column_stack([np.cos(angle), np.sin(angle)]))


def planned(rails: tuple[FloatArray, FloatArray], *, underlay: bool) -> Run:
    """The whole way from rails to needle points."""
    return satin_piece(*rails, replace(SETTINGS, underlay=underlay)).sew(0)


def written(run: Run) -> None:
    """The same stitches through the file library."""
    pattern = pyembroidery.EmbPattern()
    for x, y in (run.xy * 10).tolist():
        pattern.add_stitch_absolute(pyembroidery.STITCH, x, y)
    pattern.end()
    pyembroidery.write_dst(pattern, io.BytesIO())


def row(name: str, run: Run, seconds: float) -> None:
    """Print one line of ratios."""
    copying = best_of(lambda: (run.xy.copy(), run.role.copy()), 5)
    writing = best_of(lambda: written(run), 1) if len(run.xy) < 200_000 else None
    against = f"{writing / seconds:8.1f}" if writing else "       -"
    print(f"{name:28} {len(run.xy):9} {against} {seconds / copying:10.0f} {len(run.xy) / seconds / 1e6:8.2f}")


def main() -> None:
    """Print the table."""
    print(f"{'':28} {'stitches':>9} {'write/plan':>8} {'plan/copy':>9} {'M st/s':>8}")
    for length in (2e3, 2e4, 2e5):
        path = meander(length)
        rails = border_rails(path, width=4.0)
        for underlay in (False, True):
            run = planned(rails, underlay=underlay)
            seconds = best_of(lambda rails=rails, underlay=underlay: planned(rails, underlay=underlay), 3)
            row(f"meander{', underlay' if underlay else ''}", run, seconds)
    rails = border_rails(scalloped(64), width=3.0)
    row("corners", planned(rails, underlay=False), best_of(lambda: planned(rails, underlay=False), 3))
    angle = np.linspace(0, 40 * np.pi, 40_000)
    turns = np.column_stack([np.cos(angle), np.sin(angle)]) + np.column_stack([0.4 * angle, 0 * angle])
    tight = (
        turns + 5.5 * np.column_stack([np.cos(angle), np.sin(angle)]),
        turns + 2 * np.column_stack([np.cos(angle), np.sin(angle)]),
    )
    row("tight curves", planned(tight, underlay=False), best_of(lambda: planned(tight, underlay=False), 3))
    letter = shapely.union_all([shapely.box(0, 0, 2.8, 11), *[shapely.box(0, y, 7, y + 2.2) for y in (0, 4.4, 8.8)]])
    pieces = best_of(lambda: [p.sew(0) for p in satin_area_pieces(letter, SETTINGS)], 3)
    rails = border_rails([(0, 0), (44, 0)], width=2.2)
    bar = best_of(lambda: planned(rails, underlay=False), 3)
    print(f"a letter E from its outline: {pieces / bar:.0f} times a straight column of its length")


if __name__ == "__main__":
    main()
