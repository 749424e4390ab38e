"""Checks of machine files, ours or anybody's."""

import numpy as np
import pytest
from machine_plans import plan_of, three_stops

from stitchcraft.checks import check, check_file
from stitchcraft.checks.fields import hoop_finding
from stitchcraft.design import Design, Kind, Line, Purpose, Stop, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.machine import FORMATS, Hoop, Placement, decode, encode
from stitchcraft.stitching import plan as planned


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


def test_bare_ends_are_found_and_go_when_they_are_locked():
    run = [(k * 2.5, 0.0) for k in range(12)]
    report, found = check_file(file_of("exp", plan_of([[run]])))
    (one,) = [finding for finding in found if finding.code == "lock-missing"]
    assert (one.measured, one.stops, report.unlocked) == (2, (1,), 2)
    assert "0 ends" not in one.message
    locked = planned(Design("line", (Stop(Purpose.TACK, Thread("#2f5d62"), (Line(np.array(run)),)),)))
    report, found = check_file(file_of("exp", locked))
    assert (report.threads, report.unlocked) == (1, 0)
    assert "lock-missing" not in [finding.code for finding in found]


def test_a_file_says_its_fullest_square_millimetre():
    dense = [(0.1 * (k % 5) + 30, 0.1 * (k // 5)) for k in range(25)]
    report, found = check_file(file_of("exp", plan_of([[[(0.0, 0.0), (3.0, 0.0)], dense]])))
    assert report.densest == 25
    assert report.densest_at[0] > 10
    assert "density" in [finding.code for finding in found]
    assert report.to_dict()["densest_per_mm2"] == 25


def test_a_fabric_is_taken_by_name():
    read = file_of("dst")
    assert check_file(read, fabric="denim")[0].stitches == 86
    with pytest.raises(ParameterError, match="fabric"):
        check_file(read, fabric="wool")


def test_what_a_part_would_need_is_told_in_the_same_words_whoever_asks():
    read = file_of("exp", three_stops())
    plan = read.plan()
    by_plan = check(plan, hoop=Hoop(20, 20))[0]
    by_file = check_file(read, hoop=Hoop(20, 20))[1][0]
    by_kit = hoop_finding(plan.needle_points, [Hoop(20, 20), Hoop(10, 10)], part="tab-front")
    assert by_plan.code == by_file.code == by_kit.code == "hoop-fit"
    assert by_plan.remedy == by_file.remedy == by_kit.remedy
    assert by_plan.remedy.startswith("It needs a field of 50x50 mm")
    assert hoop_finding(plan.needle_points, [Hoop(50, 50)], part="x") is None
    assert hoop_finding(plan.needle_points, [Hoop(50, 50)], part="x", margin=1.0) is not None


def test_a_file_wider_than_any_field_is_told_so():
    read = decode(b"\x7f\x00" * 300, "exp")
    (one,) = [finding for finding in check_file(read, hoop=Hoop(100, 100))[1] if finding.code == "hoop-fit"]
    assert "No field is as large" in one.remedy
