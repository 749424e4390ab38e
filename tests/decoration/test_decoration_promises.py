"""What every kind of decoration promises: inside, in phase, the same every time, never a crumb."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.arrays import FloatArray
from stitchcraft.decoration import (
    Chevrons,
    Clamshell,
    Crosshatch,
    Decoration,
    Dots,
    Echo,
    Meander,
    NoDecoration,
    Petals,
    Rings,
    Scallops,
    Waves,
)
from stitchcraft.design import Area, Column, Element, Line
from stitchcraft.geometry.curves import arc, length_of

EVERY = {
    "dots": Dots(),
    "dots-cut": Dots(edge="clip", angle=20),
    "dots-fading": Dots(edge="fade", layout="square"),
    "dots-on-strings": Dots(stitch="triple", edge="clip", joined=True),
    "dots-filled": Dots(diameter=6, pitch=9, stitch="fill"),
    "crosshatch": Crosshatch(),
    "crosshatch-leaning": Crosshatch(angle=12, between=60, stitch="triple"),
    "crosshatch-framed": Crosshatch(border=True),
    "rings": Rings(),
    "rings-whole": Rings(edge="whole", angle=30),
    "clamshell": Clamshell(),
    "clamshell-whole": Clamshell(edge="whole", angle=180),
    "petals": Petals(),
    "petals-whole": Petals(edge="whole", angle=0),
    "petals-satin": Petals(stitch="satin"),
    "scallops": Scallops(),
    "waves": Waves(),
    "waves-opposed": Waves(opposed=True, angle=90),
    "chevrons": Chevrons(),
    "echo": Echo(),
    "meander": Meander(),
    "inset": Crosshatch(inset=4),
    "none": NoDecoration(),
}
LATTICE = {
    "dots": (7.0 * 1.5, 7.0 * np.sqrt(3) / 2),
    "dots-cut": tuple(7 * np.array([np.cos(np.radians(80)), np.sin(np.radians(80))])),
    "dots-fading": (7.0, -14.0),
    "crosshatch": (0.0, 9 * np.sqrt(2)),
    "rings": (12.0, 24.0),
    "rings-whole": tuple(12 * np.array([np.cos(np.radians(30)), np.sin(np.radians(30))])),
    "clamshell": (8.0, 8.0),
    "petals": (7 * np.sqrt(2), 7 * np.sqrt(2)),
    "petals-satin": (0.0, 14 * np.sqrt(2)),
    "scallops": (6.0, 6.0),
    "waves": (24.0, 6.0),
    "chevrons": (-16.0, 6.0),
}
TAB = shapely.Polygon(np.vstack([[(-38, 0)], arc((0, -92), 38, 180, 360), [(38, 0)]]))
CORNER = shapely.Polygon(np.vstack([[(0, 0), (95, 0), (95, 30)], arc((95, 95), 65, 270, 180), [(0, 95)]]))
RING = shapely.Point(3, 4).buffer(48, quad_segs=40).difference(shapely.Point(3, 4).buffer(18, quad_segs=32))
SHAPES = {"tab": TAB, "corner": CORNER, "ring": RING}

every_kind = pytest.mark.parametrize("decoration", EVERY.values(), ids=EVERY.keys())
every_shape = pytest.mark.parametrize("shape", SHAPES.values(), ids=SHAPES.keys())


def points_of(element: Element) -> FloatArray:
    match element:
        case Line():
            return element.path
        case Column():
            return np.vstack([element.rail_a, element.rail_b])
        case Area():
            return shapely.get_coordinates(element.polygon)


def outline_of(element: Element) -> shapely.Geometry:
    match element:
        case Line():
            return shapely.LineString(element.path)
        case Column():
            return shapely.MultiLineString([element.rail_a, element.rail_b])
        case Area():
            return element.polygon


def assert_inside(elements: tuple[Element, ...], area: shapely.Geometry) -> None:
    grown = shapely.buffer(area, 1e-6)
    shapely.prepare(grown)
    assert all(grown.covers(outline_of(element)) for element in elements)


def assert_same(one: tuple[Element, ...], other: tuple[Element, ...], *, within: float = 1e-9) -> None:
    assert [type(element) for element in one] == [type(element) for element in other]
    for a, b in zip(one, other, strict=True):
        assert points_of(a).shape == points_of(b).shape
        assert np.abs(points_of(a) - points_of(b)).max() <= within


@st.composite
def holed_blobs(draw: st.DrawFn) -> shapely.Polygon:
    """Star-shaped outlines, jagged or soft, with up to three round holes anywhere."""
    count = draw(st.integers(5, 24))
    reach = draw(st.floats(6, 45))
    shares = np.array(draw(st.lists(st.floats(0.35, 1), min_size=count, max_size=count)))
    turns = 2 * np.pi * np.arange(count) / count
    blob = shapely.Polygon(reach * np.column_stack([shares * np.cos(turns), shares * np.sin(turns)]))
    for _ in range(draw(st.integers(0, 3))):
        x, y, radius = (draw(st.floats(-reach, reach)), draw(st.floats(-reach, reach)), draw(st.floats(1, 9)))
        blob = blob.difference(shapely.Point(x, y).buffer(radius))
    return blob


@every_shape
@every_kind
def test_everything_lies_inside_the_area(decoration: Decoration, shape: shapely.Polygon) -> None:
    elements = replace(decoration, shift=(1.7, -2.3)).elements(shape)
    assert bool(elements) != (decoration.kind == "none")
    assert_inside(elements, shape)


@given(
    names=st.lists(st.sampled_from(sorted(EVERY)), min_size=3, max_size=3, unique=True),
    area=holed_blobs(),
    shift=st.tuples(st.floats(-20, 20), st.floats(-20, 20)),
)
def test_any_blob_is_filled_inside_without_crumbs_and_counted_right(
    names: list[str], area: shapely.Polygon, shift: tuple[float, float]
) -> None:
    for name in names:
        assert_fills_well(EVERY[name], area, shift)


def assert_fills_well(decoration: Decoration, area: shapely.Polygon, shift: tuple[float, float]) -> None:
    decoration = replace(decoration, shift=shift)
    elements, count = decoration.elements(area), decoration.describe(area)
    assert_inside(elements, area)
    sewn = [length_of(element.path) for element in elements if isinstance(element, Line)]
    assert all(length >= 1.5 for length in sewn)
    assert count.runs == len(elements)
    assert sum(sewn) == pytest.approx(count.line_mm + count.link_mm, rel=1e-3, abs=1e-3)
    assert (count.motifs > 0) == (len(elements) > 0)
    assert 0 <= count.cover <= 1


@every_kind
def test_the_same_area_gets_the_same_elements_however_it_is_written(decoration: Decoration) -> None:
    decoration = replace(decoration, shift=(2, 3))
    once = decoration.elements(RING)
    rewritten = shapely.Polygon(
        np.roll(np.asarray(RING.exterior.coords)[:-1], 17, axis=0)[::-1], [np.asarray(RING.interiors[0].coords)[::-1]]
    )
    assert_same(once, replace(decoration).elements(RING), within=0.0)
    assert_same(once, decoration.elements(rewritten))


@pytest.mark.parametrize("name", LATTICE)
def test_a_shift_by_a_step_of_the_pattern_changes_nothing(name: str) -> None:
    decoration, (dx, dy) = EVERY[name], LATTICE[name]
    field = shapely.box(-21, -17, 24, 33)

    def drawn(x: float, y: float) -> shapely.Geometry:
        return shapely.union_all([outline_of(element) for element in replace(decoration, shift=(x, y)).elements(field)])

    once = drawn(1.3, 2.1)
    assert shapely.hausdorff_distance(once, drawn(1.3 + dx, 2.1 + dy)) < 1e-6
    assert shapely.hausdorff_distance(once, drawn(1.3 + dx / 2 + 0.31, 2.1 + dy / 2 + 0.17)) > 0.1


@pytest.mark.parametrize("name", LATTICE)
def test_two_areas_on_either_side_of_a_seam_carry_one_pattern(name: str) -> None:
    decoration = EVERY[name]
    seam = 7.7
    whole, left, right = (shapely.box(x0, -40, x1, 40) for x0, x1 in ((-50, 60), (-50, seam), (seam, 60)))
    probe = shapely.box(-40, -30, 50, 30)

    def drawn(area: shapely.Polygon) -> shapely.Geometry:
        elements = replace(decoration, shift=(1.3, 2.1)).elements(area)
        return shapely.union_all([outline_of(element) for element in elements]).intersection(probe)

    # what joins the lines along the seam is not part of the pattern, nor is a motif that the seam cuts
    away = shapely.box(seam - 16, -40, seam + 16, 40)
    together = shapely.union_all([drawn(left), drawn(right)]).difference(away)
    alone = drawn(whole).difference(away)
    assert alone.length > 200
    assert shapely.hausdorff_distance(together, alone) < 1e-6


@every_kind
@pytest.mark.parametrize(
    "area",
    [shapely.Polygon(), shapely.MultiPolygon(), shapely.box(0, 0, 1, 1), shapely.box(0, 0, 0.4, 60)],
    ids=["empty", "empty-multi", "speck", "slit"],
)
def test_nothing_is_sewn_where_there_is_no_room(decoration: Decoration, area: shapely.Geometry) -> None:
    assert_inside(decoration.elements(area), area)
    if area.is_empty or area.area <= 1:
        assert decoration.elements(area) == ()


@every_kind
def test_separate_areas_are_each_filled(decoration: Decoration) -> None:
    two = shapely.MultiPolygon([shapely.box(-60, 0, -5, 50), shapely.box(5, 0, 60, 50)])
    elements = decoration.elements(two)
    assert_inside(elements, two)
    if decoration.kind != "none":
        sides = {bool(points_of(element)[:, 0].mean() > 0) for element in elements}
        assert sides == {True, False}


def test_an_inset_keeps_the_pattern_off_the_edge() -> None:
    for element in Crosshatch(inset="4 mm").elements(TAB):
        assert shapely.distance(TAB.boundary, outline_of(element)) >= 4 - 0.01
