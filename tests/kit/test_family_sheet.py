"""A contact sheet shows every family at one scale, on its bag and part by part."""

from __future__ import annotations

import io

import numpy as np
import pytest
import svgelements
from PIL import Image

from stitchcraft.bag import Bag
from stitchcraft.decoration import Crosshatch, Echo, NoDecoration
from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.family import Family, Style
from stitchcraft.kit.contact_sheet import contact_sheet
from stitchcraft.parts import Button, Palette

SMALL = Family(
    bag=Bag(width=180, height=140),
    style=Style(decoration=Crosshatch(pitch=14)),
    tab={"width": 44, "decoration": Echo(lines=1)},
    name="Reed & wren",
)
SIZES, PALETTES = {"one": 1, "large": 1.4}, {"sea": Palette(accent="#1040c0"), "dune": Palette(accent="#c04010")}


@pytest.fixture(scope="module")
def variants():
    return SMALL.variants(sizes=SIZES, palettes=PALETTES)


def test_a_sheet_in_svg_is_true_to_scale_and_names_everything(variants, tmp_path):
    contact_sheet(variants, tmp_path / "sheet.svg")
    drawing = svgelements.SVG.parse(tmp_path / "sheet.svg", ppi=25.4)  # one user unit is one millimetre
    words = [element.text for element in drawing.elements() if isinstance(element, svgelements.Text)]
    titles = [line for line in words if line.startswith("Reed & wren")]
    assert [title.split(":")[0] for title in titles] == [
        f"Reed & wren, {size}, {tone}" for size in SIZES for tone in PALETTES
    ]
    assert "252 × 196 mm (9 15/16 × 7 11/16 in)" in titles[2]
    assert words.count("tab-front") == words.count("corner-left") == words.count("connector-front") == 4
    areas = [element.bbox() for element in drawing.elements() if isinstance(element, svgelements.Path)
             and element.fill.hex == "#e9e4da"]  # fmt: skip
    sizes = sorted((round(right - left, 1), round(bottom - top, 1)) for left, top, right, bottom in areas)
    assert sizes == [(180, 140), (180, 140), (252, 196), (252, 196)]
    threads = {element.stroke.hex for element in drawing.elements() if isinstance(element, svgelements.Path)}
    assert {"#1040c0", "#c04010"} <= threads


def test_nothing_of_a_part_shows_past_its_bag(tmp_path):
    contact_sheet(SMALL, tmp_path / "sheet.svg")
    drawing = svgelements.SVG.parse(tmp_path / "sheet.svg", ppi=25.4)
    panel = next(element.bbox() for element in drawing.elements() if isinstance(element, svgelements.Path)
                 and element.fill.hex == "#e9e4da")  # fmt: skip
    for element in drawing.elements():
        if isinstance(element, svgelements.Path):
            left, top, right, bottom = element.bbox()
            middle = (left + right) / 2
            if panel[0] < middle < panel[2] and (top + bottom) / 2 < panel[3]:
                assert left >= panel[0] - 0.01
                assert right <= panel[2] + 0.01
                assert bottom <= panel[3] + 0.01


def test_a_sheet_in_png_shows_the_threads_of_each_palette(variants, tmp_path):
    contact_sheet(variants[1:], tmp_path / "sheet.png")
    picture = np.asarray(Image.open(io.BytesIO((tmp_path / "sheet.png").read_bytes())).convert("RGB"), dtype=int)
    assert picture.shape[1] <= 1801
    third = picture.shape[0] // 3

    def rather(rows, strong, weak):
        return int((rows[:, :, strong] - rows[:, :, weak] > 60).sum())

    assert rather(picture[:third], 0, 2) > 5 * rather(picture[:third], 2, 0)  # dune alone, but for the cover stitch
    assert rather(picture[third : 2 * third], 2, 0) > 500  # sea


@pytest.mark.parametrize(("families", "name"), [([], "families"), ("tote", "families"), ([1], "families")])
def test_what_is_no_family_is_refused(families, name, tmp_path):
    with pytest.raises(ParameterError) as told:
        contact_sheet(families, tmp_path / "sheet.svg")
    assert told.value.name == name


def test_another_kind_of_picture_and_a_folder_that_is_not_there_are_refused(tmp_path):
    with pytest.raises(ParameterError, match=r"needs to be a file that ends in \.svg or \.png"):
        contact_sheet(SMALL, tmp_path / "sheet.pdf")
    with pytest.raises(SpecError, match="cannot be written"):
        contact_sheet(SMALL, tmp_path / "nowhere" / "sheet.svg")


def test_a_buttonhole_shows_on_the_tab_that_it_is_sewn_through(tmp_path):
    def buttonholes(**tab):
        family = Family(bag=SMALL.bag, tab={"width": 60, **tab}, style=Style(decoration=NoDecoration()), parts=("tab",))
        contact_sheet(family, tmp_path / "sheet.svg")
        drawing = svgelements.SVG.parse(tmp_path / "sheet.svg", ppi=25.4)
        return [one for one in drawing.elements() if isinstance(one, svgelements.Path) and one.stroke.hex == "#d9a441"]

    assert len(buttonholes(fastener=Button(diameter=15))) == 2  # on the bag, and by itself
    assert buttonholes() == []
