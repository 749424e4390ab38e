"""The bag's arithmetic, against worked examples."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.bag import Bag, Binding, Shaping, Straps, cut_list
from stitchcraft.errors import ParameterError

HERON = Bag(
    width="14 in",
    height="12 in",
    depth="4 in",
    shaping=Shaping(down="1 1/2 in", over="2 in"),
    straps=Straps(spacing="6 in", width="1 in"),
)


def test_bag_cuts_panels_with_allowances_at_the_sides_and_the_bottom():
    assert HERON.panel_cut_mm == pytest.approx((368.3, 311.15))


def test_turned_top_adds_an_allowance_at_the_top():
    turned = Bag(width=300, height=200, top="turned")
    assert turned.panel_cut_mm == pytest.approx((312.7, 212.7))
    assert turned.binding_mm is None
    assert turned.root_depth_mm == 0


def test_boxed_corner_square_is_half_the_depth():
    # sewshare.com "How to box corners for bags", sew4home.com: a 2 in square gives a 4 in base
    assert HERON.corner_cut_mm == pytest.approx(50.8)
    assert HERON.standing_mm == pytest.approx((254.0, 101.6, 254.0))


@given(st.floats(120, 500), st.floats(120, 500), st.floats(10, 100), st.floats(3, 20))
def test_standing_size_agrees_with_the_raw_edge_rule(width, height, depth, seam):
    # exact statement for squares measured from the raw edges, one allowance a everywhere:
    # depth = 2c, finished width = cut - 2a - D, finished height = cut - a_bottom - D / 2
    bag = Bag(width=width, height=height, depth=depth, seam=seam)
    cut_width, cut_height = bag.panel_cut_mm
    assert 2 * bag.corner_cut_mm == pytest.approx(bag.depth_mm)
    assert cut_width - 2 * seam - depth == pytest.approx(bag.standing_mm[0])
    assert cut_height - seam - depth / 2 == pytest.approx(bag.standing_mm[2])


def test_raw_edge_rule_gives_the_worked_example():
    # cut 400 x 350, a = 6.35, c = 50: D = 100, W = 287.3; height with an allowance at top and bottom: 287.3
    bag = Bag(width=400 - 2 * 6.35, height=350 - 2 * 6.35, depth=100, top="turned")
    assert bag.panel_cut_mm == pytest.approx((400, 350))
    assert bag.standing_mm == pytest.approx((287.3, 100, 287.3))


def test_base_feet_and_lining_follow_from_the_standing_size():
    assert HERON.base_mm == pytest.approx((248.0, 95.6))
    assert HERON.feet_mm[0] == pytest.approx((107.0, 30.8))
    assert len(set(HERON.feet_mm)) == 4
    assert HERON.lining_width_mm == pytest.approx(342.9)


def test_shaping_draws_the_top_in_and_leans_the_sides():
    assert HERON.shaped_top_mm == pytest.approx(254.0)
    assert HERON.lean_deg == pytest.approx(math.degrees(math.atan(50.8 / (254.0 - 38.1))))


def test_flat_bag_has_no_corner_base_or_feet():
    flat = Bag(width=200, height=150)
    assert flat.corner_cut_mm == 0
    assert flat.base_mm is None
    assert flat.feet_mm == ()


@pytest.mark.parametrize(
    ("strip", "depth", "wall", "back"),
    [
        # learnhowtoquilt.com "Binding - how wide?": 3 in strip, 1/2 in seam, thin sandwich -> 1/2 in on the back
        (76.2, 12.7, 0.0, 12.7),
        # the same formula, back = strip / 2 - 2a - t, by hand: 2 1/2 in strip, a = 1/4 in, t = 1/8 in -> 5/8 in
        (63.5, 6.35, 3.175, 15.875),
        (63.5, 9.525, 3.175, 9.525),
    ],
)
def test_binding_reaches_as_far_as_the_published_rule_says(strip, depth, wall, back):
    # the rule measures from the top edge; cover_mm measures past the stitch line, one depth below it
    assert Binding(strip=strip, depth=depth).cover_mm(wall) == pytest.approx(back - depth)


def test_binding_strip_is_twice_the_width_and_an_overlap():
    assert HERON.binding_mm == pytest.approx((63.5, 812.8))


@pytest.mark.parametrize(
    ("values", "name"),
    [
        ({"width": -1, "height": 100}, "bag.width"),
        ({"width": float("nan"), "height": 100}, "bag.width"),
        ({"width": 100, "height": "tall"}, "bag.height"),
        ({"width": 100, "height": 100, "depth": 100}, "bag.depth"),
        ({"width": 100, "height": 100, "top": "zipped"}, "bag.top"),
        ({"width": 100, "height": 100, "straps": Straps(spacing=90, width=20)}, "bag.straps.spacing"),
        ({"width": 100, "height": 100, "shaping": Shaping(down=20, over=50)}, "bag.shaping.over"),
    ],
)
def test_bag_refuses_what_cannot_be_sewn(values, name):
    with pytest.raises(ParameterError) as caught:
        Bag(**values)
    assert caught.value.name == name
    assert "\n" not in str(caught.value)


def test_cut_list_names_every_piece_of_a_boxed_bound_bag():
    names = [piece.name for piece in cut_list(HERON)]
    assert names == ["panel", "panel backing", "lining", "binding strip", "base stiffener"]


def test_lining_is_cut_out_wider_so_that_the_edges_that_meet_are_equal():
    # by hand: 2 in high; 2 + 1/2 - 1/4 in wide, so that 2 1/4 - 1/2 = 2 - 1/4 in are left on both edges
    bag = Bag(width="14 in", height="12 in", depth="4 in", seam="1/4 in", lining_seam="1/2 in")
    assert bag.lining_corner_cut_mm == pytest.approx((57.15, 50.8))
    assert Bag(width=300, height=260).lining_corner_cut_mm == (0.0, 0.0)
    same = Bag(width=300, height=260, depth=60, seam=8, lining_seam=8)
    assert same.lining_corner_cut_mm == pytest.approx((30.0, 30.0))
