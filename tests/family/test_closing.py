"""A family's fastener: its findings and remedies, its line in the cut list, its parts."""

from __future__ import annotations

import re

import pytest

from stitchcraft.bag import Bag, solve_closure
from stitchcraft.decoration import NoDecoration
from stitchcraft.errors import Finding, Level, ParameterError
from stitchcraft.family import Family, Style
from stitchcraft.parts import Button, SewInSnap, Snap, TurnLock
from stitchcraft.spec import spec_from_text


def family_of(fastener=None, *, drop=None, height=300.0, depth=0.0, **options) -> Family:
    tab = {} if fastener is None else {"fastener": fastener}
    style = Style(decoration=NoDecoration())
    return Family(bag=Bag(width=340, height=height, depth=depth), style=style, tab=tab, drop=drop, **options)


def found(family: Family, code: str) -> list[Finding]:
    return [finding for finding in family.findings() if finding.code == code]


def named(remedy: str) -> float:
    return float(re.search(r"([0-9.]+) mm", remedy).group(1))


@pytest.mark.parametrize("fastener", [None, SewInSnap(), TurnLock(), Button(), Button(diameter=30, direction="across")])
def test_fastener_that_comes_up_to_the_top_edge_is_found_until_the_drop_named(fastener):
    parts = ("tab", "snap-mark")
    high = family_of(fastener, drop=9, parts=parts, connector={"layout": "pair"})
    (finding,) = found(high, "fastener-high")
    assert finding.level is Level.ERROR
    drop = named(finding.remedy)
    for _ in range(2):  # clear of the edge first, then clear of the needle that sews it
        again = found(family_of(fastener, drop=drop, parts=parts, connector={"layout": "pair"}), "fastener-high")
        if not again:
            break
        assert again[0].level is Level.WARNING
        drop = named(again[0].remedy)
    assert found(family_of(fastener, drop=drop, parts=parts, connector={"layout": "pair"}), "fastener-high") == []


def test_tab_whose_point_hangs_over_the_base_is_found_until_the_drop_named():
    low = family_of(drop=110, height=150, depth=60, parts=("tab",))
    (finding,) = found(low, "tab-past-base")
    assert finding.measured == pytest.approx(110 + 25.4)
    assert finding.limit == pytest.approx(150 - 30)  # the front stands height less half the depth: see the bag's tests
    mended = family_of(drop=named(finding.remedy), height=150, depth=60, parts=("tab",))
    assert found(mended, "tab-past-base") == []


def test_button_brings_a_hooping_of_its_own_after_the_tabs_front():
    names = [part.name for part in family_of(Button(), parts=("tab", "connector")).made()]
    assert names[:3] == ["tab-back", "tab-front", "tab-buttonhole"]
    assert "tab-buttonhole" not in [part.name for part in family_of(parts=("tab", "connector")).made()]


@pytest.mark.parametrize(
    ("fastener", "pieces"),
    [(None, ["snap backing"] * 2), (SewInSnap(), ["snap backing"] * 2), (TurnLock(), ["turn lock backing"]),
     (Button(), ["button backing"])],
)  # fmt: skip
def test_each_fastener_has_its_line_in_the_cut_list(fastener, pieces):
    family = family_of(fastener, parts=("tab", "connector"))
    rows = [piece for piece in family.cut_list() if piece.name.endswith("backing") and piece.material == "stiffener"]
    assert [row.name for row in rows] == pieces
    assert all(row.width_mm == row.height_mm >= 18 for row in rows)
    # a tab without its target on the bag has no need of that half's
    alone = family_of(fastener, parts=("tab",)).cut_list()
    assert [row.note for row in alone if row.name.endswith("backing") and "in the front" in row.note] == []


def test_tab_back_has_room_for_its_backing():
    narrow = Family(bag=Bag(width=100, height=200), style=Style(decoration=NoDecoration()), parts=("tab",))
    (backing,) = [piece for piece in narrow.cut_list() if piece.note == "behind the snap in the tab"]
    assert backing.width_mm <= narrow.closure_tab.width_mm - 2 * 6.35  # 1/4 in allowance: common practice, no source


def test_sizes_left_out_suit_the_tab_and_those_given_stand():
    bag = "[bag]\nwidth = 100\nheight = 200\n"
    small = Family.from_spec(spec_from_text(bag + '[tab]\nfastener = "button"')).fastener
    assert isinstance(small, Button)
    assert small.diameter_mm == pytest.approx(25 / 3, abs=0.1)
    given = Family.from_spec(spec_from_text(bag + '[tab]\nfastener = { kind = "button", diameter = 12 }')).fastener
    assert given.diameter_mm == 12
    snap = Family.from_spec(spec_from_text(bag + "[tab]\nsnap = { inset = 30 }")).fastener
    assert isinstance(snap, Snap)
    assert (snap.inset, snap.diameter_mm) == (30, pytest.approx(25 / 3, abs=0.1))


def test_errors_of_the_closure_name_the_fasteners_own_key():
    bag = Bag(width=340, height=300)
    with pytest.raises(ParameterError, match=r"tab\.fastener\.inset is 1"):
        solve_closure(bag, inset=1, inset_key="tab.fastener.inset")
    (finding,) = solve_closure(bag, length=120, inset=30, drop=60, inset_key="tab.fastener.inset").findings()
    assert "tab.fastener.inset" in finding.remedy


@pytest.mark.parametrize(
    ("tab", "needs"),
    [
        ('fastener = "zip"', "snap, sew-in-snap, turn-lock, button"),
        ('fastener = { kind = "button", holes = 4 }', "is not a key"),
        ('fastener = "button"\nsnap = { diameter = 18 }', "cannot stand beside snap"),
        ('fastener = { kind = "turn-lock", width = 400 }', "at most 120 mm"),
    ],
)
def test_spec_refuses_what_no_fastener_takes(tab, needs):
    with pytest.raises(ValueError, match=needs):
        spec_from_text(f"[bag]\nwidth = 340\nheight = 300\n[tab]\n{tab}")
