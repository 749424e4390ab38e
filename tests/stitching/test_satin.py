"""Satin columns: where the needle goes, what lies beneath, and that nothing odd comes of odd rails."""

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial import cKDTree

from stitchcraft.defaults import PLANNING
from stitchcraft.design import Role
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.borders import border_rails
from stitchcraft.geometry.curves import arc, closed, joined
from stitchcraft.stitching.satin import satin_area_pieces, satin_piece, satin_suits
from stitchcraft.stitching.satin_settings import SatinSettings
from stitchcraft.units import to_units

PLAIN = SatinSettings(
    pitch=0.4, split=7.0, compensation=0.0, compensation_share=0.0, underlay=False, underlay_length=2.5,
    underlay_inset=0.6, zigzag_pitch=2.0, centre_below=1.5, zigzag_from=4.0, needle_gap=PLANNING["needle_gap"].value,
)  # fmt: skip


def column(path, width, **changes):
    left, right = border_rails(path, width=width)
    return satin_piece(left, right, replace(PLAIN, **changes))


def straight(width, length=20.0, **changes):
    return column([(0, 0), (length, 0)], width, **changes)


def top_of(run):
    return run.xy[run.role == Role.TOP]


def ways_of(piece):
    return [piece.sew(way) for way in range(len(piece.entries))]


def nearest_pair(points):
    return cKDTree(points).query(points, 2)[0][:, 1].min()


def nearest_as_sewn(points):
    """Between the positions that a machine file holds, mm."""
    return nearest_pair(to_units(points) / 10)


def stitch_lengths(points):
    return np.hypot(*np.diff(points, axis=0).T)


def covered_share(runs, shape, thread=0.4):
    moves = [np.stack([run.xy[:-1], run.xy[1:]], axis=1)[run.role[1:] == Role.TOP] for run in runs]
    thick = shapely.buffer(shapely.linestrings(np.vstack(moves)), thread / 2, cap_style="flat")
    sewn = shapely.union_all(thick)
    return sewn.intersection(shape).area / shape.area, sewn.difference(shape.buffer(0.05)).area / shape.area


def elbow(turn_deg, leg=12.0):
    turn = math.radians(turn_deg)
    return np.array([(-leg, 0.0), (0.0, 0.0), (leg * math.cos(turn), leg * math.sin(turn))])


def rounded_rectangle():
    shape = shapely.box(4, 4, 16, 10).buffer(4, quad_segs=32)
    return shapely.get_coordinates(shapely.orient_polygons(shape).exterior)


RECTANGLE = closed([(0, 0), (20, 0), (20, 14), (0, 14)])
SCALLOPS = joined(*[arc((8.0 * i, 0.0), 4.0, 180.0, 0.0) for i in range(3)])
SINE = np.column_stack([np.linspace(0, 20, 400), 2.5 * np.sin(0.9 * np.linspace(0, 20, 400))])
ANGLE = np.arange(10) * math.pi / 5
STAR = closed(np.where(np.arange(10) % 2 == 0, 22.0, 9.0)[:, None] * np.column_stack([np.cos(ANGLE), np.sin(ANGLE)]))
TURN = np.linspace(0, 2 * math.pi, 300)
KNOT = np.column_stack([np.interp(TURN, [0, 2.5, 3.1, 3.8, 6.3], x) for x in ([-6, 4, 5, 4, -6], [-3, 3, 0, -3, 3])])
COLUMNS = {
    "figure of eight": (np.column_stack([9 * np.sin(TURN), 6 * np.sin(2 * TURN)]), 3.0), "knot": (KNOT, 2.2),
    **{f"corner of {turn}": (elbow(turn), 3.5) for turn in (30, 60, 90, 120, 150)},
    "rectangle": (RECTANGLE, 3.5), "rounded rectangle": (rounded_rectangle(), 3.5), "scallops": (SCALLOPS, 3.0),
    "tight sine": (SINE, 3.5), "star": (STAR, 3.0), "wide bend": (elbow(70), 9.0),
}  # fmt: skip


def test_needle_alternates_between_the_rails_at_half_the_pitch():
    top = top_of(straight(4).sew(0))
    assert top[0::2, 1] == pytest.approx(2)
    assert top[1::2, 1] == pytest.approx(-2)
    assert np.diff(top[:, 0]) == pytest.approx(0.2)
    assert np.diff(top[0::2, 0]) == pytest.approx(0.4)


@pytest.mark.parametrize(("path", "width"), COLUMNS.values(), ids=COLUMNS.keys())
def test_no_two_needle_points_of_a_column_are_nearer_than_the_gap(path, width):
    for run in ways_of(column(path, width, underlay=True)):
        assert nearest_as_sewn(top_of(run)) >= 0.3 - 1e-9


@pytest.mark.parametrize("angle", [10, 20, 30, 45, 64])
@pytest.mark.parametrize("pitch", [0.35, 0.4, 0.45])
def test_no_two_are_nearer_than_the_gap_as_sewn_whichever_way_a_straight_column_runs(angle, pitch):
    ahead = np.array([math.cos(math.radians(angle)), math.sin(math.radians(angle))])
    top = top_of(column([(0.013, 0.007), 40 * ahead], 3.0, pitch=pitch).sew(0))
    assert nearest_as_sewn(top) >= 0.3 - 1e-9
    # the edges stay even: no needle point is farther out than rounding alone can put it, nor two units farther in
    across = np.abs(to_units(top) / 10 @ np.array([-ahead[1], ahead[0]])) - 1.5
    assert across.max() < 0.0708
    assert across.min() > -0.16


@pytest.mark.parametrize(("path", "width"), COLUMNS.values(), ids=COLUMNS.keys())
def test_every_way_starts_and_ends_where_the_piece_says(path, width):
    piece = column(path, width, underlay=True, compensation=0.15, compensation_share=0.02)
    for way, run in enumerate(ways_of(piece)):
        assert np.allclose(run.xy[0], piece.entries[way], atol=1e-9)
        assert np.allclose(run.xy[-1], piece.exits[way], atol=1e-9)


@pytest.mark.parametrize(("path", "width"), COLUMNS.values(), ids=COLUMNS.keys())
def test_no_stitch_is_longer_than_the_split_width(path, width):
    assert stitch_lengths(column(path, width).sew(0).xy).max() <= 7.1


@pytest.mark.parametrize("kind", ["rectangle", "rounded rectangle", "star"])
def test_border_ring_is_covered_at_a_pitch_of_one_thread(kind):
    path, width = COLUMNS[kind]
    shape = shapely.Polygon(path)
    ring = shape.buffer(width / 2, quad_segs=32).difference(shape.buffer(-width / 2))
    share, _ = covered_share([column(path, width).sew(0)], ring)
    assert share >= 0.99


def test_a_mitred_corner_gets_a_needle_point_at_its_tip_and_at_its_inner_point():
    top = top_of(column(RECTANGLE, 3.5).sew(0))
    for tip in [(-1.75, -1.75), (21.75, -1.75), (21.75, 15.75), (-1.75, 15.75)]:
        assert np.hypot(*(top - tip).T).min() < 1e-9
    for inner in [(1.75, 1.75), (18.25, 1.75), (18.25, 12.25), (1.75, 12.25)]:
        assert np.hypot(*(top - inner).T).min() < 0.15


def test_every_second_stitch_of_a_tight_curve_is_shortened_and_only_those():
    # inner radius 3, outer 6.5: points on the inner side would be 0.185 mm apart
    run = column(arc((0, 0), 4.75, 0, 180), 3.5).sew(0)
    radius = np.hypot(*top_of(run).T)
    outer, inner = radius[radius > 6], radius[radius < 6]
    assert outer == pytest.approx(6.5, abs=0.02)
    middle = inner[4:-4]
    full = middle < 3.12
    assert (full[1:] != full[:-1]).all()
    # far enough for 0.3 mm: sqrt(0.3^2 - 0.185^2), but for a unit here and there that rounding asks for
    assert np.median(middle[~full]) == pytest.approx(3.236, abs=0.03)
    assert np.abs(middle - np.where(full, 3.0, 3.236)).max() < 0.16


def test_compensation_widens_both_ends_by_the_constant_and_the_share():
    top = top_of(straight(4, compensation=0.15, compensation_share=0.02).sew(0))
    assert top[:, 1].max() == pytest.approx(2 + 0.15 + 0.02 * 4)
    assert top[:, 1].min() == pytest.approx(-2 - 0.15 - 0.02 * 4)


def test_spacing_stays_what_was_asked_after_compensation():
    top = top_of(column(arc((0, 0), 20, 0, 90, flatness=1e-6), 4, compensation=0.5).sew(0))
    outer = top[np.hypot(*top.T) > 20]
    assert np.hypot(*outer.T) == pytest.approx(22.5, abs=1e-4)
    assert stitch_lengths(outer) == pytest.approx(0.4, abs=0.005)


def test_wide_lines_are_split_and_no_two_neighbours_in_one_place():
    top = top_of(straight(12, length=30).sew(0))
    lengths = stitch_lengths(top)
    assert lengths.max() <= 7
    assert lengths.min() >= 0.99
    inner = top[np.abs(top[:, 1]) < 5.9]
    assert len(inner) > 250
    beside = [inner[np.abs(inner[:, 0] - x) < 0.15] for x in np.arange(1, 29, 0.2)]
    assert all(np.diff(np.sort(points[:, 1])).min(initial=9) > 0.9 for points in beside)


def test_widths_up_to_the_limit_are_not_split():
    assert len(straight(7.0).sew(0).xy) == len(straight(3.0).sew(0).xy)
    assert len(straight(7.2).sew(0).xy) > 1.5 * len(straight(3.0).sew(0).xy)


@pytest.mark.parametrize(
    ("width", "rows"),
    [(1.2, [0.0]), (3.0, [-0.9, 0.9]), (5.0, [-1.9, 1.9])],
    ids=["centre run", "edge run", "edge run and zigzag"],
)
def test_underlay_follows_the_width(width, rows):
    run = straight(width, underlay=True).sew(0)
    below = run.xy[run.role == Role.UNDERLAY]
    assert sorted({*below[:, 1].round(6)} & {*np.round(rows, 6)}) == rows
    assert below[:, 0].min() == pytest.approx(0.6)
    assert below[:, 0].max() == pytest.approx(19.4)
    turns = np.count_nonzero(np.abs(np.diff(below[:, 1])) > 0.7 * width)
    assert (turns > 10) == (width == 5.0)


@pytest.mark.parametrize("width", [1.2, 3.0, 5.0])
def test_underlay_comes_first_and_ends_where_the_top_begins(width):
    for run in ways_of(straight(width, underlay=True)):
        first_top = int(np.flatnonzero(run.role == Role.TOP)[0])
        assert (run.role[first_top:] == Role.TOP).all()
        assert (run.role[:first_top] == Role.UNDERLAY).all()
        assert np.hypot(*(run.xy[first_top] - run.xy[first_top - 1])) < width + 1
        assert stitch_lengths(run.xy[:first_top]).min() >= 0.3


def test_underlay_can_be_left_out():
    assert (straight(5.0).sew(0).role == Role.TOP).all()


def test_open_column_offers_both_directions_and_ways_back():
    piece = straight(5.0, underlay=True)
    across = {(round(a), round(b)) for a, b in zip(piece.entries[:, 0], piece.exits[:, 0], strict=True)}
    assert {(1, 20), (19, 0), (1, 0), (19, 20)} == across


def test_closed_column_offers_several_starts_and_comes_round():
    piece = column(rounded_rectangle(), 3.5)
    assert len(piece.entries) == 8
    assert nearest_pair(piece.entries) > 3
    for entry, end in zip(piece.entries, piece.exits, strict=True):
        assert 0.3 <= np.hypot(*(entry - end)) < 1.0


def test_rails_with_unlike_counts_are_paired_by_their_lengths():
    piece = satin_piece([(0, 3), (10, 3)], [(0, 0), (1, 0), (2, 0), (10, 0)], PLAIN)
    top = top_of(piece.sew(0))
    assert np.diff(top[:, 0]) == pytest.approx(0.2)


def test_column_narrower_than_a_satin_is_a_triple_line_along_its_middle():
    run = straight(PLANNING["satin_narrowest"].value - 0.1, underlay=True).sew(0)
    assert np.abs(run.xy[:, 1]).max() < 1e-9
    moves = np.diff(run.xy[:, 0])
    assert np.abs(moves) == pytest.approx(2.5)
    assert np.sign(moves[:6]).tolist() == [1, -1, 1, 1, -1, 1]


@pytest.mark.parametrize(
    ("a", "b", "changes", "words"),
    [
        ([(0, 0), (0, 0)], [(1, 1), (1, 1)], {}, "needs to be a line with some length"),
        ([(0, 0)], [(0, 1), (5, 1)], {}, "needs to be at least 2 points"),
        ([(0, 0), (math.inf, 0)], [(0, 1), (5, 1)], {}, "needs to be finite"),
        ([(0, 0), (5, 0)], [(0, 1), (5, 1)], {}, "closed is True; it needs to be left out"),
        ([(0, 0), (5, 0)], [(0, 2), (5, 2)], {"pitch": 0}, "pitch is 0; it needs to be a number from 0.1 to 20"),
        ([(0, 0), (5, 0)], [(0, 2), (5, 2)], {"split": math.nan}, "split is nan"),
    ],
    ids=["no length", "one point", "not finite", "not closed", "no pitch", "split not a number"],
)
def test_what_cannot_be_sewn_is_refused_in_one_line(a, b, changes, words):
    with pytest.raises(ParameterError) as caught:
        satin_piece(a, b, replace(PLAIN, **changes), closed="closed is True" in words or None)
    assert words in str(caught.value)


POINTS = st.lists(st.tuples(st.floats(-40, 40), st.floats(-40, 40)), min_size=1, max_size=9)


@given(a=POINTS, b=POINTS, underlay=st.booleans(), pitch=st.floats(0.2, 3))
def test_any_rails_give_a_sound_piece_or_a_parameter_error(a, b, underlay, pitch):
    try:
        piece = satin_piece(a, b, replace(PLAIN, underlay=underlay, pitch=pitch))
    except ParameterError:
        assert min(len(a), len(b)) < 2 or max(np.ptp(a, axis=0).max(), np.ptp(b, axis=0).max()) < 1e-5
        return
    for way, run in enumerate(ways_of(piece)):
        assert np.isfinite(run.xy).all()
        assert np.allclose(run.xy[0], piece.entries[way], atol=1e-6)
        assert np.allclose(run.xy[-1], piece.exits[way], atol=1e-6)


@settings(max_examples=40)
@given(
    bends=st.lists(st.floats(-2.5, 2.5), min_size=3, max_size=6),
    width=st.floats(1.5, 10),
    taper=st.floats(0.1, 0.6),
    pitch=st.floats(0.3, 0.8),
)
def test_smooth_columns_keep_spacing_gap_and_rails(bends, width, taper, pitch):
    x = np.linspace(0, 50, 1200)
    y = sum(bend * np.sin((k + 1) * x / 16) for k, bend in enumerate(bends))
    path = np.column_stack([x, y])
    half = width / 2 * (1 - taper * (x / 50))
    side = np.gradient(path, axis=0)
    normal = np.column_stack([-side[:, 1], side[:, 0]]) / np.hypot(*side.T)[:, None]
    a, b = path + normal * half[:, None], path - normal * half[:, None]
    top = top_of(satin_piece(a, b, replace(PLAIN, pitch=pitch)).sew(0))
    sewn = to_units(top) / 10
    # neighbours in the order; the column may well come back near to itself elsewhere
    for apart in (1, 2, 3):
        assert np.hypot(*(sewn[apart:] - sewn[:-apart]).T).min() >= (0.3 if pitch >= 0.35 else 0.2) - 1e-9
    outline = shapely.MultiPoint(np.vstack([a, b])).convex_hull
    # a needle point that is shifted for the sake of rounding is no farther out than rounding might have put it
    assert shapely.distance(outline, shapely.points(top)).max() < 0.0708
    assert stitch_lengths(top).max() <= 7 + pitch + 1e-9


def test_same_rails_give_the_same_stitches():
    one, two = column(STAR, 3.0, underlay=True), column(STAR, 3.0, underlay=True)
    assert all(np.array_equal(a.xy, b.xy) for a, b in zip(ways_of(one), ways_of(two), strict=True))


LETTERS = {
    "E": shapely.union_all([shapely.box(0, 0, 2.8, 11), *[shapely.box(0, y, 7, y + 2.2) for y in (0, 4.4, 8.8)]]),
    "T": shapely.union_all([shapely.box(-4, 8.8, 4, 11), shapely.box(-1.4, 0, 1.4, 11)]),
    "L": shapely.union_all([shapely.box(0, 0, 2.8, 11), shapely.box(0, 0, 7.5, 2.2)]),
    "O": shapely.Point(0, 0).buffer(5.5, quad_segs=32).difference(shapely.Point(0, 0).buffer(2.9, quad_segs=32)),
    "A": shapely.Polygon([(0, 0), (2.8, 0), (5.5, 8), (8.2, 0), (11, 0), (7, 11), (4, 11)]).union(
        shapely.box(2.5, 2.5, 8.5, 4.5)
    ),
    "M": shapely.Polygon(
        [(0, 0), (2.7, 0), (2.7, 7), (5, 2.3), (7, 2.3), (9.3, 7), (9.3, 0), (12, 0), (12, 11), (8.5, 11), (6, 5.2),
         (3.5, 11), (0, 11)]
    ),
    "Y": shapely.Polygon([(3.6, 0), (6.4, 0), (6.4, 4.5), (10, 11), (7, 11), (5, 7), (3, 11), (0, 11), (3.6, 4.5)]),
    "S": shapely.LineString(joined(arc((0, 2.6), 2.6, -150, 90), arc((0, 7.8), 2.6, 270, 30))).buffer(
        1.3, cap_style="flat", quad_segs=16
    ),
}  # fmt: skip


@pytest.mark.parametrize("letter", LETTERS)
def test_letters_are_covered_with_few_columns(letter):
    shape = LETTERS[letter]
    pieces = satin_area_pieces(shape, PLAIN)
    inside, outside = covered_share([piece.sew(0) for piece in pieces], shape)
    assert len(pieces) <= 5
    assert inside >= 0.98
    assert outside <= 0.03


def test_a_leaf_is_one_column_from_tip_to_tip():
    x = np.linspace(0, 1, 100)
    upper = np.column_stack([40 * x, 7 * np.sin(math.pi * x)])
    leaf = shapely.Polygon(np.vstack([upper, upper[-2:0:-1] * (1, -0.7)]))
    (piece,) = satin_area_pieces(leaf, replace(PLAIN, underlay=True))
    run = piece.sew(0)
    inside, outside = covered_share([run], leaf)
    assert inside >= 0.99
    assert outside <= 0.01
    assert nearest_as_sewn(top_of(run)) >= 0.3 - 1e-9


def test_an_area_of_several_parts_is_sewn_part_by_part():
    assert len(satin_area_pieces(shapely.union_all([LETTERS["L"], shapely.box(20, 0, 22, 11)]), PLAIN)) == 2


def test_an_area_without_length_is_sewn_along_its_longer_side():
    shape = shapely.box(0, 0, 6, 5)
    pieces = satin_area_pieces(shape, PLAIN)
    assert len(pieces) == 1
    assert covered_share([pieces[0].sew(0)], shape)[0] > 0.99


def test_satin_suits_what_is_nowhere_wider_than_a_satin():
    assert satin_suits(LETTERS["M"])
    assert not satin_suits(shapely.box(0, 0, 20, 20))
    assert satin_suits(shapely.box(0, 0, 200, 8.9))
    assert not satin_suits(shapely.box(0, 0, 200, 9.1))


def test_an_area_too_small_for_a_column_gives_none():
    assert satin_area_pieces(shapely.Polygon([(0, 0), (0.05, 0), (0, 0.05)]), PLAIN) == []


def test_an_area_that_crosses_itself_is_refused():
    with pytest.raises(ParameterError, match="polygon is 'an outline that crosses itself'"):
        satin_area_pieces(shapely.Polygon([(0, 0), (5, 5), (5, 0), (0, 5)]), PLAIN)
