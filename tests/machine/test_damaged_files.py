"""Damaged and lying files through all that reads them: one clear line or a result, in little time and memory.

The long run of these, over hours, is the nightly profile; see DEVELOPERS.md.
"""

from __future__ import annotations

import os
import random
import resource
import struct
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import settings
from machine_plans import three_stops

from stitchcraft.checks import check_file
from stitchcraft.errors import MachineFileError, StitchcraftError
from stitchcraft.kit.comparing import compare_paths
from stitchcraft.kit.draw import draw_file
from stitchcraft.machine import FORMATS, encode, read_file
from stitchcraft.machine.reading import READ_ONLY

ROOT = Path(__file__).parents[2]
TIMES = max(1, settings.default.max_examples // 30)
"""Damaged files of each format that is written; 2 in the gate, 66 at night."""

WHOLE = {fmt: encode(three_stops(), fmt) for fmt in FORMATS}


def damaged(data: bytes, chance: random.Random) -> bytes:
    """Cut, flipped, spliced with another format, repeated, or with a header that lies."""
    at = chance.randrange(1, len(data))
    changed = bytearray(data)
    match chance.choice(["cut", "flips", "splice", "repeat", "insert", "lie", "swap"]):
        case "cut":
            return data[:at]
        case "flips":
            for _ in range(chance.choice([1, 12, 100])):
                changed[chance.randrange(len(data))] = chance.choice((0, 0x7F, 0x80, 0xFF, chance.randrange(256)))
        case "splice":
            other = WHOLE[chance.choice(list(WHOLE))]
            return data[:at] + other[chance.randrange(len(other)) :]
        case "repeat":
            return data[:at] + data[at : at + 400] * chance.randrange(2, 40) + data[at:]
        case "insert":
            return data[:at] + chance.randbytes(chance.randrange(1, 3000)) + data[at:]
        case "lie":
            for _ in range(chance.randrange(1, 5)):
                place = chance.randrange(max(1, min(len(data), 600) - 4))
                claim = chance.choice((0xFFFFFFFF, 0x7FFFFFFF, 0x80000000, len(data), 0, 0xFFFF, 1 << 30))
                changed[place : place + 4] = struct.pack(chance.choice("<>") + "I", claim)
        case _:
            return data[at:] + data[:at]
    return bytes(changed)


def spent() -> float:
    """Processor time of this process and of the readers that it has started."""
    used = [resource.getrusage(who) for who in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    return sum(one.ru_utime + one.ru_stime for one in used)


WAYS: dict[str, Callable[[Path, Path], object]] = {
    "read": lambda file, _: read_file(file),
    "check": lambda file, _: check_file(file),
    "png": lambda file, out: draw_file(file, out / "a.png"),
    "svg": lambda file, out: draw_file(file, out / "a.svg"),
    "html": lambda file, out: draw_file(file, out / "a.html"),
    "density": lambda file, out: draw_file(file, out / "a.png", density=True),
    "compare": lambda file, out: compare_paths(file, out / "whole.dst"),
}


@pytest.mark.parametrize("fmt", [*FORMATS, *READ_ONLY])
def test_a_damaged_file_is_a_result_or_one_line_in_two_seconds(fmt: str, tmp_path: Path) -> None:
    chance = random.Random(f"damaged/{fmt}")
    (tmp_path / "whole.dst").write_bytes(WHOLE["dst"])
    file = tmp_path / f"damaged.{fmt}"
    check_file(tmp_path / "whole.dst")  # what is loaded once is not the file's fault
    for _ in range(TIMES if fmt in FORMATS else 1):
        file.write_bytes(damaged(WHOLE[fmt if fmt in FORMATS else chance.choice(list(WHOLE))], chance))
        way = WAYS[chance.choice(list(WAYS))]
        before = spent()
        try:
            way(file, tmp_path)
        except StitchcraftError as error:
            line = str(error)
            assert line.startswith(f"{file}: ")
            assert line.isprintable()
            assert spent() - before < 2.0
        else:
            assert spent() - before < 6.0  # some are still a design, strewn over a map of four million cells


def test_a_file_strewn_too_far_for_a_map_is_refused_by_its_name_and_size(tmp_path: Path) -> None:
    file = tmp_path / "strewn.exp"
    file.write_bytes(b"\x7f\x7f" * 300)
    with pytest.raises(StitchcraftError, match=r"strewn\.exp: plan is 'stitching over 3797 x 3797 mm'; it needs to be"):
        draw_file(file, tmp_path / "a.png", density=True)
    assert not (tmp_path / "a.png").exists()


def sparse(path: Path) -> Path:
    """A gigabyte that takes no room on the disk."""
    file = path / "sparse.dst"
    with file.open("wb") as stream:
        stream.write(WHOLE["dst"])
        stream.truncate(1 << 30)
    return file


def loop(path: Path) -> Path:
    (path / "a.pes").symlink_to(path / "b.pes")
    (path / "b.pes").symlink_to(path / "a.pes")
    return path / "a.pes"


def pipe(path: Path) -> Path:
    os.mkfifo(path / "pipe.jef")
    return path / "pipe.jef"


def wrong_suffix(path: Path) -> Path:
    (path / "pes.vp3").write_bytes(WHOLE["pes"])
    return path / "pes.vp3"


def device(path: Path) -> Path:
    (path / "endless.dst").symlink_to("/dev/zero")
    return path / "endless.dst"


def bytes_in_its_name(path: Path) -> Path:
    return path / os.fsdecode(b"\xff\n\x1b[31m.dst")


ODD = {
    "gigabyte": (sparse, "larger than 4 MB"),
    "loop of links": (loop, "cannot be read"),
    "pipe": (pipe, "is a folder or a device"),
    "device": (device, "is a folder or a device"),
    "wrong suffix": (wrong_suffix, "is damaged or is no vp3 file"),
    "name that is no text": (bytes_in_its_name, "there is no such file"),
}


@pytest.mark.parametrize("case", ODD)
def test_what_is_no_plain_machine_file_is_one_line_at_the_command_line(case: str, tmp_path: Path) -> None:
    make, words = ODD[case]
    file = make(tmp_path)
    with pytest.raises(MachineFileError, match=words):
        read_file(file)
    limited = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_CPU, (4, 4)); "
        "resource.setrlimit(resource.RLIMIT_DATA, (500_000_000,) * 2); from stitchcraft.cli import main; main()"
    )
    done = subprocess.run(
        [sys.executable, "-c", limited, "check", str(file)], capture_output=True, text=True, check=False, timeout=60,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )  # fmt: skip
    assert done.returncode == 2
    assert words in done.stderr
    assert done.stderr.count("\n") == 1
    assert done.stdout == ""
