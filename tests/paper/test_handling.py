"""The papers ask for nothing that harms the cloth, and say what it wants. Common practice throughout, no source."""

import re

import pypdfium2
import pytest

from stitchcraft.defaults import FABRIC_CARE, FABRICS
from stitchcraft.kit.make import kit_of
from stitchcraft.kit.papers import sheet_of
from stitchcraft.paper import worksheet_pdf
from stitchcraft.paper.handling import handled

SPEC = """
parts = ["tab", "corner", "connector"]
[bag]
width = 300
height = 260
depth = 60
top = "{top}"
[machine]
formats = ["exp"]
hoops = ["200x300"]
basting = {basting}
[material]
fabric = "{fabric}"
[style]
decoration = {{ kind = "crosshatch", pitch = 20 }}
"""


@pytest.fixture(scope="module")
def made(tmp_path_factory):
    kept = {}

    def kit(fabric, *, top="bound", basting="false"):
        if (fabric, top, basting) not in kept:
            path = tmp_path_factory.mktemp("kit") / "bag.toml"
            path.write_text(SPEC.format(fabric=fabric, top=top, basting=basting), encoding="utf-8")
            kept[fabric, top, basting] = kit_of(path)
        return kept[fabric, top, basting]

    return kit


def words_of(kit):
    pages = [page.get_textpage().get_text_range() for page in pypdfium2.PdfDocument(worksheet_pdf(sheet_of(kit)))]
    return " ".join(" ".join(pages).split())


@pytest.mark.parametrize("top", ["bound", "turned"])
def test_coated_cloth_is_neither_ironed_nor_fused_nor_pinned(made, top):
    words = words_of(made("faux leather", top=top))
    assert not re.search(r"(?<![-\w])[Pp]ress (it|them|the|beside)|[Ff]use the fleece|fuse to|fleece fused", words)
    assert "Finger-press it open" in words
    assert "finger-press them open" in words
    assert "Stick the fleece to the wrong side" in words
    assert "clip or tape the layers together where you would pin them" in words
    assert "75/11, sharp point (a cutting leather point slits the coating)" in words


def test_plain_cotton_is_pressed_and_fused_as_ever(made):
    words = words_of(made("quilting cotton"))
    assert "Press it open" in words
    assert "Fuse the fleece to the wrong side" in words
    assert "Sewing quilting cotton" not in words
    assert "75/11, for thread of weight 40;" in words


@pytest.mark.parametrize(
    ("fabric", "said"),
    [
        ("minky", ("nap", "topping over the pile", "light ballpoint", "Finger-press it open")),
        ("felt", ("does not fray", "Press it open")),
        ("denim", ("gives off its dye", "80/12 to 90/14, sharp")),
        ("canvas", ("frays", "80/12 to 90/14, sharp")),
    ],
)
def test_each_cloth_has_its_own_words(made, fabric, said):
    words = words_of(made(fabric))
    assert f"Sewing {fabric}." in words
    for one in said:
        assert one in words


def test_every_fabric_but_plain_cotton_has_words_with_their_standing():
    assert set(FABRIC_CARE) == set(FABRICS) - {"quilting cotton"}
    assert all(care.source and care.words.endswith(".") for care in FABRIC_CARE.values())


def test_words_that_only_hold_the_letters_of_press_are_left():
    leather = FABRICS["faux leather"]
    for text in ("Finger-press it.", "the presser foot", "pressed", "express it"):
        assert handled(text, leather) == text
    assert handled("fold and press, then press.", leather) == "fold and finger-press, then finger-press."


def test_basting_where_holes_stay_is_found_and_goes_when_it_is_left_out(made):
    def found(kit):
        return [finding for finding in kit.findings if finding.code == "basting-holes"]

    (one,) = found(made("faux leather", basting="true"))
    assert "corner-left" in one.message
    assert "tab-front" not in one.message  # cut out of its cloth, inside the box
    assert "machine.basting" in one.remedy
    assert not found(made("faux leather"))
    assert not found(made("minky", basting="true"))
