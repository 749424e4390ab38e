"""A catalogue: kits a minute on one and two processes, growth with the number of kits, memory.

Run: python tests/benchmarks/bench_catalogue.py [most kits]

Efficiency on two is the gain over one, divided by two. ``kept`` is a second run over the same catalogue, which finds
every kit as it was. Memory is the largest that the process that hands the work out ever held.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

import resource
import sys
import tempfile
import time
from pathlib import Path

from stitchcraft.catalogue import local, make_catalogue

BASE = """\
name = "Turnstone pouch"
parts = ["tab"]
[bag]
width = 150
height = 160
[machine]
formats = ["dst", "pes"]
[style]
decoration = { kind = "crosshatch", pitch = 9 }
"""


def catalogue(folder: Path, kits: int) -> Path:
    """A catalogue of so many sizes."""
    (folder / "bag.toml").write_text(BASE, encoding="utf-8")
    choices = "".join(f"w{k} = {{ tab = {{ width = {40 + 0.01 * k:.2f} }} }}\n" for k in range(kits))
    (folder / "all.toml").write_text(f'base = "bag.toml"\n[axes.width]\n{choices}', encoding="utf-8")
    return folder / "all.toml"


def timed(kits: int, jobs: int) -> tuple[float, float]:
    """Wall-clock seconds of making a catalogue, and of finding it made."""
    with tempfile.TemporaryDirectory() as place:
        source = catalogue(Path(place), kits)
        begin = time.monotonic()
        made = make_catalogue(source, Path(place) / "out", engine=local(jobs))
        middle = time.monotonic()
        again = make_catalogue(source, Path(place) / "out", engine=local(jobs))
        assert (made.made, again.kept) == (kits, kits)
        return middle - begin, time.monotonic() - middle


def main(most: int) -> None:
    """Print the table, for catalogues of up to *most* kits."""
    print("| kits | processes | kits a minute | efficiency | kept, kits a minute | memory, MB |")
    print("|---|---|---|---|---|---|")
    for kits in (kits for kits in (10, 100, 1000) if kits <= most):
        alone = None
        for jobs in (1, 2):
            seconds, kept = timed(kits, jobs)
            share = "" if alone is None else f"{100 * alone / seconds / jobs:.0f} %"
            alone = seconds if alone is None else alone
            memory = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
            print(
                f"| {kits} | {jobs} | {60 * kits / seconds:.0f} | {share} | {60 * kits / kept:,.0f} | {memory:.0f} |",
                flush=True,
            )


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 1000)
