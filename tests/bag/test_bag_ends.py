"""The bag at the ends of what it may be, by arithmetic that can be followed by hand."""

import pytest

from stitchcraft.bag import Bag, Shaping, Straps, cut_list, solve_closure
from stitchcraft.errors import ParameterError
from stitchcraft.spec import spec_from_text


def refused(name, needs, **values):
    with pytest.raises(ParameterError) as caught:
        Bag(**values)
    assert caught.value.name == name
    assert needs in caught.value.needs


def test_depth_is_less_than_the_width_and_twice_the_height():
    Bag(width=100, height=300, depth=99.9)
    refused("bag.depth", "less than bag.width (100 mm) and twice bag.height (600 mm)", width=100, height=300, depth=100)
    refused("bag.depth", "less than bag.width (400 mm) and twice bag.height (200 mm)", width=400, height=100, depth=200)


def test_a_bag_stands_twenty_millimetres_high_at_least():
    # height less half the depth: 100 - 160 / 2 = 20
    assert Bag(width=400, height=100, depth=160).standing_mm[2] == 20
    refused("bag.depth", "at most 160 mm, so that the bag stands 20 mm high", width=400, height=100, depth=161)


def test_straps_may_reach_to_the_sides_and_no_farther():
    assert Bag(width=100, height=100, straps=Straps(spacing=80, width=20)).strap_spacing_mm == 80
    refused(
        "bag.straps.spacing", "at most the bag's width less a strap's (80 mm)",
        width=100, height=100, straps=Straps(spacing=80.1, width=20),
    )  # fmt: skip
    with pytest.raises(ParameterError, match="less than"):
        Straps(spacing=20, width=20)
    assert Straps(spacing=20, width=19.9).width == 19.9


def test_straps_that_are_not_given_suit_the_width():
    # 0.43 of the width and at most 6 in apart; 1 in wide or a third of the way between them, to the tenth
    for width, spacing, strap in ((300, 129.0, 25.4), (355.6, 152.4, 25.4), (133, 57.2, 19.1), (50, 21.5, 7.2)):
        bag = Bag(width=width, height=200)
        assert (bag.strap_spacing_mm, bag.strap_width_mm) == pytest.approx((spacing, strap), abs=1e-9)


def test_shaping_snaps_lie_on_the_panel():
    Bag(width=200, height=100, depth=40, shaping=Shaping(down=79.9, over=99.9))
    refused(
        "bag.shaping.over", "less than half the bag's width (100 mm)",
        width=200, height=100, shaping=Shaping(down=20, over=100),
    )  # fmt: skip
    refused(
        "bag.shaping.down", "less than the standing height (80 mm)",
        width=200, height=100, depth=40, shaping=Shaping(down=80, over=20),
    )  # fmt: skip


@pytest.mark.parametrize(
    ("key", "value"),
    [("binding", None), ("binding", 3), ("shaping", {}), ("straps", "wide")],
)
def test_what_belongs_to_a_bag_has_its_own_kind(key, value):
    refused(f"bag.{key}", "a ", width=200, height=100, **{key: value})


def test_drop_that_nobody_gives_is_three_inches_or_two_fifths_of_the_standing_height():
    assert Bag(width=300, height=300).usual_drop_mm == 76.2
    assert Bag(width=300, height=120.33).usual_drop_mm == 48.1  # 48.132
    assert Bag(width=300, height=140, depth=40).usual_drop_mm == 48.0


def test_base_and_feet_need_room():
    # stiffener 3 mm smaller all round, feet 20 mm in from the edges of a base of 160 x 40
    assert Bag(width=200, height=150, depth=40).feet_mm == ()
    assert Bag(width=200, height=150, depth=42).feet_mm == ((59, 1), (-59, 1), (-59, -1), (59, -1))
    assert Bag(width=81, height=150, depth=41).feet_mm == ()
    assert Bag(width=200, height=150, depth=6).base_mm is None
    assert Bag(width=200, height=150, depth=6.5).base_mm == pytest.approx((187.5, 0.5))


def test_what_a_tab_carries_past_its_root_reaches_through_the_allowance():
    assert Bag(width=200, height=150).insertion_mm == pytest.approx(6.35 + 6.35)
    assert Bag(width=200, height=150, top="turned", seam=10).insertion_mm == 10
    assert Bag(width=200, height=150, top="turned", seam=3).insertion_mm == 6.35  # never less than 1/4 in


def test_sizes_of_a_panel_are_cut_to_the_side_that_they_belong_to():
    bag = Bag(width=200, height=150, depth=40, seam=8, lining_seam=12, top="turned")
    assert bag.panel_cut_mm == (216, 166)
    assert bag.lining_width_mm == 192
    assert bag.lining_corner_cut_mm == (24, 20)
    assert [(piece.name, piece.count) for piece in cut_list(bag)] == [
        ("panel", 2), ("panel backing", 2), ("lining", 2), ("base stiffener", 1),
    ]  # fmt: skip
    # a lining seam that is much narrower leaves nothing to cut away, and never less than that
    assert Bag(width=200, height=150, depth=2, seam=20, lining_seam=5).lining_corner_cut_mm == (0, 1)


def test_cut_pieces_say_what_is_cut_from_their_corners():
    notes = {piece.name: piece.note for piece in cut_list(Bag(width=300, height=260, depth=101.6))}
    assert "cut a square of" in notes["panel"]
    assert "2 in" in notes["panel"]  # half of 4 in
    assert "wide" in notes["lining"]
    flat = {piece.name: piece.note for piece in cut_list(Bag(width=300, height=260))}
    assert "square" not in flat["panel"]
    assert flat["lining"] == ""
    boxed = cut_list(Bag(width=300, height=260, depth=101.6))
    assert [piece.count for piece in boxed] == [2, 2, 2, 1, 1]
    assert boxed[0].note.startswith("hoop a larger piece")
    assert boxed[0].note.endswith("from each lower corner")
    assert [piece.name for piece in boxed if "hoop a larger piece" in piece.note] == ["panel"]
    assert [piece.count for piece in cut_list(Bag(width=300, height=260))] == [2, 2, 2, 1]
    strip = next(piece for piece in cut_list(Bag(width=300, height=260)) if piece.name == "binding strip")
    assert (strip.count, strip.width_mm, strip.height_mm) == (1, 63.5, 701.6)  # once round, and 4 in


WHOLE = """
[bag]
width = 300
height = 260
depth = 60
shaping.down = 40
shaping.over = 50
straps.spacing = 120
straps.width = 30
binding.depth = 8
"""


def test_a_bag_of_a_spec_is_the_bag_of_its_numbers(tmp_path):
    file = tmp_path / "heron.toml"
    file.write_text(WHOLE, encoding="utf-8")
    bag = Bag.from_spec(file)
    assert bag == Bag.from_spec(str(file)) == Bag.from_spec(spec_from_text(WHOLE))
    assert (bag.shaping.down, bag.shaping.over, bag.straps, bag.binding.depth) == (
        40,
        50,
        Straps(spacing=120, width=30),
        8,
    )
    bare = Bag.from_spec(spec_from_text("[bag]\nwidth = 300\nheight = 260\nstraps.width = 20\n"))
    assert bare.shaping is None
    assert bare.straps == Straps(spacing=129, width=20)


def test_seams_that_a_spec_leaves_out_are_round_in_its_own_units():
    # common practice, no source: 1/4 and 1/2 in, or 6 and 12 mm
    for head, width, seams in (
        ("", 300, (6, 12)), ('units = "cm"\n', 30, (6, 12)), ('units = "in"\n', 12, (6.35, 12.7)),
    ):  # fmt: skip
        bag = Bag.from_spec(spec_from_text(f"{head}[bag]\nwidth = {width}\nheight = {width}\n"))
        assert (bag.seam_mm, bag.lining_seam) == seams
        assert bag == Bag(width=bag.width_mm, height=bag.height_mm, seam=seams[0], lining_seam=seams[1])
    asked = Bag.from_spec(spec_from_text("[bag]\nwidth = 300\nheight = 260\nseam = 8\n"))
    assert (asked.seam_mm, asked.lining_seam) == (8, 12)


def test_closure_takes_its_usual_inset_and_drop_where_they_are_not_given():
    bag = Bag(width=300, height=300)  # over the top: 6.35 + 4
    assert (solve_closure(bag).inset_mm, solve_closure(bag).drop_mm) == (25.4, 76.2)
    assert solve_closure(bag, length=60).inset_mm == 20.0  # a third of a short tab
    assert solve_closure(bag, length=61).inset_mm == 20.3
    assert solve_closure(bag, length=150).inset_mm == 25.4
    assert solve_closure(bag, length=150).drop_mm == pytest.approx(150 - 25.4 - 10.35)
    assert solve_closure(bag, drop=80).length_mm == pytest.approx(80 + 10.35 + 25.4)
    assert solve_closure(bag, inset=30).length_mm == pytest.approx(76.2 + 10.35 + 30)
    assert solve_closure(bag, length=150, drop=100).inset_mm == pytest.approx(150 - 100 - 10.35)


def test_closure_needs_room_for_what_follows_and_says_how_much():
    bag = Bag(width=300, height=100)
    for given, needs in (
        ({"length": 40, "drop": 30}, "at least 43.4 mm to reach closure.drop"),  # 30 + 10.35 + 3
        ({"length": 30, "inset": 15}, "at least 30.4 mm to come over"),  # 10.35 + 15 + 5
        ({"length": 130, "inset": 15}, "at most 125.4 mm on this bag"),  # 100 + 10.35 + 15
        ({"drop": 100.1}, "at most 100 mm"),
        ({"drop": 4.9}, "at least 5 mm"),
    ):
        with pytest.raises(ParameterError) as caught:
            solve_closure(bag, **given)
        assert needs in caught.value.needs
    assert solve_closure(bag, length=43.36, drop=30).inset_mm == pytest.approx(3.01)
    assert solve_closure(bag, length=30.36, inset=15).drop_mm == pytest.approx(5.01)
    assert solve_closure(bag, length=125.34, inset=15).drop_mm == pytest.approx(99.99)
    assert solve_closure(bag, drop=100).drop_mm == 100


def test_a_closure_that_misses_says_which_lengths_and_by_how_much():
    bag = Bag(width=300, height=300)
    closure = solve_closure(bag, length=113, drop=80, inset=20, inset_key="tab.fastener.inset")
    # 113 - 20 - 10.35 = 82.65 reached, 80 wanted
    (finding,) = closure.findings()
    assert (finding.measured, finding.limit) == (2.65, 1.0)
    assert (finding.code, finding.part) == ("closure-miss", "tab-back")
    assert "tab.fastener.inset" in finding.remedy
    assert closure.given == ("length", "inset", "drop")
    assert closure.tip_mm == 100
    assert closure.reach_mm == 93
    short = solve_closure(bag, length=109.35, drop=80, inset=20)
    assert short.miss_mm == pytest.approx(1.0)
    assert solve_closure(bag, length=113, inset=20).miss_mm == 0
