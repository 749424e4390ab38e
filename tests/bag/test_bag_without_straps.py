"""A bag without straps: its numbers, its spec, and a sketch that shows no strap."""

from xml.etree import ElementTree as ET

import pytest

from stitchcraft.bag import Bag, Straps
from stitchcraft.errors import ParameterError, SpecError
from stitchcraft.spec import spec_from_text

SVG = "{http://www.w3.org/2000/svg}"
POUCH = Bag(width=240, height=160, top="turned", seam=10, straps="none")
BOUND = Bag(width="10 in", height="7 in", depth="2 in", straps="none")


def spec_bag(straps: str) -> Bag:
    return Bag.from_spec(spec_from_text(f"[bag]\nwidth = 240\nheight = 160\n{straps}\n"))


def test_word_none_is_a_bag_without_straps_in_python_and_in_a_spec():
    for bag in (POUCH, BOUND, spec_bag('straps = "none"')):
        assert not bag.has_straps
        assert (bag.straps, bag.strap_spacing_mm, bag.strap_width_mm) == ("none", 0, 0)
    for bag in (Bag(width=240, height=160), spec_bag(""), spec_bag("straps = {}"), spec_bag("straps = { width = 20 }")):
        assert bag.has_straps
        assert bag.strap_spacing_mm == pytest.approx(103.2)  # 0.43 of 240 mm
    assert spec_bag("straps = { spacing = 90, width = 16 }").straps == Straps(spacing=90, width=16)


def test_nothing_else_of_a_bag_goes_by_its_straps():
    with_straps = Bag(width=240, height=160, top="turned", seam=10)
    for name in ("panel_cut_mm", "standing_mm", "binding_mm", "base_mm", "usual_drop_mm", "insertion_mm", "feet_mm"):
        assert getattr(POUCH, name) == getattr(with_straps, name)
    # 240 + 2 x 10 wide, 160 + 2 x 10 high: a turned top has an allowance too
    assert POUCH.panel_cut_mm == (260, 180)


def test_a_bag_too_narrow_for_any_strap_may_have_none():
    assert not Bag(width=40, height=60, straps="none").has_straps


@pytest.mark.parametrize("straps", ["no", "None", "", 5, False, {"spacing": 90}])
def test_another_word_is_refused_in_python(straps):
    with pytest.raises(ParameterError) as refused:
        Bag(width=240, height=160, straps=straps)
    assert str(refused.value).startswith("bag.straps is ")
    assert str(refused.value).endswith('it needs to be a Straps, or "none" for a bag without straps')


@pytest.mark.parametrize(
    ("straps", "shown"),
    [('"no"', '"no"'), ('"None"', '"None"'), ("false", "false"), ("0", "0"), ("[]", "a list of 0")],
)
def test_another_value_is_refused_in_a_spec_by_line_and_key(straps, shown):
    with pytest.raises(SpecError) as refused:
        spec_bag(f"straps = {straps}")
    (line,) = str(refused.value).splitlines()
    assert line.startswith(f'spec.toml:4: bag.straps is {shown}; it needs to be "none", or a table such as {{ spacing')


# -- the sketch -----------------------------------------------------------------------------------------


def words_of(bag: Bag) -> list[str]:
    return ["".join(text.itertext()) for text in ET.fromstring(bag._repr_svg_()).iter(f"{SVG}text")]


def view_of(bag: Bag) -> list[float]:
    return [float(number) for number in ET.fromstring(bag._repr_svg_()).get("viewBox").split()]


def test_sketch_of_a_bag_without_straps_says_its_sizes_and_no_spacing():
    assert words_of(POUCH) == ["240 mm (9 7/16 in)", "160 mm (about 6 5/16 in)", "64 mm (about 2 1/2 in)"]
    with_straps = Bag(width=240, height=160, top="turned", seam=10)
    assert words_of(with_straps) == [*words_of(POUCH), "103.2 mm (4 1/16 in)"]


@pytest.mark.parametrize(("bag", "above"), [(POUCH, 10.0), (BOUND, 0.0)], ids=["turned", "bound"])
def test_sketch_ends_above_the_cut_panel_where_nothing_stands_up(bag, above):
    unit = max(bag.width_mm, bag.height_mm) / 100
    # the margin is two units; half a line's width may come to it
    assert -view_of(bag)[1] == pytest.approx(above + 2 * unit, abs=0.2 * unit)
    with_straps = Bag(width=bag.width_mm, height=bag.height_mm, depth=bag.depth_mm, top=bag.top, seam=bag.seam_mm)
    loop = (with_straps.strap_spacing_mm + with_straps.strap_width_mm) / 2
    assert -view_of(with_straps)[1] == pytest.approx(above + loop + 2 * unit, abs=0.2 * unit)


def test_sketch_draws_no_strap_nor_the_ends_of_one():
    def paths(bag: Bag) -> list[str]:
        return [path.get("d") or "" for path in ET.fromstring(bag._repr_svg_()).iter(f"{SVG}path")]

    with_straps = Bag(width=240, height=160, top="turned", seam=10)
    # the loop, two ends and the line of their size are all that a strap adds
    assert len(paths(with_straps)) == len(paths(POUCH)) + 4
    trim = [path for path in ET.fromstring(POUCH._repr_svg_()).iter(f"{SVG}path") if path.get("fill") == "#c9c0b1"]
    assert trim == []
