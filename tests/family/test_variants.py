"""A family in other sizes and threads: silhouettes and places grow, motifs, lines and allowances stay."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from stitchcraft.bag import Bag, Straps
from stitchcraft.design import Area, Column, Element, Line
from stitchcraft.errors import Level, ParameterError
from stitchcraft.family import Family
from stitchcraft.family.variants import scaled_bag, scaled_family
from stitchcraft.parts import Palette

SAMPLES = Path(__file__).parents[2] / "samples"
SPECS = [Family.from_spec(SAMPLES / f"{name}.toml") for name in ("heron_tote", "wren_clutch", "quay_satchel")]
PLAIN = Family(bag=Bag(width=300, height=260, depth=80), name="Plain", label={"text": "Hand made"})
FAMILIES = [*SPECS, PLAIN]

every_family = pytest.mark.parametrize("family", FAMILIES, ids=lambda family: family.name)


def points_of(element: Element) -> np.ndarray:
    match element:
        case Line():
            return element.path
        case Column():
            return np.vstack([element.rail_a, element.rail_b])
        case Area():
            return shapely.get_coordinates(element.polygon)


@every_family
def test_at_its_own_size_a_family_is_itself(family: Family) -> None:
    same = scaled_family(family, 1)
    assert [part.name for part in same.made()] == [part.name for part in family.made()]
    for one, other in zip(family.made(), same.made(), strict=True):
        for stop, again in zip(one.design.stops, other.design.stops, strict=True):
            assert (stop.purpose, stop.thread, stop.before) == (again.purpose, again.thread, again.before)
            for a, b in zip(stop.elements, again.elements, strict=True):
                assert np.allclose(points_of(a), points_of(b), atol=1e-6)


@every_family
def test_on_a_bag_two_fifths_larger_silhouettes_and_places_grow(family: Family) -> None:
    large = scaled_family(family, 1.4)
    for before, after in (
        (family.bag.width_mm, large.bag.width_mm),
        (family.bag.height_mm, large.bag.height_mm),
        (family.bag.depth_mm, large.bag.depth_mm),
        (family.bag.strap_spacing_mm, large.bag.strap_spacing_mm),
        (family.closure.drop_mm, large.closure.drop_mm),
        (family.closure_tab.width_mm, large.closure_tab.width_mm),
        (family.corner_accent.width_mm, large.corner_accent.width_mm),
        (family.corner_accent.height_mm, large.corner_accent.height_mm),
        (family.strap_connector.height_mm, large.strap_connector.height_mm),
    ):
        assert after == pytest.approx(1.4 * before)
    # what a corner accent is drawn with grows as one
    assert np.allclose(large.corner_accent._shares(), family.corner_accent._shares())
    # past the straps, which are bought by the width, a connector grows too
    held = family.bag.strap_width_mm + (0 if family.strap_connector.layout == "pair" else family.bag.strap_spacing_mm)
    held_then = family.bag.strap_width_mm + (
        0 if family.strap_connector.layout == "pair" else large.bag.strap_spacing_mm
    )
    past, past_then = family.strap_connector.width_mm - held, large.strap_connector.width_mm - held_then
    assert past_then == pytest.approx(1.4 * past)


@every_family
def test_on_a_bag_two_fifths_larger_motifs_lines_threads_and_allowances_stay(family: Family) -> None:
    large = scaled_family(family, 1.4)
    assert large.style is family.style
    for part in ("closure_tab", "corner_accent", "strap_connector"):
        before, after = getattr(family, part), getattr(large, part)
        assert after.decoration == before.decoration
        assert after.palette == before.palette
        assert getattr(after, "edge", None) == getattr(before, "edge", None)
    assert large.closure_tab.snap == family.closure_tab.snap
    assert large.closure.inset_mm == pytest.approx(family.closure.inset_mm)
    assert large.closure_tab.insertion == family.closure_tab.insertion
    for key in ("seam", "lining_seam", "wall", "top", "binding"):
        assert getattr(large.bag, key) == getattr(family.bag, key)
    assert large.bag.strap_width_mm == family.bag.strap_width_mm
    sewn = {part.name: part.design for part in family.made()}
    for part in large.made():
        if part.name == "label":  # lettering is read from the same distance on any bag
            for a, b in zip(part.design.stops[0].elements, sewn["label"].stops[0].elements, strict=True):
                assert np.allclose(points_of(a), points_of(b))


@every_family
def test_the_pattern_of_a_larger_bag_has_the_same_motifs_and_more_of_them(family: Family) -> None:
    large = scaled_family(family, 1.4)
    one, other = (f.closure_tab.decoration.describe(f.closure_tab.decoration_area) for f in (family, large))
    assert other.motifs > 1.5 * one.motifs
    # as much thread on a square centimetre, but for what the edges take
    for key in ("line_per_mm2", "cover"):
        assert getattr(other, key) == pytest.approx(getattr(one, key), rel=0.12)


@every_family
@pytest.mark.parametrize("factor", [0.8, 1.75])
def test_the_closure_of_another_size_closes_and_no_error_comes_with_it(family: Family, factor: float) -> None:
    other = scaled_family(family, factor)
    assert other.closure.miss_mm == 0
    # laid around the top edge, the tab comes down the front as far as its target
    over = other.bag.root_depth_mm + other.bag.wall_mm
    assert other.closure.length_mm == pytest.approx(other.closure.drop_mm + over + other.closure.inset_mm)
    assert [finding for finding in other.findings() if finding.level is Level.ERROR] == []


@settings(max_examples=10)
@given(st.sampled_from(FAMILIES), st.floats(0.7, 2.0), st.floats(0.8, 1.3))
def test_a_size_after_a_size_is_their_product(family: Family, one: float, other: float) -> None:
    try:
        twice, once = scaled_family(scaled_family(family, one), other), scaled_family(family, one * other)
    except ParameterError:
        assume(False)
    assert twice.closure_tab.width_mm == pytest.approx(once.closure_tab.width_mm)
    assert twice.closure.length_mm == pytest.approx(once.closure.length_mm)
    assert twice.bag.width_mm == pytest.approx(once.bag.width_mm)


def test_another_bag_says_the_size_by_its_width_and_height() -> None:
    wide = Bag(width=390, height=260, depth=60, wall=6, straps=Straps(spacing=170))
    other = scaled_family(PLAIN, wide)
    assert other.bag is wide
    assert other.closure_tab.width_mm == pytest.approx(1.3 * PLAIN.closure_tab.width_mm)
    assert other.closure.drop_mm == pytest.approx(PLAIN.closure.drop_mm)
    assert other.corner_accent.height_mm == pytest.approx(PLAIN.corner_accent.height_mm)


def test_given_sizes_of_a_silhouette_grow_and_the_slant_stays() -> None:
    tab = {"tip": "ogee", "tip_depth": 40, "tip_radius": 2, "waist": 60, "slant": 5, "length": 130}
    family = replace(PLAIN, tab=tab)
    large = scaled_family(family, 1.5)
    assert {key: large.tab[key] for key in ("tip_depth", "tip_radius", "waist", "slant", "tip")} == {
        "tip_depth": 60, "tip_radius": 3, "waist": 90, "slant": 5, "tip": "ogee",
    }  # fmt: skip
    assert "length" not in large.tab
    assert large.closure.drop_mm == pytest.approx(1.5 * family.closure.drop_mm)


def test_a_closure_that_misses_goes_on_missing() -> None:
    snap = replace(PLAIN.closure_tab.snap, inset=25)
    family = replace(PLAIN, tab={"length": 120, "snap": snap}, drop=70)
    assert family.closure.miss_mm > 5
    assert scaled_family(family, 1.4).closure.miss_mm == pytest.approx(family.closure.miss_mm)


def test_variants_are_every_size_in_every_palette_by_name() -> None:
    sea, dune = Palette(accent="#123456"), Palette(accent="#d9a441")
    found = PLAIN.variants(sizes={"small": 1, "large": 1.4}, palettes={"sea": sea, "dune": dune})
    assert [one.name for one in found] == ["Plain, small, sea", "Plain, small, dune", "Plain, large, sea",
                                           "Plain, large, dune"]  # fmt: skip
    assert [one.style.palette for one in found] == [sea, dune, sea, dune]
    assert [round(one.bag.width_mm) for one in found] == [300, 300, 420, 420]
    assert {stop.thread.colour for stop in found[3].made()[1].design.stops} >= {"#d9a441"}
    assert [one.name for one in PLAIN.variants(palettes={"sea": sea})] == ["Plain, sea"]
    assert [one.name for one in PLAIN.variants()] == ["Plain"]


@pytest.mark.parametrize(
    ("options", "says"),
    [
        ({"sizes": {"huge": 9}}, r"size is 9; it needs to be a number from 0\.25 to 4"),
        ({"sizes": {"none": "x"}}, "size is 'x'"),
        ({"sizes": {}}, "sizes is {}; it needs to be a dictionary by name"),
        ({"palettes": [Palette()]}, r"palettes is \[Palette"),
        ({"palettes": {"sea": "blue"}}, r"style\.palette is 'blue'; it needs to be a Palette"),
    ],
)
def test_a_size_or_palette_that_is_none_is_refused(options: dict, says: str) -> None:
    with pytest.raises(ParameterError, match=says):
        PLAIN.variants(**options)


def test_a_bag_that_would_be_too_large_is_refused_by_its_key() -> None:
    with pytest.raises(ParameterError, match=r"bag\.width is 1600"):
        scaled_bag(Bag(width=800, height=500), 2)
