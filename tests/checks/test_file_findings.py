"""Checks of machine files, ours or anybody's."""

import numpy as np
import pytest
from machine_plans import plan_of, three_stops

from stitchcraft.checks import check_file
from stitchcraft.design import Kind
from stitchcraft.machine import FORMATS, Hoop, Placement, decode, encode


def file_of(fmt, plan=None, *, at=(0.0, 0.0), cut=None):
    data = encode(three_stops() if plan is None else plan, fmt, placement=Placement(0.0, at))
    return decode(data if cut is None else data[:cut], fmt, path=f"part.{fmt}")


def codes(file, **options):
    return [finding.code for finding in check_file(file, **options)[1]]


@pytest.mark.parametrize("fmt", FORMATS)
def test_whole_file_is_not_called_cut_short(fmt):
    assert "file-cut-short" not in codes(file_of(fmt))


@pytest.mark.parametrize(("fmt", "share"), [("dst", 0.5), ("dst", 0.9), ("jef", 0.9)])
def test_file_without_its_end_is_an_error(fmt, share):
    size = len(encode(three_stops(), fmt, placement=Placement()))
    start = 512 if fmt == "dst" else size // 2
    cut = int(start + (size - start) * share)
    assert codes(file_of(fmt, cut=cut))[0] == "file-cut-short"


def test_file_that_sticks_out_is_told_where_it_would_fit():
    assert "hoop-placement" in codes(file_of("dst", at=(50.0, 0.0)), hoop=Hoop(100, 100))
    assert "hoop-fit" in codes(file_of("dst"), hoop=Hoop(10, 10))
    assert not {"hoop-fit", "hoop-placement"} & set(codes(file_of("dst"), hoop=Hoop(200, 200)))


def test_drawing_of_a_read_file_lifts_the_thread_at_a_trim():
    # two dashes 5 mm apart with a cut between: DST reads back without a jump, so near are they
    row = np.arange(6.0)
    dashes = [np.column_stack([row, 0 * row]), np.column_stack([row + 10, 0 * row])]
    read = file_of("dst", plan_of([dashes])).plan()
    assert Kind.TRIM in read.kind.tolist()
    longest = max(float(np.hypot(*np.diff(stroke, axis=0).T).max()) for stroke in read.strokes(0))
    assert longest <= 1.01
