"""The cloth that the maker names is the cloth of the pictures, and of what the checks say of colours."""

import io

import pytest
from PIL import Image

from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.family import Style
from stitchcraft.kit.make import kit_of
from stitchcraft.kit.pictures import bag_png, preview_png

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


def test_a_cloth_that_is_no_colour_is_refused_with_its_key(tmp_path):
    with pytest.raises(SpecError, match=r"material\.cloth"):
        kit(tmp_path, 'cloth = "sand"')
    with pytest.raises(ParameterError, match=r"style\.cloth"):
        Style(cloth="sand")
