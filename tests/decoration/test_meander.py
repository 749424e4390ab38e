"""The meander: one line, never across itself, at an even distance from itself."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from scipy.spatial import cKDTree

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration import Meander
from stitchcraft.geometry.curves import arc, at_distances, length_of

TAB = shapely.Polygon(np.vstack([[(-38, 0)], arc((0, -92), 38, 180, 360), [(38, 0)]]))
RING = shapely.Point(0, 0).buffer(48, quad_segs=40).difference(shapely.Point(0, 0).buffer(18, quad_segs=32))
SHAPES = [TAB, RING, shapely.box(0, 0, 100, 25)]
SEEDS = [1, 2]


def only_path(shape: shapely.Polygon, **options: float) -> FloatArray:
    (line,) = Meander(**options).elements(shape)
    return line.path


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("shape", SHAPES, ids=["tab", "ring", "strip"])
def test_it_is_one_closed_line_that_never_crosses_itself(shape: shapely.Polygon, seed: int) -> None:
    path = only_path(shape, seed=seed)
    assert np.array_equal(path[0], path[-1])
    assert shapely.LinearRing(path).is_simple


@pytest.mark.parametrize("seed", SEEDS)
@pytest.mark.parametrize("shape", SHAPES, ids=["tab", "ring", "strip"])
def test_its_gap_is_even(shape: shapely.Polygon, seed: int) -> None:
    gap = 6.0
    path = only_path(shape, pitch=gap, seed=seed)
    points = at_distances(path, np.arange(0, length_of(path), 0.5))
    pairs = cKDTree(points).query_pairs(gap, output_type="ndarray")
    along = np.abs(pairs[:, 0] - pairs[:, 1]) * 0.5
    apart = pairs[np.minimum(along, length_of(path) - along) > 2 * gap]
    nearest = np.hypot(*(points[apart[:, 0]] - points[apart[:, 1]]).T)
    assert nearest.min(initial=gap) > 0.5 * gap
    left, bottom, right, top = shape.bounds
    x, y = np.meshgrid(np.arange(left, right), np.arange(bottom, top))
    ground = np.column_stack([x.ravel(), y.ravel()])
    ground = ground[shapely.contains_xy(shape, ground)]
    bare = cKDTree(points).query(ground)[0]
    assert np.percentile(bare, 95) < 0.75 * gap
    assert bare.max() < 1.4 * gap


def test_it_is_smooth() -> None:
    path = at_distances(only_path(TAB), np.arange(0, 1200, 0.5))
    steps = np.diff(path, axis=0)
    turns = np.abs(np.diff(np.unwrap(np.arctan2(steps[:, 1], steps[:, 0]))))
    # half a millimetre on a bend of radius r turns by 0.5 / r
    assert np.percentile(turns, 99) < 0.5 / 0.9
    assert turns.max() < 0.5 / 0.35


def test_another_seed_wanders_otherwise_and_the_anchor_does_not_matter() -> None:
    one, other = only_path(TAB, seed=1), only_path(TAB, seed=2)
    assert one.shape != other.shape or not np.allclose(one, other)
    (moved,) = Meander(seed=1, shift=(3, 4)).elements(TAB)
    assert np.array_equal(moved.path, one)


def test_a_smaller_gap_makes_a_longer_line() -> None:
    lengths = [length_of(only_path(TAB, pitch=gap)) for gap in (6, 9)]
    assert lengths == sorted(lengths, reverse=True)
