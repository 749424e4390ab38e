"""What `read_svg` makes of units, paint, style and all that a needle cannot follow."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely
from PIL import ImageColor

from stitchcraft.errors import ArtworkError
from stitchcraft.geometry.curves import FLATNESS_MM
from stitchcraft.geometry.svg_paths import Drawing, Shape, polygons_of_shape, read_svg

HEAD = '<svg xmlns="http://www.w3.org/2000/svg" width="100mm" height="80mm" viewBox="0 0 100 80">'
CASES = Path(__file__).parent / "svg_cases"
SAMPLES = Path(__file__).parents[2] / "samples" / "art"


def drawn(body: str) -> Drawing:
    return read_svg(HEAD + body + "</svg>")


def only(body: str) -> Shape:
    (shape,) = drawn(body).shapes
    return shape


def test_y_runs_up_from_the_top_left_corner_of_the_page() -> None:
    drawing = drawn('<rect x="10" y="15" width="30" height="20"/>')
    assert np.allclose(drawing.bounds, (10, -35, 40, -15))
    assert drawing.page == pytest.approx((100, 80))
    assert drawing.notes == ()


@pytest.mark.parametrize(
    ("stem", "box"),
    [
        ("units-none-at-96", (10, 15, 40, 35)),  # px
        ("units-mm", (37.795, 56.693, 151.181, 132.283)),
        ("units-in", (38.4, 57.6, 153.6, 134.4)),
        ("units-pt", (38.4, 57.6, 153.6, 134.4)),
        ("units-pc", (38.4, 57.6, 153.6, 134.4)),
        ("aspect-default-wide", (226.772, 56.693, 340.157, 132.283)),
        ("aspect-slice", (75.591, 113.386, 302.362, 264.567)),
    ],
)
def test_sizes_agree_with_the_browser_units_of_css(stem: str, box: tuple[float, float, float, float]) -> None:
    """96 px to the inch, 72 pt, 6 pc (CSS Values 4, section 6.2); boxes in px worked out by hand, down the page."""
    left, bottom, right, top = (value * 96 / 25.4 for value in read_svg(CASES / f"{stem}.svg").bounds)
    assert (left, -top, right, -bottom) == pytest.approx(box, abs=0.01)


def test_the_same_drawing_is_read_from_a_path_a_name_bytes_and_text() -> None:
    file = CASES / "path-arc-rotated.svg"
    drawings = [read_svg(source) for source in (file, str(file), file.read_bytes(), file.read_text())]
    for drawing in drawings[1:]:
        assert np.array_equal(drawing.shapes[0].subpaths[0], drawings[0].shapes[0].subpaths[0])
    assert [drawing.name for drawing in drawings] == [file.name, file.name, "drawing", "drawing"]


@pytest.mark.parametrize("radius", [0.5, 3.0, 20.0, 400.0])
def test_curves_stray_no_farther_than_the_flatness_allows(radius: float) -> None:
    text = f'<svg width="1000mm" height="1000mm" viewBox="0 0 1000 1000"><circle cx="500" cy="500" r="{radius}"/></svg>'
    (path,) = read_svg(text).shapes[0].subpaths
    spoke = np.hypot(*(path - (500, -500)).T)
    middles = np.hypot(*((path[:-1] + path[1:]) / 2 - (500, -500)).T)
    assert abs(spoke - radius).max() < 1e-6 * radius
    assert radius - middles.min() <= FLATNESS_MM
    assert radius - middles.min() > FLATNESS_MM / 20, "finer than it needs to be"


def test_a_small_icon_is_drawn_finely_enough_to_be_enlarged() -> None:
    (path,) = read_svg('<svg width="24" height="24"><circle cx="12" cy="12" r="11"/></svg>').shapes[0].subpaths
    radius = 11 * 25.4 / 96
    middles = np.hypot(*((path[:-1] + path[1:]) / 2 - (radius * 12 / 11, -radius * 12 / 11)).T)
    assert (radius - middles.min()) * 10 <= FLATNESS_MM


@pytest.mark.parametrize(
    ("paint", "colour"),
    [
        ("red", "#ff0000"), ("#0aF", "#00aaff"), ("#12345678", "#123456"), ("rgb(255, 0, 10)", "#ff000a"),
        ("rgb(100%,50%,0%)", "#ff8000"), ("rgba(1,2,3,.5)", "#010203"), ("hsl(120, 100%, 25%)", "#008000"),
        ("currentColor", "#000000"), ("none", None), ("transparent", None), ("#1230", None), ("rgb(9 9 9 / 0)", None),
        ("rebeccapurple", "#663399"), ("DarkSlateGray", "#2f4f4f"),
    ],
)  # fmt: skip
def test_colours_are_read_as_css_writes_them(paint: str, colour: str | None) -> None:
    """Expected values: CSS Color 4 (names, hex, rgb and hsl)."""
    shape = only(f'<rect width="9" height="9" fill="{paint}" stroke="#010101"/>')
    assert shape.fill == colour


def test_colour_functions_agree_with_pillow() -> None:
    for text in ("hsl(0,100%,50%)", "hsl(210,40%,60%)", "hsl(300,25%,25%)", "rgb(12,200,99)", "tomato", "teal"):
        red, green, blue = ImageColor.getrgb(text)[:3]
        fill = only(f'<rect width="9" height="9" fill="{text}"/>').fill
        assert fill is not None
        assert np.allclose([int(fill[i : i + 2], 16) for i in (1, 3, 5)], (red, green, blue), atol=1)


def test_style_is_inherited_and_the_stronger_rule_wins() -> None:
    body = """<style>rect { fill: #111111 } .a { fill: #222222; stroke: #0000ff } #top { fill: #333333 } g > b { x: y }
      @media print { rect { fill: red } }</style>
      <g stroke-width="2" fill="lime" color="#00ff00">
        <rect width="5" height="5" fill="#999999"/><rect class="b a" width="5" height="5"/>
        <rect id="top" class="a" width="5" height="5"/>
        <rect class="a" style="fill:#444444 !important; stroke-width: 1" width="5" height="5"/>
        <circle r="2" style="stroke:currentColor" cx="9" cy="9"/><path d="M0 0h5v5z" fill="inherit"/>
      </g>"""
    drawing = drawn(body)
    assert [shape.fill for shape in drawing.shapes] == [
        "#111111",
        "#222222",
        "#333333",
        "#444444",
        "#00ff00",
        "#00ff00",
    ]
    assert [shape.stroke for shape in drawing.shapes] == [None, "#0000ff", "#0000ff", "#0000ff", "#00ff00", None]
    assert [shape.stroke_width_mm for shape in drawing.shapes] == pytest.approx([0, 2, 2, 1, 2, 0])
    assert drawing.notes == (
        "style#1: style rule '@media' is not understood and passed over",
        "style#1: style rule 'g > b' is not understood and passed over",
    )


def test_a_line_scales_by_the_mean_of_an_uneven_scale_unless_it_is_told_not_to() -> None:
    line = '<line x2="9" y2="9" stroke="black" stroke-width="2" {} transform="scale(2 0.5)"/>'
    assert only(line.format("")).stroke_width_mm == pytest.approx(2.0)
    assert only(line.format("").replace("0.5", "8")).stroke_width_mm == pytest.approx(8.0)
    fixed = only(line.format('vector-effect="non-scaling-stroke"'))
    assert fixed.stroke_width_mm == pytest.approx(2 * 25.4 / 96)


NOT_A_LENGTH = (
    "stroke-width is 'var(--w)'; it needs to be a number with px, mm, cm, in, pt, pc, Q, em, ex, % or no unit"
)
BORROWED = '<radialGradient id="h" href="#g"/><linearGradient id="g"><stop style="stop-color:#123"/></linearGradient>'
NOTED = {
    "text": ("<text>Hi</text>", "text#1: text is left out; turn it into paths"),
    "image": ('<image href="data:,"/>', "image#1: a picture cannot be sewn and is left out; trace it first"),
    "foreign": ("<foreignObject/>", "foreignObject#1: foreign content is left out"),
    "script": ("<script>alert(1)</script>", "script#1: a script is never run"),
    "animation": ('<animate attributeName="x"/>', "animate#1: cannot move in thread; sewn as it stands"),
    "gradient": ('<linearGradient id="g"><stop stop-color="teal"/></linearGradient><path d="M1 1h5v5" fill="url(#g)"/>',
                 "path#1: a gradient cannot be sewn; sewn in one colour, #008080"),
    "borrowed-gradient": (BORROWED + '<path d="M1 1h5v5z" fill="url(\'#h\')"/>',
                          "path#1: a gradient cannot be sewn; sewn in one colour, #112233"),
    "pattern": ('<pattern id="p"/><path d="M1 1h5v5z" fill="url(#p) red"/>',
                "path#1: a pattern cannot be sewn; sewn plainly in #ff0000"),
    "lost-paint": ('<path d="M1 1h5v5z" fill="url(#p)" stroke="red"/>',
                   "path#1: paint '#p' cannot be sewn; left unpainted"),
    "filter": ('<rect width="9" height="9" filter="url(#f)"/>',
               "rect#2: its filter is passed over; the shape is sewn whole"),
    "mask": ('<rect width="9" height="9" mask="url(#m)"/>', "rect#2: its mask is passed over; the shape is sewn whole"),
    "clip": ('<g clip-path="url(#c)"/>', "g#1: its clip path is passed over; the shape is sewn whole"),
    "hairline": ('<line x2="9" y2="9" stroke="red" stroke-width=".05"/>',
                 "line#1: is a hairline of 0.05 mm; no stitch is finer than its thread, about 0.4 mm"),
    "dashes": ('<line x2="9" y2="9" stroke="red" stroke-dasharray="1 2"/>',
               "line#1: its dashes are sewn as one whole line"),
    "markers": ('<line x2="9" y2="9" stroke="red" marker-end="url(#k)"/>', "line#1: its markers are left out"),
    "see-through": ('<rect width="9" height="9" opacity=".5"/>',
                    "rect#2: is partly see-through, which thread is not; it is sewn solid"),
    "invisible": ('<rect width="9" height="9" opacity="0"/>', "rect#2: is wholly see-through and left out"),
    "unpainted": ('<rect width="9" height="9" fill="none"/>', "rect#2: has neither fill nor line; left out"),
    "no-size": ('<rect width="0" height="9"/>', "rect#2: draws nothing and is left out"),
    "hidden": ('<g display="none"/><rect width="9" height="9" visibility="hidden"/>',
               "g#1, rect#2: is hidden and left out"),
    "off-the-page": ('<rect x="95" width="9" height="9"/>', "rect#2: reaches past the page and is sewn all the same"),
    "lost-use": ('<use href="#gone"/>', "use#1: refers to '#gone', which the drawing does not hold"),
    "unknown-element": ("<flowRoot/>", "flowRoot#1: is an unknown kind of element and is left out"),
    "bad-colour": ('<rect width="9" height="9" fill="puce-ish"/>',
                   "rect#2: fill is not understood and passed over ('puce-ish' is not a colour)"),
    "bad-width": ('<line x2="9" y2="9" stroke="red" stroke-width="var(--w)"/>',
                  f"line#1: stroke-width is not understood and passed over ({NOT_A_LENGTH})"),
    "many": ("<text/>" * 5, "text#1, text#2, text#3 and 2 more: text is left out; turn it into paths"),
}  # fmt: skip


@pytest.mark.parametrize("case", NOTED)
def test_whatever_cannot_be_sewn_is_noted(case: str) -> None:
    body, note = NOTED[case]
    assert drawn('<rect id="" width="20" height="20"/>' + body).notes == (note,)


NO_SIZE = "svg#1: states no size; taken at 96 units to the inch"


def test_a_page_without_a_size_is_noted() -> None:
    assert read_svg(CASES / "units-no-size-viewbox.svg").notes == (
        "svg#1: states no size; taken at 96 units to the inch",
    )


@pytest.mark.parametrize(
    ("case", "size"),
    [
        ('width="50mm" viewBox="0 0 100 80"', (50, 40)),
        ('height="50mm" viewBox="0 0 100 80"', (62.5, 50)),
        ('width="50mm"', (50, 150 * 25.4 / 96)),
    ],
)
def test_a_missing_width_or_height_follows_from_the_viewbox(case: str, size: tuple[float, float]) -> None:
    assert read_svg(f'<svg {case}><rect width="9" height="9"/></svg>').page == pytest.approx(size)


def test_transform_origin_takes_words_and_percentages() -> None:
    turned = '<rect x="60" y="30" width="20" height="10" transform="rotate(90)" style="transform-origin:{}"/>'
    for words, box in (
        ("center", (50, -70, 60, -50)),
        ("50% 50%", (50, -70, 60, -50)),
        ("right bottom", (140, -60, 150, -40)),
        ("top left", (-40, -80, -30, -60)),
    ):
        assert np.allclose(drawn(turned.format(words)).bounds, box), words


def test_what_cannot_be_placed_truly_is_refused() -> None:
    for style in ("transform-box: fill-box", "rotate: 45deg", "transform: translate(50%, 0)", "transform: rotate3d(1)"):
        with pytest.raises(ArtworkError, match=r"drawing: rect#1: "):
            drawn(f'<rect width="9" height="9" style="{style}"/>')


def test_rounded_rectangles_and_ellipses_have_the_areas_of_their_formulas() -> None:
    """Areas w h - (4 - pi) rx ry and pi a b; the chords lie inside by at most the flatness."""
    rounded = polygons_of_shape(only('<rect x="10" y="10" width="40" height="25" rx="8" ry="4"/>'))
    assert rounded.area == pytest.approx(1000 - (4 - math.pi) * 32, rel=1e-3)
    assert polygons_of_shape(only('<ellipse cx="50" cy="40" rx="30" ry="7"/>')).area == pytest.approx(
        math.pi * 210, rel=3e-3
    )


@pytest.mark.parametrize(
    ("d", "rule", "area"),
    [
        ("M0 0h30v30h-30z M10 10h10v10h-10z", "nonzero", 900),  # both run the same way
        ("M0 0h30v30h-30z M10 10h10v10h-10z", "evenodd", 800),
        ("M0 0h30v30h-30z M10 10v10h10v-10z", "nonzero", 800),  # the hole runs against its shell
        ("M0 0h20v20h-20z M10 10h20v20h-20z", "nonzero", 700),
        ("M0 0h20v20h-20z M10 10h20v20h-20z", "evenodd", 600),
        ("M0 0L20 20V0L0 20z", "nonzero", 200),  # a bow tie
        ("M0 0L20 20V0L0 20z", "evenodd", 200),
        ("M0 0H20V20H0V0H20V20H0Z", "nonzero", 400),  # twice round
        ("M0 0H20V20H0V0H20V20H0Z", "evenodd", 0),
        ("M0 0H20V20", "nonzero", 200),  # open: closed by a straight line
        ("M0 0H20", "nonzero", 0),
    ],
)
def test_the_fill_rule_decides_what_is_inside(d: str, rule: str, area: float) -> None:
    """Areas by hand from SVG 2, section 13.4."""
    polygons = polygons_of_shape(only(f'<path d="{d}" fill-rule="{rule}" stroke="red"/>'))
    assert polygons.is_valid
    assert polygons.area == pytest.approx(area, abs=1e-9)


def test_a_pentagram_has_its_heart_only_by_the_nonzero_rule() -> None:
    """The corners of the inner pentagon lie on a circle of R / phi^2, with phi the golden ratio."""
    points = " ".join(f"{50 + 30 * math.sin(a):.9f},{40 - 30 * math.cos(a):.9f}" for a in 0.8 * math.pi * np.arange(5))
    star = [
        polygons_of_shape(only(f'<polygon points="{points}" fill-rule="{rule}"/>')) for rule in ("nonzero", "evenodd")
    ]
    golden = (1 + math.sqrt(5)) / 2
    heart = 2.5 * (30 / golden**2) ** 2 * math.sin(2 * math.pi / 5)
    assert star[0].area - star[1].area == pytest.approx(heart, rel=1e-6)
    assert len(star[1].geoms) == 5


def test_every_line_drawn_is_read_only_and_closed_to_the_last_bit() -> None:
    for file in sorted(CASES.glob("*.svg")):
        for shape in read_svg(file).shapes:
            for path, closed in zip(shape.subpaths, shape.closed, strict=True):
                assert not path.flags.writeable
                assert not closed or np.array_equal(path[0], path[-1])
                assert (np.hypot(*np.diff(path, axis=0).T) > 0).all()


def test_arcs_are_what_the_path_library_says_they_are() -> None:
    """Points of the same arcs by svgpathtools' own evaluation."""
    from svgpathtools import parse_path

    text = "M20 40a15 10 30 1150-5 A9 26 -35 0 1 20 40"
    ours = shapely.LineString(only(f'<path d="{text}"/>').subpaths[0])
    plain = parse_path("M20 40 a15 10 30 1 1 50 -5 A9 26 -35 0 1 20 40")
    points = [segment.point(t) for segment in plain for t in np.linspace(0, 1, 50)]
    assert shapely.distance(shapely.points([(point.real, -point.imag) for point in points]), ours).max() < FLATNESS_MM


def test_the_samples_hold_nothing_that_cannot_be_sewn() -> None:
    files = sorted(SAMPLES.glob("*.svg"))
    assert len(files) >= 4
    assert [(file.name, read_svg(file).notes) for file in files] == [(file.name, ()) for file in files]
