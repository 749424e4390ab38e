"""Checks, maps, guesses and comparisons of a filled plate, in times of writing and reading it as DST.

Run with ``python tests/benchmarks/bench_checks.py``; what counts is the ratio.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import shapely
from timing import best_of

from stitchcraft.checks import check, compare, density_map
from stitchcraft.design import Area, Design, Fill, Purpose, Stop, Thread
from stitchcraft.machine import decode, encode, guess_stops, inspect_file
from stitchcraft.stitching import plan


def rows() -> list[tuple[str, str]]:
    """Each work, and how often a file could be written and read back meanwhile."""
    area = Area(shapely.box(0, 0, 180, 250), Fill(row_spacing=0.25))
    plate = plan(Design("bench", (Stop(Purpose.DECORATE, Thread("#2f5d62"), (area,)),)))
    file = decode(encode(plate, "dst"), "dst")
    other = decode(encode(plate, "exp"), "exp")
    both = best_of(lambda: decode(encode(plate, "dst"), "dst"))
    works: dict[str, Callable[[], Any]] = {
        "check of a plan": lambda: check(plate),
        "map of holes and thread": lambda: density_map(plate),
        "guess at its stops": lambda: guess_stops(plate),
        "report on a file": lambda: inspect_file(file),
        "comparison of two files": lambda: compare(file, other),
    }
    return [(f"{name}, {plate.stitches:,} stitches", f"{best_of(work) / both:.2f}") for name, work in works.items()]


def main() -> None:
    """Print the table."""
    print("| checked | / written and read as DST |\n|---|---|")
    for name, ratio in rows():
        print(f"| {name} | {ratio} |")


if __name__ == "__main__":
    main()
