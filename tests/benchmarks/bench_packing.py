"""How many hoopings random families of parts take, against the bound: python tests/benchmarks/bench_packing.py.

Tabs, corner accents, straps, labels and blobs of many sizes, 6.35 mm apart at least, in a field of 180 x 130 mm, at
quarter turns. Times are of processor, on one core.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

import sys
import time
from collections.abc import Sequence

import numpy as np
import shapely

from stitchcraft.geometry.curves import grown
from stitchcraft.machine import Hoop
from stitchcraft.machine.packing import QUARTER_TURNS, Packing, Piece, pack

FIELD = Hoop(180, 130)
CLEARANCE_MM = 6.35
COUNTS = (4, 6, 8, 10, 12, 16, 20, 25, 30)
SEEDS = (1, 2, 3, 4)


def family(count: int, seed: int, *, turns: Sequence[float] = QUARTER_TURNS) -> list[Piece]:
    """Random parts of five kinds, mm."""
    random = np.random.default_rng([count, seed])
    return [Piece(_shape(k % 5, random), turns=tuple(turns)) for k in range(count)]


def _shape(kind: int, random: np.random.Generator) -> shapely.Polygon:
    if kind == 0:  # a tab with a pointed tip
        width, length = random.uniform(36, 56), random.uniform(70, 100)
        tip = [(-width / 2, 0), (width / 2, 0), (width / 2, -0.6 * length), (0, -length), (-width / 2, -0.6 * length)]
        return grown(grown(shapely.Polygon(tip), -6), 6)
    if kind == 1:  # a corner accent: a quarter of a disc, its corner left out
        radius, notch = random.uniform(40, 65), random.uniform(6, 14)
        disc = grown(shapely.Point(0, 0), radius)
        return disc.intersection(shapely.box(0, 0, radius, radius)).difference(shapely.box(-1, -1, notch, notch))
    if kind == 2:  # a strap end
        return shapely.box(0, 0, random.uniform(70, 120), random.uniform(18, 28))
    if kind == 3:  # a label
        return shapely.box(0, 0, random.uniform(45, 75), random.uniform(20, 35))
    angle = np.linspace(0, 2 * np.pi, 60, endpoint=False)
    radius = random.uniform(18, 30) * (1 + 0.18 * np.sin(random.integers(2, 5) * angle + random.uniform(0, 6)))
    return shapely.Polygon(np.column_stack([radius * np.cos(angle), radius * np.sin(angle)]))


def measured(count: int, seed: int) -> tuple[Packing, float]:
    """A packing and the seconds it took."""
    pieces = family(count, seed)
    begin = time.process_time()
    packing = pack(pieces, [FIELD], clearance=CLEARANCE_MM, common_turns=(0.0,))
    return packing, time.process_time() - begin


def table(most: int = COUNTS[-1]) -> None:
    """Print hoopings, bound and time."""
    measured(4, 0)
    print("| parts | hoopings, of four families | bound | at the bound | longest, s |")
    print("|---|---|---|---|---|")
    for count in (count for count in COUNTS if count <= most):
        found = [measured(count, seed) for seed in SEEDS]
        hoopings = ", ".join(str(len(packing.fields)) for packing, _ in found)
        bounds = ", ".join(str(packing.bound) for packing, _ in found)
        proven = sum(packing.proven for packing, _ in found)
        print(f"| {count} | {hoopings} | {bounds} | {proven} of 4 | {max(took for _, took in found):.1f} |", flush=True)


if __name__ == "__main__":
    table(int(sys.argv[1]) if len(sys.argv) > 1 else COUNTS[-1])
