"""Checks of stitches just within and just past their limits, on plans whose every point is set by hand."""

import numpy as np
import pytest
import shapely
from machine_plans import plan_of

from stitchcraft.checks import check, check_file
from stitchcraft.checks.fields import hoop_finding
from stitchcraft.checks.formats import name_findings
from stitchcraft.checks.trims import trim_findings
from stitchcraft.design import Kind, PlanStop, Purpose, Role, StitchPlan, Thread
from stitchcraft.errors import Level
from stitchcraft.machine import Hoop, Placement, decode, encode

LOCKED = [(0.0, 0.0), (1.0, 0.0), (0.5, 0.0), (2.0, 0.0), (4.0, 0.0), (5.0, 0.0), (4.5, 0.0)]


def only(found, code):
    (one,) = [finding for finding in found if finding.code == code]
    return one


def codes(found):
    return {finding.code for finding in found}


def stepping(*steps, y=0.0):
    """A run along x by these steps, between two of 2 mm."""
    return [(float(x), y) for x in np.cumsum([0, 2, *steps, 2])]


def test_a_stitch_past_twelve_millimetres_is_long_and_the_longest_is_told():
    assert "stitch-long" not in codes(check(plan_of([[stepping(12.0, 12.05)]])))
    one = only(check(plan_of([[stepping(2)], [stepping(12.2, 14.0)], [stepping(13.0)]])), "stitch-long")
    assert (one.measured, one.limit, one.stops) == (14.0, 12.0, (2, 3))
    assert one.at_mm == (28.2, 0.0)  # where it ends: 2 + 12.2 + 14
    assert "14.0 mm, in stop 2 near (28, 0) mm" in one.message


def test_a_stitch_under_three_tenths_is_short_by_more_than_rounding():
    assert "stitch-short" not in codes(check(plan_of([[stepping(0.3, 0.25)]])))
    one = only(check(plan_of([[stepping(2)], [stepping(0.15, 3, 0.1)]])), "stitch-short")
    assert (one.measured, one.limit, one.stops, one.at_mm) == (2, 0, (2,), (2.15, 0.0))
    assert "2 of its 8 stitches are shorter than 0.3 mm, such as in stop 2 near (2, 0) mm" in one.message


def test_places_are_told_from_the_middle_of_the_field_where_the_part_lies_in_one():
    plan = plan_of([[stepping(13.0)]])
    assert only(check(plan), "stitch-long").at_mm == (15.0, 0.0)
    # turned by a quarter, then shifted: (15, 0) -> (0, 15) -> (3, 19)
    assert only(check(plan, placement=Placement(90.0, (3.0, 4.0))), "stitch-long").at_mm == (3.0, 19.0)
    assert only(check(plan, part="tab-back"), "stitch-long").part == "tab-back"
    assert only(check(plan), "stitch-long").part == "tab-front"


def test_ends_of_thread_are_counted_and_the_first_bare_one_is_told():
    assert "lock-missing" not in codes(check(plan_of([[LOCKED]])))
    bare = [(x, 9.0) for x in (0.0, 2.5, 5.0)]
    one = only(check(plan_of([[LOCKED, bare], [LOCKED], [bare]])), "lock-missing")
    assert (one.measured, one.limit, one.stops, one.at_mm) == (4, 0, (1, 3), (0.0, 9.0))
    assert "4 of 8 ends" in one.message
    assert "stop 1 near (0, 9) mm" in one.message


def test_two_stitches_back_under_the_seam_hold_an_end_and_one_does_not():
    # a backstitch of two or three small stitches: common practice, no source
    seam = [(0.0, 0.0), (4.0, 0.0), (8.0, 0.0), (12.0, 0.0)]
    two, one = [(2.0, 0.0), (1.0, 0.0), *seam], [(1.0, 0.0), *seam]
    assert only(check(plan_of([[two]])), "lock-missing").measured == 1  # its far end
    assert only(check(plan_of([[one]])), "lock-missing").measured == 2
    assert only(check(plan_of([[two[::-1]]])), "lock-missing").at_mm == (12.0, 0.0)
    # two small stitches on the far side of the turn are no backstitch
    assert only(check(plan_of([[[(4.0, 0.0), (0.0, 0.0), (1.0, 0.0), (2.0, 0.0), *seam[1:]]]])), "lock-missing")


def with_purposes(*runs_and_purposes):
    plan = plan_of([[run] for run, _ in runs_and_purposes])
    stops = tuple(PlanStop(purpose, Thread("#2f5d62")) for _, purpose in runs_and_purposes)
    return StitchPlan(plan.name, plan.xy, plan.kind, plan.stop, plan.role, plan.element, stops)


def test_decoration_keeps_a_millimetre_off_a_seam():
    seam = [(float(x), 0.0) for x in range(0, 60, 2)]
    for gap, caught in ((1.0, False), (0.95, True), (0.0, True)):
        line = [(float(x), gap) for x in range(4, 40, 4)]
        found = check(with_purposes((seam, Purpose.SEAM), (line, Purpose.DECORATE)))
        assert ("decoration-in-seam" in codes(found)) == caught
        # nothing but decoration may not lie there, and nothing but a seam is one
        for first, second in ((Purpose.SEAM, Purpose.OUTLINE), (Purpose.TACK, Purpose.DECORATE)):
            assert "decoration-in-seam" not in codes(check(with_purposes((seam, first), (line, second))))
    slanting = [(10.0, 3.0), (12.0, 0.9), (14.0, 0.4), (16.0, 3.0)]
    one = only(check(with_purposes((slanting, Purpose.DECORATE), (seam, Purpose.SEAM))), "decoration-in-seam")
    assert (one.measured, one.limit, one.at_mm, one.stops) == (0.4, 1.0, (14.0, 0.4), (1,))
    assert "2 penetrations" in one.message


def close(pairs, apart, others=0):
    """Pairs of holes so far apart, 3 mm from one another, and single holes beyond them."""
    spots = [spot for k in range(pairs) for spot in ((3.0 * k, 0.0), (3.0 * k + apart, 0.0))]
    return [[*spots, *((3.0 * (pairs + k), 0.0) for k in range(others))]]


def test_holes_crowd_when_a_twelfth_dozen_and_a_twentieth_of_them_all_but_touch():
    assert only(check(plan_of([close(6, 0.1)])), "needles-close").measured == 1.0
    assert "needles-close" not in codes(check(plan_of([close(6, 0.2)])))
    assert "needles-close" not in codes(check(plan_of([close(5, 0.1)])))  # ten holes are no fault of the layout
    # 12 of 239 are 5.02 %, 12 of 240 are 5 %
    assert only(check(plan_of([close(6, 0.1, 227)])), "needles-close").measured == 0.05
    assert "needles-close" not in codes(check(plan_of([close(6, 0.1, 228)])))
    one = only(check(plan_of([close(2, 0.1), close(6, 0.1, 6)])), "needles-close")
    assert (one.stops, one.limit, one.measured) == ((2,), 0.05, 0.667)
    assert one.at_mm == (0.0, 0.0)


@pytest.mark.parametrize(("weight", "nearest"), [(90, 0.2), (40, 0.2), (30, 0.3), (12, 0.4)])
def test_holes_all_but_touch_when_they_are_nearer_than_half_the_width_of_their_thread(weight, nearest):
    # thread of weight 40 is 0.4 mm wide and goes by the root of the number (common practice, no source): half of it
    # is 0.13 mm for weight 90, 0.2 for 40, 0.23 for 30 and 0.37 for 12
    def crowds(apart):
        made = plan_of([close(8, apart)])
        stops = tuple(PlanStop(stop.purpose, Thread("#2f5d62", weight=weight)) for stop in made.stops)
        made = StitchPlan(made.name, made.xy, made.kind, made.stop, made.role, made.element, stops)
        return "needles-close" in codes(check(made))

    assert not crowds(nearest)
    assert crowds(nearest - 0.1)


@pytest.mark.parametrize(
    ("roles", "elements", "counted"),
    [
        ((Role.TOP, Role.TOP), (0, 0), True),
        ((Role.UNDERLAY, Role.TOP), (0, 0), False),  # underlay under its own top
        ((Role.TRAVEL, Role.TOP), (0, 0), False),
        ((Role.UNDERLAY, Role.TRAVEL), (0, 0), True),
        ((Role.UNDERLAY, Role.TOP), (0, 1), True),  # under the top of another element
        ((Role.LOCK, Role.TOP), (0, 0), False),  # locks are meant to be close
    ],
)
def test_underlay_of_its_own_element_and_locks_do_not_crowd(roles, elements, counted):
    plan = plan_of([close(8, 0.1)])
    role, element = np.full(len(plan.kind), int(roles[1])), np.full(len(plan.kind), elements[1])
    sewn = np.flatnonzero(plan.kind == Kind.STITCH)
    role[sewn[::2]], element[sewn[::2]] = int(roles[0]), elements[0]
    made = StitchPlan(plan.name, plan.xy, plan.kind, plan.stop, role, element, plan.stops)
    assert ("needles-close" in codes(check(made))) == counted


def test_a_field_too_small_is_told_with_what_it_would_need():
    plan = plan_of([[[(0.0, 0.0), (50.0, 0.0), (50.0, 30.0)]]])
    one = only(check(plan, hoop=Hoop(40, 25)), "hoop-fit")
    assert (one.level, one.measured, one.limit) == (Level.ERROR, 50.0, 40)
    assert "50.0 x 30.0 mm and fits 40x25 at no angle" in one.message
    assert "hoop-fit" not in codes(check(plan, hoop=Hoop(50, 30)))
    both = hoop_finding(plan.needle_points, [Hoop(10, 10), Hoop(20, 45)], part="x", margin=1.5)
    assert "fits none of the listed fields (10x10, 20x45) at any angle with 1.5 mm kept free" in both.message
    assert both.limit == 45


def test_the_remedy_for_a_field_is_true():
    strip = np.array(shapely.affinity.rotate(shapely.box(0, 0, 100, 10), 45, origin=(0, 0)).exterior.coords)
    one = hoop_finding(strip, [Hoop(60, 60)], part="x")
    # upright (100 + 10) / sqrt 2 = 77.8 each way; turned it is its own 100 x 10
    assert "a field of 78x78 mm" in one.remedy or "a field of 80x80 mm" in one.remedy
    assert "turned by" in one.remedy
    square = np.array([(0, 0), (70, 0), (70, 70), (0, 70)], dtype=float)
    one = hoop_finding(square, [Hoop(60, 60)], part="x")
    assert "turned by" not in one.remedy  # a square is smallest as it lies
    assert "at 85 % of its size it would fit 60x60" in one.remedy  # 60 / 70 is 85.7 %, and 86 % would not fit


def test_a_tall_part_off_its_origin_is_measured_by_its_height_and_may_fit_smaller_and_turned():
    strip = np.array([(100, 50), (110, 50), (110, 170.126), (100, 170.126)], dtype=float)
    one = hoop_finding(strip, [Hoop(60, 60)], part="x")
    assert (one.measured, one.limit) == (120.13, 60)
    assert "10.0 x 120.1 mm" in one.message
    # a strip of w x h lies corner to corner in a square of side a while (w + h) / sqrt 2 <= a: 60 sqrt 2 / 130.126
    assert "at 65 % of its size it would fit 60x60 turned by 45 degrees" in one.remedy
    upright = hoop_finding(strip, [Hoop(14, 100)], part="x")
    assert "of its size it would fit 14x100." in upright.remedy
    lying = hoop_finding(strip, [Hoop(100, 14)], part="x")
    assert "of its size it would fit 100x14." in lying.remedy  # a quarter turn need not be said


def test_percentages_and_places_are_told_as_they_are():
    one = only(check(plan_of([close(6, 0.1, 12)])), "needles-close")
    assert "50 % of the penetrations of stop 1 (decorate)" in one.message  # 12 of 24
    spots = [[(-0.001, -0.004), (3.0, 0.0), (16.1234, 0.0)]]
    at = only(check(plan_of([[spots[0][::-1]]])), "stitch-long")
    assert (at.measured, at.at_mm) == (13.12, (3.0, 0.0))
    bare = only(check(plan_of([[[(-0.001, -0.004), (3.0, 0.0), (6.0, 0.0)]]])), "lock-missing")
    assert [str(v) for v in bare.at_mm] == ["0.0", "0.0"]  # and not minus nothing
    placed = only(check(plan_of([[[(0.126, -0.123), (3.0, 0.0), (6.0, 0.0)]]])), "lock-missing")
    assert placed.at_mm == (0.13, -0.12)


def test_colours_are_told_with_their_stops_and_distance():
    run = LOCKED
    found = check(plan_of([[run], [run], [run]], colours=["#d9a441", "#2f5d62", "#305e60"]), cloth="#d9a43f")
    lost = only(found, "colour-lost")
    assert lost.stops == (1,)
    assert "of stop 1 (decorate)" in lost.message
    assert round(lost.measured, 1) == lost.measured
    alike = only(found, "colours-alike")
    assert alike.stops == (2, 3)
    assert "stop 2" in alike.message
    assert "stop 3" in alike.message
    assert round(alike.measured, 1) == alike.measured


def dashes(count, points):
    return [[(5.0 * k, float(j)) for j in range(points)] for k in range(count)]


def test_trims_are_told_from_twenty_on_if_they_take_more_time_than_the_stitches():
    # 8 s a trim, 600 stitches a minute: a trim is as long as 80 stitches. 21 dashes are cut 20 times in between
    assert not trim_findings(plan_of([dashes(20, 3)]), "x")  # 19 trims
    (one,) = trim_findings(plan_of([dashes(21, 3)]), "x")
    cutting, sewing = 20 * 8 / 60, 63 / 600
    assert (one.measured, one.limit) == (round(cutting / (cutting + sewing), 3), 0.5)
    assert "The 20 trims of stop 1 (decorate) take about 3 of its 3 minutes." in one.message
    # 21 x 76 = 1596 stitches take 159.6 s, a hair less than 20 trims; 77 each take 161.7 s
    assert trim_findings(plan_of([dashes(21, 76)]), "x")
    assert not trim_findings(plan_of([dashes(21, 77)]), "x")


def test_the_stop_that_is_cut_longest_is_told():
    (one,) = trim_findings(plan_of([dashes(22, 3), dashes(31, 3), dashes(26, 3)]), "x")
    assert "The 30 trims of stop 2" in one.message
    # a stop that sews more than it cuts is passed over, however often it is cut
    (one,) = trim_findings(plan_of([dashes(22, 3), dashes(31, 90)]), "x")
    assert "The 21 trims of stop 1" in one.message


def test_a_file_past_its_field_is_told_by_how_far_and_where_it_fits():
    plan = plan_of([[[(-6.0, -3.0), (6.0, -3.0), (6.0, 3.0), (-6.0, 3.0)]]])

    def placed(x):
        return decode(encode(plan, "exp", placement=Placement(0.0, (x, 0.0))), "exp", path="a/part.exp")

    report, found = check_file(placed(0.0), hoop=Hoop(20, 20))
    assert report.inside_mm == 4.0  # 10 less 6
    assert "hoop-placement" not in codes(found)
    assert "hoop-placement" not in codes(check_file(placed(4.0), hoop=Hoop(20, 20))[1])  # its edge on the field's
    report, found = check_file(placed(8.0), hoop=Hoop(20, 20))
    one = only(found, "hoop-placement")
    assert (one.part, one.measured, one.limit, one.level) == ("part.exp", 4.0, 0, Level.WARNING)
    assert "12 x 6 mm and reaches 4 mm past the 20x20 field" in one.message
    assert "moved to the middle" in one.remedy
    one = only(check_file(placed(0.0), hoop=Hoop(10, 14))[1], "hoop-placement")
    assert one.measured == 1.0
    assert "turned by 90 degrees" in one.remedy


def test_moves_without_a_cut_are_counted_with_the_longest():
    runs = [[(0.0, 0.0), (1.0, 0.0)], [(9.0, 0.0), (10.0, 0.0)], [(10.0, 7.0), (11.0, 7.0)]]
    one = only(check_file(decode(encode(plan_of([runs], cuts=False), "exp"), "exp"))[1], "thread-uncut")
    assert (one.level, one.measured, one.limit) == (Level.NOTE, 2, 0)
    assert "2 moves without a cut, the longest 8.0 mm" in one.message
    assert "thread-uncut" not in codes(check_file(decode(encode(plan_of([runs]), "exp"), "exp"))[1])


def test_names_cut_alike_are_told_by_format_with_the_longest():
    (one,) = name_findings(["handle-leftmost", "handle-left"], ["pes"])
    assert (one.part, one.measured, one.limit) == ("handle-leftmost", 15, 8)
    assert not list(name_findings(["handle-l", "handle-r"], ["pes"]))  # eight characters tell them apart
    assert [f.limit for f in name_findings(["a" * 20 + "1", "a" * 20 + "2"], ["dst", "pes"])] == [16, 8]


@pytest.mark.parametrize(("count", "told"), [(64, False), (65, True)])
def test_colours_are_told_from_the_first_that_has_no_room(count, told):
    plan = plan_of([[LOCKED]] * count, colours=[f"#{k:02x}40{255 - k:02x}" for k in range(count)])
    found = [one for one in check(plan, formats=["pes"]) if one.code == "colours-lost"]
    assert bool(found) == told
    assert all((one.measured, one.limit, one.level) == (65, 64, Level.ERROR) for one in found)


def test_no_place_is_told_with_a_minus_nought():
    bare = [(12.2, -0.3), (15.0, -0.3), (18.0, -0.3)]
    assert "near (12, 0) mm" in only(check(plan_of([[bare]])), "lock-missing").message
