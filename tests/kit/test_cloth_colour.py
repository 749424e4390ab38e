"""The cloth that the maker names is the cloth of the pictures, and of what the checks say of colours."""

import io
import json
from xml.etree import ElementTree as ET

import numpy as np
import pdfplumber
import pytest
from PIL import Image

from stitchcraft.design.sketches import casing, contrast
from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.family import Style
from stitchcraft.kit.make import kit_of
from stitchcraft.kit.papers import papers_of
from stitchcraft.kit.pictures import _hanging_tab, bag_png, preview_png, preview_svg
from stitchcraft.kit.replay import player_of
from stitchcraft.machine import stitch_lengths
from stitchcraft.paper import flow

SPEC = """
parts = ["tab", "corner"]
[bag]
width = 240
height = 200
[machine]
formats = ["exp"]
hoops = ["200x300"]
[material]
{cloth}
[style]
decoration = {{ kind = "crosshatch", pitch = 12 }}
"""


def kit(tmp_path, cloth):
    path = tmp_path / "bag.toml"
    path.write_text(SPEC.format(cloth=cloth), encoding="utf-8")
    return kit_of(path)


def lost(made):
    return {finding.part for finding in made.findings if finding.code == "colour-lost"}


def test_thread_lost_on_the_cloth_that_is_named_is_told_part_by_part(tmp_path):
    assert not lost(kit(tmp_path, ""))
    assert lost(kit(tmp_path, 'cloth = "#2f5d66"')) == {"tab-front", "corner-left", "corner-right"}
    # the accents are of another cloth, on which their thread shows
    assert lost(kit(tmp_path, 'cloth = "#2f5d66"\naccent_cloth = "#f3eee2"')) == {"tab-front"}
    assert lost(kit(tmp_path, 'cloth = "#f3eee2"\naccent_cloth = "#2f5d66"')) == {"corner-left", "corner-right"}
    assert not lost(kit(tmp_path, 'cloth = "#f3eee2"'))


def test_the_pictures_are_of_the_cloth_that_is_named(tmp_path):
    made = kit(tmp_path, 'cloth = "#7a3344"\naccent_cloth = "#3f6a44"')
    for picture in (bag_png(made), preview_png(made)):
        colours = {colour for _, colour in Image.open(io.BytesIO(picture)).convert("RGB").getcolors(2**24)}
        assert {(0x7A, 0x33, 0x44), (0x3F, 0x6A, 0x44)} <= colours


def rectangles(svg):
    root = ET.fromstring(svg)
    return [one.get("fill") for one in root.iter("{http://www.w3.org/2000/svg}rect")]


def test_the_plan_of_each_part_lies_on_its_own_cloth(tmp_path):
    named = rectangles(preview_svg(kit(tmp_path, 'cloth = "#7a3344"\naccent_cloth = "#3f6a44"')))
    assert (named.count("#7a3344"), named.count("#3f6a44")) == (1, 2)
    assert not {"#7a3344", "#3f6a44"} & set(rectangles(preview_svg(kit(tmp_path, ""))))


def test_a_part_in_a_notebook_lies_on_its_own_cloth(tmp_path):
    made = kit(tmp_path, 'cloth = "#7a3344"\naccent_cloth = "#3f6a44"')
    assert "#3f6a44" in rectangles(made["corner-left"]._repr_svg_())
    assert "#7a3344" in rectangles(made["tab-front"]._repr_svg_())


def test_pale_thread_on_cloth_of_its_colour_keeps_an_edge(tmp_path):
    # the edge is drawn as a line below the thread's, in neither colour
    made = kit(tmp_path, 'cloth = "#22324a"\npalette = { accent = "#22324a" }')
    assert contrast("#22324a", "#22324a") == 1.0
    edge = casing("#22324a", "#22324a")
    assert edge is not None
    assert contrast(edge, "#22324a") >= 4.5  # WCAG 2.2, 1.4.3
    assert f'stroke="{edge}"' in preview_svg(made)


def test_the_page_shows_each_part_on_its_own_cloth(tmp_path):
    page = player_of(kit(tmp_path, 'cloth = "#7a3344"\naccent_cloth = "#3f6a44"'))
    parts = json.loads(page.split('type="application/json">')[1].split("</script>")[0])["parts"]
    cloths = {one["name"]: one["cloth"] for one in parts}
    assert cloths["Tab front"] == "#7a3344"
    assert cloths["Corner left"] == cloths["Corner right"] == "#3f6a44"
    assert '"cloth":null' in player_of(kit(tmp_path, ""))


def fills(pdf):
    with pdfplumber.open(io.BytesIO(pdf)) as pages:
        drawn = [shape for page in pages.pages for shape in (*page.curves, *page.rects) if shape["fill"]]
    return {tuple(round(255 * share) for share in one["non_stroking_color"]) for one in drawn}


def test_the_worksheet_shows_each_part_on_its_own_cloth(tmp_path):
    named = {(0x7A, 0x33, 0x44), (0x3F, 0x6A, 0x44)}
    made = kit(tmp_path, 'cloth = "#7a3344"\naccent_cloth = "#3f6a44"')
    assert named <= fills(papers_of(made)["worksheet.pdf"])
    assert not named & fills(papers_of(kit(tmp_path, ""))["worksheet.pdf"])


def test_a_cloth_that_is_no_colour_is_refused_with_its_key(tmp_path):
    with pytest.raises(SpecError, match=r"material\.cloth"):
        kit(tmp_path, 'cloth = "sand"')
    with pytest.raises(ParameterError, match=r"style\.cloth"):
        Style(cloth="sand")


def test_no_strand_of_the_hanging_tab_is_drawn_that_is_not_sewn(tmp_path):
    """What lies behind the bag is left out, and nothing leads across from where the thread goes there to its return."""
    made = kit(tmp_path, "")

    def strands(plan):
        lengths, points = stitch_lengths(plan), plan.needle_points
        ends = np.flatnonzero(lengths.sewn)
        return {(*points[end - 1], *points[end]) for end in ends}

    (hanging,) = _hanging_tab(made)
    shown, sewn = strands(hanging.plan), strands(made["tab-front"].plan)
    assert 100 < len(shown) < len(sewn)
    assert shown <= sewn
    fold = made.family.bag.root_depth_mm + made.family.bag.wall_mm
    assert max(max(strand[1], strand[3]) for strand in shown) <= -fold


def test_the_middle_lines_of_the_field_lie_on_the_cloth_and_not_under_it(tmp_path, monkeypatch):
    drawn = []
    monkeypatch.setattr(flow, "fill", lambda _canvas, _ring, colour: drawn.append(colour))
    stroke = flow.stroke
    monkeypatch.setattr(
        flow, "stroke", lambda *args, **kinds: (drawn.append(kinds.get("dash") and "dash"), stroke(*args, **kinds))
    )
    papers_of(kit(tmp_path, 'cloth = "#20304a"'))
    assert "#20304a" in drawn
    assert all(drawn[at + 1] == "dash" for at, what in enumerate(drawn) if what == "#20304a")
