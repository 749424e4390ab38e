"""Speed of running stitches and of planning lines, as ratios measured in one run.

Run it by hand::

    python tests/benchmarks/bench_running.py

Each size is placed, planned, copied by numpy and written to DST by pyembroidery, so that the ratios hold on any
machine. Memory is the peak of planning over the size of the plan's arrays.
"""

# ruff: noqa: T201 (a script that is run by hand prints its table)

from __future__ import annotations

import io
import tracemalloc

import numpy as np
import pyembroidery
from timing import best_of

from stitchcraft.design import Design, Line, Purpose, Running, StitchPlan, Stop, Thread, Triple
from stitchcraft.stitching import plan
from stitchcraft.stitching.running import repeated, run_points
from stitchcraft.units import to_units

SIZES = (10_000, 100_000, 1_000_000)


def meander(stitches: int, length: float = 2.5) -> np.ndarray:
    """A line of waves, in rows of four metres that keep clear of one another, as long as so many stitches."""
    x = np.linspace(-2000.0, 2000.0, 4001)
    wave = 2 * np.sin(x / 2)
    rows = max(1, round(stitches * length / np.hypot(np.diff(x), np.diff(wave)).sum()))
    paths = [np.column_stack([x, wave + 7 * row])[:: 1 if row % 2 == 0 else -1] for row in range(rows)]
    return np.vstack(paths) - [0.0, 3.5 * rows]


def as_dst(made: StitchPlan) -> bytes:
    """The plan's needle points written by the file library."""
    pattern = pyembroidery.EmbPattern()
    pattern.stitches = [[int(x), int(-y), pyembroidery.STITCH] for x, y in to_units(made.xy)]
    pattern.stitches.append([0, 0, pyembroidery.END])
    data = io.BytesIO()
    pyembroidery.write_dst(pattern, data)
    return data.getvalue()


def copied(made: StitchPlan) -> list[np.ndarray]:
    """A numpy copy of everything in the plan."""
    return [field.copy() for field in (made.xy, made.kind, made.stop, made.role, made.element)]


def main() -> None:
    """Measure and print the table."""
    print("stitches | placed M/s | repeated M/s | planned M/s | written / planned | planned / copied | peak / result")
    for size in SIZES:
        path = meander(size)
        points = run_points(path, length=2.5)
        design = Design("waves", (Stop(Purpose.DECORATE, Thread("#2f5d62"), (Line(path, Running(length=2.5)),)),))
        tracemalloc.start()
        made = plan(design)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
        result = sum(array.nbytes for array in copied(made))
        placed = best_of(lambda path=path: run_points(path, length=2.5))
        tripled = best_of(lambda points=points: repeated(points))
        planned = best_of(lambda design=design: plan(design))
        copy = best_of(lambda made=made: copied(made), 5)
        written = best_of(lambda made=made: as_dst(made), 1)
        print(
            f"{made.stitches:8d} | {len(points) / placed / 1e6:10.2f} | {3 * len(points) / tripled / 1e6:12.1f} | "
            f"{made.stitches / planned / 1e6:11.2f} | {written / planned:17.1f} | {planned / copy:16.1f} | "
            f"{peak / result:13.1f}"
        )
    straight = np.array([[0.0, 0.0], [4000.0, 0.0]])
    line = Design("line", (Stop(Purpose.DECORATE, Thread("#2f5d62"), (Line(straight, Triple(length=0.5)),)),))
    print(f"triple line of {plan(line).stitches} stitches: {best_of(lambda: plan(line)) * 1e3:.1f} ms")


if __name__ == "__main__":
    main()
