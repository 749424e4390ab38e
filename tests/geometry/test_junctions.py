"""Where strokes meet: each keeps to its own edges, and what joins begins a little under the other."""

import numpy as np
import pytest
import shapely

from stitchcraft.geometry.strokes import columns_of

STEM, ARM = 2.8, 2.2
TEE = shapely.union_all([shapely.box(0, 0, STEM, 12), shapely.box(0, 5, 9, 5 + ARM)])


def stem_and_arm(shape):
    first, second = sorted(columns_of(shape, step=0.2), key=lambda column: -len(column[0]))[:2]
    return (first, second) if first[0][:, 0].mean() < second[0][:, 0].mean() else (second, first)


def test_a_stem_goes_straight_on_where_an_arm_leaves():
    (a, b, _), _ = stem_and_arm(TEE)
    for side in (a, b):
        assert np.minimum(np.abs(side[:, 0]), np.abs(side[:, 0] - STEM)).max() < 0.06
    # evenly spaced all along, on either side, and square to it
    for side in (a, b):
        assert np.abs(np.diff(side[:, 1])) == pytest.approx(0.2, abs=0.02)
    assert np.abs(a[:, 1] - b[:, 1]).max() < 0.15


@pytest.mark.parametrize("lean", [0.0, 0.4, -0.4, 0.8])
def test_an_arm_begins_under_the_stem_and_is_nowhere_wider_than_it_is_drawn(lean):
    slanted = shapely.affinity.skew(TEE, ys=np.degrees(np.arctan(lean)), origin=(STEM, 6.1))
    _, (a, b, _) = stem_and_arm(slanted)
    across = ARM * np.cos(np.arctan(lean))
    assert np.hypot(*(a - b).T).max() <= across * 1.1
    begin = min(a[:, 0].min(), b[:, 0].min())
    assert STEM - 0.6 - abs(lean) * across <= begin < STEM
    # all of the arm is under its lines
    lines = shapely.buffer(shapely.linestrings(np.stack([a, b], axis=1)), 0.2, cap_style="flat")
    arm = slanted - shapely.box(-5, -20, STEM, 30)
    assert shapely.union_all(lines).intersection(arm).area > 0.985 * arm.area


def test_the_waist_of_an_eight_is_covered_between_its_two_holes():
    rings = [shapely.Point(0, y).buffer(r, quad_segs=32) for y, r in ((0, 5.0), (7.6, 4.2))]
    holes = [shapely.Point(0, y).buffer(r, quad_segs=32) for y, r in ((0, 2.2), (7.6, 1.8))]
    eight = shapely.union_all(rings) - shapely.union_all(holes)
    lines = [
        shapely.buffer(shapely.linestrings(np.stack([a, b], axis=1)), 0.2, cap_style="flat")
        for a, b, _ in columns_of(eight, step=0.2)
    ]
    waist = eight & shapely.box(-2, 2, 2, 6)
    assert shapely.union_all(np.concatenate(lines)).intersection(waist).area > 0.98 * waist.area
