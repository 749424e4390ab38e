import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.errors import ParameterError
from stitchcraft.geometry.sheet import Patch, Sheet, outline_error, precompensated

FRAME = (-40.0, -30.0, 40.0, 30.0)


@settings(max_examples=15)
@given(x=st.floats(-20, 20), y=st.floats(-15, 15), r=st.floats(2, 12), turn=st.floats(0, 90))
def test_shares_are_exact_the_cells_add_up_to_the_area(x, y, r, turn):
    shape = shapely.affinity.rotate(shapely.Point(x, y).buffer(r).difference(shapely.box(x, y, x + 1, y + 3)), turn)
    sheet = Sheet(FRAME, step=1.3)
    assert sheet.shares(shape).sum() * sheet.cell.prod() == pytest.approx(shape.area, rel=1e-9)
    assert sheet.shares(shape).max() <= 1 + 1e-9


def test_nothing_moves_without_strain_and_twice_the_strain_moves_twice_as_far():
    sheet = Sheet(FRAME, step=2)
    shape = shapely.box(-12, -7, 9, 11)
    assert not sheet.displacement([Patch(shape, 30, 0.0)]).any()
    once, twice = (sheet.displacement([Patch(shape, 30, strain)]) for strain in (0.01, 0.02))
    np.testing.assert_allclose(twice, 2 * once, atol=1e-12)


def test_the_frame_stays_and_mirror_images_move_as_mirror_images():
    sheet = Sheet(FRAME, step=2)
    shape = shapely.box(-12, -7, 9, 11)
    moved = sheet.displacement([Patch(shape, 30, 0.03)])
    mirror = sheet.displacement([Patch(shapely.affinity.scale(shape, -1, 1, origin=(0, 0)), -30, 0.03)])
    assert not moved[[0, -1]].any()
    assert not moved[:, [0, -1]].any()
    np.testing.assert_allclose(mirror, moved[:, ::-1] * [-1, 1], atol=1e-12)


def test_a_stiffer_patch_shrinks_by_more():
    sheet = Sheet(FRAME, step=2)
    ends = [[-10.0, 0.0], [10.0, 0.0]]
    shape = shapely.box(-10, -10, 10, 10)
    drawn_in = [
        -np.diff(sheet.at(sheet.displacement([Patch(shape, 0, 0.03, stiffening)]), ends)[:, 0])[0]
        for stiffening in (0, 4, 100)
    ]
    # free, it would shrink by 3 % of 20 mm
    assert drawn_in == sorted(drawn_in)
    assert 0.3 < drawn_in[0] < drawn_in[2] < 0.6


def test_parts_in_one_frame_act_on_one_another():
    sheet = Sheet((-60, -40, 60, 40), step=2)
    pair = [Patch(shapely.box(-25, -15, -1, 15), 0, 0.03), Patch(shapely.box(1, -15, 25, 15), 0, 0.03)]
    together = precompensated(pair, sheet)
    alone = precompensated(pair[:1], sheet)
    assert outline_error(pair, together, sheet) < 0.02
    assert shapely.hausdorff_distance(together[0].boundary, alone[0].boundary) > 0.05


def test_holes_and_several_parts_are_kept():
    shape = shapely.MultiPolygon(
        [shapely.Point(-15, 0).buffer(9).difference(shapely.Point(-15, 0).buffer(3)), shapely.box(5, -5, 20, 5)]
    )
    drawn = precompensated([Patch(shape, 20, 0.03)], Sheet(FRAME, step=2))[0]
    assert drawn.is_valid
    assert [len(part.interiors) for part in drawn.geoms] == [1, 0]
    assert drawn.area > shape.area


@pytest.mark.parametrize(
    ("make", "named"),
    [
        (lambda: Sheet((0, 0, 0, 5)), "frame"),
        (lambda: Sheet((0, 0, float("nan"), 5)), "frame"),
        (lambda: Sheet(FRAME, poisson=0.5), "poisson"),
        (lambda: Sheet(FRAME, step=0), "step"),
        (lambda: Patch(shapely.box(0, 0, 1, 1), 0, 0.5), "strain"),
        (lambda: Patch(shapely.Polygon([(0, 0), (1, 1), (1, 0), (0, 1)]), 0, 0.1), "polygon"),
        (lambda: Sheet(FRAME).displacement([Patch(shapely.box(0, 0, 50, 5), 0, 0.1)]), "frame"),
        (lambda: precompensated([], Sheet(FRAME), passes=0), "passes"),
    ],
)
def test_what_cannot_be_is_refused_by_name(make, named):
    with pytest.raises(ParameterError) as refused:
        make()
    assert refused.value.name == named
