"""How fast a fill is planned, as ratios measured in one run: python tests/benchmarks/bench_fill.py.

Against (a) pyembroidery writing the same stitches to DST and (b) numpy copying the same arrays, at 10^4, 10^5
and 10^6 stitches; and what the search for an order costs with holes. Ratios, since seconds depend on the machine.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

import io
import tracemalloc

import numpy as np
import pyembroidery
import shapely
from timing import best_of

from stitchcraft.geometry.curves import circle
from stitchcraft.stitching.fill import fill_pieces
from stitchcraft.stitching.fill_settings import FillSettings
from stitchcraft.stitching.pieces import Run

SETTINGS = FillSettings(row_spacing=0.16, length=1.0, angle=17.0, shortest=0.15, underlay=False)


def plate(side: float, holes: int) -> shapely.Polygon:
    """A square plate with holes on a jittered grid."""
    rng = np.random.default_rng(1)
    square = shapely.box(0, 0, side, side)
    if not holes:
        return square
    across = int(np.ceil(np.sqrt(holes)))
    cell = side / across
    centres = [((i % across + 0.5) * cell, (i // across + 0.5) * cell) for i in range(holes)]
    discs = [
        shapely.Polygon(circle(np.array(c) + rng.uniform(-0.15, 0.15, 2) * cell, rng.uniform(0.1, 0.25) * cell))
        for c in centres
    ]
    return square - shapely.union_all(discs)


def planned(shape: shapely.Polygon) -> Run:
    """The whole way from polygon to needle points."""
    return fill_pieces(shape, SETTINGS)[0].sew(0)


def written(run: Run) -> None:
    """The same stitches through the file library."""
    pattern = pyembroidery.EmbPattern()
    for x, y in (run.xy * 10).tolist():
        pattern.add_stitch_absolute(pyembroidery.STITCH, x, -y)
    pattern.add_command(pyembroidery.END)
    pyembroidery.write_dst(pattern, io.BytesIO())


def main() -> None:
    """Print the table."""
    print("stitches   holes  plan ms   M st/s   x DST write   x copy   peak/result")
    for size in (1e4, 1e5, 1e6):
        for holes in (0, 12):
            shape = plate(float(np.sqrt(size * 0.16)), holes)
            run = planned(shape)
            plan = best_of(lambda shape=shape: planned(shape), 5)
            copy = best_of(lambda run=run: (run.xy.copy(), run.role.copy()), 9)
            write = best_of(lambda run=run: written(run), 1)
            tracemalloc.start()
            planned(shape)
            peak = tracemalloc.get_traced_memory()[1]
            tracemalloc.stop()
            count = len(run.xy)
            print(
                f"{count:8d} {holes:7d} {plan * 1e3:8.1f} {count / plan / 1e6:8.2f} {write / plan:13.1f}"
                f" {plan / copy:8.0f} {peak / (run.xy.nbytes + run.role.nbytes):13.1f}"
            )


if __name__ == "__main__":
    main()
