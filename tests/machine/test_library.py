"""The file library's reader in a process of its own: what hangs or swells there does so alone."""

import resource
import struct
import subprocess
import sys
import time
from pathlib import Path

import numpy as np
import pyembroidery
import pytest
from machine_plans import three_stops

from stitchcraft.errors import MachineFileError
from stitchcraft.machine import FORMATS, decode, encode, read_file
from stitchcraft.machine.apart import ReaderError, begun_apart
from stitchcraft.machine.library import read_here
from stitchcraft.machine.opening import opened_ahead
from stitchcraft.machine.reading import _HALT, _MEANING


def bomb(blocks: int = 40) -> bytes:
    """875 bytes of HUS that unpack to 16 MiB for every 54 bits: 65,535 times "repeat the last byte 256 times"."""

    def block(count: int, value: int) -> str:
        return format(count, "016b") + "0" * 19 + format(value, "09b") + "0" * 10

    bits = block(1, 0x80) + block(0xFFFF, 509) * blocks
    bits += "0" * (-len(bits) % 8)
    data = int(bits, 2).to_bytes(len(bits) // 8, "big")
    offsets = (44, 44 + len(data), 44 + 2 * len(data))
    head = struct.pack("<IIIhhhhIII8sH", 0x00C8AF5B, 0xFFFFFFFF, 1, 9, 9, -9, -9, *offsets, b"\0" * 8, 0)
    return head + struct.pack("<H", 1) + data * 3


def test_a_file_made_to_hang_its_reader_is_refused_and_takes_little_of_ours(tmp_path: Path) -> None:
    file = tmp_path / "bomb.hus"
    file.write_bytes(bomb())
    ours, others = time.process_time(), resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime
    with pytest.raises(MachineFileError, match=r"came to no end|more memory") as caught:
        read_file(file)
    assert str(caught.value).startswith(f"{file}: is damaged")
    assert time.process_time() - ours < 0.5  # the bytes are not unpacked in this process
    assert resource.getrusage(resource.RUSAGE_CHILDREN).ru_utime - others < 4


def test_a_reader_that_needs_more_memory_than_it_may_have_is_stopped() -> None:
    data = encode(three_stops(), "dst")[:512] + b"\x01\x00\x03" * 300_000 + b"\x00\x00\xf3"
    with pytest.raises(ReaderError, match="more memory than any machine file does"):
        begun_apart(data, "dst", FORMATS["dst"].read, memory=60_000_000)()
    assert len(begun_apart(data, "dst", FORMATS["dst"].read)().rows) > 900_000


@pytest.mark.parametrize("fmt", list(FORMATS))
def test_reading_apart_reads_what_reading_here_reads(fmt: str, tmp_path: Path) -> None:
    data = encode(three_stops(), fmt, name="swallow")
    assert begun_apart(data, fmt, FORMATS[fmt].read)() == read_here(data, fmt, FORMATS[fmt].read)
    file = tmp_path / f"a.{fmt}"
    file.write_bytes(data)
    np.testing.assert_array_equal(read_file(file).rows, decode(data, fmt).rows)


def test_the_numbers_of_the_librarys_commands_are_the_librarys() -> None:
    names = "STITCH JUMP TRIM STOP END COLOR_CHANGE NEEDLE_SET COLOR_BREAK SEQUIN_EJECT"
    assert set(_MEANING) == {getattr(pyembroidery, name) & 0xFF for name in names.split()}
    assert _HALT == pyembroidery.STOP & 0xFF


def test_files_are_opened_in_order_and_the_next_readers_are_at_work_already(tmp_path: Path) -> None:
    paths = [tmp_path / f"{number}.exp" for number in range(9)]
    for path in paths:
        path.write_bytes(encode(three_stops(), "exp"))
    assert [read_file(one).path for one in opened_ahead(paths)] == [str(path) for path in paths]


def test_the_command_starts_the_reader_before_it_loads_what_it_needs_itself() -> None:
    code = (
        "import sys; from stitchcraft.machine.opening import opened_ahead; "
        "print([name for name in ('numpy', 'shapely', 'pyembroidery', 'scipy') if name in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


def test_limits_that_are_stricter_than_ours_stay_and_a_whole_file_is_read(tmp_path: Path) -> None:
    file = tmp_path / "whole.dst"
    file.write_bytes(encode(three_stops(), "dst"))
    program = (
        "import resource, sys; from stitchcraft.machine import read_file; "
        "resource.setrlimit(resource.RLIMIT_CPU, (5, 5)); resource.setrlimit(resource.RLIMIT_CORE, (0, 0)); "
        "print(read_file(sys.argv[1]).stitches)"
    )
    done = subprocess.run([sys.executable, "-c", program, str(file)], capture_output=True, text=True, check=False)
    assert (done.stdout.strip(), done.stderr) == (str(three_stops().stitches), "")
