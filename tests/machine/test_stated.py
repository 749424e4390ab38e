"""What a file says of itself is held against what it holds; pyembroidery's headers are the measure of whole ones."""

import numpy as np
import pytest
from machine_plans import three_stops

from stitchcraft.checks import check_file
from stitchcraft.errors import Level, MachineFileError
from stitchcraft.machine import FORMATS, Placement, decode, encode

CODES = {"file-header", "file-tail"}


def data_of(fmt):
    return encode(three_stops(), fmt, placement=Placement())


def told(data, fmt):
    found = check_file(decode(data, fmt))[1]
    return [finding for finding in found if finding.code in CODES]


def changed(data, at, new):
    return data[:at] + new + data[at + len(new) :]


@pytest.mark.parametrize("fmt", FORMATS)
def test_a_file_as_written_agrees_with_itself(fmt):
    assert not told(data_of(fmt), fmt)
    assert not decode(data_of(fmt), fmt).told.disagreements


def test_a_dst_cut_to_its_first_records_and_filled_with_noise_is_told_each_time():
    whole, seen = data_of("dst"), 0
    for seed in range(60):
        noise = np.random.default_rng(seed).integers(0, 256, 1500, dtype=np.uint8).tobytes()
        try:
            found = check_file(decode(whole[:600] + noise, "dst"))[1]
        except MachineFileError:
            continue  # beyond reading, and said so
        seen += 1
        assert {finding.code for finding in found} & {*CODES, "file-cut-short"}, seed
    assert seen > 40


@pytest.mark.parametrize(("key", "what"), [(b"ST", "stitches"), (b"CO", "colour changes")])
def test_a_dst_header_that_counts_more_is_an_error_and_one_that_counts_fewer_a_warning(key, what):
    whole = data_of("dst")
    at = whole.index(key + b":") + 3
    width = {b"ST": 7, b"CO": 3}[key]
    (more,) = told(changed(whole, at, b"9" * width), "dst")
    assert (more.code, more.level, more.limit) == ("file-header", Level.ERROR, float(b"9" * width))
    assert what in more.message
    (fewer,) = told(changed(whole, at, b"1".rjust(width)), "dst")
    assert fewer.level is Level.WARNING
    assert not told(changed(whole, at, b"?" * width), "dst")  # a header without the count says nothing


def test_either_way_of_counting_dst_stitches_will_do():
    # jumps and changes may count as stitches, or not: common practice, no source
    whole = data_of("dst")
    at = whole.index(b"ST:") + 3
    sewn, records = decode(whole, "dst").stitches, (len(whole) - 512) // 3
    for count in (sewn, records - 1, records):
        assert not told(changed(whole, at, b"%7d" % count), "dst")
    assert told(changed(whole, at, b"%7d" % (sewn - 1)), "dst")
    assert told(changed(whole, at, b"%7d" % (records + 1)), "dst")


@pytest.mark.parametrize("fmt", ["dst", "jef", "vp3"])
def test_bytes_after_the_end_are_counted_and_padding_is_not(fmt):
    (tail,) = told(data_of(fmt) + b"\x01\x02\x03", fmt)
    assert (tail.code, tail.level, tail.measured) == ("file-tail", Level.WARNING, 3)
    assert "3 bytes after the mark" in tail.message
    assert not told(data_of(fmt) + b"\x1a\x00\x00", fmt)


def pec_start(fmt, data):
    return 8 if fmt == "pec" else int.from_bytes(data[8:12], "little")


@pytest.mark.parametrize("fmt", ["pes", "pec"])
def test_a_length_of_stitches_that_ends_elsewhere_is_an_error(fmt):
    whole = data_of(fmt)
    at = pec_start(fmt, whole) + 512 + 2
    (found,) = told(changed(whole, at, (0x00FFFF).to_bytes(3, "little")), fmt)
    assert (found.code, found.level, found.limit) == ("file-header", Level.ERROR, 0xFFFF)


def test_counts_of_jef_and_vp3_headers_are_held_against_the_file():
    whole = data_of("jef")
    moves = int.from_bytes(whole[28:32], "little")
    (found,) = told(changed(whole, 28, (moves + 40).to_bytes(4, "little")), "jef")
    assert (found.measured, found.limit, found.level) == (moves, moves + 40, Level.ERROR)
    whole = data_of("vp3")
    head = whole.index(b"\x00\x02\x00") + 7
    (found,) = told(changed(whole, head + 18, (1).to_bytes(4, "big")), "vp3")
    assert (found.measured, found.limit, found.level) == (86, 1, Level.WARNING)
    (short,) = told(changed(whole, head - 4, (99_999).to_bytes(4, "big")), "vp3")
    assert (short.limit, short.level) == (99_999, Level.ERROR)
