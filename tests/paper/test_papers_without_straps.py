"""The papers of a bag without straps: materials, facts and steps leave straps out and nothing else."""

import pypdfium2
import pytest

from stitchcraft.bag import Bag
from stitchcraft.decoration import NoDecoration
from stitchcraft.family import Family, Style
from stitchcraft.kit.build import build_kit
from stitchcraft.kit.papers import sheet_of
from stitchcraft.machine import Machine
from stitchcraft.paper.assembly import assembly
from stitchcraft.paper.materials import fasteners
from stitchcraft.paper.worksheet import worksheet_pdf

SIZES = {"width": 240, "height": 160, "depth": 60}
CONNECTOR = {"layout": "medallion"}


def sheet_for(bag: Bag):
    family = Family(bag=bag, style=Style(decoration=NoDecoration()), connector=CONNECTOR)
    return sheet_of(build_kit(family, Machine(hoops=["130x180"], formats=["exp"])))


@pytest.fixture(scope="module")
def bare():
    return sheet_for(Bag(**SIZES, straps="none"))


@pytest.fixture(scope="module")
def strapped():
    return sheet_for(Bag(**SIZES))


def words_of(sheet) -> list[str]:
    return [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(worksheet_pdf(sheet))]


def test_materials_name_fastener_and_feet_and_no_strap(bare, strapped):
    assert [what for what, _, _ in fasteners(strapped)] == ["magnetic snap", "bag foot", "strap"]
    assert fasteners(bare) == fasteners(strapped)[:-1]


def test_steps_are_those_of_a_bag_with_straps_but_for_theirs(bare, strapped):
    def steps(sheet):
        return [step.title for step in assembly(sheet.family, frozenset(one.name for one in sheet.parts))]

    assert "Straps" in steps(strapped)
    assert steps(bare) == [title for title in steps(strapped) if title != "Straps"]


def test_no_page_says_strap_and_the_top_and_the_fasteners_are_named(bare, strapped):
    pages = words_of(bare)
    assert [number for number, text in enumerate(pages, start=1) if "strap" in text.casefold()] == []
    told = " ".join(" ".join(pages).split())
    assert "Top bound Closure" in told
    assert "Fasteners What How many" in told
    other = " ".join(" ".join(words_of(strapped)).split())
    assert "Top bound; straps 103.2 mm (4 1/16 in) apart, centre to centre Closure" in other
    assert "Fasteners and straps What How many" in other
