"""Parts suit the bag: what a bag of any size gets when the spec gives nothing but the bag."""

from __future__ import annotations

import itertools
import re

import pytest
import shapely

from stitchcraft.bag import Bag
from stitchcraft.checks import check
from stitchcraft.decoration import NoDecoration
from stitchcraft.defaults import BAG
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.family import Family, Style
from stitchcraft.parts import Snap
from stitchcraft.parts.profiles import PROFILES
from stitchcraft.parts.tips import TIPS
from stitchcraft.stitching import plan

PLAIN = NoDecoration()


def family_of(width: float, height: float, depth: float = 0.0, *, profile: str = "quarter", **options) -> Family:
    return Family(
        bag=Bag(width=width, height=height, depth=depth),
        style=Style(decoration=PLAIN, profile=profile),
        **options,
    )


def errors_of(family: Family) -> list[Finding]:
    family.made()
    return [finding for finding in family.findings() if finding.level is Level.ERROR]


@pytest.mark.parametrize("share", [0.0, 0.2, 0.4])
@pytest.mark.parametrize("layout", ["bridge", "pair"])
def test_bags_from_120_to_500_mm_get_parts_without_an_error(share, layout):
    for width, height in itertools.product((120, 180, 260, 360, 500), repeat=2):
        depth = share * min(width, height)
        assert errors_of(family_of(width, height, depth, connector={"layout": layout})) == []


@pytest.mark.parametrize("share", [0.0, 0.3, 0.7, 0.95])
def test_bags_of_any_size_get_parts_or_are_told_what_to_do(share):
    for width, height in itertools.product((40, 60, 90, 600, 1500), (40, 60, 130, 600, 1500)):
        depth = min(share * min(width, 2 * height), 1000.0)
        if height - depth / 2 < BAG["standing_least"].value:
            with pytest.raises(ParameterError, match=r"bag\.depth"):
                family_of(width, height, depth)
            continue
        errors = errors_of(family_of(width, height, depth))
        assert all(finding.remedy for finding in errors)
        assert {finding.code for finding in errors} <= {"connector-off-panel", "fastener-high"}


@pytest.mark.parametrize("profile", PROFILES)
@pytest.mark.parametrize("depth", [0, 60, 120, 150, 200])
def test_usual_accent_reaches_past_the_base_and_clear_of_the_connector(profile, depth):
    family = family_of(320, 260, depth, profile=profile)
    if "corner" not in family.kinds:
        assert depth >= 120
        assert [one.code for one in family.findings()] == ["corner-left-out"]
        return
    accent, connector = family.corner_accent, family.strap_connector
    free = shapely.LineString(accent.free_edge)
    notch = shapely.box(0, 0, depth / 2, depth / 2)
    cover = accent.edge.half_mm
    assert free.distance(notch) > cover or depth == 0
    # both in the frame of the accent's corner: the connector hangs in the middle of the panel
    across = shapely.transform(connector.shape, lambda xy: xy + [160, 260 - family.closure.drop_mm])
    assert free.distance(across) > 2 * cover
    assert shapely.intersection(accent.shape, across).area == 0


def test_accent_without_room_is_left_out_and_said_and_one_that_is_asked_for_is_refused():
    found = [one for one in family_of(200, 300, 190).findings() if one.code == "corner-left-out"]
    assert [one.level for one in found] == [Level.WARNING]
    with pytest.raises(ParameterError, match="no room beside the boxed base"):
        family_of(200, 300, 190, parts=("corner",)).made()
    # following the remedy: naming the parts ends the warning
    assert [one.code for one in family_of(200, 300, 190, parts=("tab", "connector")).findings()] == []


def test_narrow_tab_takes_a_snap_whose_slits_lie_inside_it():
    snap = family_of(60, 200).closure_tab.snap
    assert snap.diameter_mm == 5
    for slit in snap.slits((0.0, 0.0)):
        assert max(abs(slit).max(axis=1)) < 2.5
    assert Snap().slits((0.0, 0.0))[0].tolist() == [[-5.0, -2.5], [-5.0, 2.5]]


@pytest.mark.parametrize(
    ("width", "height", "depth", "options"),
    [
        (300, 130, 0, {"drop": 12}),
        (300, 130, 0, {"drop": 120}),
        (300, 45, 0, {}),
        (300, 60, 30, {"connector": {"height": 50}}),
        (300, 200, 0, {"connector": {"width": 299}}),
        (300, 200, 0, {"connector": {"width": 260, "layout": "pair"}}),
    ],
)
def test_connector_off_the_panel_comes_back_by_following_the_remedy(width, height, depth, options):
    family = family_of(width, height, depth, **options)
    off = [one for one in errors_of(family) if one.code == "connector-off-panel"]
    assert off
    again = dict(options, connector=dict(options.get("connector", {})))
    for finding in off:
        lengths = [float(text) for text in re.findall(r"([\d.]+) mm", finding.remedy)]
        if "Set closure.drop from" in finding.remedy:
            again["drop"] = sum(lengths) / 2
        elif "Set connector.height" in finding.remedy:
            again["connector"]["height"], again["drop"] = lengths
        elif "Set connector.width" in finding.remedy:
            again["connector"]["width"] = lengths[0]
        else:
            assert "leave it out (parts)" in finding.remedy
            again["parts"] = ("tab",)
    assert not [one for one in errors_of(family_of(width, height, depth, **again)) if one.code == "connector-off-panel"]


def test_parts_that_lie_on_one_another_are_told_and_the_remedy_ends_it():
    family = family_of(300, 150, corner={"width": 130, "height": 130})
    found = [one for one in family.findings() if one.code == "parts-overlap"]
    assert [one.part for one in found] == ["corner-left"]
    # by hand: the connector hangs 0.4 * 150 mm down, half as high as is usual, and the straps give its width
    corner = shapely.transform(family.corner_accent.shape, lambda xy: xy - [150, 150])
    bridge = shapely.transform(family.strap_connector.shape, lambda xy: xy - [0, 60])
    assert found[0].measured == pytest.approx(corner.intersection(bridge).area, abs=0.1)
    smaller = family_of(300, 150, corner={"width": 60, "height": 60})
    assert not [one for one in smaller.findings() if one.code == "parts-overlap"]


def test_part_that_is_asked_for_and_cannot_be_made_is_told():
    found = family_of(300, 200, parts=("tab", "label", "shaping-marks", "snap-mark")).findings()
    assert [one.code for one in found] == ["part-missing"] * 3
    assert "label.text" in found[0].remedy
    assert "bag.shaping" in found[1].remedy
    assert 'connector.layout = "pair"' in found[2].remedy


def test_spec_of_which_no_part_can_be_made_is_refused():
    with pytest.raises(ParameterError, match=r"parts is .*a label needs label\.text; shaping marks need bag\.shaping"):
        family_of(300, 200, parts=("label", "shaping-marks")).made()


def test_bag_whose_base_leaves_no_height_is_refused_with_the_depth_that_would_do():
    with pytest.raises(ParameterError, match=r"bag\.depth is 118.*at most 80 mm"):
        Bag(width=300, height=60, depth=118)
    assert Bag(width=300, height=60, depth=80).standing_mm[2] == 20


@pytest.mark.parametrize("face", ["plain", "sans", "serif", "rounded", "hand"])
def test_letters_read_at_the_size_that_a_label_takes_by_itself(face):
    family = family_of(350, 300, label={"text": "Made at the pier", "face": face}, parts=("label",))
    assert "label-small" not in {finding.code for finding in family.findings()}
    small = family_of(350, 300, label={"text": "Made at the pier", "face": face, "width": 30}, parts=("label",))
    assert "label-small" in {finding.code for finding in small.findings()}


def test_a_label_that_reads_keeps_its_usual_width_and_one_that_cannot_stays_inside_the_bag():
    (plain,) = family_of(350, 300, label={"text": "Made at the pier"}, parts=("label",)).made()
    (long,) = family_of(120, 120, label={"text": "Made at the pier", "face": "serif"}, parts=("label",)).made()
    (left, _, right, _), (start, _, end, _) = (shapely.MultiLineString(
        [line.path for line in plain.design.stops[0].elements]).bounds, shapely.MultiPolygon(
        [area.polygon for area in long.design.stops[0].elements]).bounds)  # fmt: skip
    assert right - left == pytest.approx(60, abs=0.2)
    assert 60 < end - start < 120


@pytest.mark.parametrize("width", [50, 60, 76.2, 90, 120])
@pytest.mark.parametrize("tip", list(TIPS))
def test_no_tip_brings_the_snap_near_the_seam_by_itself(tip, width):
    family = family_of(400, 300, tab={"tip": tip, "width": width}, parts=("tab",), drop=120)
    assert "snap-near-seam" not in {finding.code for finding in family.findings()}
    assert family.closure_tab.snap.inset == family.closure.inset_mm


def test_letters_of_lines_are_sewn_once_where_holes_stay_and_are_not_too_dense_there():
    def label_of(fabric: str, **options) -> tuple[set[str], str]:
        family = Family(
            bag=Bag(width=350, height=300), style=Style(decoration=PLAIN, fabric=fabric), parts=("label",),
            label={"text": "Made at the pier", **options},
        )  # fmt: skip
        (part,) = family.made()
        codes = {finding.code for finding in check(plan(part.design, fabric=fabric), fabric=fabric)}
        return codes, type(part.design.stops[0].elements[0].stitch).__name__

    assert label_of("faux leather") == (set(), "Running")
    assert label_of("faux leather", stitch="triple") == ({"density"}, "Triple")
    assert label_of("quilting cotton") == (set(), "Triple")
    assert label_of("faux leather", face="sans", height=12) == (set(), "Satin")
