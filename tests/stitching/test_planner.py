"""A whole design becomes rows that a machine can follow: order, locks, jumps, trims, stops."""

from collections import Counter
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
import shapely
from hypothesis import given, reject
from hypothesis import strategies as st

from stitchcraft.decoration import NoDecoration
from stitchcraft.defaults import FABRICS, FabricProfile
from stitchcraft.design import (
    Area,
    Column,
    Design,
    DoubleRun,
    Fill,
    Kind,
    Line,
    Purpose,
    Role,
    Running,
    Satin,
    Stop,
    Thread,
    Triple,
)
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.parts import ClosureTab
from stitchcraft.parts.mirror import mirrored_design
from stitchcraft.stitching import plan
from stitchcraft.units import to_units

THREAD, OTHER = Thread("#2f5d62"), Thread("#d9a441")
SEAM = np.array([[-38.0, 0.0], [-38.0, -60.0], [0.0, -90.0], [38.0, -60.0], [38.0, 0.0]])


def straight(x0, y0, x1, y1, stitch=None):
    return Line(np.array([[x0, y0], [x1, y1]]), Running() if stitch is None else stitch)


def above(rail, distance):
    return rail + np.array([0.0, distance])


def one_stop(*elements, **options):
    return Design("part", (Stop(Purpose.DECORATE, THREAD, elements, **options),))


def lengths(a_plan):
    """Lengths of the stitches that follow a stitch of the same thread without a jump."""
    steps = np.hypot(*np.diff(a_plan.xy, axis=0).T)
    return steps[a_plan.is_stitch[1:] & a_plan.is_stitch[:-1]]


def threads(a_plan):
    """Rows of each thread: what lies between two cuts or stops."""
    found, rows = [], []
    for row, kind in enumerate(a_plan.kind.tolist()):
        if kind in (Kind.TRIM, Kind.STOP, Kind.END):
            if rows:
                found.append(rows)
            rows = []
        elif kind == Kind.STITCH:
            rows.append(row)
    return found


def sewn_order(a_plan):
    """Indices of the elements in the order in which each is first sewn."""
    return list(dict.fromkeys(a_plan.element[a_plan.is_stitch].tolist()))


STITCHES = (Running(), Triple(), Running(length=1.2), Triple(passes=5), Running(length=30.0))


@st.composite
def lines(draw):
    x, y = draw(st.floats(-60, 60)), draw(st.floats(-60, 60))
    shape = draw(st.sampled_from(["line", "zigzag", "circle", "tiny"]))
    size = draw(st.floats(0.05, 25))
    if shape == "circle":
        path = circle((x, y), size)
    elif shape == "zigzag":
        path = np.array([x, y]) + size * np.array([[0, 0], [0.3, 1], [0.6, 0], [0.9, 1], [1.2, 0]])
    elif shape == "tiny":
        path = np.array([[x, y], [x + size / 50, y + size / 80], [x + size / 25, y]])
    else:
        path = np.array([[x, y], [x + size, y + size * draw(st.floats(-2, 2))]])
    return Line(path, draw(st.sampled_from(STITCHES)))


@st.composite
def columns(draw):
    x, y = draw(st.floats(-60, 60)), draw(st.floats(-60, 60))
    length, width = draw(st.floats(2, 30)), draw(st.floats(0.5, 20))
    rail = np.column_stack([x + np.linspace(0, length, 30), y + np.sin(np.linspace(0, 3, 30))])
    return Column(rail, above(rail, width), Satin(underlay=draw(st.booleans())))


@st.composite
def designs(draw):
    seam = Line(SEAM + draw(st.floats(-5, 5)), DoubleRun(length=draw(st.floats(1, 4))))
    stops = [
        Stop(
            draw(st.sampled_from([Purpose.DECORATE, Purpose.COVER])),
            draw(st.sampled_from([THREAD, OTHER])),
            draw(st.lists(st.one_of(lines(), columns()), max_size=5)),
            ordered=draw(st.booleans()),
        )
        for _ in range(draw(st.integers(1, 3)))
    ]
    if draw(st.booleans()):
        stops.insert(draw(st.integers(0, len(stops))), Stop(Purpose.SEAM, THREAD, (seam,), before="Lay the lining."))
    return Design("part", stops)


def planned(design, **options):
    try:
        return plan(design, **options)
    except ParameterError as error:
        if error.name != "design":
            raise
        reject()


@given(designs(), st.sampled_from([0.0, 3.0, 20.0]), st.booleans(), st.booleans())
def test_no_move_goes_past_the_limit_and_no_stitch_is_nothing(design, trim_over, trims, basting):
    made = planned(design, trim_over=trim_over, trims=trims, basting=basting)
    for moves in (np.abs(np.diff(made.xy, axis=0)), np.abs(np.diff(to_units(made.xy), axis=0)) * 0.1):
        assert moves.max() <= 12.0 + 1e-9
    assert np.abs(made.xy[0]).max() <= 12.0 + 1e-9  # counted from the origin
    assert lengths(made).min() >= 0.2
    units = np.abs(np.diff(to_units(made.xy), axis=0)).max(axis=1)
    assert units[made.is_stitch[1:] & made.is_stitch[:-1]].min() > 0


@given(designs(), st.booleans())
def test_stitches_are_long_enough_except_in_locks_and_where_they_are_meant(design, trims):
    made = planned(design, trims=trims)
    together = made.is_stitch[1:] & made.is_stitch[:-1]
    unlocked = (made.role[1:] != Role.LOCK) & (made.role[:-1] != Role.LOCK)
    steps = np.hypot(*np.diff(made.xy, axis=0).T)[together & unlocked]
    assert len(steps) == 0 or steps.min() >= 0.3 - 1e-6


@given(designs())
def test_every_thread_is_locked_at_both_ends(design):
    made = planned(design)
    for rows in threads(made):
        for end in (rows[:3], rows[::-1][:3]):
            points, role = made.xy[end], made.role[end]
            assert (role[:2] == Role.LOCK).all()
            # it turns back on itself, or walks back over the seam that it has sewn
            ahead, back = points[1] - points[0], points[2] - points[1]
            seam = made.stops[made.stop[end[0]]].purpose == Purpose.SEAM
            assert seam or ahead @ back < 0


@given(designs())
def test_rows_follow_the_grammar_of_a_plan(design):
    made = planned(design)
    kind = made.kind.tolist()
    assert kind[-1] == Kind.END
    assert kind.count(Kind.END) == 1
    assert kind.count(Kind.STOP) == len(made.stops) - 1
    assert (np.diff(made.stop) >= 0).all()
    assert np.unique(made.stop).tolist() == list(range(len(made.stops)))
    for row, (before, now) in enumerate(pairwise(kind)):
        moved = not np.array_equal(made.xy[row], made.xy[row + 1])
        if now in (Kind.TRIM, Kind.STOP, Kind.END):
            assert not moved
        if now in (Kind.STOP, Kind.END):
            assert before == Kind.TRIM
        if before in (Kind.TRIM, Kind.STOP) and now not in (Kind.STOP, Kind.END):
            assert now == Kind.JUMP
        if before == Kind.JUMP and now == Kind.STITCH:
            assert not moved
    assert kind[0] == Kind.JUMP
    assert (made.element[~made.is_stitch] == -1).all()
    assert (made.element[made.is_stitch] >= 0).all()


@given(designs(), st.integers(0, 3))
def test_the_same_design_gives_the_same_plan(design, seed):
    one, other = planned(design, seed=seed), planned(design, seed=seed)
    for field in ("xy", "kind", "stop", "role", "element"):
        assert np.array_equal(getattr(one, field), getattr(other, field))


@given(designs())
def test_every_hole_of_a_seam_stop_is_used_exactly_twice(design):
    made = planned(design)
    for index, stop in enumerate(made.stops):
        if stop.purpose == Purpose.SEAM:
            uses = Counter(point.tobytes() for point in made.points_of(index))
            assert set(uses.values()) == {2}
            assert made.points_of(index)[:3, 0] == pytest.approx(design_seam_x(design))


def design_seam_x(design):
    """The seam goes straight down from its first corner: its locks are right below it."""
    return [next(stop for stop in design.stops if stop.purpose == Purpose.SEAM).elements[0].path[0, 0]] * 3


@given(designs(), st.floats(0, 20))
def test_a_basting_box_comes_first_and_clears_everything_by_its_margin(design, margin):
    plain, boxed = planned(design), planned(design, basting=margin)
    assert boxed.stops[0].purpose == Purpose.BASTE
    assert boxed.stops[0].thread == plain.stops[0].thread
    # the hands do before the box what they did before the first stop
    assert boxed.stops[0].before == plain.stops[0].before
    assert boxed.stops[1] == replace(plain.stops[0], before=boxed.stops[1].before)
    assert boxed.stops[2:] == plain.stops[1:]
    box = boxed.points_of(0)
    left, bottom, right, top = plain.bounds
    assert box.min(axis=0) == pytest.approx([left - margin, bottom - margin])
    assert box.max(axis=0) == pytest.approx([right + margin, top + margin])
    assert np.array_equal(boxed.xy[boxed.is_stitch & (boxed.stop > 0)], plain.needle_points)


def test_a_basting_box_goes_before_the_stop_that_finds_all_the_cloth():
    tab = ClosureTab(length=120, batting=True, decoration=NoDecoration())
    made = plan(tab.front(), basting=True)
    assert [stop.purpose for stop in made.stops][:4] == [Purpose.PLACE, Purpose.TACK, Purpose.BASTE, Purpose.TICKS]
    assert "front cloth" in made.stops[2].before
    assert "front cloth" not in made.stops[3].before


def test_basting_stitches_are_long_and_the_margin_has_a_default():
    box = plan(one_stop(straight(0, 0, 40, 20)), basting=True)
    assert box.bounds == pytest.approx((-5.0, -5.0, 45.0, 25.0))
    own = box.points_of(0)[box.role[box.is_stitch & (box.stop == 0)] == Role.TOP]
    assert 5 < np.median(np.hypot(*np.diff(own, axis=0).T)) <= 6.0


@pytest.mark.parametrize(
    ("stitch", "field"), [(Running(), "run_length"), (Triple(), "triple_length"), (DoubleRun(), "seam_length")]
)
@pytest.mark.parametrize("fabric", sorted(FABRICS))
def test_an_open_length_is_settled_by_the_fabric(stitch, field, fabric):
    length = getattr(FABRICS[fabric], field)
    made = plan(one_stop(straight(0, 0, 84 * length, 0, stitch)), fabric=fabric)
    assert np.median(lengths(made)) == pytest.approx(length)


def test_a_length_of_the_style_goes_before_the_fabric_s_and_a_profile_is_taken_as_it_is():
    own = FabricProfile(name="own", run_length=4.0)
    assert np.median(lengths(plan(one_stop(straight(0, 0, 80, 0)), fabric=own))) == pytest.approx(4.0)
    longer = one_stop(straight(0, 0, 80, 0, Running(length=5.0)))
    assert np.median(lengths(plan(longer, fabric=own))) == pytest.approx(5.0)


def test_faux_leather_gets_no_underlay_and_cotton_does():
    rail = np.array([[0.0, 0.0], [20.0, 0.0]])
    column = one_stop(Column(rail, above(rail, 3.0)))
    assert Role.UNDERLAY in plan(column).role
    assert Role.UNDERLAY not in plan(column, fabric="faux leather").role


@pytest.mark.parametrize(("gap", "trims", "jumps"), [(0.9, 1, 0), (1.1, 1, 1), (2.9, 1, 1), (3.1, 2, 1)])
def test_a_gap_is_sewn_jumped_or_trimmed_by_its_length(gap, trims, jumps):
    made = plan(one_stop(straight(0, 0, 10, 0), straight(10 + gap, 0, 20, 0)), start=(0, 0))
    assert (made.trims, made.jumps - 1) == (trims, jumps)  # one jump leads to the first penetration
    assert (Role.TRAVEL in made.role) is (gap < 1)


def test_a_machine_that_cuts_no_thread_gets_jumps_only_but_still_locks():
    made = plan(one_stop(straight(0, 0, 10, 0), straight(40, 0, 60, 0)), trims=False)
    assert made.trims == 0
    rows = np.flatnonzero((made.kind[:-1] == Kind.JUMP) & (made.kind[1:] == Kind.STITCH)) + 1
    assert len(rows) == 2
    for row in rows:
        assert (made.role[row : row + 3] == Role.LOCK).all()
    assert made.role[rows[1] - 4] == Role.LOCK  # before the three jumps of 30 mm


def test_lines_that_touch_are_sewn_in_one_go_and_each_stitch_knows_its_element():
    square = [(0, 0, 20, 0), (20, 20, 20, 0), (0, 20, 20, 20), (0, 20, 0, 0)]
    made = plan(one_stop(*[straight(*side) for side in square]))
    assert made.trims == 1
    assert made.jumps <= 3
    middles = (made.needle_points[1:] + made.needle_points[:-1]) / 2
    element = made.element[made.is_stitch][1:]
    sides = shapely.linestrings(np.array(square, dtype=float).reshape(4, 2, 2))
    assert all(shapely.distance(sides[e], shapely.Point(m)) < 1e-6 for e, m in zip(element, middles, strict=True))
    assert set(element.tolist()) == {0, 1, 2, 3}


def test_a_stop_is_sewn_in_the_order_that_jumps_least_unless_it_says_otherwise():
    rows = [straight(0, y, 10, y) for y in (0, 20, 5, 15, 10)]
    assert sewn_order(plan(one_stop(*rows), start=(0, 0))) == [0, 2, 4, 3, 1]
    assert sewn_order(plan(one_stop(*rows, ordered=True), start=(0, 0))) == [0, 1, 2, 3, 4]


def test_what_overlaps_keeps_the_order_drawn():
    patch = Area(shapely.box(0, 0, 20, 20), Fill(angle=0.0))
    rail = np.array([[-2.0, 10.0], [22.0, 10.0]])
    column = Column(rail, above(rail, 3.0))
    line = straight(5, -5, 5, 25)
    for elements in ((patch, column, line), (line, patch, column), (column, line, patch)):
        assert sewn_order(plan(one_stop(*elements), start=(100, 100))) == [0, 1, 2]


def test_a_stop_starts_near_where_the_last_one_ended():
    one = Stop(Purpose.DECORATE, THREAD, (straight(0, 0, 30, 0),))
    two = Stop(Purpose.DECORATE, OTHER, (straight(0, 5, 30, 5),))
    made = plan(Design("part", (one, two)), start=(0, 0))
    assert made.points_of(0)[-1].tolist() == [30.0, 0.0]
    assert made.points_of(1)[0].tolist() == [30.0, 5.0]


def test_the_first_stop_starts_near_the_start():
    line = one_stop(straight(0, 0, 30, 0))
    assert plan(line, start=(0, 0)).needle_points[0].tolist() == [0.0, 0.0]
    assert plan(line, start=(40, 0)).needle_points[0].tolist() == [30.0, 0.0]


def test_the_last_stop_ends_near_the_end_and_the_others_do_not_mind_it():
    line = one_stop(straight(0, 0, 30, 0))
    assert plan(line, end=(40, 0)).needle_points[-1].tolist() == [30.0, 0.0]
    assert plan(line, end=(-40, 0)).needle_points[-1].tolist() == [0.0, 0.0]
    two = Design("part", (*line.stops, *one_stop(straight(0, 40, 0, 60), straight(30, 40, 30, 60)).stops))
    for end, ends_at in (((-9, 40), [0.0, 40.0]), ((39, 40), [30.0, 40.0])):
        made = plan(two, start=(0, 0), end=end)
        assert made.points_of(0)[-1].tolist() == [30.0, 0.0]
        assert made.needle_points[-1].tolist() == ends_at


RING = shapely.Point(0, 0).buffer(20) - shapely.Point(0, 0).buffer(8)


@pytest.mark.parametrize("fabric", ["canvas", "faux leather"])
@pytest.mark.parametrize("turn", [0, 1, 2, 3])
def test_a_fill_starts_in_the_place_asked_for_and_ends_near_the_other(fabric, turn):
    # on a ring, from any side to the opposite one; with underlay and, on faux leather, without
    start = np.round(np.array([np.cos(turn * np.pi / 2 + 0.4), np.sin(turn * np.pi / 2 + 0.4)]) * 14, 3)
    design = one_stop(Area(RING, Fill(angle=20), start=tuple(start), end=tuple(-start)))
    made = plan(design, fabric=fabric)
    assert made.needle_points[0] == pytest.approx(start, abs=1e-9)
    assert np.hypot(*(made.needle_points[-1] + start)) < 12
    plain = plan(one_stop(Area(RING, Fill(angle=20))), fabric=fabric)
    assert np.hypot(*(plain.needle_points[0] - start)) > 1
    assert made.trims == plain.trims
    # the maker's own start goes before where the needle comes from
    assert plan(design, fabric=fabric, start=(100, 100)).needle_points[0] == pytest.approx(start, abs=1e-9)


def test_a_start_outside_begins_at_the_nearest_place_inside():
    made = plan(one_stop(Area(shapely.box(0, 0, 20, 10), Fill(angle=0), start=(-50, 5))))
    x, y = made.needle_points[0]
    assert 0 <= x <= 1
    assert y == pytest.approx(5, abs=0.01)


def test_a_start_is_kept_when_the_outline_is_changed_for_the_pull_of_the_cloth_and_mirrored_with_the_design():
    design = one_stop(Area(RING, Fill(angle=20), start=(14, 2), end=(-14, 0)))
    drawn = replace(FABRICS["canvas"], strain=0.02)
    assert plan(design, fabric=drawn).needle_points[0] == pytest.approx((14, 2), abs=1e-9)
    (mirrored,) = mirrored_design(design, "other").stops[0].elements
    assert (mirrored.start, mirrored.end) == ((-14.0, 2.0), (14.0, 0.0))


def test_a_ring_is_begun_at_the_point_next_to_the_needle():
    ring = one_stop(Line(circle((0, 0), 10.0), Triple()))
    for start in ((20, 0), (0, 20), (-20, 0), (0, -20)):
        first = plan(ring, start=start).needle_points[0]
        assert first == pytest.approx(np.array(start) / 2, abs=0.01)
        assert plan(ring, start=start).needle_points[-1] == pytest.approx(first)


def test_a_double_run_keeps_the_direction_in_which_it_is_drawn():
    for path in (SEAM, SEAM[::-1]):
        made = plan(one_stop(Line(path, DoubleRun())), start=(38, 0))
        assert np.hypot(*(made.needle_points[2] - path[0])) == 0.0


@pytest.mark.parametrize("gap", [0.0, 0.5, 2.0, 9.0])
def test_a_seam_that_shares_its_stop_still_uses_every_hole_twice_and_is_sewn_into_nothing_else(gap):
    # the seam begins and ends two locks, 1.4 mm, below its first corner
    stub = straight(-38.0, 11.0, -38.0, -1.4 + gap)
    made = plan(one_stop(stub, Line(SEAM, DoubleRun()), ordered=True), start=(-38, 40))
    seam = made.xy[made.is_stitch & (made.element == 1)]
    assert set(Counter(point.tobytes() for point in seam).values()) == {2}
    assert Role.TRAVEL not in made.role
    assert made.trims == (1 if 0.3 <= gap <= 3.0 else 2)


def test_stitches_longer_than_a_machine_takes_are_divided_into_equal_ones():
    made = plan(one_stop(straight(0, 0, 100, 0, Running(length=40.0))))
    own = made.needle_points[:, 0][made.role[made.is_stitch] == Role.TOP]
    assert np.abs(np.diff(own)).max() <= 12.0
    rail = np.array([[0.0, 0.0], [5.0, 0.0]])
    satin = Satin(split=12.0, compensation=0.0, underlay=False)
    # 11.49 mm and 2 % of that at each end are 11.95 mm: within the limit as drawn, past it once both ends are rounded
    wide = plan(one_stop(Column(rail, above(rail, 11.49), satin)))
    steps = lengths(wide)
    assert steps.max() < 11.9
    assert np.median(steps) == pytest.approx(11.95 / 2, rel=0.01)


def test_a_sharp_point_of_a_triple_line_is_one_hole():
    tip = np.array([[0.0, 0.0], [1.0, 20.0], [2.0, 0.0]])
    made = plan(one_stop(Line(tip, Triple())))
    near = made.needle_points[np.hypot(*(made.needle_points - tip[1]).T) < 1.0]
    assert len(near) == 3
    assert (near == tip[1]).all()


@pytest.mark.parametrize("stitch", [DoubleRun(length=40.0), Triple(length=40.0)])
def test_stitches_sewn_more_than_once_are_divided_in_the_same_holes(stitch):
    made = plan(one_stop(straight(0.3, 0.1, 71.7, 29.3, stitch)))
    uses = Counter(point.tobytes() for point in made.needle_points[made.role[made.is_stitch] != Role.LOCK])
    assert len(uses) >= 6
    assert lengths(made).max() < 12.0
    inner = sorted(uses.values())[3:]
    assert set(inner) == ({2} if isinstance(stitch, DoubleRun) else {3})


def test_a_line_that_begins_where_another_ends_shares_the_hole_and_a_triple_one_keeps_its_own():
    first, second = straight(0, 0, 10, 0), straight(10.2, 0, 20.2, 0, Triple())
    made = plan(one_stop(first, second, ordered=True), start=(0, 0))
    x = made.needle_points[:, 0]
    assert made.jumps == made.trims == 1
    assert 10.0 not in x
    assert np.count_nonzero(x == 10.2) == 2
    made = plan(one_stop(second, first, ordered=True), start=(30, 0))
    x = made.needle_points[:, 0]
    assert 10.0 not in x
    assert np.count_nonzero(x == 10.2) == 2


def test_stops_without_elements_are_left_out_and_the_others_keep_what_is_known_of_them():
    empty = Stop(Purpose.TICKS, OTHER, ())
    seam = Stop(Purpose.SEAM, THREAD, (Line(SEAM, DoubleRun()),), before="Lay the lining right side down.")
    speck = Stop(Purpose.DECORATE, OTHER, (straight(0, 0, 0.05, 0),))
    made = plan(Design("tab", (empty, seam, speck, empty), origin=(3.0, 4.0)))
    assert [stop.purpose for stop in made.stops] == [Purpose.SEAM]
    assert made.stops[0].before == "Lay the lining right side down."
    assert (made.name, made.origin) == ("tab", (3.0, 4.0))


@pytest.mark.parametrize("elements", [(), (straight(0, 0, 0.05, 0),)])
def test_a_design_with_nothing_to_sew_is_refused(elements):
    with pytest.raises(ParameterError, match=r"^design is .* it needs to be a design with something to sew$"):
        plan(one_stop(*elements))


@pytest.mark.parametrize(
    ("options", "message"),
    [
        ({"fabric": "paper"}, "^fabric is 'paper'; it needs to be one of quilting cotton"),
        ({"trim_over": -1.0}, "^trim_over is -1.0; it needs to be a number from 0 to 5000$"),
        ({"trim_over": float("nan")}, "^trim_over is nan"),
        ({"basting": -2.0}, "^basting is -2.0"),
        ({"start": (1.0, 2.0, 3.0)}, "^start is .*; it needs to be a point"),
        ({"start": (float("nan"), 0.0)}, "^start is "),
        ({"end": 7}, "^end is 7; it needs to be a point"),
    ],
)
def test_arguments_that_cannot_be_used_are_refused_in_one_line(options, message):
    with pytest.raises(ParameterError, match=message):
        plan(one_stop(straight(0, 0, 10, 0)), **options)


@pytest.mark.parametrize(
    "stitch",
    [
        Running(length=0.0),
        Running(length=float("nan")),
        Running(tolerance=-0.1),
        Triple(passes=2),
        DoubleRun(length=-1),
    ],
)
def test_numbers_of_a_style_that_cannot_be_used_are_refused(stitch):
    with pytest.raises(ParameterError):
        plan(one_stop(straight(0, 0, 10, 0, stitch)))
