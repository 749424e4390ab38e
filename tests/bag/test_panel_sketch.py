"""A bag draws its front panel: cut lines, seams, snap, straps and feet where the maker finds them."""

import io
from xml.etree import ElementTree as ET

import pytest
import shapely
import svgelements

from stitchcraft.bag import Bag, Shaping, cut_list, solve_closure
from stitchcraft.units import lengths_said_in

SVG = "{http://www.w3.org/2000/svg}"
INCH = 25.4
TOTE = Bag(width="14 in", height="12 in", depth="4 in", shaping=Shaping(down="1 1/2 in", over="2 in"))


def polygon_of(path):
    """The area that an unrelated reader of SVG sees, y up."""
    subpath = svgelements.Path(path.get("d"))
    return shapely.Polygon([(p.x, -p.y) for segment in subpath for p in [segment.end] if p is not None])


def root_of(bag):
    return ET.fromstring(bag._repr_svg_())


def cut_panel(bag):
    """The largest filled shape is the panel as cut."""
    paths = [path for path in root_of(bag).iter(f"{SVG}path") if path.get("fill") != "none"]
    return max(map(polygon_of, paths), key=lambda polygon: polygon.area)


@pytest.mark.parametrize(
    "bag", [TOTE, Bag(width=240, height=150, top="turned"), Bag(width=300, height=260, depth=70, seam=10)], ids=repr
)
def test_the_panel_is_drawn_as_it_is_cut(bag):
    panel = cut_panel(bag)
    left, bottom, right, top = panel.bounds
    piece = cut_list(bag)[0]
    assert (right - left, top - bottom) == pytest.approx((piece.width_mm, piece.height_mm), abs=0.02)
    # both lower corners lose their square (cut list: half the depth a side)
    assert panel.area == pytest.approx(piece.width_mm * piece.height_mm - 2 * bag.corner_cut_mm**2, rel=1e-4)


def test_snap_shaping_snaps_and_feet_lie_where_the_bag_has_them():
    circles = [
        (float(c.get("cx")), -float(c.get("cy")), 2 * float(c.get("r"))) for c in root_of(TOTE).iter(f"{SVG}circle")
    ]
    snap, *others = circles
    assert snap == pytest.approx((0.0, -solve_closure(TOTE).drop_mm, 18.0), abs=0.01)
    places = {(x, y) for x, y, _ in others}
    # shaping snaps 2 in from the side seam, 1 1/2 in down; feet 20 mm in from both edges of the base
    foot = (5 * INCH - 20, -12 * INCH + (2 * INCH - 20))
    wanted = {(5 * INCH, -1.5 * INCH), (-5 * INCH, -1.5 * INCH), foot, (-foot[0], foot[1])}
    assert {(round(x, 1), round(y, 1)) for x, y in places} == {(round(x, 1), round(y, 1)) for x, y in wanted}


def test_sizes_are_in_inches_and_millimetres():
    with lengths_said_in("in"):
        words = {element.text for element in root_of(TOTE).iter(f"{SVG}text")}
    assert {"14 in (355.6 mm)", "12 in (304.8 mm)", "3 in (76.2 mm)", "6 in (152.4 mm)"} <= words


def test_a_flat_bag_shows_no_base():
    assert "base" not in Bag(width=240, height=150)._repr_svg_()


def test_a_wide_bag_is_shown_no_wider_than_a_page():
    root = root_of(Bag(width=900, height=300))
    assert float(root.get("width").removesuffix("mm")) == pytest.approx(180, abs=0.01)


@pytest.mark.parametrize(("width", "height"), [(40, 40), (40, 1500), (1500, 40)])
def test_the_smallest_and_the_longest_bags_have_a_picture(width, height):
    svgelements.SVG.parse(io.StringIO(Bag(width=width, height=height)._repr_svg_()))
