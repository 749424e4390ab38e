"""Compensation that follows the direction of the thread, and outlines changed by the sheet model."""

from dataclasses import replace

import numpy as np
import pytest
import shapely

from stitchcraft.arrays import turned
from stitchcraft.defaults import FABRICS, DirectedPull, pulls_at
from stitchcraft.design import Area, Column, Design, Fill, Purpose, Role, Satin, Stop, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import circle
from stitchcraft.stitching import plan

PLAIN = replace(FABRICS["quilting cotton"], underlay=False)
UNEVEN = replace(PLAIN, directions=(DirectedPull(0, 0.5, 0.0), DirectedPull(90, 0.1, 0.05)))


def sewn(*elements, fabric):
    design = Design("trial", (Stop(Purpose.DECORATE, Thread("#223344"), elements),))
    return plan(design, fabric=fabric)


def top_points(stitches):
    return stitches.xy[stitches.is_stitch & (stitches.role == Role.TOP)]


def bar(angle, *, width=4.0, stitch=None):
    """A column whose lines run in a direction."""
    rails = [turned(np.array([[side, -10.0], [side, 10.0]]), angle) for side in (-width / 2, width / 2)]
    return Column(*rails, Satin() if stitch is None else stitch)


@pytest.mark.parametrize(
    ("angle", "pull", "share"),
    [
        (0, 0.5, 0.0), (90, 0.1, 0.05), (45, 0.3, 0.025), (-45, 0.3, 0.025), (180, 0.5, 0.0),
        (60, 0.5 / 3 + 0.2 / 3, 0.1 / 3),
    ],
)  # fmt: skip
def test_a_satin_is_widened_by_the_pull_of_the_direction_of_its_lines(angle, pull, share):
    points = turned(top_points(sewn(bar(angle), fabric=UNEVEN)), -angle)
    assert np.abs(points[:, 0]).max() == pytest.approx(2 + pull + 4 * share, abs=1e-6)
    assert UNEVEN.pull_at(angle) == pytest.approx((pull, share))


def test_each_line_of_a_ring_goes_by_its_own_direction():
    ring = Column(circle((0, 0), 20), circle((0, 0), 16))
    points = top_points(sewn(ring, fabric=UNEVEN))
    radius, turn = np.hypot(*points.T), np.degrees(np.arctan2(points[:, 1], points[:, 0]))
    outer = radius > 19
    pull, share = pulls_at(UNEVEN.directions, turn[outer])
    # chords of the drawn circle lie up to 0.02 mm inside it
    np.testing.assert_allclose(radius[outer], 20 + pull + 4 * share, atol=0.03)


def test_what_the_stitch_says_itself_goes_first():
    own = Satin(compensation=0.2)
    assert np.abs(top_points(sewn(bar(0, stitch=own), fabric=UNEVEN))[:, 0]).max() == pytest.approx(2.2)
    both = Satin(compensation=0.0, compensation_share=0.0)
    for fabric in (UNEVEN, PLAIN):
        assert np.abs(top_points(sewn(bar(0, stitch=both), fabric=fabric))[:, 0]).max() == pytest.approx(2.0)


@pytest.mark.parametrize(("angle", "pull"), [(0, 0.5), (90, 0.1), (45, 0.3)])
def test_rows_of_a_fill_are_widened_by_the_pull_of_their_direction(angle, pull):
    area = shapely.affinity.rotate(shapely.box(-10, -6, 10, 6), angle, origin=(0, 0))
    points = turned(top_points(sewn(Area(area, Fill(angle=angle)), fabric=UNEVEN)), -angle)
    assert points[:, 0].max() == pytest.approx(10 + pull, abs=1e-6)
    assert np.abs(points[:, 1]).max() < 6


def test_a_fill_that_chooses_its_own_angle_is_widened_for_that_angle():
    points = top_points(sewn(Area(shapely.box(-20, -3, 20, 3), Fill()), fabric=UNEVEN))
    assert points[:, 0].max() == pytest.approx(20.5)


def test_no_directions_sew_as_before():
    even = replace(PLAIN, directions=(DirectedPull(30, PLAIN.pull, PLAIN.pull_share),))
    for element in (bar(20), Area(shapely.box(0, 0, 20, 9), Fill(angle=10))):
        np.testing.assert_array_equal(sewn(element, fabric=even).xy, sewn(element, fabric=PLAIN).xy)


def test_between_known_directions_no_value_goes_past_its_neighbours():
    known = [DirectedPull(10, 0.3, 0.0), DirectedPull(100, 0.1, 0.2), DirectedPull(-60, 0.2, 0.1)]
    pull, share = pulls_at(known, np.linspace(-400, 400, 3201))
    assert (pull.min(), pull.max()) == pytest.approx((0.1, 0.3))
    assert (share.min(), share.max()) == pytest.approx((0.0, 0.2))
    np.testing.assert_allclose(pulls_at(known, [10, 190, -170])[0], 0.3)
    assert pulls_at(known, 110)[0] == pytest.approx(0.15)  # half way from 100 to 120, which is -60


def test_the_same_direction_twice_is_refused():
    with pytest.raises(ParameterError, match="no two are the same"):
        replace(PLAIN, directions=(DirectedPull(0, 0.1, 0), DirectedPull(180, 0.2, 0)))


def test_strain_widens_a_large_fill_along_its_rows_and_is_off_by_default():
    assert all(fabric.strain == 0 for fabric in FABRICS.values())
    part = Area(shapely.box(-25, -30, 25, 30), Fill(angle=0))
    before, after = (sewn(part, fabric=fabric) for fabric in (PLAIN, replace(PLAIN, strain=0.03)))
    assert np.ptp(before.needle_points[:, 0]) == pytest.approx(50.2)
    assert 0.6 < np.ptp(after.needle_points[:, 0]) - 50.2 < 0.03 * 50
    assert abs(np.ptp(after.needle_points[:, 1]) - np.ptp(before.needle_points[:, 1])) < 0.3


@pytest.mark.parametrize("angle", [30, 90])
def test_a_fill_at_any_angle_is_widened_along_its_own_rows(angle):
    part = shapely.affinity.rotate(shapely.box(-20, -20, 20, 20), angle, origin=(0, 0))
    plain, strained = (
        turned(sewn(Area(part, Fill(angle=angle)), fabric=fabric).needle_points, -angle)
        for fabric in (PLAIN, replace(PLAIN, strain=0.03))
    )
    along, across = np.ptp(strained, axis=0) - np.ptp(plain, axis=0)
    assert along > 0.4
    assert abs(across) < 0.3


def test_strain_leaves_satin_and_lines_alone_and_all_fills_act_on_one_sheet():
    strained = replace(PLAIN, strain=0.03)
    np.testing.assert_array_equal(sewn(bar(0), fabric=strained).xy, sewn(bar(0), fabric=PLAIN).xy)
    left, right = shapely.box(-30, -20, -1, 20), shapely.box(1, -20, 30, 20)
    alone = sewn(Area(left, Fill(angle=0)), fabric=strained).bounds[0]
    together = sewn(Area(left, Fill(angle=0)), Area(right, Fill(angle=0)), fabric=strained).bounds[0]
    assert together < alone - 0.02  # the neighbour pulls the far edge in as well


def test_a_fill_keeps_the_angle_that_it_would_have_chosen():
    long = Area(shapely.box(-40, -10, 40, 10), Fill())
    assert np.ptp(sewn(long, fabric=replace(PLAIN, strain=0.05)).needle_points[:, 0]) > 80.5


@pytest.mark.parametrize(
    "shape",
    [
        shapely.Polygon([(0, 0), (20, 20), (20, 0), (0, 20)]),  # crosses itself
        shapely.Polygon([(0, 0), (30, 0), (30, 20), (15, 0.3), (0, 20)]),  # a neck of 0.3 mm
        shapely.MultiPolygon([shapely.box(0, 0, 10, 10), shapely.box(10.05, 0, 20, 10)]),  # a gap of 0.05 mm
        shapely.MultiPolygon([shapely.box(0, 0, 10, 10), shapely.box(10, 10, 20, 20)]),  # parts that touch
        shapely.box(0, 0, 20, 20).difference(shapely.box(0.02, 5, 15, 15)),  # a wall of 0.02 mm
        shapely.box(0, 0, 2, 2),
        shapely.Point(0, 0).buffer(20, quad_segs=2000),
    ],
    ids=["crossing", "neck", "gap", "touching", "wall", "tiny", "many points"],
)
def test_awkward_shapes_are_reshaped_too(shape):
    strained, plain = (
        sewn(Area(shape, Fill(angle=0)), fabric=fabric) for fabric in (replace(PLAIN, strain=0.05, stiffening=2), PLAIN)
    )
    away = np.array(strained.bounds) - np.array(plain.bounds)
    assert np.abs(away).max() < 0.05 * 40
    assert strained.stitches == pytest.approx(plain.stitches, rel=0.15)


def test_a_design_whose_fill_has_no_area_is_as_it_was():
    line = Area(shapely.Polygon([(0, 0), (5, 0), (9, 0)]), Fill())
    assert sewn(bar(0), line, fabric=replace(PLAIN, strain=0.05)).stitches == sewn(bar(0), fabric=PLAIN).stitches
