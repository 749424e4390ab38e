"""One table of how fast stitches are planned and how good the order is: python tests/benchmarks/run_all.py [most].

Ratios, measured in one run, of processor time: planning against pyembroidery writing the same stitches to DST, and
against numpy copying the same arrays, at 10^4, 10^5 and 10^6 stitches (or up to *most*); the peak of memory against
the result. Orders against the Held-Karp bound, and against OR-tools where it can be imported. Hoopings of random
families of up to 30 parts against the bound from below.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

import io
import sys
import tracemalloc
from collections.abc import Callable, Iterator
from typing import Any

import bench_catalogue
import bench_checks
import bench_fill
import bench_kit
import bench_order
import bench_packing
import bench_running
import bench_satin
import numpy as np
import pyembroidery
import shapely
from timing import best_of

from stitchcraft.design import Area, Design, Fill, Line, Purpose, Running, Stop, Thread
from stitchcraft.geometry.borders import border_rails
from stitchcraft.stitching import plan
from stitchcraft.stitching.fill import fill_pieces
from stitchcraft.stitching.fill_settings import FillSettings
from stitchcraft.stitching.order import best_order, travel_of

SIZES = (10_000, 100_000, 1_000_000)
THREAD = Thread("#2f5d62")


def stop_of(*elements: Any) -> Design:
    """A design of one stop."""
    return Design("bench", (Stop(Purpose.DECORATE, THREAD, elements),))


def works(size: int) -> Iterator[tuple[str, Callable[[], Any]]]:
    """What is planned at about so many stitches: a name, and the whole way from shape to needle points."""
    plain, holed = (bench_fill.plate(float(np.sqrt(size * 0.16)), holes) for holes in (0, 12))
    yield "fill", lambda: bench_fill.planned(plain)
    yield "fill, 12 holes", lambda: bench_fill.planned(holed)
    rails = border_rails(bench_satin.meander(size * 0.2), width=4.0)
    yield "satin", lambda: bench_satin.planned(rails, underlay=False)
    yield "satin, underlay", lambda: bench_satin.planned(rails, underlay=True)
    path = bench_running.meander(size)
    yield "running, whole plan", lambda: plan(stop_of(Line(path, Running(length=2.5))))
    area = shapely.box(0, 0, float(np.sqrt(size * 0.82)), float(np.sqrt(size * 0.82)))
    yield "fill, underlay, whole plan", lambda: plan(stop_of(Area(area, Fill(angle=10.0))))


def written(xy: np.ndarray) -> None:
    """Write needle points with the file library."""
    pattern = pyembroidery.EmbPattern()
    pattern.stitches = [[int(x), int(-y), pyembroidery.STITCH] for x, y in np.rint(xy * 10)]
    pattern.stitches.append([0, 0, pyembroidery.END])
    pyembroidery.write_dst(pattern, io.BytesIO())


def speed(most: int) -> None:
    """Planning against writing and copying."""
    print("| planned | stitches | M a second | written / planned | planned / copied | peak / result |")
    print("|---|---|---|---|---|---|")
    for size in (size for size in SIZES if size <= most):
        for name, work in works(size):
            made = work()
            arrays = [made.xy, made.role] + ([made.kind, made.stop, made.element] if hasattr(made, "kind") else [])
            seconds = best_of(work, 5 if size < SIZES[-1] else 3)
            copying = [array.copy for array in arrays]
            rounds = max(1, 2_000_000 // size)
            copied = (
                best_of(lambda copying=copying, n=rounds: [copy() for _ in range(n) for copy in copying], 5) / rounds
            )
            wrote = best_of(lambda made=made: written(made.xy), 1)
            tracemalloc.start()
            work()
            peak = tracemalloc.get_traced_memory()[1] / sum(array.nbytes for array in arrays)
            tracemalloc.stop()
            count = len(made.xy)
            print(
                f"| {name} | {count:,} | {count / seconds / 1e6:.2f} | {wrote / seconds:.1f} | "
                f"{seconds / max(copied, 1e-9):.0f} | {peak:.1f} |",
                flush=True,
            )


def orders(most: int) -> None:
    """Orders against the bound from below, and against another solver given five times our time."""
    print("\n| ordered | pieces | over the bound | milliseconds / DST of 10,000 stitches | OR-tools in 5 times that |")
    print("|---|---|---|---|---|")
    unit = best_of(lambda: written(np.zeros((10_000, 2))), 3)
    for count in (count for count in (50, 100, 200, 500, 1000) if count <= most):
        for name, make in (("scattered dots", bench_order.scattered), ("polka dots", bench_order.polka)):
            xy = make(count)
            points = [point[None] for point in xy]
            seconds = best_of(lambda points=points: best_order(points, points), 1)
            travel = travel_of(best_order(points, points), points, points)
            bound = bench_order.held_karp_bound(xy, travel, 1200 if count <= 500 else 400)
            other = bench_order.routed(xy, max(1.0, 5 * seconds)) if most else None
            against = "not installed" if other is None else f"{100 * (other / bound - 1):.2f} %"
            print(
                f"| {name} | {count} | {100 * (travel / bound - 1):.2f} % | {1e3 * seconds:.0f} / {1e3 * unit:.0f} | "
                f"{against} |",
                flush=True,
            )


def travel_of_fills() -> None:
    """Travel of fills with holes, as a share of their rows."""
    print("\n| fill | travel / rows |\n|---|---|")
    for holes, side in ((6, 60.0), (12, 80.0), (30, 120.0)):
        shape = bench_fill.plate(side, holes)
        run = fill_pieces(shape, FillSettings(row_spacing=0.4, length=4.0, angle=17.0, underlay=False))[0].sew(0)
        steps = np.hypot(*np.diff(run.xy, axis=0).T)
        travel = steps[run.role[1:] == 2].sum()
        print(f"| {holes} holes | {100 * travel * 0.4 / shape.area:.2f} % |")


def main() -> None:
    """Print the tables."""
    most = int(float(sys.argv[1])) if len(sys.argv) > 1 else SIZES[-1]
    bench_fill.planned(bench_fill.plate(10.0, 2))
    speed(most)
    travel_of_fills()
    print()
    bench_checks.main()
    orders(min(most, 1000))
    print()
    bench_packing.table(min(most, bench_packing.COUNTS[-1]))
    print()
    bench_kit.kits()
    bench_kit.starts()
    print()
    bench_catalogue.main(min(most, 100))


if __name__ == "__main__":
    main()
