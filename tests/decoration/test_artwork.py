"""Artwork: what lines and areas of a drawing become, where it goes, and that nothing is lost without a word."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import Phase, given, settings
from hypothesis import strategies as st

from stitchcraft.decoration import decoration_from
from stitchcraft.decoration.artwork import Artwork
from stitchcraft.decoration.inks import inscribed_width
from stitchcraft.design import Area, Column, Element, Fill, Line, Running, Satin, Triple
from stitchcraft.errors import ArtworkError, Level, ParameterError
from stitchcraft.geometry.curves import grown
from stitchcraft.geometry.svg_paths import Drawing, read_svg

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="60mm" height="60mm" viewBox="0 0 60 60">'
SAMPLES = Path(__file__).parents[2] / "samples" / "art"
SQUARE = shapely.box(-50, -50, 50, 50)
TAB = shapely.Point(0, 0).buffer(34).difference(shapely.Point(0, -18).buffer(12))


def drawn(body: str) -> Drawing:
    return read_svg(HEAD + body + "</svg>", name="art.svg")


def sewn(body: str, **options: object) -> tuple[Element, ...]:
    return Artwork(svg=drawn(body), **options).elements(SQUARE)  # type: ignore[arg-type]


def geometry(element: Element) -> shapely.Geometry:
    if isinstance(element, Line):
        return shapely.LineString(element.path)
    if isinstance(element, Column):
        return shapely.MultiLineString([element.rail_a, element.rail_b])
    return element.polygon


def stitch_at(width: float) -> str:
    (element,) = sewn(f'<path d="M5 30H55" stroke="red" stroke-width="{width}"/>')
    return f"{type(element).__name__} {type(element.stitch).__name__}"


@pytest.mark.parametrize(
    ("width", "stitch"),
    [
        (0.05, "Line Running"), (0.8, "Line Running"), (0.81, "Line Triple"), (1.2, "Line Triple"),
        (1.21, "Column Satin"), (7.0, "Column Satin"), (7.05, "Area Fill"),
    ],
)  # fmt: skip
def test_the_width_of_a_line_decides_its_stitch(width: float, stitch: str) -> None:
    assert stitch_at(width) == stitch


@pytest.mark.parametrize(
    ("width", "kind"),
    [(0.79, (Line, Running)), (0.85, (Area, Satin)), (6.95, (Area, Satin)), (7.05, (Area, Fill)), (30, (Area, Fill))],
)
def test_the_largest_circle_in_an_area_decides_its_stitch(width: float, kind: tuple[type, type]) -> None:
    (element,) = sewn(f'<rect x="5" y="10" width="50" height="{width}"/>')
    assert (type(element), type(element.stitch)) == kind


def test_a_blob_is_filled_and_a_dot_or_a_leaf_is_satin() -> None:
    def of(across: float, down: float) -> type:
        (element,) = sewn(f'<ellipse cx="30" cy="30" rx="{across / 2}" ry="{down / 2}"/>')
        return type(element.stitch)

    assert (of(2.9, 2.9), of(6, 6), of(6, 11), of(6, 12)) == (Satin, Fill, Fill, Satin)


def test_the_inscribed_width_is_that_of_known_shapes() -> None:
    """Inscribed circles: a rectangle's short side; 2 (side / (2 sqrt 3)) of an equilateral triangle; a ring's wall."""
    triangle = shapely.Polygon([(0, 0), (10, 0), (5, 5 * math.sqrt(3))])
    ring = shapely.Point(0, 0).buffer(10, 64).difference(shapely.Point(0, 0).buffer(6, 64))
    assert inscribed_width(shapely.box(0, 0, 30, 4)) == pytest.approx(4, abs=0.011)
    assert inscribed_width(triangle) == pytest.approx(10 / math.sqrt(3), abs=0.011)
    assert inscribed_width(ring) == pytest.approx(4, abs=0.02)


def test_a_wide_line_becomes_a_column_as_wide_as_drawn() -> None:
    (column,) = sewn('<path d="M5 30C20 10 40 50 55 30" fill="none" stroke="red" stroke-width="3"/>')
    assert isinstance(column, Column)
    assert np.allclose(np.hypot(*(column.rail_a - column.rail_b).T), 3.0, atol=0.05)


def test_a_given_stitch_overrides_the_widths() -> None:
    body = '<rect x="5" y="5" width="50" height="20" stroke="red" stroke-width="3"/><path d="M5 40H55" stroke="red"/>'
    assert {type(e.stitch) for e in sewn(body, stitch="running")} == {Running}
    assert {type(e.stitch) for e in sewn(body, stitch="triple")} == {Triple}
    assert {type(e) for e in sewn(body, stitch="triple")} == {Line}
    assert [type(e.stitch) for e in sewn(body, stitch="satin") if isinstance(e, Area)] == [Satin]
    assert [type(e.stitch) for e in sewn('<rect width="50" height="4"/>', stitch="fill")] == [Fill]


def test_width_scales_the_outlines_and_the_lines_with_them() -> None:
    body = '<path d="M10 20H50" stroke="red" stroke-width="1"/><rect x="10" y="30" width="40" height="20"/>'
    art = Artwork(svg=drawn(body), width="80 mm")
    elements = art.elements(SQUARE)
    assert art.scale == pytest.approx(2.0)
    assert isinstance(elements[-1], Area)
    assert np.allclose(elements[-1].polygon.bounds, (-40, -30, 40, 10), atol=1e-5)
    assert [type(element) for element in elements] == [Column, Area]
    assert [type(element) for element in Artwork(svg=drawn(body)).elements(SQUARE)] == [Line, Area]


def test_it_is_placed_on_the_origin_or_in_the_area_and_moved_from_there() -> None:
    drawing = drawn('<rect x="10" y="20" width="20" height="10"/>')
    on_origin = Artwork(svg=drawing, place="origin", shift=(12, -7)).elements(SQUARE)
    in_area = Artwork(svg=drawing).elements(shapely.box(0, 0, 60, 40))
    moved = Artwork(svg=drawing, shift=(3, 1)).elements(shapely.box(0, 0, 60, 40))
    assert np.allclose(geometry(on_origin[0]).bounds, (2, -12, 22, -2))
    assert np.allclose(geometry(in_area[0]).bounds, (20, 15, 40, 25), atol=1e-5)
    assert np.allclose(geometry(moved[0]).bounds, (23, 16, 43, 26), atol=1e-5)


def test_in_an_area_with_a_keep_out_it_goes_where_it_fits_whole() -> None:
    art = Artwork(svg=drawn('<rect width="30" height="20"/>'))
    (element,) = art.elements(TAB)
    assert isinstance(element, Area)
    assert element.polygon.area == pytest.approx(600, rel=1e-6)
    assert shapely.centroid(element.polygon).x == pytest.approx(0, abs=1e-5)
    assert art.findings(TAB) == ()


def test_it_turns_counter_clockwise_about_its_middle() -> None:
    (element,) = sewn('<path d="M10 30H50L40 20" fill="none" stroke="red" stroke-width=".5"/>', angle=90)
    assert isinstance(element, Line)
    assert np.allclose(element.path, [(5, -20), (5, 20), (-5, 10)]) or np.allclose(
        element.path[::-1], [(5, -20), (5, 20), (-5, 10)]
    )


@pytest.mark.parametrize("name", ["heron", "bollard", "fern"])
@pytest.mark.parametrize("width", [20, 70])
def test_every_element_lies_inside_the_area(name: str, width: float) -> None:
    art = Artwork(svg=SAMPLES / f"{name}.svg", width=width, inset=1)
    elements = art.elements(TAB)
    assert elements
    room = grown(TAB, -1).buffer(1e-6)
    for element in elements:
        assert shapely.difference(geometry(element), room).length < 1e-4
        if isinstance(element, Area):
            assert element.polygon.is_valid


def test_what_is_drawn_later_covers_what_lies_beneath() -> None:
    body = """<rect x="5" y="5" width="50" height="50" fill="red"/><path d="M5 30H55" stroke="blue" stroke-width=".5"/>
      <rect x="20" y="20" width="20" height="20" fill="lime"/>"""
    layers = Artwork(svg=drawn(body)).layers(SQUARE)
    assert [layer.colour for layer in layers] == ["#ff0000", "#0000ff", "#00ff00"]
    red, blue, lime = ([geometry(element) for element in layer.elements] for layer in layers)
    assert sum(part.area for part in red) == pytest.approx(2500 - 400)
    assert sum(part.length for part in blue) == pytest.approx(50 - 20)
    assert sum(part.area for part in lime) == pytest.approx(400)


def test_the_colour_of_bare_cloth_covers_and_is_not_sewn() -> None:
    body = (
        '<rect x="5" y="5" width="50" height="50" fill="red"/><rect x="20" y="20" width="20" height="20" fill="#fff"/>'
    )
    art = Artwork(svg=drawn(body), bare="#FFFFFF")
    (layer,) = art.layers(SQUARE)
    assert art.threads == ("#ff0000",)
    assert layer.colour is None  # a drawing in one colour takes the decoration's thread
    assert [geometry(element).area for element in layer.elements] == pytest.approx([2100])


def test_layers_hold_exactly_the_elements() -> None:
    art = Artwork(svg=SAMPLES / "heron.svg")
    layers = art.layers(SQUARE)
    assert [layer.colour for layer in layers] == ["#2f5d62", "#8a6d3b", "#5b7083", "#d9a441", "#3a3a3a", "#ffffff"]
    assert sum(len(layer.elements) for layer in layers) == len(art.elements(SQUARE)) == 13


def test_the_count_is_of_what_is_sewn() -> None:
    count = Artwork(svg=drawn('<rect x="5" y="5" width="50" height="20"/><path d="M5 40H55" stroke="red"/>')).describe(
        SQUARE
    )
    assert (count.motifs, count.runs) == (2, 2)
    assert count.filled_mm2 == pytest.approx(1000)
    assert count.line_mm == pytest.approx(50)


def test_what_the_drawing_holds_that_cannot_be_sewn_is_a_finding() -> None:
    art = Artwork(svg=drawn('<text>Hi</text><rect width="20" height="20"/>'))
    (finding,) = art.findings(SQUARE, part="tab-front")
    assert (finding.level, finding.code, finding.part) == (Level.NOTE, "artwork-left-out", "tab-front")
    assert finding.message == "art.svg: text#1: text is left out; turn it into paths."
    assert art.notes == ("text#1: text is left out; turn it into paths",)


def test_a_drawing_without_a_size_is_told_of_until_a_width_is_given() -> None:
    bare = read_svg('<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 60 60"><rect width="20" height="20"/></svg>')
    (finding,) = Artwork(svg=bare).findings(SQUARE, part="tab-front")
    assert finding.code == "artwork-left-out"
    assert "states no size" in finding.message
    assert not Artwork(svg=bare, width="20 mm").findings(SQUARE, part="tab-front")


def test_what_the_area_cuts_off_is_a_finding() -> None:
    art = Artwork(svg=drawn('<rect width="40" height="20"/>'))
    (finding,) = art.findings(shapely.box(0, 0, 30, 30))
    assert (finding.level, finding.code) == (Level.WARNING, "artwork-cut")
    assert finding.measured == pytest.approx(0.25, abs=1e-4)
    assert art.findings(shapely.box(0, 0, 40.1, 30)) == ()
    assert art.findings(shapely.box(0, 0, 0.5, 0.5))[0].measured == 1.0


def test_crumbs_are_left_out_with_a_finding() -> None:
    art = Artwork(svg=drawn('<rect width="20" height="20"/><path d="M30 30h1.4M30 40h1.6" stroke="red"/>'))
    assert len(art.elements(SQUARE)) == 2
    (finding,) = art.findings(SQUARE)
    assert (finding.code, finding.message) == ("artwork-crumbs", "art.svg: small pieces left out: 1.")


def test_a_scrap_that_the_edge_leaves_of_an_area_is_left_out_with_a_finding() -> None:
    art = Artwork(svg=drawn('<rect width="20" height="20"/>'), place="origin")
    scrap, rest = shapely.box(8.5, -30, 50, 30), shapely.box(7, -30, 50, 30)  # 7.5 % and 15 % of the square
    assert art.elements(scrap) == ()
    assert [finding.code for finding in art.findings(scrap)] == ["artwork-cut", "artwork-crumbs"]
    assert len(art.elements(rest)) == 1


def test_it_is_made_of_the_words_of_a_spec() -> None:
    art = decoration_from("artwork", {"svg": SAMPLES / "fern.svg", "width": "1 in", "stitch": "fill", "angle": 10})
    assert isinstance(art, Artwork)
    assert art.scale == pytest.approx(25.4 / (art.drawing.bounds[2] - art.drawing.bounds[0]))


@pytest.mark.parametrize(
    ("options", "words"),
    [
        ({"width": 0.5}, "width is 0.5; it needs to be a length of at least 1 mm and at most 1000 mm"),
        ({"stitch": "cross"}, "stitch is 'cross'; it needs to be one of running, triple, satin, fill"),
        ({"place": "left"}, "place is 'left'; it needs to be one of area, origin"),
        ({"angle": math.nan}, "angle is nan; it needs to be a number from -360 to 360"),
        ({"bare": 7}, "bare is 7; it needs to be a colour like"),
    ],
)
def test_a_bad_option_is_refused_by_name(options: dict[str, object], words: str) -> None:
    with pytest.raises(ParameterError) as refusal:
        Artwork(svg=drawn('<rect width="9" height="9"/>'), **options)  # type: ignore[arg-type]
    assert words in str(refusal.value)


def test_an_upright_line_has_no_width_to_scale() -> None:
    with pytest.raises(ParameterError, match=r"width is .*; it needs to be left out, since art\.svg has no width"):
        Artwork(svg=drawn('<path d="M5 5V40" stroke="red"/>'), width=30)


def test_a_bad_drawing_is_refused_when_the_artwork_is_made() -> None:
    with pytest.raises(ArtworkError, match=r"^gone\.svg: cannot be read"):
        Artwork(svg="gone.svg")


SHAPES = st.lists(
    st.builds(
        lambda kind, x, y, a, b, stroke, turn: (
            f'<g transform="rotate({turn} 30 30)">'
            + {
                "rect": f'<rect x="{x}" y="{y}" width="{a}" height="{b}" stroke="red" stroke-width="{stroke}"/>',
                "ellipse": f'<ellipse cx="{x}" cy="{y}" rx="{a}" ry="{b}" stroke="blue" stroke-width="{stroke}"/>',
                "curve": f'<path d="M{x} {y}q{a} {b} {b} {a}t{y} {x}" stroke="red" stroke-width="{stroke}"/>',
                "star": f'<path d="M{x} {y}l{a} {b} {b} -{a} -{a} {x} 9 -{b}z" fill-rule="evenodd"/>',
            }[kind]
            + "</g>"
        ),
        st.sampled_from(["rect", "ellipse", "curve", "star"]),
        *(st.integers(0, 50) for _ in range(2)), *(st.integers(1, 30) for _ in range(2)),
        st.sampled_from([0, 0.3, 1, 2, 6, 12]), st.integers(0, 359),
    ),
    min_size=1, max_size=5,
)  # fmt: skip


@settings(max_examples=60, phases=[Phase.explicit, Phase.generate])
@given(SHAPES, st.sampled_from([None, 3.0, 25.0, 90.0]), st.sampled_from([None, "running", "satin", "fill"]))
def test_any_drawing_of_shapes_is_sewn_inside_the_area(
    bodies: list[str], width: float | None, stitch: str | None
) -> None:
    art = Artwork(svg=drawn("".join(bodies)), width=width, stitch=stitch)
    for element in art.elements(TAB):
        assert shapely.difference(geometry(element), TAB.buffer(1e-6)).length < 1e-4
        if isinstance(element, Area):
            assert element.polygon.is_valid
            assert element.polygon.area > 0


LEAF = '<path d="M2 10C4 4 14 4 18 10C14 16 4 16 2 10Z" fill="#2f5d62"/><path d="M3 10H17" stroke="#d9a441"/>'
FIELD = shapely.box(-60, -50, 60, 50)


def test_lines_of_one_colour_whose_ends_touch_are_one_run() -> None:
    apart = '<path d="M5 30H20" stroke="red"/><path d="M35 30H20" stroke="red"/><path d="M35 30V50" stroke="red"/>'
    (run,) = sewn(apart)
    assert isinstance(run, Line)
    assert shapely.LineString(run.path).length == pytest.approx(50)
    assert Artwork(svg=drawn(apart)).describe(SQUARE).motifs == 3
    # another colour and another stitch stay apart, and so do ends that do not touch
    others = '<path d="M5 30H20" stroke="red"/><path d="M20 30H35" stroke="blue"/><path d="M20 30V50" stroke="red" '
    assert len(sewn(others + 'stroke-width="0.5"/><path d="M5 31H20" stroke="red"/>')) == 4


def test_strokes_too_short_alone_are_sewn_in_a_run_that_they_join() -> None:
    """Fifteen strokes of 1 mm end to end: each is under the shortest piece that is sewn, the run is 15 mm long."""
    body = "".join(f'<path d="M{x} 30h1" stroke="red"/>' for x in range(10, 25))
    (run,) = sewn(body)
    assert isinstance(run, Line)
    assert shapely.LineString(run.path).length == pytest.approx(15)
    assert Artwork(svg=drawn(body)).findings(SQUARE) == ()


def test_lines_that_cross_and_meet_take_the_fewest_runs() -> None:
    """Euler: a connected figure with 2k odd nodes takes k trails; a square with both diagonals has four."""
    body = '<path d="M5 5H45V45H5Z" fill="none" stroke="red"/><path d="M5 5L45 45M45 5L5 45" stroke="red"/>'
    runs = sewn(body)
    assert len(runs) == 2
    length = sum(shapely.LineString(run.path).length for run in runs if isinstance(run, Line))
    assert length == pytest.approx(4 * 40 + 2 * 40 * math.sqrt(2), rel=1e-6)


@pytest.mark.parametrize(("layout", "share"), [("square", 1.0), ("hexagonal", 2 / math.sqrt(3))])
def test_motifs_are_as_many_as_their_lattice_has_nodes(layout: str, share: float) -> None:
    """A square lattice of step p has one node in p^2, a hexagonal one a node in p^2 sqrt(3) / 2."""
    art = Artwork(svg=drawn(LEAF), width=8, pitch=11, layout=layout)
    count = art.describe(shapely.box(-400, -400, 400, 400))
    assert count.motifs == pytest.approx(share * 800**2 / 11**2, rel=0.04)
    assert art.findings(FIELD) == ()


def test_whole_motifs_are_one_another_s_image_and_lie_inside() -> None:
    art = Artwork(svg=drawn(LEAF), width=12, pitch=15)
    elements = art.elements(TAB)
    colours = art.layers(TAB)
    assert [layer.colour for layer in colours] == ["#2f5d62", "#d9a441"]
    areas = [element for element in elements if isinstance(element, Area)]
    middles = np.array([element.polygon.centroid.coords[0] for element in areas])
    first = shapely.transform(areas[0].polygon, lambda xy: xy - middles[0])
    for element, middle in zip(areas, middles, strict=True):
        assert shapely.hausdorff_distance(shapely.transform(element.polygon, lambda xy: xy - middle), first) < 1e-6  # noqa: B023
        assert TAB.contains(element.polygon)
    gaps = np.hypot(*(middles[:, None] - middles[None]).transpose(2, 0, 1))
    np.fill_diagonal(gaps, np.inf)
    assert gaps.min() == pytest.approx(15)


def test_motifs_are_cut_or_fade_at_the_edge() -> None:
    whole, cut, fading = (Artwork(svg=drawn(LEAF), width=12, pitch=15, edge=edge) for edge in ("whole", "clip", "fade"))
    counts = [art.describe(TAB).motifs for art in (whole, cut, fading)]
    assert counts[1] > counts[0]
    assert counts[2] > counts[0]
    sizes = [np.ptp(e.polygon.exterior.xy[0]) for e in fading.elements(TAB) if isinstance(e, Area)]
    assert max(sizes) / min(sizes) > 1.3
    for art in (cut, fading):
        for element in art.elements(TAB):
            assert shapely.difference(geometry(element), TAB.buffer(1e-6)).length < 1e-4
    assert cut.findings(TAB) == ()  # what the edge cuts is meant


def test_a_shift_moves_the_motifs_and_one_lattice_step_changes_nothing() -> None:
    def middles(shift: tuple[float, float]) -> list[tuple[float, float]]:
        art = Artwork(svg=drawn(LEAF), width=8, pitch=14, layout="square", shift=shift)
        found = [e.polygon.centroid.coords[0] for e in art.elements(FIELD) if isinstance(e, Area)]
        return sorted((round(x, 4), round(y, 4)) for x, y in found)

    assert middles((0, 0)) == middles((14, -28))
    assert middles((0, 0)) != middles((3, 0))


def test_repeats_that_lie_over_one_another_are_a_finding_that_its_remedy_ends() -> None:
    art = Artwork(svg=drawn(LEAF), width=16, pitch=10)
    (finding,) = art.findings(FIELD, part="tab-front")
    assert (finding.level, finding.code, finding.part) == (Level.WARNING, "artwork-overlap", "tab-front")
    words = finding.remedy.split()
    assert words[:3] == ["Set", "pitch", "to"]
    assert Artwork(svg=drawn(LEAF), width=16, pitch=" ".join(words[3:5]).rstrip(",")).findings(FIELD) == ()


def test_a_drawing_of_many_colours_is_a_finding_that_its_remedies_end() -> None:
    body = "".join(f'<rect x="{8 * k}" y="5" width="7" height="20" fill="#00{k}0ff"/>' for k in range(7))
    (finding,) = Artwork(svg=drawn(body)).findings(SQUARE)
    assert (finding.level, finding.code, finding.measured, finding.limit) == (Level.NOTE, "artwork-many-colours", 7, 6)
    assert [one.code for one in Artwork(svg=drawn(body), colours="one").findings(SQUARE)] == ["artwork-one-thread"]
    assert Artwork(svg=drawn(body.replace("#0060ff", "#0050ff"))).findings(SQUARE) == ()


def test_many_colours_in_one_thread_are_said_and_drawn_colours_end_it() -> None:
    (finding,) = Artwork(svg=drawn(LEAF), colours="one").findings(SQUARE)
    assert (finding.code, finding.remedy) == ("artwork-one-thread", 'Set colours to "drawn" to sew each in its own.')
    assert Artwork(svg=drawn(LEAF), colours="drawn").findings(SQUARE) == ()


def test_a_line_is_sewn_after_the_areas_that_it_is_drawn_on() -> None:
    body = """<rect x="5" width="20" height="50" fill="red"/><rect x="30" width="20" height="50" fill="lime"/>
      <path d="M32 30H48" stroke="red" stroke-width=".5"/>"""
    layers = Artwork(svg=drawn(body)).layers(SQUARE)
    assert [layer.colour for layer in layers] == ["#00ff00", "#ff0000"]
    assert [len(layer.elements) for layer in layers] == [1, 2]
    # a line that only touches an area's edge may come before it
    beside = body.replace("M32 30H48", "M26 30H30")
    assert [layer.colour for layer in Artwork(svg=drawn(beside)).layers(SQUARE)] == ["#ff0000", "#00ff00"]


def test_colours_whose_lines_lie_on_one_another_s_areas_take_two_layers_each_at_most() -> None:
    body = """<rect x="5" width="20" height="50" fill="red"/><rect x="30" width="20" height="50" fill="lime"/>
      <path d="M32 30H48" stroke="red" stroke-width=".5"/><path d="M7 30H23" stroke="lime" stroke-width="3"/>"""
    layers = Artwork(svg=drawn(body)).layers(SQUARE)
    assert [layer.colour for layer in layers] == ["#ff0000", "#00ff00", "#ff0000", "#00ff00"]
    assert [type(layer.elements[0]) for layer in layers] == [Area, Area, Line, Column]
    # in one thread there is nothing to wait for
    alike = Artwork(svg=drawn(body)).layers(SQUARE, alike=lambda _: 0)
    assert [len(layer.elements) for layer in alike] == [4]
