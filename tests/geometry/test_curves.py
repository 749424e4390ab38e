"""Curves, lengths, turns and offsets, on shapes small enough to work out by hand."""

import math

import numpy as np
import pytest
import shapely

from stitchcraft.arrays import turned
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import (
    FLATNESS_MM,
    arc,
    at_distances,
    circle,
    closed,
    cubic,
    distances_along,
    grown,
    joined,
    length_of,
    lines_of,
    mirrored,
    polygon_from,
    polygons_of,
    quad_segs,
)

STEPS = np.array([[0.0, 0.0], [3.0, 4.0], [3.0, 10.0], [-5.0, 10.0]])  # 5 + 6 + 8


@pytest.mark.parametrize("radius", [0.02, 0.3, 4.0, 90.0])
def test_an_arc_takes_the_fewest_chords_that_stay_within_its_flatness(radius):
    # the sagitta of a chord that spans the angle t is r (1 - cos(t / 2))
    points = arc((1, 2), radius, 30, 210)
    chords = len(points) - 1
    assert radius * (1 - math.cos(math.pi / chords / 2)) <= FLATNESS_MM + 1e-12
    if chords > 1:
        assert radius * (1 - math.cos(math.pi / (chords - 1) / 2)) > FLATNESS_MM
    assert points[0] == pytest.approx([1 + radius * math.sqrt(3) / 2, 2 + radius / 2])
    assert points[-1] == pytest.approx([1 - radius * math.sqrt(3) / 2, 2 - radius / 2])


def test_an_arc_smaller_than_its_flatness_still_turns():
    assert len(arc((0, 0), 0.005, 0, 360)) == 3  # half turns: a chord through the middle is 0.005 off
    assert len(arc((0, 0), 0.005, 0, 90)) == 2
    backwards = arc((0, 0), 2, 90, 0)
    assert np.allclose(backwards, arc((0, 0), 2, 0, 90)[::-1])


def test_a_circle_is_closed_and_repeats_no_point_but_the_first():
    points = circle((5, -1), 3)
    assert (points[0] == points[-1]).all()
    assert np.hypot(*np.diff(points, axis=0).T).min() > 0.1
    assert np.allclose(np.hypot(*(points - (5, -1)).T), 3)


def test_a_cubic_is_the_sum_of_bernsteins_polynomials():
    # at a half (1, 3, 3, 1) / 8, at a quarter (27, 27, 9, 1) / 64
    p = np.array([[0.0, 0.0], [8.0, 16.0], [24.0, -8.0], [40.0, 64.0]])
    curve = cubic(*p, count=5)
    assert curve[2] == pytest.approx(np.array([1, 3, 3, 1]) @ p / 8)
    assert curve[1] == pytest.approx(np.array([27, 27, 9, 1]) @ p / 64)
    assert len(cubic(*p)) == 48


def test_a_path_is_closed_once():
    assert closed(STEPS).tolist() == [*STEPS.tolist(), [0.0, 0.0]]
    assert closed(closed(STEPS)).tolist() == closed(STEPS).tolist()
    assert len(closed(np.vstack([STEPS, [1e-10, 0]]))) == 5
    assert len(closed(np.vstack([STEPS, [1e-6, 0]]))) == 6


def test_paths_are_joined_without_points_said_twice():
    path = joined(STEPS[:2], STEPS[1:3], [[3.0, 10.0 + 1e-10]], STEPS[3])
    assert path.tolist() == STEPS.tolist()
    assert len(joined([[0.0, 0.0]], [[1e-8, 0.0]])) == 2


def test_places_along_a_path_are_where_their_distance_says():
    assert length_of(STEPS) == 19
    assert distances_along(STEPS).tolist() == [0, 5, 11, 19]
    places = at_distances(STEPS, [-1, 0, 2.5, 5, 8, 15, 19, 25])
    assert places.tolist() == [[0, 0], [0, 0], [1.5, 2], [3, 4], [3, 7], [-1, 10], [-5, 10], [-5, 10]]


def test_left_and_right_are_swapped_about_the_middle_line():
    assert mirrored([[3, 4], [-5, 1]]).tolist() == [[-3, 4], [5, 1]]


@pytest.mark.parametrize(
    ("angle", "image"),
    [(0, (3, 1)), (90, (-1, 3)), (180, (-3, -1)), (270, (1, -3)), (-90, (1, -3)), (360, (3, 1)), (450, (-1, 3))],
)
def test_quarter_turns_are_exact_and_counter_clockwise(angle, image):
    assert turned([[3.0, 1.0]], angle).tolist() == [list(image)]
    assert turned([[3.0, 1.0]], angle, (10, 20)).tolist() == [[image[0] + 10, image[1] + 20]]


def test_other_turns_go_by_cosine_and_sine():
    assert turned([[2.0, 0.0]], 30)[0] == pytest.approx([math.sqrt(3), 1])
    assert turned([[0.0, 2.0]], 60)[0] == pytest.approx([-math.sqrt(3), 1])
    # near a quarter turn, and none
    assert turned([[1000.0, 0.0]], 90.001)[0] == pytest.approx([-math.radians(0.001) * 1000, 1000])
    assert turned(STEPS, 33).shape == STEPS.shape
    assert turned((2.0, 0.0), 90).tolist() == [0.0, 2.0]


@pytest.mark.parametrize("radius", [0.5, 3.0, 20.0, 150.0])
def test_segments_of_a_quarter_hold_the_sagitta_and_one_less_does_not(radius):
    count = quad_segs(radius)
    assert quad_segs(-radius) == count
    assert radius * (1 - math.cos(math.pi / 4 / count)) <= FLATNESS_MM
    if count > 2:
        assert radius * (1 - math.cos(math.pi / 4 / (count - 1))) > FLATNESS_MM * 0.99
    assert quad_segs(1e-6) == 2


def test_a_mitred_offset_keeps_corners_sharp_outward_only():
    square = shapely.box(0, 0, 10, 10)
    assert grown(square, 2, mitre=True).equals(shapely.box(-2, -2, 12, 12))
    assert grown(square, 2).area == pytest.approx(100 + 4 * 20 + math.pi * 4, abs=0.1)  # Steiner, less what chords lose
    assert grown(square, -2, mitre=True).equals(shapely.box(2, 2, 8, 8))
    assert grown(square, 0, mitre=True).equals(square)
    # a mitre reaches 1 / sin(half the angle) distances: a point of 30 degrees 3.86, of 20 degrees 5.76 > 5
    for angle, sharp in ((30, True), (22, False)):
        half = math.radians(angle / 2)
        spike = shapely.Polygon([(0, 0), (20, 20 * math.tan(half)), (20, -20 * math.tan(half))])
        reach = -grown(spike, 1, mitre=True).bounds[0]
        assert (reach == pytest.approx(1 / math.sin(half))) == sharp
        assert reach <= 5 + 1e-9 or sharp
    # a shrunk wedge between two humps loses nothing
    humps = shapely.union_all([shapely.box(0, 0, 30, 10), shapely.box(0, 0, 10, 30), shapely.box(20, 0, 30, 30)])
    assert grown(humps, -4, mitre=True).equals(grown(humps, -4))


def test_polygons_come_out_of_any_collection_from_left_to_right_without_slivers():
    a, b, c = shapely.box(5, 0, 6, 1), shapely.box(0, 3, 1, 4), shapely.box(0, 0, 1, 1)
    sliver = shapely.box(9, 9, 9.1, 9.1)  # 0.01 mm2
    inner = shapely.GeometryCollection([shapely.MultiPolygon([a, sliver]), shapely.Point(1, 1)])
    mixed = shapely.GeometryCollection([inner, b, shapely.LineString([(0, 0), (1, 1)]), c])
    assert polygons_of(mixed) == [c, b, a]
    assert polygons_of(mixed, smallest_mm2=0.009) == [c, b, a, sliver]
    assert polygons_of(shapely.MultiPolygon([a, b]), smallest_mm2=1.0) == []
    assert polygons_of(a) == [a]
    assert polygons_of(shapely.Point(0, 0)) == []


def test_lines_are_joined_where_they_meet_and_come_in_a_stable_order():
    right = shapely.LineString([(9, 0), (9, 2)])
    left, more = shapely.LineString([(0, 0), (1, 0)]), shapely.LineString([(1, 0), (1, 5)])
    found = lines_of(shapely.MultiLineString([right, more, left]))
    assert [line.tolist() for line in found] == [[[0, 0], [1, 0], [1, 5]], [[9, 0], [9, 2]]]
    assert len(lines_of(shapely.MultiLineString([right, left]), shortest_mm=1.0)) == 1
    assert len(lines_of(shapely.MultiLineString([right, left]), shortest_mm=0.9)) == 2
    assert len(lines_of(shapely.LineString([(0, 0), (0, 1e-9)]))) == 1
    assert lines_of(shapely.Point(3, 3)) == []
    assert lines_of(shapely.LineString([(0, 0, 7), (1, 0, 7)]))[0].shape == (2, 2)
    assert len(lines_of(shapely.LinearRing([(0, 0), (1, 0), (1, 1)]))[0]) == 4


def test_an_outline_is_made_counter_clockwise_or_refused():
    polygon = polygon_from([(0, 0), (0, 2), (2, 2), (2, 0)])
    assert polygon.exterior.is_ccw
    assert polygon.area == 4
    for bad in ([(0, 0), (2, 2), (2, 0), (0, 2)], [(0, 0), (1, 0), (2, 0)]):
        with pytest.raises(ParameterError, match="a simple closed outline") as caught:
            polygon_from(bad, name="panel")
        assert caught.value.name == "panel"
