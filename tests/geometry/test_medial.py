"""Medial axes, strokes and the columns made of them."""

import math

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.errors import ParameterError
from stitchcraft.geometry.medial import medial_axis
from stitchcraft.geometry.spines import End, strokes_of
from stitchcraft.geometry.strokes import columns_of

BAR = shapely.box(0, 0, 20, 4)
ELL = shapely.union_all([shapely.box(0, 0, 3, 12), shapely.box(0, 0, 9, 3)])
TEE = shapely.union_all([shapely.box(-6, 9, 6, 12), shapely.box(-1.5, 0, 1.5, 12)])
CROSS = shapely.union_all([shapely.box(-2, -8, 2, 8), shapely.box(-8, -2, 8, 2)])
RING = shapely.Point(0, 0).buffer(8, quad_segs=64).difference(shapely.Point(0, 0).buffer(5, quad_segs=64))
COMB = shapely.union_all([shapely.box(0, 0, 22, 3), *[shapely.box(5 * i, 0, 5 * i + 2, 10) for i in range(5)]])
LEAF_X = np.linspace(0, 1, 80)
LEAF = shapely.Polygon(
    np.vstack(
        [
            np.column_stack([30 * LEAF_X, 5 * np.sin(np.pi * LEAF_X)]),
            np.column_stack([30 * LEAF_X, -3 * np.sin(np.pi * LEAF_X)])[-2:0:-1],
        ]
    )
)
TRAPEZOID = shapely.Polygon([(0, 0), (3, 0), (5, 12), (2, 12)])


def covered(columns):
    quads = []
    for a, b, _ in columns:
        for quad in np.stack([a[:-1], a[1:], b[1:], b[:-1]], axis=1):
            hull = shapely.Polygon(quad).convex_hull
            if hull.area > 0:
                quads.append(hull)
    return shapely.union_all(quads)


@pytest.mark.parametrize(("spacing", "error"), [(1.0, 0.01), (0.25, 0.001)])
def test_spine_of_a_capsule_is_its_middle_line(spacing, error):
    capsule = shapely.LineString([(0, 0), (30, 0)]).buffer(5, quad_segs=64)
    points, radius, _ = medial_axis(capsule, spacing=spacing)
    middle = (points[:, 0] > 1) & (points[:, 0] < 29) & (radius > 4)
    assert np.abs(points[middle, 1]).max() < error
    # the distance is to a sample of the outline, not to the outline: at most h^2 / 8r more
    assert radius[middle] == pytest.approx(5, abs=spacing**2 / 40 + 0.005)


def test_spine_of_a_ring_is_a_circle_half_way():
    (stroke,) = strokes_of(RING)
    assert stroke.closed
    assert stroke.path[0].tolist() == stroke.path[-1].tolist()
    assert np.hypot(*stroke.path.T) == pytest.approx(6.5, abs=0.01)


def test_spine_of_a_rectangle_stops_square_to_its_flat_ends():
    (stroke,) = strokes_of(BAR)
    assert np.abs(stroke.path[:, 1] - 2).max() < 1e-6
    corners = sorted(tuple(map(tuple, sorted(cap.tolist()))) for cap in stroke.caps)
    assert corners == [((0, 0), (0, 4)), ((20, 0), (20, 4))]


@pytest.mark.parametrize(
    ("shape", "count"),
    [(BAR, 1), (ELL, 1), (TEE, 2), (CROSS, 2), (RING, 1), (COMB, 4), (LEAF, 1), (TRAPEZOID, 1)],
    ids=["bar", "L", "T", "cross", "ring", "comb", "leaf", "trapezoid"],
)
def test_shapes_fall_into_as_many_strokes_as_a_pen_would_take(shape, count):
    assert len(strokes_of(shape)) == count


def test_stem_of_a_tee_joins_the_bar_that_goes_straight_on():
    bar, stem = sorted(strokes_of(TEE), key=lambda stroke: -np.ptp(stroke.path[:, 0]))
    assert bar.ends == (End.FREE, End.FREE)
    assert sorted(end.value for end in stem.ends) == ["free", "joining"]
    assert len(bar.passes) == 1


@pytest.mark.parametrize(
    "shape",
    [BAR, ELL, TEE, CROSS, RING, COMB, LEAF, TRAPEZOID, shapely.box(0, 0, 6, 6), shapely.Point(0, 0).buffer(4)],
    ids=["bar", "L", "T", "cross", "ring", "comb", "leaf", "trapezoid", "square", "disc"],
)
def test_columns_cover_the_shape_and_nothing_else(shape):
    area = covered(columns_of(shape, step=0.2))
    assert area.intersection(shape).area > 0.985 * shape.area
    assert area.difference(shape).area < 0.01 * shape.area


def test_lines_are_evenly_spaced_on_the_longer_side():
    ((a, b, _),) = columns_of(LEAF, step=0.2)
    longer = np.maximum(np.hypot(*np.diff(a, axis=0).T), np.hypot(*np.diff(b, axis=0).T))
    assert longer.max() < 0.23
    assert np.median(longer) == pytest.approx(0.2, abs=0.01)


def test_last_lines_run_along_a_slanted_end():
    ((a, b, _),) = columns_of(TRAPEZOID, step=0.2)
    for k in (0, -1):
        assert abs(a[k, 1] - b[k, 1]) < 1e-9
        assert abs(a[k, 0] - b[k, 0]) == pytest.approx(3.0)


def test_a_square_is_one_column_along_a_side():
    ((a, b, is_closed),) = columns_of(shapely.box(0, 0, 6, 6), step=0.2)
    assert not is_closed
    assert np.hypot(*(a - b).T) == pytest.approx(6.0, abs=1e-6)


def test_far_from_the_origin_nothing_changes():
    here = columns_of(TEE, step=0.2)
    there = columns_of(shapely.affinity.translate(TEE, 3000, -2000), step=0.2)
    for (a, b, _), (c, d, _) in zip(here, there, strict=True):
        assert np.allclose(c - (3000, -2000), a, atol=1e-3)
        assert np.allclose(d - (3000, -2000), b, atol=1e-3)


def test_an_outline_that_crosses_itself_is_refused():
    with pytest.raises(ParameterError, match="needs to be a valid polygon"):
        medial_axis(shapely.Polygon([(0, 0), (2, 2), (2, 0), (0, 2)]), spacing=0.1)


def blob(seed, holes):
    rng = np.random.default_rng(seed)
    angle = np.linspace(0, 2 * math.pi, 90, endpoint=False)
    radius = np.ones(90)
    for mode in range(2, 7):
        radius += rng.normal() * 0.25 / mode * np.cos(mode * angle + rng.uniform(0, 6))
    outline = shapely.Polygon(
        10 * np.clip(radius, 0.2, None)[:, None] * np.column_stack([np.cos(angle), np.sin(angle)])
    )
    for _ in range(holes):
        outline = outline.difference(shapely.Point(*rng.uniform(-6, 6, 2)).buffer(rng.uniform(0.5, 2.5)))
    return max(shapely.get_parts(outline.buffer(0)), key=lambda part: part.area)


@settings(max_examples=25)
@given(seed=st.integers(0, 10_000), holes=st.integers(0, 3))
def test_any_blob_is_covered_by_its_columns(seed, holes):
    shape = blob(seed, holes)
    columns = columns_of(shape, step=0.4)
    for a, b, _ in columns:
        assert len(a) == len(b) >= 2
        assert np.isfinite(a).all()
        assert np.isfinite(b).all()
        # between two lines a hollow outline may be cut a little
        assert shapely.distance(shape, shapely.points(np.vstack([a, b]))).max() < 0.05
    assert covered(columns).intersection(shape).area > 0.93 * shape.area
