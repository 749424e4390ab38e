"""What the papers say of each fastener, read back from the PDF and the lists."""

from __future__ import annotations

import io
from dataclasses import dataclass
from typing import ClassVar

import pdfplumber
import pytest
import shapely

from stitchcraft.bag import Bag
from stitchcraft.family import Family
from stitchcraft.kit.build import build_kit
from stitchcraft.kit.make import machine_from
from stitchcraft.kit.papers import sheet_of
from stitchcraft.machine import Machine
from stitchcraft.paper import Sheet, worksheet_pdf
from stitchcraft.paper.materials import fasteners, for_bag
from stitchcraft.parts import Fastener
from stitchcraft.parts.fasteners.base import Setting, Supply, ring
from stitchcraft.spec import spec_from_text

BAG = """
parts = ["tab", "connector"]
[bag]
width = 300
height = 240
wall = 3
top = "turned"
[machine]
formats = ["dst"]
[style]
decoration = "none"
[closure]
drop = 70
[connector]
layout = "medallion"
[tab]
"""
FASTENERS = {
    "sew-in-snap": 'fastener = { kind = "sew-in-snap", diameter = 15, inset = 28 }',
    "turn-lock": 'fastener = "turn-lock"',
    "button": 'fastener = { kind = "button", diameter = 21, thickness = 4, inset = 31 }',
    "snap": 'fastener = "snap"',
}
SUPPLIES = {
    "sew-in-snap": ("sew-in snap", "15 mm (about 9/16 in) across, 4 holes"),
    "turn-lock": ("turn lock", "its hole 20 × 8 mm (13/16 × 5/16 in)"),
    # diameter and thickness make the cut: sewing handbooks (from memory)
    "button": ("button", "for a cut of 25 mm"),
    "snap": ("magnetic snap", "the thin half for the tab"),
}
SAID = {
    "sew-in-snap": ("Sew one half of the snap onto its target by hand", "4 marks for the holes of its rim", "Needles:"),
    "turn-lock": ("Cut nothing for the lock yet", "its oval hole and two slits", "through both halves", "Blades:"),
    "button": ("Lay the finished tab on its stitched outline", "The cut is 25 mm long", "nearer to the tip",
               "hangs 31 mm (1 1/4 in) beyond", "once, through the finished tab"),
    "snap": ("push the prongs of the thin half", "heat weakens the magnet", "Chisel:"),
}  # fmt: skip


@pytest.fixture(scope="module", params=FASTENERS)
def made(request) -> tuple[str, Sheet, str]:
    spec = spec_from_text(BAG + FASTENERS[request.param])
    sheet = sheet_of(build_kit(Family.from_spec(spec), machine_from(spec.machine)))
    with pdfplumber.open(io.BytesIO(worksheet_pdf(sheet))) as pdf:
        words = " ".join(" ".join(word["text"] for word in page.extract_words()) for page in pdf.pages)
    return request.param, sheet, words


def test_materials_name_it_with_its_sizes(made):
    kind, sheet, words = made
    what, note = SUPPLIES[kind]
    listed = {name: mind for name, _, mind in fasteners(sheet)}
    assert note in listed[what]
    assert what in words
    assert any(piece.material == "stiffener" and "backing" in piece.name for piece in for_bag(sheet))


def test_worksheet_says_how_each_half_is_set(made):
    kind, _, words = made
    flat = words.replace("about ", "")
    for said in SAID[kind]:
        # columns of the table break lines: its words need only come in this order
        at = 0
        for word in said.split():
            at = flat.find(word, at)
            assert at >= 0, (said, word)


def test_only_magnets_bring_the_caution_about_magnets(made):
    kind, _, words = made
    assert ("pacemakers" in words) == (kind in ("snap", "sew-in-snap"))
    assert "swallowed" in words


def test_straps_without_a_connector_of_their_own_are_sewn_to_the_panel(made):
    _, sheet, words = made
    assert "straight onto the panel" in words
    assert [one.name for one in sheet.parts if one.name.startswith("connector")] == ["connector-front"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Stud(Fastener):
    """Screwed through the tab; a fastener that is a script's own, and in no table."""

    kind: ClassVar[str] = "stud"
    title: ClassVar[str] = "collar stud"
    word: ClassVar[str] = "stud"
    spot: ClassVar[str] = "stud"

    inset: float | None = None

    @classmethod
    def suited(cls, width_mm, **given):  # noqa: ARG003 - it comes in one size
        return cls(**given)

    def on_tab(self, at):
        return shapely.Point(at).buffer(5)

    on_bag = on_tab

    def target(self, at):
        return (ring(at, 10),)

    back_marks = target

    target_words = "the stud's target: a circle"
    bag_setting = Setting(title="Collar stud, on the front", text="screw the stud through the front.", brief="Set it.")
    supplies = (Supply("collar stud", "1", "10 mm across"),)


def test_a_fastener_of_ones_own_is_proved_and_stands_on_the_sheet():
    family = Family(bag=Bag(width=300, height=240), tab={"fastener": Stud()}, parts=("tab", "connector"))
    kit = build_kit(family, Machine(formats=["dst"]))
    closing = next(proof for proof in kit.proofs if proof.code == "snap-mates")
    assert closing.ok
    assert closing.parts == ("tab-back", "connector-front")
    sheet = sheet_of(kit)
    assert ("collar stud", "1", "10 mm across") in fasteners(sheet)
    with pdfplumber.open(io.BytesIO(worksheet_pdf(sheet))) as pdf:
        words = " ".join(page.extract_text() for page in pdf.pages)
    assert "screw the stud through the front" in " ".join(words.split()).lower()
