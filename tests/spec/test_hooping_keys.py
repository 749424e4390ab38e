"""The keys of [hooping]: what they become, and how they are refused."""

import pytest

from stitchcraft.errors import SpecError
from stitchcraft.kit.hooping_options import HoopingOptions
from stitchcraft.spec import read_spec

BAG = 'units = "in"\n[bag]\nwidth = 14\nheight = 12\n[hooping]\n'


def spec(tmp_path, text):
    path = tmp_path / "bag.toml"
    path.write_text(BAG + text, encoding="utf-8")
    return read_spec(path)


def test_keys_become_options_in_millimetres(tmp_path):
    values = spec(tmp_path, 'share = true\nbags = 4\ngap = "1/2 in"\ngrain = false\nsplit = true\n').hooping.given()
    assert HoopingOptions(**values) == HoopingOptions(share=True, bags=4, gap=12.7, grain=False, split=True)


def test_nothing_is_shared_or_divided_unless_asked(tmp_path):
    options = HoopingOptions(**spec(tmp_path, "").hooping.given())
    assert (options.share, options.split, options.bags, options.grain, options.gap_mm) == (False, False, 1, True, 6.35)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("bags = 0\n", "hooping.bags"),
        ("bags = 2.5\n", "hooping.bags"),
        ("bags = 51\n", "hooping.bags"),
        ('gap = "5 in"\n', "hooping.gap"),
        ("share = 1\n", "hooping.share"),
        ("together = true\n", "together"),
    ],
)
def test_values_that_cannot_be_used_are_refused_with_key_and_line(tmp_path, text, words):
    with pytest.raises(SpecError) as caught:
        spec(tmp_path, text)
    assert "bag.toml:6" in str(caught.value)
    assert words in str(caught.value)
