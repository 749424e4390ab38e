import io
import random
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pyembroidery
import pytest
from hypothesis import given
from hypothesis import strategies as st
from machine_plans import plan_of, three_stops

from stitchcraft.design import Kind
from stitchcraft.errors import MachineFileError
from stitchcraft.machine import FORMATS, MachineFile, Placement, centred, decode, encode, inspect_file, prove, read_file
from stitchcraft.machine.formats import READ_ONLY
from stitchcraft.machine.library import reader_of
from stitchcraft.machine.opening import MOST_BYTES

EVERY = pytest.mark.parametrize("fmt", FORMATS)


@EVERY
def test_a_file_on_disk_is_read_by_its_suffix_in_any_case(fmt: str, tmp_path: Path) -> None:
    path = tmp_path / f"tab.{fmt.upper()}"
    path.write_bytes(encode(three_stops(), fmt))
    file = read_file(path)
    assert (file.fmt, file.stitches, file.stops, file.path) == (fmt, 86, 3, str(path))
    assert f"{fmt} " in repr(file)
    assert "86 stitches, 3 stops" in repr(file)


@EVERY
def test_a_file_that_was_read_makes_a_plan_that_writes_the_same_stitches(fmt: str) -> None:
    file = decode(encode(three_stops(), fmt, placement=Placement()), fmt)
    plan = file.plan()
    assert plan.kind[-1] == Kind.END
    assert np.array_equal(plan.needle_points, file.needle_points)
    assert len(plan.stops) == 3
    again = decode(encode(plan, "exp", placement=Placement()), "exp")
    assert np.array_equal(again.units, file.units)
    assert prove(plan, again, Placement()).ok


def test_positions_are_right_way_up_and_in_stops() -> None:
    plan = plan_of([[[(0.0, 0.0), (3.0, 7.0)]], [[(-1.0, 2.0)]]])
    file = decode(encode(plan, "pes", placement=Placement()), "pes")
    assert file.bounds == (-1.0, 0.0, 3.0, 7.0)
    assert file.size == (4.0, 7.0)
    assert file.points_of(1).tolist() == [[-1.0, 2.0]]
    assert not file.rows.flags.writeable


def damaged(data: bytes, chance: random.Random) -> bytes:
    way = chance.randrange(5)
    if way == 0:
        return data[: chance.randrange(len(data))]
    if way == 1:
        at, length = chance.randrange(len(data)), chance.randrange(1, 40)
        return data[:at] + data[at + length :]
    if way == 2:
        at = chance.randrange(len(data))
        return data[:at] + chance.randbytes(chance.randrange(1, 40)) + data[at:]
    changed = bytearray(data)
    head = min(len(data), 600)
    for _ in range(chance.randrange(1, 12)):
        changed[chance.randrange(head if way == 3 else len(data))] = chance.choice(
            (0, 0x7F, 0x80, 0xFF, chance.randrange(256))
        )
    return bytes(changed)


def outcome(data: bytes, fmt: str) -> MachineFile | str:
    try:
        return decode(data, fmt)
    except MachineFileError as error:
        return str(error)


@EVERY
def test_a_damaged_file_is_read_or_refused_and_nothing_else(fmt: str) -> None:
    chance = random.Random(f"damage/{fmt}")
    whole = encode(three_stops(), fmt)
    results = [outcome(damaged(whole, chance), fmt) for _ in range(60)]
    read = [result for result in results if isinstance(result, MachineFile)]
    assert all("\n" not in result for result in results if isinstance(result, str))
    assert read
    for file in read:
        assert file.stitches > 0
        assert inspect_file(file).stitches == file.stitches


@given(st.sampled_from((*FORMATS, *READ_ONLY)), st.binary(max_size=3000))
def test_any_bytes_are_a_design_or_a_machine_file_error(fmt: str, data: bytes) -> None:
    file = outcome(data, fmt)
    if isinstance(file, str):
        assert "\n" not in file
        return
    assert len(file.rows) == len(file.kind) == len(file.stop)
    assert sorted(set(file.stop_of.tolist())) == list(range(file.stops))
    assert file.plan().stitches == file.stitches


def test_every_format_that_is_only_read_has_a_reader() -> None:
    assert all(reader_of(fmt) is not None for fmt in READ_ONLY)
    assert not set(READ_ONLY) & set(FORMATS)


def header(data: bytes) -> bytes:
    return data[:512]


@pytest.mark.parametrize(
    "body",
    [
        (bytes((0x02, 0, 0x83)) * 3 + bytes((1, 0, 3)) + bytes((0x01, 0, 0x83)) * 3 + bytes((2, 0, 3))) * 12_000,
        bytes((0x01, 0, 0x03)) + (bytes((0x01, 0, 0x83)) + bytes((0x02, 0, 0x83))) * 40_000,  # jumps that go nowhere
    ],
    ids=["trims", "jumps"],
)
def test_a_dst_of_nothing_but_jumps_is_read_in_one_pass(body: bytes) -> None:
    # 24,000 trims of three jumps, or 40,000 pairs of jumps: the file library's own search for trims is quadratic
    file = decode(header(encode(three_stops(), "dst")) + body, "dst")
    assert file.stitches in (24_000, 1)
    assert file.trims in (23_999, 1)
    assert file.jumps in (72_000, 0)


DST_RECORD = st.tuples(
    st.sampled_from((0, 1, 2, 4, 8, 0x81)), st.sampled_from((0, 1, 2)), st.sampled_from((0x03, 0x03, 0x83, 0x83, 0xC3))
)


@given(st.lists(DST_RECORD, min_size=1, max_size=60))
def test_our_one_pass_finds_the_stitches_and_trims_that_the_librarys_search_finds(
    records: list[tuple[int, ...]],
) -> None:
    data = header(encode(three_stops(), "dst")) + bytes(byte for record in records for byte in record) + b"\x00\x00\xf3"
    file = outcome(data, "dst")
    if isinstance(file, str):
        assert not any(record[2] == 0x03 for record in records)
        return
    library = pyembroidery.read_dst(io.BytesIO(data))
    points = [(x, -y) for x, y, command in library.stitches if command & 0xFF == pyembroidery.STITCH]
    assert [tuple(point) for point in file.units.tolist()] == points
    trims = sum(
        1
        for (_, _, a), (_, _, b) in zip(library.stitches, library.stitches[1:], strict=False)
        if a & 0xFF == pyembroidery.STITCH and b & 0xFF == pyembroidery.TRIM
    )
    assert file.trims == trims


@pytest.mark.parametrize("fmt", ["pes", "pec"])
def test_a_move_after_a_change_of_thread_is_no_trim_though_the_file_marks_it_as_one(fmt: str) -> None:
    plan = plan_of([[[(0.0, 0.0), (3.0, 0.0)]], [[(40.0, 0.0), (41.0, 0.0)]]])
    file = decode(encode(plan, fmt), fmt)
    assert (file.trims, file.jumps) == (0, 2)


def test_a_halt_that_ends_nothing_is_not_counted() -> None:
    whole = encode(plan_of([[[(0.0, 0.0), (3.0, 0.0)]], [[(5.0, 0.0), (6.0, 0.0)]]]), "dst")
    halt, body = b"\x00\x00\xc3", whole[512:-3]
    file = decode(whole[:512] + halt + body.replace(halt, halt * 3) + halt + b"\x00\x00\xf3", "dst")
    assert file.stops == 2
    assert int(np.count_nonzero(file.kind == Kind.STOP)) == 1


def a_folder(path: Path) -> Path:
    (path / "folder.dst").mkdir()
    return path / "folder.dst"


def closed(path: Path) -> Path:
    file = path / "closed.dst"
    file.write_bytes(b"x")
    file.chmod(0)
    return file


def holding(name: str, data: bytes) -> Callable[[Path], Path]:
    def make(path: Path) -> Path:
        (path / name).write_bytes(data)
        return path / name

    return make


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda path: path / "missing.dst", "there is no such file"),
        (lambda path: path / "nothing.dst" / "missing.dst", "there is no such file"),
        (a_folder, "is a folder or a device"),
        (holding("empty.pes", b""), "is empty"),
        (holding("spare.doc", b"x"), "'doc' is not one of them"),
        (holding("spare", b"x"), "it has none"),
        (holding("text.hus", b"x"), "is damaged or is no hus file"),
        (holding("big.exp", b"\x00" * (MOST_BYTES + 1)), "larger than 4 MB"),
        (holding("text.pes", b"this is a letter"), "is damaged or is no pes file"),
        (holding("hollow.dst", b" " * 512 + b"\x00\x00\xf3"), "holds no stitches"),
        (holding("far.exp", b"\x7f\x00" * 500), "over 5000 mm"),
        (lambda path: path / ("x" * 300 + ".dst"), "cannot be read"),
        (lambda path: path / "nul\0.dst", "cannot be read"),
    ],
    ids=["missing", "no-folder", "folder", "empty", "suffix", "no-suffix", "hus", "big", "text", "hollow",
         "far", "long-name", "nul"],
)  # fmt: skip
def test_a_file_that_cannot_be_read_is_refused_in_one_line_that_names_it(
    make: Callable[[Path], Path], words: str, tmp_path: Path
) -> None:
    path = make(tmp_path)
    with pytest.raises(MachineFileError, match=words) as caught:
        read_file(path)
    assert str(path) in str(caught.value)
    assert "\n" not in str(caught.value)


def test_a_closed_file_is_refused(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = closed(tmp_path)

    def refuse(*_: object, **__: object) -> None:
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(Path, "open", refuse)  # the tests may run as one who may read everything
    with pytest.raises(MachineFileError, match="may not be read"):
        read_file(path)


def test_a_format_that_is_unknown_is_refused_though_the_bytes_are_good() -> None:
    with pytest.raises(MachineFileError, match="no such format"):
        decode(encode(three_stops(), "dst"), "doc")


def test_a_file_is_compared_by_what_it_is_not_by_its_arrays() -> None:
    file = decode(encode(three_stops(), "dst"), "dst")
    assert isinstance(file, MachineFile)
    assert file != decode(encode(three_stops(), "dst"), "dst")
    assert centred(file.needle_points).offset_mm == (0.0, 0.0)
