"""Two files are the same only if the needle goes down at the same places in the same order, and the rest is told."""

import json
import shutil

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from machine_plans import plan_of, plans, three_stops
from scipy.spatial.distance import directed_hausdorff

from stitchcraft.checks import compare, compare_kits
from stitchcraft.design import StitchPlan
from stitchcraft.errors import MachineFileError, ParameterError, SpecError
from stitchcraft.kit.comparing import compare_paths
from stitchcraft.machine import FORMATS, Placement, decode, encode, save
from stitchcraft.view import comparison_png, comparison_svg


def file_of(plan, fmt="exp", *, at=(0.0, 0.0)):
    return decode(encode(plan, fmt, placement=Placement(0.0, at)), fmt, path=f"part.{fmt}")


def scattered(seed, count=300):
    rng = np.random.default_rng(seed)
    steps = rng.integers(-40, 41, (count, 2)) / 10
    xy = np.cumsum(steps, axis=0)
    return [tuple(map(float, np.round(place, 1))) for place in xy]


@pytest.mark.parametrize("fmt", [fmt for fmt in FORMATS if fmt != "exp"])
def test_one_plan_is_the_same_in_every_format(fmt):
    one = compare(file_of(three_stops()), file_of(three_stops(), fmt))
    assert one.same
    assert one.holes.farthest_mm == 0.0
    assert str(one) == "they sew the same"


@settings(max_examples=20)
@given(plans(), st.integers(-300, 300), st.integers(-300, 300))
def test_a_moved_file_is_found_to_be_moved_and_by_how_much(plan, dx, dy):
    whole = file_of(plan).plan()  # whole units first, so that rounding treats both alike
    one, other = file_of(whole), file_of(whole, at=(dx / 10, dy / 10))
    found = compare(one, other)
    assert found.same == (dx == 0 and dy == 0)
    assert found.same_shifted
    assert found.shift_mm == (-dx / 10, -dy / 10)
    assert found.shifted.farthest_mm == 0.0


def test_the_shift_is_found_though_the_files_differ_in_order_and_in_part():
    points = scattered(1)
    rest = [(x + 7.3, y - 12.1) for x, y in points[60:][::-1]]
    found = compare(file_of(plan_of([[points]])), file_of(plan_of([[rest]])))
    assert found.shift_mm == (-7.3, 12.1)
    assert not len(found.shifted.only_second)
    assert 0 < len(found.shifted.only_first) <= 60
    assert not found.same_shifted


def test_distances_are_scipys_hausdorff_distance():
    one, other = file_of(plan_of([[scattered(2)]])), file_of(plan_of([[scattered(3)]]))
    want = max(directed_hausdorff(a.needle_points, b.needle_points)[0] for a, b in ((one, other), (other, one)))
    assert compare(one, other).holes.farthest_mm == pytest.approx(want)


def test_a_hole_more_is_found_in_its_stop_and_place():
    box = [(-5.0, -5.0), (5.0, -5.0), (5.0, 5.0), (-5.0, 5.0)]
    one = plan_of([[box], [scattered(10)], [scattered(11)]])
    other = plan_of([[[*box, (-5.0, 5.1), (-5.0, 12.3)]], [scattered(10)], [scattered(11)]])
    found = compare(file_of(one), file_of(other))
    assert not found.same
    assert found.holes.only_second.round(1).tolist() == [[-5.0, 5.1], [-5.0, 12.3]]
    assert [len(stop.holes.only_second) for stop in found.stops] == [2, 0, 0]
    assert found.stops[0].stitches == (4, 6)
    assert "2 in the second only" in str(found)


def test_holes_within_the_limit_count_as_one():
    points = scattered(4)
    nudged = [(round(x + 0.1, 1), y) for x, y in points]
    one, other = file_of(plan_of([[points]])), file_of(plan_of([[nudged]]))
    assert not compare(one, other).same
    assert compare(one, other, within=0.1).same
    with pytest.raises(ParameterError, match="within"):
        compare(one, other, within=-1)


def test_the_same_holes_in_another_order_or_another_stop_are_not_the_same():
    points = scattered(5)
    one = file_of(plan_of([[points]]))
    back = compare(one, file_of(plan_of([[points[::-1]]])))
    assert not back.same
    assert back.holes.farthest_mm == 0.0
    assert "another order" in str(back)
    parted = compare(one, file_of(plan_of([[points[:100]], [points[100:]]])))
    assert not parted.same
    assert [stop.stitches for stop in parted.stops] == [(300, 100), (0, 200)]


def test_a_mirror_image_is_no_moved_file():
    plan = three_stops()
    image = StitchPlan("x", plan.xy * (-1, 1), plan.kind, plan.stop, plan.role, plan.element, plan.stops)
    assert not compare(file_of(plan), file_of(image)).same_shifted


def test_kits_are_compared_file_by_file(tmp_path):
    for name in ("one", "two"):
        (tmp_path / name).mkdir()
        save(three_stops(), tmp_path / name / "tab.dst")
        save(three_stops(), tmp_path / name / "tab.pes")
    assert compare_kits(tmp_path / "one", tmp_path / "two").same
    save(plan_of([[scattered(6)]]), tmp_path / "two" / "corner.dst")
    (tmp_path / "two" / "tab.dst").unlink()
    save(plan_of([[scattered(7)]]), tmp_path / "two" / "tab.dst")
    kits = compare_kits(tmp_path / "one", tmp_path / "two")
    assert not kits.same
    assert kits.only_second == ("corner.dst",)
    assert {name: one is None for name, one in kits.files} == {"tab.dst": False, "tab.pes": True}
    assert json.loads(json.dumps(kits.to_dict()))["files"]["tab.pes"] == {"same": True}
    told = compare_paths(tmp_path / "one", tmp_path / "two", target=tmp_path / "drawn")
    assert [path.name for path in (tmp_path / "drawn").iterdir()] == ["tab.dst.svg"]
    assert told.lines[0].startswith("corner.dst: only in")
    assert told.lines[-1] == "1 of 2 files that both have sew the same"
    (tmp_path / "none").mkdir()
    with pytest.raises(MachineFileError, match="no machine file"):
        compare_kits(tmp_path / "one", tmp_path / "none")
    with pytest.raises(SpecError, match="two of a kind"):
        compare_paths(tmp_path / "one", tmp_path / "two" / "tab.pes")
    shutil.rmtree(tmp_path / "drawn")


def test_pictures_show_what_differs_and_nothing_else_in_colour():
    one, other = file_of(plan_of([[scattered(8)]])), file_of(plan_of([[scattered(9)]]))
    same, differ = compare(one, one), compare(one, other)
    for colour in ("#0b63b5", "#c43d00"):
        # once in the key; again where something is drawn
        assert comparison_svg(same).count(colour) == 1
        assert comparison_svg(differ).count(colour) == 3
    assert comparison_png(differ).startswith(b"\x89PNG")


def placed(points):
    """One stop whose stitches lead through points in tenths of a millimetre, by steps that a file can say."""
    return file_of(plan_of([[[tuple(p / 10)] for p in points]]))


@pytest.mark.parametrize("seed", range(4))
def test_a_part_of_a_file_far_away_and_in_another_order_is_found_by_how_it_lies(seed):
    # a moved, shuffled piece of it with strange holes among them: no corner, start or order tells the shift
    random = np.random.default_rng(seed)
    first = random.integers(0, 900, (160, 2))
    piece = first[(first[:, 0] > 250) & (first[:, 1] < 700)]
    shift = random.integers(-400, 400, 2)
    strange = random.integers(0, 1400, (12, 2))
    second = random.permutation(np.vstack([piece + shift, strange + shift - 250]))
    found = compare(placed(first), placed(second))
    # the shift that lays most holes on holes, tried for every pair of holes
    pairs = (first[:, None] - second[None]).reshape(-1, 2)
    shifts, votes = np.unique(pairs, axis=0, return_counts=True)
    assert tuple((shifts[votes.argmax()] / 10).tolist()) == found.shift_mm == tuple((-shift / 10).tolist())
    assert len(found.shifted.only_second) <= 12


def test_numbers_of_a_comparison_go_through_json():
    one, other = (
        file_of(plan_of([[[(0.0, 0.0), (3.0, 0.0)]]])),
        file_of(plan_of([[[(0.0, 0.0), (3.0, 0.0), (3.0, 2.5)]]])),
    )
    told = json.loads(json.dumps(compare(one, other).to_dict()))
    assert (told["first"], told["stitches"], told["same"], told["within_mm"]) == ("part.exp", [2, 3], False, 0.0)
    assert told["holes"] == {"only_first": 0, "only_second": 1, "farthest_mm": 2.5}
    assert told["stops"] == [{"n": 1, "stitches": [2, 3], "only_first": 0, "only_second": 1, "farthest_mm": 2.5}]
    assert told["shift_mm"] == [0.0, 0.0]
    text = str(compare(one, other))
    assert text == "0 holes are in the first only and 1 in the second only, up to 2.5 mm apart"
