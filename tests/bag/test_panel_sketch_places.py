"""Where lines and sizes of a bag's panel lie in its picture: straps, binding, fold, and words that cover nothing."""

import math
from xml.etree import ElementTree as ET

import pytest
import shapely
import svgelements

from stitchcraft.bag import Bag, Shaping

SVG = "{http://www.w3.org/2000/svg}"
LETTER_WIDTH = 0.55  # of its size, in a sans serif: common practice, no source
TOTE = Bag(width="14 in", height="12 in", depth="4 in", shaping=Shaping(down="1 1/2 in", over="2 in"))
TURNED = Bag(width=240, height=150, top="turned", seam=10)
BAGS = pytest.mark.parametrize("bag", [TOTE, TURNED, Bag(width=500, height=200, depth=80)], ids=repr)


def root_of(bag):
    return ET.fromstring(bag._repr_svg_())


def strokes(bag, **wanted):
    """The strokes of each path with these attributes, each a list of (x, y), y up, as another reader sees them."""
    found = []
    for path in root_of(bag).iter(f"{SVG}path"):
        if all(
            (path.get(key) is not None) if value is ... else path.get(key) == value for key, value in wanted.items()
        ):
            parts = svgelements.Path(path.get("d")).as_subpaths()
            found.append([[(s.end.x, -s.end.y) for s in part if s.end is not None] for part in parts])
    return found


@BAGS
def test_the_strap_is_a_half_ring_of_its_own_width_over_the_top_edge(bag):
    # half of a ring of radii R and r is pi / 2 (R^2 - r^2), which is pi / 2 x width x 2 x mean radius
    (loop,) = [shapes[0] for shapes in strokes(bag, fill="#c9c0b1")]
    ring = shapely.Polygon(loop)
    assert ring.area == pytest.approx(math.pi / 2 * bag.strap_width_mm * bag.strap_spacing_mm, rel=2e-3)
    reach = (bag.strap_spacing_mm + bag.strap_width_mm) / 2
    top = bag.seam_mm if bag.top == "turned" else 0
    assert ring.bounds == pytest.approx((-reach, top, reach, top + reach), abs=0.02)


@BAGS
def test_ends_of_the_straps_run_from_the_top_edge_to_the_height_of_the_snap(bag):
    ends = [shape[0] for shape in strokes(bag) if len(shape) == 1 and len(shape[0]) == 4]
    drop = bag.usual_drop_mm
    wanted = []
    for middle in (-bag.strap_spacing_mm / 2, bag.strap_spacing_mm / 2):
        left, right = middle - bag.strap_width_mm / 2, middle + bag.strap_width_mm / 2
        wanted.append([left, 0, left, -drop, right, -drop, right, 0])
    flat = [[v for point in end for v in point] for end in ends]
    for one in wanted:
        assert any(one == pytest.approx(other, abs=0.01) for other in flat)


def test_a_binding_covers_the_top_edge_as_deep_as_its_stitch_line():
    def bands(bag):
        return [r for r in root_of(bag).iter(f"{SVG}rect") if r.get("fill") == "#c9c0b1"]

    (band,) = bands(TOTE)
    got = [float(band.get(key)) for key in ("x", "y", "width", "height")]
    assert got == pytest.approx([-(355.6 / 2 + 6.35), 0, 355.6 + 12.7, 6.35], abs=0.01)
    assert not bands(TURNED)


def test_the_fold_of_the_base_lies_half_its_depth_above_the_seam_between_the_corners():
    folds = [shape[0] for shape in strokes(TOTE, **{"stroke-dasharray": ...}) if len(shape[0]) == 2]
    assert folds == [[(-127.0, -254.0), (127.0, -254.0)]]  # 14 / 2 - 2 in; 12 - 2 in
    assert not [shape for shape in strokes(TURNED, **{"stroke-dasharray": ...}) if len(shape[0]) == 2]


def test_a_cross_marks_the_middle_of_each_snap():
    crosses = [shape for shape in strokes(TOTE, stroke="#2f5d62") if len(shape) == 2]
    assert len(crosses) == 3
    for across, up in crosses:
        assert shapely.LineString(across).centroid.distance(shapely.LineString(up).centroid) < 0.01
        assert shapely.LineString(across).length == pytest.approx(shapely.LineString(up).length, abs=0.02)
        assert across[0][1] == across[1][1]
        assert up[0][0] == up[1][0]


def words(bag):
    """Each size with the box that it takes up, y up."""
    for text in root_of(bag).iter(f"{SVG}text"):
        size = float(text.get("font-size"))
        half, x, y = len(text.text) * LETTER_WIDTH * size / 2, float(text.get("x")), -float(text.get("y"))
        wide, high = (half, size / 2) if text.get("transform") is None else (size / 2, half)
        yield text.text, shapely.box(x - wide, y - high, x + wide, y + high)


@BAGS
def test_sizes_stand_beside_their_lines_and_cover_neither_them_nor_one_another(bag):
    boxes = dict(words(bag))
    lines = [shapely.LineString(part) for shape in strokes(bag, stroke="#303030") for part in shape]
    for text, box in boxes.items():
        assert not any(line.intersects(box) for line in lines), text
        assert not any(box.intersects(other) for name, other in boxes.items() if name != text), text
        if "base" not in text:
            assert min(line.distance(box) for line in lines) < 0.02 * max(bag.width_mm, bag.height_mm), text


@BAGS
def test_lines_of_sizes_are_as_long_as_what_they_measure_and_end_in_bars(bag):
    sizes = [shape for shape in strokes(bag, stroke="#303030") if len(shape) == 3]
    measured = [shapely.LineString(line).length for line, *_ in sizes]
    wanted = [bag.width_mm, bag.height_mm, bag.usual_drop_mm, bag.strap_spacing_mm]
    assert measured == pytest.approx(wanted, abs=0.02)
    for line, *bars in sizes:
        for end, bar in zip(line, bars, strict=True):
            assert shapely.LineString(bar).centroid.distance(shapely.Point(end)) < 0.02


@BAGS
def test_outer_sizes_lie_clear_of_the_cut_panel_and_the_straps_inside_their_loop(bag):
    boxes = [box for _, box in words(bag)]
    across, upright, loop = boxes[0], boxes[1], boxes[-1]
    assert across.bounds[3] < -bag.height_mm - bag.seam_mm
    assert upright.bounds[0] > bag.width_mm / 2 + bag.seam_mm
    top = bag.seam_mm if bag.top == "turned" else 0
    assert loop.bounds[1] > top
    assert loop.bounds[3] < top + (bag.strap_spacing_mm - bag.strap_width_mm) / 2


@BAGS
def test_lines_are_fine_beside_the_panel_and_as_coarse_on_every_bag(bag):
    # between a tenth and three tenths of a hundredth of the larger side; dashes from 0.4 of it on
    unit = max(bag.width_mm, bag.height_mm) / 100
    widths = [
        float(element.get("stroke-width")) / unit for element in root_of(bag).iter() if element.get("stroke-width")
    ]
    assert min(widths) >= 0.09
    assert max(widths) <= 0.31
    dashes = [d for element in root_of(bag).iter() for d in (element.get("stroke-dasharray") or "").split()]
    assert all(0.35 <= float(d) / unit <= 1.05 for d in dashes)


def test_snaps_of_the_shaping_are_smaller_than_the_tabs_and_crosses_reach_past_their_rims():
    snap, *shaping = [float(c.get("r")) for c in root_of(TOTE).iter(f"{SVG}circle") if c.get("fill") == "#ffffff"]
    assert snap == 9.0  # 18 mm across
    assert shaping == pytest.approx([6.3, 6.3])  # seven tenths
    crosses = [shapely.LineString(shape[0]).length for shape in strokes(TOTE, stroke="#2f5d62") if len(shape) == 2]
    assert crosses == pytest.approx([1.3 * 18, 1.3 * 12.6, 1.3 * 12.6], abs=0.02)


@BAGS
def test_upright_words_are_turned_by_a_quarter_about_their_middle(bag):
    turns = [text for text in root_of(bag).iter(f"{SVG}text") if text.get("transform")]
    assert len(turns) == 2
    for text in turns:
        assert text.get("transform") == f"rotate(-90 {text.get('x')} {text.get('y')})"


@BAGS
def test_lines_of_outer_sizes_lie_as_far_from_the_seam_allowance_below_as_beside_it(bag):
    sizes = [shape[0] for shape in strokes(bag, stroke="#303030") if len(shape) == 3]
    below, beside = -bag.height_mm - bag.seam_mm - sizes[0][0][1], sizes[1][0][0] - bag.width_mm / 2 - bag.seam_mm
    assert below == pytest.approx(beside, abs=0.02)
    assert below == pytest.approx(0.06 * max(bag.width_mm, bag.height_mm), abs=0.02)
    assert [end[0] for end in sizes[0]] == pytest.approx([-bag.width_mm / 2, bag.width_mm / 2], abs=0.01)
    assert sorted(end[1] for end in sizes[1]) == pytest.approx([-bag.height_mm, 0], abs=0.01)
    assert sorted(end[1] for end in sizes[2]) == pytest.approx([-bag.usual_drop_mm, 0], abs=0.01)
