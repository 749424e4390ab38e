"""Parallel lines clipped to shapes, against shapely's own clipping and against integral geometry."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.arrays import turned
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.geometry.hatching import Hatching, hatched


def star(radii, *, centre=(0.0, 0.0)) -> shapely.Polygon:
    angles = np.arange(len(radii)) * 2 * np.pi / len(radii)
    return shapely.Polygon(np.column_stack([radii * np.cos(angles), radii * np.sin(angles)]) + centre)


def clipped_by_shapely(shape, lines: Hatching) -> list[tuple[int, float, float]]:
    """Row, left and right end of every span, by intersecting one long line a row with the shape."""
    shape = shapely.transform(shape, lambda xy: turned(xy, -lines.angle))
    low, high = shape.bounds[1], shape.bounds[3]
    left, right = shape.bounds[0] - 1, shape.bounds[2] + 1
    spans = []
    first = math.ceil((low - lines.base) / lines.spacing)
    for row in range(first, math.floor((high - lines.base) / lines.spacing) + 1):
        y = lines.base + row * lines.spacing
        cut = shapely.get_parts(shapely.intersection(shapely.LineString([(left, y), (right, y)]), shape))
        spans += [(row, cut_line.bounds[0], cut_line.bounds[2]) for cut_line in cut if cut_line.length > 0]
    return sorted(spans)


radii = st.lists(st.floats(4, 20), min_size=3, max_size=24).map(np.array)


@st.composite
def shapes_with_holes(draw):
    shape = star(draw(radii))
    for _ in range(draw(st.integers(0, 4))):
        centre = draw(st.tuples(st.floats(-8, 8), st.floats(-8, 8)))
        shape = shape - star(draw(radii) / 8, centre=centre)
    return shape


@given(shapes_with_holes(), st.floats(0, 180), st.floats(0.2, 3))
def test_spans_are_those_that_shapely_finds(shape, angle, spacing):
    lines = hatched(shape, spacing=spacing, angle=angle)
    ours = [span for span in zip(lines.row, lines.left, lines.right, strict=True) if span[2] - span[1] > 1e-7]
    theirs = [span for span in clipped_by_shapely(shape, lines) if span[2] - span[1] > 1e-7]
    assert [span[0] for span in ours] == [span[0] for span in theirs]
    # 1e-9 for edges that cross the rows; an edge nearly along them magnifies the last bit of its ends
    assert np.array(ours).ravel() == pytest.approx(np.array(theirs).ravel(), abs=1e-7)


@pytest.mark.parametrize("angle", [0.0, 13.0, 37.0, 90.0, 151.0])
def test_spans_equal_shapelys_to_a_millionth_of_a_micron(angle):
    ring = shapely.Polygon(circle((3, 4), 40), [circle((3, 4), 20), circle((30, 8), 5)])
    lines = hatched(ring, spacing=0.4, angle=angle)
    theirs = clipped_by_shapely(ring, lines)
    assert len(theirs) == len(lines.row) > 200
    assert np.abs(np.column_stack([lines.row, lines.left, lines.right]) - np.array(theirs)).max() < 1e-9


@given(shapes_with_holes(), st.floats(0, 180), st.floats(0.1, 2))
def test_spans_of_a_row_are_apart_and_in_order(shape, angle, spacing):
    lines = hatched(shape, spacing=spacing, angle=angle)
    assert (lines.left <= lines.right).all()
    same_row = np.diff(lines.row) == 0
    assert (np.diff(lines.row) >= 0).all()
    assert (lines.left[1:][same_row] >= lines.right[:-1][same_row]).all()


def test_lengths_times_spacing_are_the_area():
    # Cavalieri; exact for parallel sides, the midpoint rule otherwise
    box = hatched(shapely.box(1, 2, 31, 14), spacing=0.7)
    assert (box.right - box.left).sum() * box.spacing == pytest.approx(360, abs=1e-9)
    shape = shapely.Polygon(circle((0, 0), 40), [circle((5, 3), 12)])
    lines = hatched(shape, spacing=0.05, angle=33)
    assert (lines.right - lines.left).sum() * lines.spacing == pytest.approx(shape.area, rel=1e-5)


def test_mean_number_of_lines_is_the_perimeter_over_pi():
    # Cauchy-Crofton (Santalo, Integral Geometry and Geometric Probability, ch. 3): crossings of a curve by
    # lines of one direction, times their spacing, average 2 L / pi over all directions
    shape = star(np.array([20, 9, 15, 6, 18, 11, 20, 5.0])) - shapely.Polygon(circle((0, 0), 3))
    spacing = 0.05
    crossings = [2 * len(hatched(shape, spacing=spacing, angle=angle).row) for angle in np.arange(0, 180, 1.5)]
    assert np.mean(crossings) * spacing == pytest.approx(2 * shape.length / math.pi, rel=2e-3)


def test_rows_share_the_height_evenly():
    lines = hatched(shapely.box(0, 0, 5, 10), spacing=0.7)
    assert lines.spacing == pytest.approx(10 / 14)
    assert lines.height()[[0, -1]] == pytest.approx([5 / 14, 10 - 5 / 14])


def test_a_given_base_keeps_the_spacing():
    lines = hatched(shapely.box(0, 0, 5, 10), spacing=0.7, base=0.0)
    assert lines.spacing == 0.7
    assert lines.height() == pytest.approx(np.arange(15) * 0.7)


def test_a_row_through_vertices_and_along_an_edge_counts_each_once():
    # a step whose tread lies on a row, and a tip that touches one
    step = shapely.Polygon([(0, 0), (4, 0), (4, 1), (2, 1), (2, 2), (1, 3), (0, 2)])
    lines = hatched(step, spacing=1.0, base=0.0)
    assert lines.row.tolist() == [0, 1, 2]
    assert lines.right.tolist() == [4, 2, 2]
    assert lines.left.tolist() == [0, 0, 0]


def test_segments_lie_in_the_shape_at_the_angle_asked():
    shape = star(np.array([20, 9, 15, 6, 18, 11.0]))
    segments = hatched(shape, spacing=0.9, angle=25).segments()
    direction = segments[:, 1] - segments[:, 0]
    assert np.degrees(np.arctan2(direction[:, 1], direction[:, 0])) == pytest.approx(25, abs=1e-6)
    assert shapely.covers(shape.buffer(1e-9), shapely.linestrings(segments)).all()


@pytest.mark.parametrize(
    "shape",
    [shapely.Polygon(), shapely.MultiPolygon(), shapely.LineString([(0, 0), (1, 1)]), shapely.Point(1, 2)],
    ids=["empty", "no parts", "line", "point"],
)
def test_nothing_without_area_has_spans(shape):
    assert len(hatched(shape, spacing=1.0).row) == 0


@pytest.mark.parametrize("spacing", [0, -1.0, math.nan, 1e-6])
def test_a_spacing_that_cannot_be_is_refused(spacing):
    with pytest.raises(ParameterError, match="spacing is"):
        hatched(shapely.box(0, 0, 10, 10), spacing=spacing)


@pytest.mark.parametrize("shape", [shapely.Polygon(), shapely.Polygon([(0, 2), (5, 2), (3, 2)])], ids=["empty", "flat"])
def test_no_spans_keep_what_was_asked(shape):
    lines = hatched(shape, spacing=0.7, angle=0.0, base=3.5)
    assert (lines.base, lines.spacing, lines.angle, len(lines.left), len(lines.right)) == (3.5, 0.7, 0, 0, 0)
    assert lines.segments().shape == (0, 2, 2)
    assert hatched(shape, spacing=0.7).base == (0.0 if shape.is_empty else 2.0)


def test_rows_are_counted_from_a_base_below_the_shape_or_above_it():
    box = shapely.box(0, 10, 5, 12)
    assert hatched(box, spacing=1.0, base=0.25).row.tolist() == [10, 11]
    assert hatched(box, spacing=1.0, base=20.25).row.tolist() == [-10, -9]
    assert hatched(box, spacing=1.0, base=20.25).height().tolist() == [10.25, 11.25]


def test_a_shape_lower_than_the_spacing_has_one_row_through_its_middle():
    lines = hatched(shapely.box(0, 0, 5, 0.3), spacing=0.7)
    assert lines.row.tolist() == [0]
    assert lines.height() == pytest.approx([0.15])
    assert lines.spacing == pytest.approx(0.3)


@pytest.mark.parametrize("angle", [3600.0, -3600.0])
def test_ten_whole_turns_are_none(angle):
    box = shapely.box(0, 0, 3, 2)
    assert hatched(box, spacing=1.0, angle=angle).segments() == pytest.approx(hatched(box, spacing=1.0).segments())
    with pytest.raises(ParameterError, match="angle is"):
        hatched(box, spacing=1.0, angle=angle * 1.0001)


def test_nearly_level_edges_are_crossed_within_their_ends():
    # a wedge 1000 long and a few millionths high: rounding must not carry a crossing past its corners
    for rise in (1e-9, 3e-8, 7e-6):
        wedge = shapely.Polygon([(0, 500), (1000, 500 + rise), (1000, 501), (0, 501)])
        lines = (
            hatched(wedge, spacing=rise / 7, base=500 + rise / 3)
            if rise > 1e-6
            else hatched(wedge, spacing=0.25, base=500)
        )
        assert lines.left.min() >= 0
        assert lines.right.max() <= 1000
