"""A whole kit against its bare files, and the start of the command: python tests/benchmarks/bench_kit.py.

``bare`` is what the file library takes, as it comes, to write the same machine files and read them again: its own
encoder runs, as it does for anyone who hands it plain stitches. All in processor seconds of one run.
"""

# ruff: noqa: T201  (a script whose output is its purpose)

from __future__ import annotations

import io
import os
import resource
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from statistics import median

import numpy as np
import pyembroidery
from timing import best_of

from stitchcraft.kit import Kit
from stitchcraft.kit.make import kit_of
from stitchcraft.kit.papers import papers_of
from stitchcraft.kit.pictures import bag_image, preview_png, preview_svg
from stitchcraft.kit.replay import player_of
from stitchcraft.kit.report import report_of
from stitchcraft.machine import decode, encode, prove

ROOT = Path(__file__).parents[2]


def bare(kit: Kit) -> None:
    """Write and read the kit's files with the file library alone, its defaults as they are."""
    for one in kit.parts:
        points = np.rint(one.plan.xy * (10, -10)).astype(int).tolist()
        for fmt in kit.machine.formats:
            pattern = pyembroidery.EmbPattern()
            for stop in one.plan.stops:
                pattern.add_thread(int(stop.thread.colour[1:], 16))
            at = 0
            for (x, y), kind, stop_number in zip(points, one.plan.kind.tolist(), one.plan.stop.tolist(), strict=True):
                if stop_number > at:
                    pattern.stitches.append([x, y, pyembroidery.COLOR_CHANGE])
                    at = stop_number
                command = (pyembroidery.STITCH, pyembroidery.JUMP, pyembroidery.TRIM)[kind] if kind < 3 else None
                if command is not None:
                    pattern.stitches.append([x, y, command])
            pattern.stitches.append([*points[-1], pyembroidery.END])
            out = io.BytesIO()
            getattr(pyembroidery, f"write_{fmt}")(pattern, out)
            getattr(pyembroidery, f"read_{fmt}")(io.BytesIO(out.getvalue()))


def proved(kit: Kit) -> None:
    """Write the kit's files our way, read them again, prove and report them."""
    for one in kit.parts:
        for fmt in kit.machine.formats:
            data = encode(one.plan, fmt, placement=one.hooped.placement, name=one.name)
            prove(one.plan, decode(data, fmt), one.hooped.placement)
    report_of(kit)


def kits() -> None:
    """Each sample's kit, as multiples of its bare files."""
    print("| kit | files | bare files, s | files, proofs, report | all that is made | papers, player | pictures |")
    print("|---|---|---|---|---|---|---|")
    for path in sorted((ROOT / "samples").glob("*.toml")):
        kit = kit_of(path)
        unit = best_of(lambda kit=kit: bare(kit))
        ours = best_of(lambda kit=kit: proved(kit))
        whole = best_of(lambda path=path: kit_of(path), 2)
        paper = best_of(lambda kit=kit: (papers_of(kit), player_of(kit)), 2)
        drawn = best_of(lambda kit=kit: (preview_png(kit, bag=bag_image(kit)), preview_svg(kit)), 2)
        files = sum(len(one.data) for one in kit.parts)
        print(
            f"| {path.stem} | {files} | {unit:.2f} | {ours / unit:.2f} | {whole / unit:.2f} | "
            f"{paper / unit:.2f} ({paper:.2f} s) | {drawn / unit:.2f} |",
            flush=True,
        )


def started(*arguments: str) -> tuple[float, float]:
    """Wall clock and processor seconds of a whole process, compiled code at hand as after an installation."""
    usual = {key: value for key, value in os.environ.items() if key != "PYTHONDONTWRITEBYTECODE"}
    before, begin = resource.getrusage(resource.RUSAGE_CHILDREN), time.perf_counter()
    subprocess.run(
        [sys.executable, *arguments], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False, env=usual
    )
    wall, after = time.perf_counter() - begin, resource.getrusage(resource.RUSAGE_CHILDREN)
    return wall, after.ru_utime + after.ru_stime - before.ru_utime - before.ru_stime


def starts() -> None:
    """The command's start, as multiples of the start of Python with numpy and shapely, in turn with it."""
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "tab.dst"
        file.write_bytes(next(iter(kit_of(ROOT / "samples" / "reed_pouch.toml").parts)).data["dst"])
        commands = {"--help": ("--help",), "check, a small dst": ("check", str(file))}
        times: dict[str, list[tuple[float, float]]] = {name: [] for name in ("", *commands)}
        for _ in range(21):
            times[""].append(started("-c", "import numpy, shapely"))
            for name, arguments in commands.items():
                times[name].append(started("-m", "stitchcraft", *arguments))
        # the first round compiles what is new
        wall, busy = ({name: median(one[k] for one in some[1:]) for name, some in times.items()} for k in (0, 1))
        print("\n| start | wall clock | processor |\n|---|---|---|")
        for name in commands:
            print(f"| {name} | {wall[name] / wall['']:.2f} | {busy[name] / busy['']:.2f} |")


if __name__ == "__main__":
    kits()
    starts()
