"""Pictures: true to scale, the right way up, in the right colours; checked by other libraries than draw them."""

import io
from xml.etree import ElementTree as ET

import numpy as np
import pytest
import shapely
import svgelements
from hypothesis import given, settings
from machine_plans import plan_of, plans, three_stops
from PIL import Image

from stitchcraft.defaults import thread_width
from stitchcraft.design import PlanStop, Purpose, StitchPlan, Thread
from stitchcraft.errors import ParameterError
from stitchcraft.machine import Hoop, Placement
from stitchcraft.view import BagPicture, Canvas, PlacedPlan, bag_picture, draw_thread, plan_svg, thread_picture

MM = {"ppi": 25.4}  # so that svgelements, which counts in pixels, counts in mm
CLOTH = "#e9e4da"
BLUE, RED = "#0060d0", "#d03000"


def pixels(png: bytes) -> np.ndarray:
    """A picture as numbers, (height, width, 3)."""
    return np.asarray(Image.open(io.BytesIO(png)).convert("RGB"), dtype=int)


def near(image: np.ndarray, colour: str, within: float) -> np.ndarray:
    wanted = [int(colour[k : k + 2], 16) for k in (1, 3, 5)]
    return np.linalg.norm(image - wanted, axis=2) <= within


def extent(mask: np.ndarray) -> tuple[int, int, int, int]:
    """Left, top, right, bottom of what is set, right and bottom past the last pixel."""
    rows, columns = np.flatnonzero(mask.any(axis=1)), np.flatnonzero(mask.any(axis=0))
    return int(columns[0]), int(rows[0]), int(columns[-1]) + 1, int(rows[-1]) + 1


def line(ends: list[tuple[float, float]], colour: str = BLUE, weight: float = 40) -> StitchPlan:
    """A part of one run."""
    plan = plan_of([[ends]])
    stops = (PlanStop(Purpose.DECORATE, Thread(colour, weight=weight)),)
    return StitchPlan("line", plan.xy, plan.kind, plan.stop, plan.role, plan.element, stops)


# ---- SVG -------------------------------------------------------------------------------------------------------------


def elements(text: str, kind: type) -> list:
    """All shapes of a kind, in mm from the page's upper left corner."""
    return [one for one in svgelements.SVG.parse(io.StringIO(text), **MM).elements() if isinstance(one, kind)]


def paths_of(text: str, number: int) -> list[svgelements.Path]:
    """The paths of a stop: its moves, dashed, then its stitches."""
    group = next(one for one in elements(text, svgelements.Group) if one.values.get("class") == f"stop-{number}")
    return [one for one in group if isinstance(one, svgelements.Path)]


def dashed(path: svgelements.Path) -> bool:
    return path.values.get("stroke-dasharray") is not None


def points_of(path: svgelements.Path) -> np.ndarray:
    """Where a path's pen goes, in order, without standing still."""
    points = np.array([(one.end.x, one.end.y) for one in path if one.end is not None])
    return points[np.append(True, np.hypot(*np.diff(points, axis=0).T) > 0.005)]


def corner(text: str) -> tuple[float, float]:
    """What the page's upper left corner is in the plan's mm, y up."""
    left, top, _, _ = (float(value) for value in ET.fromstring(text).get("viewBox").split())
    return left, -top


def test_svg_says_its_size_in_mm_and_a_unit_is_one_mm():
    plan = three_stops()
    left, _, right, _ = plan.bounds
    svg = svgelements.SVG.parse(io.StringIO(plan_svg(plan, margin=5)), **MM)
    assert (float(svg.width), float(svg.height)) == pytest.approx((svg.viewbox.width, svg.viewbox.height), abs=0.01)
    assert float(svg.width) >= right - left + 10 - 0.01


@pytest.mark.parametrize("placement", [None, Placement(90, (3, -7)), Placement(-31.7, (0.5, 0))])
def test_svg_sews_through_every_needle_point_in_order_true_to_scale(placement):
    plan = three_stops()
    text = plan_svg(plan, placement=placement)
    laid = plan.xy if placement is None else placement.placed(plan.xy)
    left, top = corner(text)
    for number in range(3):
        mine = laid[plan.is_stitch & (plan.stop == number)]
        drawn = points_of(next(path for path in paths_of(text, number + 1) if not dashed(path)))
        wanted = np.column_stack([mine[:, 0] - left, top - mine[:, 1]])
        assert drawn.shape == wanted.shape
        assert np.abs(drawn - wanted).max() < 0.011  # positions are written to 0.01 mm


def test_svg_dashes_the_moves_and_takes_each_threads_colour():
    plan = three_stops()
    text = plan_svg(plan)
    for number, stop in enumerate(plan.stops, 1):
        assert {path.stroke.hex for path in paths_of(text, number)} == {stop.thread.colour}
    (zigzag,) = (path for path in paths_of(text, 2) if dashed(path))
    # the last: from the first run's end at (-6, 0) to the second's beginning at (-20, 20), y down
    *_, last = zigzag.as_subpaths()
    start, *_, end = points_of(svgelements.Path(last))
    assert tuple(end - start) == pytest.approx((-14, -20), abs=0.02)


def test_svg_draws_the_field_around_its_centre():
    text = plan_svg(three_stops(), hoop=Hoop(130, 180), margin=2)
    left, top = corner(text)
    field = next(one for one in elements(text, svgelements.Rect) if one.width == pytest.approx(130, abs=0.01))
    assert field.height == pytest.approx(180, abs=0.01)
    assert (field.x + left, top - field.y) == pytest.approx((-65, 90), abs=0.01)


def test_svg_numbers_each_stop_where_it_begins():
    plan = three_stops()
    text = plan_svg(plan, margin=5)
    left, top = corner(text)
    circles = [(one.cx + left, top - one.cy) for one in elements(text, svgelements.Circle)]
    for number in range(3):
        assert circles[number] == pytest.approx(tuple(plan.points_of(number)[0]), abs=0.02)
    assert [one.text for one in elements(text, svgelements.Text)][:3] == ["1", "2", "3"]


def test_svg_marks_every_penetration_when_asked():
    plan = three_stops()
    text = plan_svg(plan, needle_points=True)
    dots = sum(paths_of(text, number)[-1].d().count("M") for number in (1, 2, 3))
    assert dots == plan.stitches


@pytest.mark.parametrize(
    "name", ["a\x00b\x08", "<script>alert(1)</script>", 'x" onload="y', "a & b", "\ud800", "\ufffe", "tab\u202e"]
)
def test_svg_shows_any_name_as_text(name):
    plain, plan = plan_svg(three_stops()), three_stops()
    stops = tuple(PlanStop(stop.purpose, Thread(stop.thread.colour, name), name) for stop in plan.stops)
    text = plan_svg(StitchPlan(name, plan.xy, plan.kind, plan.stop, plan.role, plan.element, stops))
    root = ET.fromstring(text.encode())  # a lone surrogate or a control character would end it here
    assert [one.tag for one in root.iter()] == [one.tag for one in ET.fromstring(plain).iter()]
    assert [sorted(one.attrib) for one in root.iter()] == [sorted(one.attrib) for one in ET.fromstring(plain).iter()]
    title = root[0].text
    assert title.endswith(": 86 stitches, 3 stops")
    assert all(sign in title for sign in name if sign.isprintable() and sign != "\ufffe")


@settings(max_examples=20)
@given(plan=plans())
def test_svg_of_any_plan_reads_back_and_is_the_same_twice(plan):
    text = plan_svg(plan)
    assert text == plan_svg(plan)
    groups = [one.get("class") for one in ET.fromstring(text) if one.get("class")]
    assert groups[: len(plan.stops)] == [f"stop-{number + 1}" for number in range(len(plan.stops))]


# ---- canvas ----------------------------------------------------------------------------------------------------------


def test_canvas_puts_mm_where_they_belong_y_up():
    canvas = Canvas((-10, -20, 30, 5), pixels_per_mm=6)
    assert (canvas.width, canvas.height) == (240, 150)
    canvas.dots([(20, 0)], RED, diameter=2)
    image = pixels(canvas.png())
    rows, columns = np.nonzero(near(image, RED, 10))
    assert (columns.mean() + 0.5) / 6 - 10 == pytest.approx(20, abs=0.1)
    assert 5 - (rows.mean() + 0.5) / 6 == pytest.approx(0, abs=0.1)
    # the library draws a disc half a pixel of the large picture wider all round: 1/36 mm
    assert (255 - image[:, :, 2]).sum() / 255 == pytest.approx(np.pi * (1 + 1 / 36) ** 2 * 36, rel=0.02)


def test_canvas_fills_the_area_of_a_polygon():
    canvas = Canvas((0, 0, 40, 30), pixels_per_mm=5)
    canvas.polygon([(5, 5), (25, 5), (25, 20), (15, 20), (15, 12), (5, 12)], "#000000")
    black = (255 - pixels(canvas.png())[:, :, 0]).sum() / 255 / 25
    assert black == pytest.approx(20 * 7 + 10 * 8, rel=0.02)


def test_canvas_line_is_as_wide_as_it_says():
    canvas = Canvas((0, 0, 20, 10), pixels_per_mm=10)
    canvas.line([(2, 5), (18, 5)], "#000000", width=1.2)
    profile = (255 - pixels(canvas.png())[:, 100, 0]).sum() / 255 / 10
    assert profile == pytest.approx(1.2, abs=0.05)


def test_canvas_writes_letters_about_as_high_as_asked():
    canvas = Canvas((0, 0, 40, 20), pixels_per_mm=10)
    canvas.text((20, 10), "HEIH", "#000000", height=5)
    left, top, right, bottom = extent(pixels(canvas.png())[:, :, 0] < 128)
    assert (bottom - top) / 10 == pytest.approx(5, rel=0.15)
    assert (left + right) / 20 == pytest.approx(20, abs=0.5)
    assert (top + bottom) / 20 == pytest.approx(10, abs=0.5)


def test_canvas_refuses_a_picture_too_large_to_draw():
    with pytest.raises(ParameterError, match="pixels_per_mm"):
        Canvas((0, 0, 5000, 5000), pixels_per_mm=10)


# ---- thread ----------------------------------------------------------------------------------------------------------


def test_thread_picture_has_the_size_of_the_stitching_and_its_margin():
    image = pixels(thread_picture(line([(0, 0), (30, 12)]), pixels_per_mm=10, margin=4))
    assert image.shape[:2] == (200, 380)


@pytest.mark.parametrize(("weight", "wide"), [(40, 0.40), (60, 0.32), (12, 0.70)])
def test_thread_is_as_wide_as_its_weight_covers(weight, wide):
    image = pixels(thread_picture(line([(0, 0), (3, 0), (6, 0)], weight=weight), pixels_per_mm=20, margin=2))
    column = near(image, CLOTH, 30)[:, 100]
    # a shadow a quarter wider than the thread edges it
    assert (~column).sum() / 20 == pytest.approx(1.25 * wide, abs=0.1)


def test_thread_of_a_weight_between_follows_the_root_of_its_fineness():
    # the area of the cross-section goes with 1 / weight
    assert thread_width(50) / thread_width(40) == pytest.approx((40 / 50) ** 0.5)
    assert thread_width(60) < thread_width(50) < thread_width(40)


def test_stitches_are_drawn_in_the_threads_colour_and_moves_are_not():
    plan = plan_of([[[(0, 0), (4, 0)], [(16, 0), (20, 0)]]], colours=[BLUE])
    image = pixels(thread_picture(plan, pixels_per_mm=10, margin=2))
    blue = image[:, :, 2] - image[:, :, 0] > 60
    columns = np.flatnonzero(blue.any(axis=0)) / 10 - 2
    assert columns.min() == pytest.approx(0, abs=0.3)
    assert columns.max() == pytest.approx(20, abs=0.3)
    assert not ((columns > 4.4) & (columns < 15.6)).any()
    assert near(image[:, 70:150], CLOTH, 0).all()


def test_thread_that_lies_across_the_light_shines_more():
    def brightness(angle: float) -> float:
        end = (5 * np.cos(np.radians(angle)), 5 * np.sin(np.radians(angle)))
        image = pixels(thread_picture(line([(0, 0), end]), cloth="#000000", pixels_per_mm=20, margin=1))
        return float(image.sum())

    along, between, across = brightness(60), brightness(105), brightness(150)
    assert along < between < across


def test_later_stitches_lie_over_earlier_ones():
    plan = plan_of([[[(0, -5), (0, 5)]], [[(-5, 0), (5, 0)]]], colours=[BLUE, RED])
    image = pixels(thread_picture(plan, pixels_per_mm=20, margin=1))
    middle = image[119:122, 119:122].reshape(-1, 3).mean(axis=0)
    assert middle[0] > middle[2]


def test_only_the_stops_asked_for_are_drawn():
    plan = plan_of([[[(0, 0), (10, 0)]], [[(0, 5), (10, 5)]]], colours=[BLUE, RED])
    canvas = Canvas((-2, -2, 12, 7), pixels_per_mm=10, ground=CLOTH)
    draw_thread(canvas, plan, last=0)
    image = pixels(canvas.png())
    assert (image[:, :, 2] - image[:, :, 0] > 60).any()
    assert not (image[:, :, 0] - image[:, :, 2] > 60).any()


def test_thread_picture_follows_the_placement():
    plan = line([(0, 0), (10, 0), (10, 4)])
    turned = pixels(thread_picture(plan, placement=Placement(90), pixels_per_mm=10))
    plain = pixels(thread_picture(plan, pixels_per_mm=10))
    assert turned.shape[:2] == plain.shape[1::-1]
    # a quarter turn to the left, seen with y up; the sheen differs, the places do not
    cover = np.rot90(near(plain, CLOTH, 25)), near(turned, CLOTH, 25)
    assert (cover[0] == cover[1]).mean() > 0.99


def test_same_plan_gives_the_same_picture():
    assert thread_picture(three_stops()) == thread_picture(three_stops())


# ---- bag -------------------------------------------------------------------------------------------------------------

BAG = BagPicture(width_mm=300, height_mm=240, notch_mm=40, binding_mm=6, straps_mm=(70, 25), landing_mm=60)
# what the picture shows around the panels: a gap of 0.14 and a strap of 0.42 of the width, by hand 42 and 126 mm; above
# the straps, or above the top edge of a bag without, 0.4 of the gap
LEFT, TOP, WIDE = -192.0, 142.8, 726.0
BARE_TOP = 16.8


def bag_pixels(bag: BagPicture, width: int = 1452) -> tuple[np.ndarray, float]:
    image = np.asarray(bag_picture(bag, width_px=width), dtype=int)
    return image, image.shape[1] / WIDE


def test_bag_panels_have_their_size_less_the_notches():
    image, scale = bag_pixels(BagPicture(width_mm=300, height_mm=240, notch_mm=40), width=2904)
    cloth = near(image, BAG.cloth, 12)[: round((BARE_TOP + 245) * scale)]  # above the words
    half = cloth.shape[1] // 2
    for panel in (cloth[:, :half], cloth[:, half:]):
        left, top, right, bottom = extent(panel)
        # an outline of 0.0025 of the width straddles the edge, and a pixel or two on either side is blended
        assert ((right - left) / scale, (bottom - top) / scale) == pytest.approx((299.25, 239.25), abs=1)
        assert panel.sum() / scale**2 == pytest.approx(300 * 240 - 2 * 40 * 40 - 0.375 * 1080, rel=0.01)


def test_bag_without_parts_is_its_own_mirror_image():
    image, scale = bag_pixels(BAG)
    low = round((TOP + 245) * scale)  # above the words
    front = image[:low, : image.shape[1] // 2]
    middle = -LEFT * scale
    width = int(min(middle, front.shape[1] - middle))
    right = front[:, round(middle) : round(middle) + width]
    left = front[:, round(middle) - width : round(middle)][:, ::-1]
    assert (np.abs(right - left).max(axis=2) > 40).mean() < 0.004


def test_bag_shows_binding_and_straps_in_the_trims_colour():
    image, scale = bag_pixels(BAG)

    def at(x: float, y: float) -> np.ndarray:
        return image[round((TOP - y) * scale), round((x - LEFT) * scale)]

    trim = [int(BAG.trim[k : k + 2], 16) for k in (1, 3, 5)]
    for x, y in ((0, -3), (140, -3), (70, -40), (-70, -40), (70, 20), (-70, 20)):
        assert np.abs(at(x, y) - trim).max() <= 3, (x, y)
    for x, y in ((0, -40), (70, -70), (100, -40)):
        assert np.abs(at(x, y) - trim).max() > 20, (x, y)


def test_bag_without_straps_has_nothing_above_its_top_edge_and_nothing_on_its_panels():
    bare = BagPicture(width_mm=300, height_mm=240, notch_mm=40, binding_mm=6)
    assert bare.bounds == pytest.approx((LEFT, -282, LEFT + WIDE, BARE_TOP))
    image, scale = bag_pixels(bare)
    # by hand: 16.8 mm less half the outline of 0.75 mm, and a pixel that is blended
    assert np.all(image[: int((BARE_TOP - 0.375) * scale) - 1] == 255)
    trim = near(image, bare.trim, 3)
    _, top, _, bottom = extent(trim)
    assert (BARE_TOP - top / scale, BARE_TOP - bottom / scale) == pytest.approx((0, -6), abs=1)  # its binding alone
    with_straps = np.asarray(bag_picture(BAG, width_px=1452), dtype=int)
    assert near(with_straps, BAG.trim, 3).sum() > 3 * trim.sum()


def test_part_sits_where_it_is_placed_and_on_no_other_panel():
    plan = line([(-4.0, 0.0), (4.0, 0.0), (4.0, 0.5), (-4.0, 0.5)])
    bag = BagPicture(width_mm=300, height_mm=240, parts=[PlacedPlan(plan, "front", (60.0, -150.0), 90.0)])
    image, scale = bag_pixels(bag)
    blue = image[:, :, 2] - image[:, :, 0] > 40
    left, top, right, bottom = extent(blue)
    assert ((left + right) / 2 / scale + LEFT, BARE_TOP - (top + bottom) / 2 / scale) == pytest.approx(
        (59.75, -150), abs=1
    )
    assert ((right - left) / scale, (bottom - top) / scale) == pytest.approx((1, 8.4), abs=0.8)


def test_stitching_past_the_seams_vanishes_and_a_tab_on_top_hangs_over_the_rest():
    below = line([(-160.0, 0.0), (160.0, 0.0), (160.0, 0.6), (-160.0, 0.6)])
    over = shapely.box(-20, -60, 20, 0)
    tab = PlacedPlan(
        line([(0.0, -10.0), (0.0, -50.0)], RED), "front", (0.0, -80.0), cloth=over, colour="#fff8e0", on_top=True
    )
    bag = BagPicture(width_mm=300, height_mm=240, parts=[tab, PlacedPlan(below, "front", (0.0, -100.0))])
    image, scale = bag_pixels(bag)
    blue, red = image[:, :, 2] - image[:, :, 0] > 40, image[:, :, 0] - image[:, :, 2] > 80
    left, _, right, _ = extent(blue)
    assert (left / scale + LEFT, right / scale + LEFT) == pytest.approx((-150, 150), abs=1.5)
    columns = np.flatnonzero(blue.any(axis=0)) / scale + LEFT
    assert not ((columns > -19) & (columns < 19)).any()
    _, top, _, bottom = extent(red)
    assert (BARE_TOP - top / scale, BARE_TOP - bottom / scale) == pytest.approx((-90, -130), abs=1)
