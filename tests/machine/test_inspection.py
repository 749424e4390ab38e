import json
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from machine_plans import plan_of, plans, three_stops

from stitchcraft.design import StitchPlan
from stitchcraft.errors import MachineFileError
from stitchcraft.machine import FORMATS, Hoop, Machine, Placement, decode, encode, inspect_file, save


@pytest.mark.parametrize("fmt", FORMATS)
def test_a_file_is_counted_by_stop_and_in_all(fmt: str, tmp_path: Path) -> None:
    saved = save(three_stops(), tmp_path / f"tab.{fmt}")
    report = inspect_file(saved.path, Hoop(100, 100))
    assert [stop.stitches for stop in report.stops] == [4, 41, 41]
    assert [stop.n for stop in report.stops] == [1, 2, 3]
    assert report.stitches == 86
    assert sum(stop.top_m for stop in report.stops) == pytest.approx(report.top_m)
    assert report.size_mm == (50.0, 50.0)
    assert report.stops[0].size_mm == (10.0, 10.0)
    assert report.inside_mm == 25.0
    assert report.needed is None
    assert all((stop.colour is None) == (FORMATS[fmt].colours == "none") for stop in report.stops)
    assert json.loads(json.dumps(report.to_dict()))["stops"][1]["stitches"] == 41


def test_the_longest_and_the_shortest_stitch_are_found_with_their_places() -> None:
    plan = plan_of([[[(0.0, 0.0), (2.0, 0.0), (2.0, 7.0)], [(30.0, 7.0), (30.2, 7.0)]]])
    report = inspect_file(decode(encode(plan, "exp", placement=Placement()), "exp"))
    assert report.longest_mm == pytest.approx(7.0)
    assert report.longest_at == (1, (2.0, 7.0))
    assert report.shortest_mm == pytest.approx(0.2)
    assert report.shortest_at == (1, (30.2, 7.0))
    assert report.stops[0].longest_mm == pytest.approx(7.0)
    assert report.hoop is None
    assert "hoop" not in report.to_dict()


def test_a_move_that_is_not_cut_is_told() -> None:
    runs = [[(0.0, 0.0), (2.0, 0.0)], [(4.0, 0.0), (6.0, 0.0)], [(30.0, 0.0), (32.0, 0.0)]]
    uncut = inspect_file(decode(encode(plan_of([runs], cuts=False), "xxx"), "xxx"))
    assert (uncut.untrimmed, uncut.longest_untrimmed_mm) == (1, pytest.approx(24.0))
    near = inspect_file(decode(encode(plan_of([runs], cuts=False), "xxx"), "xxx"), machine=Machine(trim_over=1))
    assert near.untrimmed == 2
    assert inspect_file(decode(encode(plan_of([runs]), "xxx"), "xxx")).untrimmed == 0


def test_a_file_that_lies_off_centre_could_be_moved_in() -> None:
    file = decode(encode(three_stops(), "dst", placement=Placement(0.0, (40.0, 0.0))), "dst")
    report = inspect_file(file, Hoop(100, 100))
    assert report.inside_mm == pytest.approx(-15.0)
    assert report.fit is not None
    assert report.fit.placement == Placement(0.0, (-40.0, 0.0))
    assert report.to_dict()["fits"] is True


def test_a_file_that_fits_nowhere_is_told_what_it_needs() -> None:
    report = inspect_file(decode(encode(three_stops(), "dst"), "dst"), Hoop(40, 40))
    assert report.fit is None
    assert report.needed is not None
    # a circle of 40 stitches, turned so that flats touch the edges: 40 / (50 cos(180/40))
    assert report.needed.scale == pytest.approx(0.8 / np.cos(np.pi / 40), abs=1e-3)
    needs = report.to_dict()["needs"]
    assert needs["field"] == "50x50"
    assert needs["scale"] == pytest.approx(report.needed.scale, abs=1e-4)


def test_a_single_penetration_is_a_report_too() -> None:
    report = inspect_file(decode(encode(plan_of([[[(1.0, 1.0)]]]), "dst"), "dst"), Hoop(100, 100))
    assert (report.stitches, report.longest_mm, report.shortest_mm, report.size_mm) == (1, 0.0, 0.0, (0.0, 0.0))


def test_a_file_wider_than_any_field_is_reported_all_the_same() -> None:
    row = b"\x7f\x00" * 300
    report = inspect_file(decode(row, "exp"), Hoop(100, 100))
    assert report.fit is None
    assert report.needed is not None
    assert report.needed.upright.name == "3798x10"  # 299 moves of 12.7 mm between 300 penetrations
    assert report.inside_mm == pytest.approx(50 - 3810.0)


def test_a_file_that_cannot_be_read_raises(tmp_path: Path) -> None:
    with pytest.raises(MachineFileError, match="no such file"):
        inspect_file(tmp_path / "missing.dst")


@given(plans(), st.sampled_from((0, 90, 180, 270)), st.integers(-200, 200), st.booleans())
def test_moving_turning_or_mirroring_a_part_changes_no_count_and_no_length(
    plan: StitchPlan, turn: int, shift: int, mirror: bool
) -> None:
    # whole units first, so that rounding treats both alike
    whole = decode(encode(plan, "xxx", placement=Placement()), "xxx").plan()
    xy = whole.xy * (-1, 1) if mirror else whole.xy
    image = StitchPlan(whole.name, xy, whole.kind, whole.stop, whole.role, whole.element, whole.stops)
    one = inspect_file(decode(encode(whole, "xxx", placement=Placement()), "xxx"))
    spot = Placement(float(turn), (shift / 10, -shift / 10))
    read_back = decode(encode(image, "xxx", placement=spot), "xxx")
    two = inspect_file(read_back)
    assert (one.stitches, one.trims, one.untrimmed) == (two.stitches, two.trims, two.untrimmed)
    assert (one.threads, one.unlocked, one.densest) == (two.threads, two.unlocked, two.densest)
    # the square that is told holds as many wherever the part lies
    inside = (np.abs(read_back.needle_points - two.densest_at) <= 0.46).all(axis=1)
    assert np.count_nonzero(inside) == two.densest
    assert [stop.stitches for stop in one.stops] == [stop.stitches for stop in two.stops]
    assert (two.longest_mm, two.shortest_mm) == pytest.approx((one.longest_mm, one.shortest_mm))
    assert (two.top_m, two.bobbin_m, two.minutes) == pytest.approx((one.top_m, one.bobbin_m, one.minutes))
    assert sorted(two.size_mm) == pytest.approx(sorted(one.size_mm))
    assert np.allclose(sorted(two.stops[0].size_mm), sorted(one.stops[0].size_mm))
