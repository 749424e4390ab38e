"""A whole kit for a pouch without straps: made, proved, drawn, and without a word of straps."""

import json

import numpy as np
import pypdfium2 as pdfium
import pytest
from PIL import Image, ImageChops, ImageOps

from stitchcraft.kit import make_kit
from stitchcraft.kit.make import kit_of
from stitchcraft.kit.pictures import bag_image

POUCH = """
name = "Sandpiper pouch"
[bag]
width = 240
height = 160
top = "turned"
straps = "none"
[machine]
hoops = ["130x180", "100x100"]
formats = ["dst", "pes"]
[style]
decoration = { kind = "clamshell", pitch = 11 }
"""

CLUTCH = """
name = "Jetty clutch"
units = "in"
[bag]
width = "9 1/2"
height = 6
depth = 1
straps = "none"
shaping = { down = 1, over = "1 1/2" }
[machine]
hoops = ["100x100", "130x180"]
formats = ["exp"]
[hooping]
share = true
bags = 2
[style]
decoration = "none"
[tab]
width = 2
tip = "ogee"
fastener = "turn-lock"
[connector]
outline = "scallop"
width = 3
[label]
text = "Jetty"
"""


@pytest.fixture(scope="module", params=[POUCH, CLUTCH], ids=["mm", "inches"])
def made(request, tmp_path_factory):
    folder = tmp_path_factory.mktemp("bare")
    (folder / "bag.toml").write_text(request.param, encoding="utf-8")
    return make_kit(folder / "bag.toml", folder / "kit"), folder / "kit"


def pages(file):
    return [page.get_textpage().get_text_range() for page in pdfium.PdfDocument(file)]


def test_every_proof_holds_and_the_target_is_on_a_medallion(made):
    kit, folder = made
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    assert kit.ok
    assert all(proof["ok"] for proof in report["proofs"])
    mates = [proof for proof in report["proofs"] if proof["code"] == "snap-mates"]
    assert len(mates) == 1
    parts = {part["name"]: part for part in report["parts"]}
    assert {"tab-back", "tab-front", "connector-front", "corner-left", "corner-right"} <= parts.keys()
    assert not {"connector-back", "connector-left", "connector-right", "snap-mark"} & parts.keys()
    assert parts["connector-front"]["placement"]["panel"] == "front"
    # the boxes that strap ends would hide are a stop of ticks
    assert [stop["purpose"] for stop in parts["connector-front"]["stops"]].count("ticks") == 0
    assert "tab-over-straps" not in {finding["code"] for finding in report["findings"]}


def test_sizes_of_the_medallion_are_in_the_report(made):
    kit, folder = made
    report = json.loads((folder / "report.json").read_text(encoding="utf-8"))
    (part,) = [part for part in report["parts"] if part["name"] == "connector-front"]
    # by hand: two inches wide and high, or three by what the spec says, and half a cover stitch of 3.5 mm all round
    wide = 76.2 if kit.family.units == "in" else 50.8
    assert sorted(part["size_mm"])[-1] == pytest.approx(wide + 3.5, abs=0.6)


def test_no_page_of_worksheet_or_templates_says_strap(made):
    _, folder = made
    for name in ("worksheet.pdf", "templates.pdf"):
        words = pages(folder / name)
        assert len(words) >= 3
        assert all(len(text) > 20 for text in words)
        assert [number for number, text in enumerate(words) if "strap" in text.casefold()] == []


def test_nothing_else_in_the_kit_says_strap(made):
    _, folder = made
    told = [file for file in folder.rglob("*") if file.suffix in (".json", ".html", ".svg", ".dxf")]
    assert {"report.json", "player.html", "preview.svg"} <= {file.name for file in told}
    for file in told:
        assert "strap" not in file.name
        assert "strap" not in file.read_text(encoding="utf-8").casefold(), file.name


def kit_from(tmp_path, text):
    (tmp_path / "bag.toml").write_text(text, encoding="utf-8")
    return kit_of(tmp_path / "bag.toml")


def test_with_straps_the_same_pouch_speaks_of_them_and_draws_them(tmp_path):
    # what the checks above look for is there on the bag that they are not about
    folder = tmp_path / "with"
    (tmp_path / "bag.toml").write_text(POUCH.replace('straps = "none"\n', ""), encoding="utf-8")
    make_kit(tmp_path / "bag.toml", folder)
    assert any("strap" in text.casefold() for text in pages(folder / "worksheet.pdf"))
    assert "strap" in (folder / "player.html").read_text(encoding="utf-8")
    assert (folder / "connector-back.dst").exists()


def test_the_picture_shows_no_loop_and_no_strap_end_and_is_its_own_mirror_image(tmp_path):
    trim = (0xA8, 0x9F, 0x91)
    bare, strapped = (
        np.asarray(bag_image(kit_from(tmp_path, text)).convert("RGB"))
        for text in (POUCH, POUCH.replace('straps = "none"\n', ""))
    )
    assert np.all(strapped == trim, axis=2).sum() > 5000
    assert not np.all(bare == trim, axis=2).any()  # a turned top has no binding either
    # by hand: two panels of 240 mm and three gaps of 0.14 x 240; 160 mm, a gap below and 0.4 of one above
    assert bare.shape[1] / bare.shape[0] == pytest.approx((480 + 3 * 33.6) / (160 + 1.4 * 33.6), rel=0.005)
    front = Image.fromarray(bare[: int(bare.shape[0] * 0.8), : bare.shape[1] // 2])
    middle = round((33.6 + 120) / (480 + 3 * 33.6) * bare.shape[1])
    around = front.crop((middle - 200, 0, middle + 200, front.height))
    unlike = np.asarray(ImageChops.difference(around, ImageOps.mirror(around))).max(axis=2) > 60
    assert unlike.mean() < 0.06  # threads lie this way or that


def test_a_mark_instead_of_the_medallion_is_proved_to_land(tmp_path):
    kit = kit_from(tmp_path, 'parts = ["tab", "snap-mark"]\n' + POUCH)
    assert [part.name for part in kit.parts] == ["tab-back", "tab-front", "snap-mark"]
    assert kit.ok
    assert [proof.ok for proof in kit.proofs if proof.code == "snap-mates"] == [True]
