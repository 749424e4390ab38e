"""Strap connectors, marks and label."""

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.decoration import Dots, Monogram, NoDecoration
from stitchcraft.design import Purpose
from stitchcraft.errors import ParameterError
from stitchcraft.parts import Label, ShapingMark, Snap, SnapMark, StrapConnector
from stitchcraft.parts.outlines import OUTLINES


def stop_of(design, purpose):
    return next(stop for stop in design.stops if stop.purpose is purpose)


@pytest.mark.parametrize("outline", OUTLINES)
def test_outline_has_the_size_asked_and_both_symmetries(outline):
    shape = StrapConnector(spacing=120, strap_width=25, height=50, outline=outline, width=170).shape
    assert shape.bounds == pytest.approx((-85, -25, 85, 25), abs=0.05)
    for mirror in ([-1, 1], [1, -1]):
        other = shapely.transform(shape, lambda xy, m=mirror: xy * m)
        assert shape.symmetric_difference(other).area < 1.0


def test_front_bridge_ends_with_the_snap_target_and_the_back_has_none():
    bridge = StrapConnector(spacing=120)
    assert bridge.front().stops[-1].purpose is Purpose.SNAP
    assert Purpose.SNAP not in {stop.purpose for stop in bridge.back().stops}
    assert [stop.purpose for stop in bridge.back().stops] == [
        Purpose.PLACE, Purpose.TACK, Purpose.DECORATE, Purpose.COVER, Purpose.TICKS,
    ]  # fmt: skip


def test_landing_boxes_are_hidden_by_the_straps():
    bridge = StrapConnector(spacing=120, strap_width=25)
    boxes = [shapely.Polygon(box) for box in bridge.landings]
    assert len(boxes) == 2
    for box, x in zip(boxes, (-60, 60), strict=True):
        assert shapely.box(x - 12.5, -200, x + 12.5, 200).contains(box)
        assert bridge.shape.buffer(-1.75).contains(box)


def test_decoration_keeps_clear_of_the_snap_and_the_landings():
    bridge = StrapConnector(spacing=120, decoration=Dots(pitch=6, diameter=3), snap=Snap(diameter=18))
    kept_out = shapely.union_all(
        [shapely.Point(0, 0).buffer(18 / 2 + 5 - 0.02), *[shapely.Polygon(box) for box in bridge.landings]]
    )
    elements = stop_of(bridge.front(), Purpose.DECORATE).elements
    assert elements
    for element in elements:
        dot = shapely.MultiPoint(np.vstack([element.rail_a, element.rail_b])).convex_hull
        assert dot.distance(kept_out) > 0


def test_pair_pieces_mirror_each_other():
    pair = StrapConnector(layout="pair", strap_width=30)
    assert pair.left().name == "connector-left"
    left, right = pair.left().stops, pair.right().stops
    np.testing.assert_array_equal(left[0].elements[0].path * [-1, 1], right[0].elements[0].path)
    with pytest.raises(ParameterError):
        pair.front()


def test_snap_target_is_a_circle_of_the_snaps_size_with_slits_at_the_prongs():
    ring, left, right = stop_of(SnapMark(snap=Snap(diameter=18, prongs=10, slit=5)).design(), Purpose.SNAP).elements
    # circumference of the 18 mm circle: closed form
    assert np.hypot(*np.diff(ring.path, axis=0).T).sum() == pytest.approx(18 * np.pi, rel=2e-3)
    assert left.path.tolist() == [[-5, -2.5], [-5, 2.5]]
    assert right.path.tolist() == [[5, -2.5], [5, 2.5]]


def test_shaping_mark_has_its_centre_at_the_origin():
    stop = ShapingMark(diameter=14).design().stops[0]
    assert stop.elements[0].path.mean(axis=0) == pytest.approx((0, 0), abs=0.5)
    assert len(stop.elements) == 3


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"layout": "triple"}, "connector.layout"),
        ({"outline": "cloud"}, "connector.outline"),
        ({"width": 100, "spacing": 120}, "connector.width"),
        ({"height": 20}, "connector.height"),
    ],
)
def test_connector_refuses_what_cannot_be_made(values, name):
    with pytest.raises(ParameterError) as caught:
        StrapConnector(**values)
    assert caught.value.name == name


@given(
    spacing=st.floats(30, 300), strap=st.floats(8, 60), height=st.floats(12, 120),
    outline=st.sampled_from(list(OUTLINES)), layout=st.sampled_from(["bridge", "pair"]), diameter=st.floats(5, 30),
)  # fmt: skip
def test_any_connector_is_valid_or_one_clear_error(spacing, strap, height, outline, layout, diameter):
    try:
        connector = StrapConnector(
            layout=layout, spacing=spacing, strap_width=strap, height=height, outline=outline,
            snap=Snap(diameter=diameter), decoration=NoDecoration(),
        )  # fmt: skip
        design = connector.front() if layout == "bridge" else connector.right()
    except ParameterError as error:
        assert "\n" not in str(error)  # noqa: PT017
        return
    assert connector.shape.is_valid
    assert {Purpose.PLACE, Purpose.TACK, Purpose.COVER} <= {stop.purpose for stop in design.stops}


def test_label_fits_the_width_asked_and_folds_outside_the_letters():
    label = Label(text="Made at the pier", width=60)
    letters = shapely.MultiLineString(list(label.lettering.paths))
    left, _, right, _ = letters.bounds
    assert right - left == pytest.approx(60, abs=0.05)
    assert shapely.Polygon(label.outline).contains(letters)
    assert label.outline.mean(axis=0) == pytest.approx((0, 0), abs=1.0)


def test_small_label_is_found_and_the_remedy_helps():
    (finding,) = Label(text="Made at the pier", width=20).findings()
    assert finding.code == "label-small"
    wide = 20 * finding.limit / finding.measured + 0.5
    assert Label(text="Made at the pier", width=wide).findings() == ()


@pytest.mark.parametrize("outline", OUTLINES)
@pytest.mark.parametrize(("width", "height"), [(40, 40), (40, 60), (30, 200), (200, 30)])
def test_every_outline_is_a_simple_one_of_the_size_asked_for_however_high_it_is(outline, width, height):
    shape = StrapConnector(layout="pair", strap_width=20, width=width, height=height, outline=outline).shape
    assert shape.is_valid
    left, bottom, right, top = shape.bounds
    assert (right - left, top - bottom) == pytest.approx((width, height), rel=0.02)


@pytest.mark.parametrize("outline", OUTLINES)
@pytest.mark.parametrize(
    "options",
    [{"layout": "medallion"}, {"ends": "left"}, {"ends": "right"}, {"snap_up": 6, "height": 60, "width": 230}],
    ids=["medallion", "left", "right", "up"],
)
def test_every_outline_holds_the_target_clear_of_its_cover_stitch(outline, options):
    piece = StrapConnector(spacing=150, strap_width=25, outline=outline, **options)
    ring = stop_of(piece.front(), Purpose.SNAP).elements[0].path
    free = piece.shape.buffer(-piece.edge.half_mm)
    assert free.contains(shapely.Polygon(ring))
    assert len(piece.landings) == {"medallion": 0, "left": 1, "right": 1}.get(
        options.get("layout", options.get("ends")), 2
    )
    assert all(free.contains(shapely.Polygon(box)) for box in piece.landings)


def test_piece_with_one_end_holds_that_strap_and_its_back_holds_the_other_side():
    left = StrapConnector(spacing=150, strap_width=25, ends="left")
    (box,) = left.landings
    assert shapely.box(-75 - 12.5, -99, -75 + 12.5, 99).contains(shapely.Polygon(box))
    assert left.shape.bounds[2] < 40
    front, back = left.front().stops[0].elements[0].path, left.back().stops[0].elements[0].path
    np.testing.assert_allclose(front * [-1, 1], back)
    np.testing.assert_allclose(
        StrapConnector(spacing=150, strap_width=25, ends="right").front().stops[0].elements[0].path[:, 0].max(),
        -front[:, 0].min(),
    )


def test_target_off_the_middle_leaves_straps_and_target_where_the_bag_has_them():
    piece = StrapConnector(spacing=150, strap_width=25, width=230, height=60, snap_up=8, snap_right=-12)
    left, bottom, right, top = piece.shape.bounds
    # the target is the origin: the piece's middle lies 8 below and 12 right of it
    assert ((left + right) / 2, (bottom + top) / 2) == pytest.approx((12, -8), abs=0.05)
    for box, x in zip(piece.landings, (-75, 75), strict=True):
        assert shapely.box(x - 12.5, -99, x + 12.5, 99).contains(shapely.Polygon(box))
    assert stop_of(piece.front(), Purpose.SNAP).elements[0].path.mean(axis=0) == pytest.approx((0, 0), abs=0.7)


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"ends": "middle"}, "connector.ends"),
        ({"layout": "medallion", "ends": "left"}, "connector.ends"),
        ({"layout": "pair", "snap_up": 3}, "connector.snap_up"),
        ({"snap_up": 30}, "connector.snap_up"),
        ({"layout": "medallion", "snap_right": 20, "width": 50}, "connector.width"),
        ({"snap_right": 30, "width": 200}, "connector.width"),
        ({"ends": "left", "outline": "ogee", "width": 104, "height": 40}, "connector.width"),
    ],
)
def test_piece_that_does_not_hold_what_it_should_is_refused(values, name):
    with pytest.raises(ParameterError) as caught:
        StrapConnector(**{"spacing": 150, "strap_width": 25, **values})
    assert caught.value.name == name


def test_letters_of_the_right_piece_of_a_pair_and_of_a_lopsided_back_are_the_right_way_round():
    """G has no axis of symmetry: its columns or areas are found again, moved and not mirrored."""
    pair = StrapConnector(layout="pair", strap_width=12, width=90, height=60, decoration=Monogram(text="G", height=8))
    left, right = (stop_of(design, Purpose.DECORATE).elements for design in (pair.left(), pair.right()))
    for one, other in zip(left, right, strict=True):
        shift = np.subtract(other.polygon.centroid.coords[0], one.polygon.centroid.coords[0])
        moved = shapely.transform(one.polygon, lambda xy, by=shift: xy + by)
        assert moved.symmetric_difference(other.polygon).area < 1e-3 * other.polygon.area
