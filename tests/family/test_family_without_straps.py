"""A family for a bag without straps: a medallion or a mark carries the target, and nothing speaks of straps."""

from __future__ import annotations

import re
from dataclasses import replace

import numpy as np
import pytest
import shapely

from stitchcraft.bag import Bag, Straps
from stitchcraft.design import Stop
from stitchcraft.errors import Level, ParameterError, SpecError
from stitchcraft.family import Family, Style
from stitchcraft.family.decorated import decoration_counts
from stitchcraft.parts import TurnLock
from stitchcraft.spec import spec_from_text

POUCH = Bag(width=240, height=160, top="turned", straps="none")
PLAIN = Family(bag=POUCH, name="Sandpiper")


def family_of(text: str) -> Family:
    return Family.from_spec(spec_from_text('[bag]\nwidth = 240\nheight = 160\nstraps = "none"\n' + text))


def names_of(family: Family) -> list[str]:
    return [part.name for part in family.made()]


def is_mirror(one: shapely.Polygon, other: shapely.Polygon) -> bool:
    """Whether they are mirror images but for the corners of their polygons, a thousandth of the area."""
    mirror = shapely.transform(other, lambda xy: xy * [-1, 1])
    return bool(shapely.symmetric_difference(one, mirror).area < 1e-3 * one.area)


def box_of(stop: Stop) -> np.ndarray:
    """Left, bottom, right, top of all that a stop sews."""
    paths = [getattr(one, key) for one in stop.elements for key in ("path", "rail_a", "rail_b") if hasattr(one, key)]
    points = np.vstack(paths)
    return np.array([*points.min(axis=0), *points.max(axis=0)])


def test_left_alone_the_connector_is_a_medallion_about_the_target():
    assert names_of(PLAIN) == ["tab-back", "tab-front", "connector-front", "corner-left", "corner-right"]
    medallion = PLAIN.strap_connector
    assert (medallion.layout, medallion.outline, medallion.landings) == ("medallion", "oval", ())
    # two inches, as a connector has that the top edge leaves room for; by hand, the target lies 0.4 x 160 mm down
    assert (medallion.width_mm, medallion.height_mm) == (50.8, 50.8)
    (part,) = [part for part in PLAIN.made() if part.name == "connector-front"]
    assert [(place.panel, place.at_mm) for place in part.placements] == [("front", (0.0, -64.0))]
    assert part.cloth[0][0] == "medallion"


def test_a_low_pouch_has_a_medallion_as_high_as_the_top_edge_leaves_room_for():
    low = replace(PLAIN, bag=Bag(width=240, height=70, top="turned", straps="none"))
    # the target 0.4 x 70 = 28 mm down, the piece 4 mm clear of the edge: 2 x (28 - 4) mm high
    assert low.strap_connector.height_mm == 48
    assert [finding for finding in low.findings() if finding.code == "connector-off-panel"] == []


def test_naming_the_medallion_says_the_same():
    named = replace(PLAIN, connector={"layout": "medallion"})
    for one, other in zip(named.made(), PLAIN.made(), strict=True):
        assert one.design.name == other.design.name
        assert len(one.design.stops) == len(other.design.stops)
    assert named.strap_connector.shape.equals(PLAIN.strap_connector.shape)


@pytest.mark.parametrize("layout", ["bridge", "pair"])
def test_a_layout_that_holds_straps_is_refused_and_told_why(layout):
    with pytest.raises(ParameterError) as refused:
        Family(bag=POUCH, connector={"layout": layout})
    assert str(refused.value) == (
        f'connector.layout is {layout!r}; it needs to be "medallion", as bag.straps is "none": there are no strap '
        "ends to hold"
    )
    with pytest.raises(SpecError) as refused:
        family_of(f'[connector]\nlayout = "{layout}"')
    assert str(refused.value) == (
        f'spec.toml:6: connector.layout is "{layout}" and bag.straps is "none"; it needs to be "medallion", as there '
        "are no strap ends to hold"
    )


def test_which_strap_ends_to_hold_is_refused_too():
    with pytest.raises(SpecError, match=r'^spec\.toml:6: connector\.ends is "left" and bag\.straps is "none"; it '):
        family_of('[connector]\nends = "left"')
    assert family_of('[connector]\nends = "both"').strap_connector.layout == "medallion"


def test_options_of_a_medallion_are_taken():
    medallion = family_of('[connector]\nwidth = 80\nheight = 44\noutline = "scallop"\nsnap_right = 6').strap_connector
    assert (medallion.width_mm, medallion.height_mm, medallion.outline) == (80, 44, "scallop")
    # the target lies 6 mm right of the middle, which is the piece's origin: the piece reaches 46 mm left of it
    assert medallion.shape.bounds[::2] == pytest.approx((-46, 34), abs=0.01)
    other = family_of('[connector]\nwidth = 80\nheight = 44\noutline = "scallop"\nsnap_right = -6').strap_connector
    assert is_mirror(medallion.shape, other.shape)
    assert not is_mirror(medallion.shape, medallion.shape)


def test_left_and_right_of_the_kit_are_mirror_images():
    left, right = (next(p for p in PLAIN.made() if p.name == f"corner-{side}") for side in ("left", "right"))
    for one, other in zip(left.design.stops, right.design.stops, strict=True):
        assert np.allclose(box_of(one), box_of(other)[[2, 1, 0, 3]] * [-1, 1, -1, 1], atol=1e-6)
    assert is_mirror(PLAIN.strap_connector.shape, PLAIN.strap_connector.shape)


# -- findings -------------------------------------------------------------------------------------------


def test_a_tab_wider_than_straps_would_leave_room_for_is_no_matter():
    wide = {"tab": {"width": 120}}
    straps = Bag(width=240, height=160, top="turned")
    # the usual spacing, 0.43 x 240 = 103.2 mm, less a strap of 25.4 mm leaves 77.8 mm
    (found,) = [f for f in Family(bag=straps, **wide).findings() if f.code == "tab-over-straps"]
    assert (found.measured, found.limit) == (120, 77.8)
    assert "tab-over-straps" not in {f.code for f in Family(bag=POUCH, **wide).findings()}


def test_no_finding_of_a_bag_without_straps_speaks_of_straps():
    wild = (
        Family(bag=POUCH, corner={"width": 110, "height": 130}, connector={"width": 150}),  # one over the other
        Family(bag=Bag(width=50, height=120, straps="none"), tab={"width": 50, "fastener": TurnLock(width=46)}),
        Family(bag=Bag(width=240, height=160, straps="none"), connector={"width": 239}),
        Family(bag=Bag(width=240, height=46, straps="none"), drop=10),
        Family(bag=POUCH, parts=("tab", "connector", "snap-mark")),
    )
    codes = set()
    for family in wild:
        for finding in family.findings():
            codes.add(finding.code)
            assert "strap" not in f"{finding.message} {finding.remedy}", finding
    assert {"parts-overlap", "connector-off-panel", "part-missing"} <= codes


def test_a_medallion_too_wide_for_its_bag_names_a_remedy_that_helps():
    family = Family(bag=Bag(width=240, height=160, straps="none"), connector={"width": 239})
    (found,) = [f for f in family.findings() if f.code == "connector-off-panel"]
    # 240 mm less a cover stitch of 3.5 mm, rounded down
    most = float(re.search(r"at most ([\d.]+) mm", found.remedy)[1])
    assert 236.3 < most <= 236.5
    mended = replace(family, connector={"width": most})
    assert [f for f in mended.findings() if f.level is Level.ERROR] == []
    narrow = Family(bag=Bag(width=50, height=120, straps="none"), tab={"width": 50, "fastener": TurnLock(width=46)})
    assert "The bag is too narrow for a connector: leave it out (parts), or make the bag wider." in {
        f.remedy for f in narrow.findings()
    }
    without = replace(narrow, parts=("tab", "corner"))
    assert "connector-off-panel" not in {f.code for f in without.findings()}


def test_a_mark_carries_the_target_where_it_is_asked_for_without_connectors():
    marked = Family(bag=POUCH, parts=("tab", "snap-mark"))
    assert names_of(marked) == ["tab-back", "tab-front", "snap-mark"]
    assert [part.placements[0].at_mm for part in marked.made() if part.placements] == [(0.0, -64.0)]
    assert "part-missing" not in {f.code for f in marked.findings()}
    both = Family(bag=POUCH, parts=("tab", "connector", "snap-mark"))
    assert names_of(both) == ["tab-back", "tab-front", "connector-front"]
    (found,) = [f for f in both.findings() if f.code == "part-missing"]
    assert found.remedy.startswith("A snap mark needs parts without connector")
    # with straps it goes by the layout alone, as ever
    straps = Bag(width=240, height=160, top="turned")
    assert "snap-mark" not in names_of(Family(bag=straps, parts=("tab", "snap-mark")))


def test_decoration_of_the_medallion_is_counted_and_no_strap_is_spared():
    assert decoration_counts(PLAIN)["connector-front"].motifs > 0


# -- variants -------------------------------------------------------------------------------------------


def test_variants_have_no_straps_either_and_their_medallion_stays():
    small, large = PLAIN.variants(sizes={"small": 0.8, "large": 1.5})
    for one, by in ((small, 0.8), (large, 1.5)):
        assert not one.bag.has_straps
        assert one.bag.width_mm == pytest.approx(240 * by)
        assert one.closure.drop_mm == pytest.approx(64 * by)
        assert one.strap_connector.layout == "medallion"
        assert one.strap_connector.width_mm == 50.8  # as large as its fastener
        assert names_of(one) == names_of(PLAIN)


def test_another_bag_says_whether_there_are_straps():
    bridge = Family(bag=Bag(width=240, height=160, top="turned"), connector={"height": 30, "width": 200})
    (bare,) = bridge.variants(sizes={"bare": POUCH})
    # the sizes of a bridge are not a medallion's
    assert (bare.strap_connector.layout, bare.strap_connector.width_mm) == ("medallion", 50.8)
    held = replace(PLAIN, connector={"width": 60, "outline": "oval"})
    (strapped,) = held.variants(sizes={"strapped": Bag(width=240, height=160, straps=Straps(spacing=120, width=20))})
    # past the straps by 8 mm each side
    assert (strapped.strap_connector.layout, strapped.strap_connector.width_mm) == ("bridge", 156)
    assert strapped.strap_connector.outline == "oval"
    named = Family(bag=Bag(width=240, height=160), connector={"layout": "pair"})
    with pytest.raises(ParameterError, match=r"connector\.layout is 'pair'"):
        named.variants(sizes={"bare": POUCH})


def test_style_and_palette_variants_keep_the_bag():
    restyled = replace(PLAIN, style=Style(profile="ogee"))
    assert np.array_equal(
        np.asarray(restyled.strap_connector.shape.exterior.coords),
        np.asarray(PLAIN.strap_connector.shape.exterior.coords),
    )
