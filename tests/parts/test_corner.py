"""Corner accents: left mirrors right, edges meet across seams."""

import itertools
import re

import numpy as np
import pytest
import shapely
import shapely.affinity
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.decoration import Crosshatch, Dots, Monogram, NoDecoration, Petals, Rings, Words
from stitchcraft.design import Area, Column, Line, Purpose
from stitchcraft.errors import ParameterError
from stitchcraft.parts import CornerAccent, Edge
from stitchcraft.parts.profiles import PROFILES


def stop_of(design, purpose):
    return next(stop for stop in design.stops if stop.purpose is purpose)


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("depth", [0, 60])
def test_free_edge_crosses_each_seam_line_where_asked(profile, depth):
    accent = CornerAccent(width=110, height=95, profile=profile, depth=depth)
    edge = shapely.LineString(accent.free_edge)
    side = edge.intersection(shapely.LineString([(0, 50), (0, 200)]))
    bottom = edge.intersection(shapely.LineString([(50, 0), (200, 0)]))
    assert side.distance(shapely.Point(0, 95)) < 1e-9
    assert bottom.distance(shapely.Point(110, 0)) < 1e-9
    assert accent.free_edge[0] == pytest.approx((-6.35, 95))
    assert accent.free_edge[-1] == pytest.approx((110, -6.35))


def test_cloth_runs_to_the_cut_edges_and_leaves_out_the_notch():
    accent = CornerAccent(width=100, height=100, profile="quarter", depth=60)
    # the square cut away from the raw corner has side depth / 2
    notch = shapely.box(-6.35, -6.35, 30 - 6.35, 30 - 6.35)
    assert accent.shape.intersection(notch).area == pytest.approx(0, abs=1e-6)
    assert accent.shape.bounds[:2] == pytest.approx((-6.35, -6.35))
    whole = CornerAccent(width=100, height=100, profile="quarter").shape
    assert whole.area - accent.shape.area == pytest.approx(30 * 30, abs=0.01)


def test_notch_edges_are_equal_so_that_they_meet_along_the_box_seam():
    corners = np.asarray(CornerAccent(width=100, height=80, depth=60).shape.exterior.coords)
    sides = [
        float(np.hypot(*(b - a)))
        for a, b in itertools.pairwise(corners)
        if np.allclose([a, b], np.clip([a, b], None, 30 - 6.35), atol=1e-6)
    ]
    assert sides == pytest.approx([30, 30])


def test_quarter_round_encloses_the_area_of_a_quarter_ellipse():
    # closed form: pi w h / 4, and the strips out to the cut edges
    accent = CornerAccent(width=90, height=70, profile="quarter")
    expected = np.pi * 90 * 70 / 4 + 6.35 * (90 + 70) + 6.35**2
    assert accent.shape.area == pytest.approx(expected, rel=5e-5)


def test_only_the_free_edge_is_covered():
    accent = CornerAccent(width=100, height=100, depth=60, edge=Edge(kind="triple"))
    (cover,) = stop_of(accent.left(), Purpose.COVER).elements
    assert isinstance(cover, Line)
    np.testing.assert_allclose(cover.path, accent.free_edge)
    (column,) = stop_of(CornerAccent(width=100, height=100).left(), Purpose.COVER).elements
    assert isinstance(column, Column)
    assert not column.closed


def test_right_accent_is_the_mirror_of_the_left():
    accent = CornerAccent(width=100, height=100, decoration=Crosshatch(pitch=9))
    for one, other in zip(accent.left().stops, accent.right().stops, strict=True):
        for a, b in zip(one.elements, other.elements, strict=True):
            for name in ("path", "rail_a", "rail_b"):
                if hasattr(a, name):
                    np.testing.assert_array_equal(getattr(a, name) * [-1, 1], getattr(b, name))


def test_stops_come_in_the_order_of_applique():
    purposes = [stop.purpose for stop in CornerAccent(width=100, height=100).left().stops]
    assert purposes == [Purpose.PLACE, Purpose.TACK, Purpose.DECORATE, Purpose.COVER]


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"width": 0, "height": 100}, "corner.width"),
        ({"width": 100, "height": 100, "profile": "zigzag"}, "corner.profile"),
        ({"width": 30, "height": 100, "depth": 60}, "corner.width"),
        ({"width": 100, "height": 100, "profile": np.array([[0, 1], [0.5, 0.2], [1, 0.3]])}, "corner.profile"),
        ({"width": 100, "height": 100, "edge": "satin"}, "corner.edge"),
        ({"width": 100, "height": 100, "decoration": "dots"}, "corner.decoration"),
    ],
)
def test_accent_refuses_what_cannot_be_made(values, name):
    with pytest.raises(ParameterError) as caught:
        CornerAccent(**values)
    assert caught.value.name == name


@given(
    width=st.floats(10, 300), height=st.floats(10, 300), depth=st.floats(0, 200), seam=st.floats(2, 15),
    profile=st.sampled_from(list(PROFILES)), edge=st.floats(1, 12),
)  # fmt: skip
def test_any_accent_is_valid_or_one_clear_error(width, height, depth, seam, profile, edge):
    try:
        accent = CornerAccent(
            width=width, height=height, depth=depth, seam=seam, profile=profile, edge=Edge(width=edge),
            decoration=NoDecoration(),
        )  # fmt: skip
    except ParameterError as error:
        assert "\n" not in str(error)  # noqa: PT017
        return
    assert accent.shape.is_valid
    assert [stop.purpose for stop in accent.left().stops] == [Purpose.PLACE, Purpose.TACK, Purpose.COVER]


@pytest.mark.parametrize("profile", PROFILES)
def test_edge_that_runs_through_the_boxed_base_is_refused_with_a_size_that_passes_it(profile):
    """The free edge would cut the square that the base takes; the sizes in the message are followed."""
    with pytest.raises(ParameterError, match=r"^corner\.width is") as caught:
        CornerAccent(width=68, height=68, depth=120, profile=profile)
    width, height = (float(text) for text in re.findall(r"([\d.]+) mm", caught.value.needs))
    accent = CornerAccent(width=width, height=height, depth=120, profile=profile)
    base = shapely.box(0, 0, 60, 60)
    assert shapely.LineString(accent.free_edge).distance(base) >= accent.edge.half_mm


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize(("depth", "echo"), [(0, 4), (60, 6)])
def test_echo_follows_the_free_edge_inside_it_and_meets_its_neighbours_on_the_seams(profile, depth, echo):
    accent = CornerAccent(width=120, height=95, profile=profile, depth=depth, echo=echo, decoration=Crosshatch(pitch=8))
    edge = shapely.LineString(accent.free_edge)
    lines = [shapely.LineString(path) for path in accent.echo_lines]
    assert lines
    for line in lines:
        points = shapely.points(shapely.get_coordinates(line))
        # a parallel lies everywhere as far off; past a seam the edge itself ends, so only inside them
        inside = [point for point in points if point.x > 0.5 and point.y > 0.5]
        assert [edge.distance(point) for point in inside] == pytest.approx([echo] * len(inside), abs=0.03)
        assert accent.shape.covers(line)
    side = shapely.intersection(shapely.MultiLineString(lines), shapely.LineString([(0, depth / 2 + 1), (0, 200)]))
    assert not side.is_empty
    for element in stop_of(accent.left(), Purpose.DECORATE).elements:
        assert all(shapely.LineString(element.path).distance(line) >= 0.97 for line in lines)


def test_echo_stands_in_the_mirror_image_too_and_only_where_asked():
    accent = CornerAccent(width=100, height=80, decoration=NoDecoration(), echo="1/4 in")
    left, right = (stop_of(design, Purpose.DECORATE).elements for design in (accent.left(), accent.right()))
    for one, other in zip(left, right, strict=True):
        np.testing.assert_allclose(one.path * [-1, 1], other.path)
    plain = CornerAccent(width=100, height=80, decoration=NoDecoration())
    assert Purpose.DECORATE not in {stop.purpose for stop in plain.left().stops}


@pytest.mark.parametrize("echo", [1.6, 99, "x", -3])
def test_echo_that_has_no_room_is_refused(echo):
    with pytest.raises(ParameterError) as caught:
        CornerAccent(width=60, height=50, echo=echo)
    assert caught.value.name == "corner.echo"


def sewn_part(decoration, depth):
    accent = CornerAccent(width=100, height=100, depth=depth, decoration=decoration)
    return shapely.union_all([outline_of(element) for element in decoration.elements(accent.decoration_area)])


def outline_of(element):
    if isinstance(element, Area):
        return element.polygon.boundary
    paths = [element.path] if isinstance(element, Line) else [element.rail_a, element.rail_b]
    return shapely.MultiLineString(paths)


def beyond_seams(depth):
    # what joins motifs may lie on the seam line itself
    far, on, notch = 1000, 1e-6, depth / 2
    strips = [shapely.box(-far, -far, -on, far), shapely.box(-far, -far, far, -on)]
    return shapely.union_all([*strips, *([shapely.box(-far, -far, notch - on, notch - on)] if notch else [])])


@pytest.mark.parametrize("depth", [0, 60])
@pytest.mark.parametrize(
    "decoration",
    [Dots(pitch=7, diameter=3, edge=edge) for edge in ("whole", "fade")]
    + [Petals(pitch=14, edge="whole"), Rings(pitch=12, edge="whole"), Words(text="oak"), Monogram(text="ab")],
    ids=lambda decoration: decoration.kind,
)
def test_no_seam_takes_part_of_what_is_kept_whole(decoration, depth):
    sewn = sewn_part(decoration, depth)
    assert sewn.length > 20
    assert sewn.intersection(beyond_seams(depth)).length == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("depth", [0, 60])
def test_a_pattern_that_is_cut_runs_on_across_every_seam(depth):
    sewn = sewn_part(Crosshatch(pitch=6), depth)
    assert sewn.bounds[:2] == pytest.approx((-4, -4), abs=0.01)
    if depth:
        assert sewn.intersection(shapely.box(26, 0, 30, 26)).length > 4
    # what crosses a seam line is met there by the mirror image: each line of the pattern goes through, none ends at it
    assert sewn.intersection(shapely.box(-3.9, 40, -0.1, 80)).length == pytest.approx(
        sewn.intersection(shapely.box(0.1, 40, 3.9, 80)).length, rel=0.05
    )


@pytest.mark.parametrize(
    "decoration",
    [Words(text="ART", face="sans", height=9, angle=20, shift=(4, 2)), Monogram(text="FRG", height=14, shift=(4, 2))],
)
def test_letters_are_the_right_way_round_on_both_accents(decoration):
    """Each letter of the right accent is that of the left, moved and (for turned text) turned, never mirrored."""
    accent = CornerAccent(width=140, height=140, echo=5, decoration=decoration)
    left, right = (stop_of(design, Purpose.DECORATE).elements for design in (accent.left(), accent.right()))
    assert [type(one) for one in left] == [type(one) for one in right]
    turn = -2 * getattr(decoration, "angle", 0.0)
    for one, other in zip(left, right, strict=True):
        here, there = (shapely.Polygon(each.polygon.exterior) for each in (one, other))
        moved = shapely.affinity.rotate(here, turn, origin=here.centroid)
        moved = shapely.affinity.translate(
            moved, there.centroid.x - here.centroid.x, there.centroid.y - here.centroid.y
        )
        assert moved.symmetric_difference(there).area < 1e-3 * there.area
    # the text as a whole lies at the mirror image of its place
    ink = [shapely.union_all([element.polygon for element in elements]) for elements in (left, right)]
    boxes = [shapely.box(*shapely.affinity.rotate(each, -angle, origin=(0, 0)).bounds) for each, angle in
             zip(ink, (-turn / 2, turn / 2), strict=True)]  # fmt: skip
    middles = [shapely.affinity.rotate(box.centroid, angle, origin=(0, 0)) for box, angle in
               zip(boxes, (-turn / 2, turn / 2), strict=True)]  # fmt: skip
    assert (middles[0].x, middles[0].y) == pytest.approx((-middles[1].x, middles[1].y), abs=0.05)
    # all the rest is the mirror image as ever, the echo too
    for one, other in zip(accent.left().stops, accent.right().stops, strict=True):
        if one.elements is not left and one.purpose is not Purpose.DECORATE and isinstance(one.elements[0], Line):
            np.testing.assert_array_equal(one.elements[0].path * [-1, 1], other.elements[0].path)
