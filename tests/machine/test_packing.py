"""Packing pieces into fields: promises measured on shapes, bounds against brute force."""

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.arrays import turned
from stitchcraft.errors import ParameterError
from stitchcraft.machine import Hoop, Placement
from stitchcraft.machine.packing import (
    ANY_TURN,
    GRAIN_TURNS,
    QUARTER_TURNS,
    Piece,
    largest_fields,
    moved,
    pack,
)
from stitchcraft.machine.packing.bounds import fewest_fields
from stitchcraft.machine.packing.pairs import core_of, never_together

FIELD = Hoop(130, 180)


def tab(width: float = 50.0, length: float = 90.0) -> shapely.Polygon:
    tip = [(-width / 2, 0), (width / 2, 0), (width / 2, -0.6 * length), (0, -length), (-width / 2, -0.6 * length)]
    return shapely.Polygon(tip)


def quarter_disc(radius: float) -> shapely.Polygon:
    disc = shapely.Point(0, 0).buffer(radius).intersection(shapely.box(0, 0, radius, radius))
    return disc.difference(shapely.box(-1, -1, radius / 5, radius / 5))


def family(seed: int, count: int, turns: tuple[float, ...] = QUARTER_TURNS) -> list[Piece]:
    random = np.random.default_rng(seed)
    made = (
        lambda: tab(random.uniform(30, 55), random.uniform(60, 100)),
        lambda: quarter_disc(random.uniform(30, 60)),
        lambda: shapely.box(0, 0, random.uniform(40, 90), random.uniform(15, 35)),
    )
    return [Piece(made[k % 3](), turns=turns) for k in range(count)]


@pytest.mark.parametrize("seed", range(4))
def test_every_piece_lies_once_inside_its_field_and_clear_of_the_others(seed):
    pieces = family(seed, 9)
    packing = pack(pieces, [FIELD, Hoop(100, 100)], clearance=7.0, margin=1.5, effort=0.02)
    assert sorted(one.piece for field in packing.fields for one in field.laid) == list(range(9))
    assert packing.bound <= packing.square_bound <= len(packing.fields)
    for field in packing.fields:
        shapes = []
        room = shapely.box(-field.hoop.width / 2, -field.hoop.height / 2, field.hoop.width / 2, field.hoop.height / 2)
        for one in field.laid:
            place = one.placement
            shapes.append(
                shapely.Polygon(turned(pieces[one.piece].shape.exterior.coords, place.angle_deg, place.offset_mm))
            )
            assert np.allclose(np.array(place.offset_mm) * 10, np.round(np.array(place.offset_mm) * 10), atol=1e-6)
        assert all(shapely.buffer(room, -1.5 + 0.06).covers(shape) for shape in shapes)
        gaps = [a.distance(b) for a, b in itertools.combinations(shapes, 2)]
        assert min(gaps, default=7.0) >= 7.0 - 1e-6
        assert field.gap_mm == (pytest.approx(min(gaps)) if gaps else None)


def test_pieces_of_one_field_keep_the_grain_unless_more_turns_are_allowed():
    packing = pack(family(3, 6, GRAIN_TURNS), [FIELD], clearance=6.0, effort=0.02)
    for field in packing.fields:
        first = field.laid[0].placement.angle_deg
        assert all((one.placement.angle_deg - first) % 180 == pytest.approx(0) for one in field.laid)


def test_smaller_field_is_taken_where_it_holds_what_is_left():
    packing = pack([Piece(shapely.box(0, 0, 60, 90))], [FIELD, Hoop(100, 100)], clearance=5)
    assert [field.hoop for field in packing.fields] == [Hoop(100, 100)]
    assert packing.proven


def test_piece_that_fits_only_slanted_is_laid_slanted():
    strap = Piece(shapely.box(0, 0, 195, 12))  # longer than the field, shorter than its diagonal
    packing = pack([strap, strap], [FIELD], clearance=5, effort=0.02)
    assert len(packing.fields) == 2 or packing.fields[0].gap_mm >= 5
    assert all(abs(one.placement.angle_deg % 90) > 1 for field in packing.fields for one in field.laid)


def test_pieces_asked_apart_never_share_a_field():
    small = [Piece(shapely.box(0, 0, 20, 20)) for _ in range(5)]
    together = pack(small, [FIELD], clearance=5)
    parted = pack(small, [FIELD], clearance=5, apart=[(0, 1), (0, 2), (1, 2)])
    assert (len(together.fields), len(parted.fields), parted.bound, parted.proven) == (1, 3, 3, True)
    at = {one.piece: number for number, field in enumerate(parted.fields) for one in field.laid}
    assert len({at[0], at[1], at[2]}) == 3


def test_two_large_tabs_are_proven_to_need_two_fields():
    # 76 x 133 mm each in 130 x 180: by area alone two would go into one
    large = Piece(shapely.box(0, 0, 76.2, 133.0))
    packing = pack([large] * 3, [FIELD], clearance=6.35, effort=0.02)
    assert (len(packing.fields), packing.bound, packing.proven) == (3, 3, True)


@pytest.mark.parametrize("seed", range(3))
def test_odd_sizes_in_odd_fields_keep_gap_and_field(seed):
    random = np.random.default_rng(seed)
    pieces = []
    for _ in range(5):
        (x, y), (w, h) = random.uniform(-9, 9, 2), random.uniform(25, 50, 2)
        over = random.uniform(0, 4)
        reach = shapely.get_coordinates(shapely.box(x + over, y + over, x + w - over, y + h - over))
        pieces.append(Piece(shapely.box(x, y, x + w, y + h), reach=reach, turns=QUARTER_TURNS))
    packing = pack(pieces, [Hoop(97.13, 88.87)], clearance=3.3, margin=0.77, effort=0.01)
    for field in packing.fields:
        shapes = [pieces[one.piece].laid(one.placement) for one in field.laid]
        assert min((a.distance(b) for a, b in itertools.combinations(shapes, 2)), default=9) >= 3.3 - 1e-6
        for one in field.laid:
            units = np.round(one.placement.placed(pieces[one.piece].hull) * 10) / 10
            assert (np.abs(units).max(axis=0) <= np.array([97.13, 88.87]) / 2 - 0.77 + 1e-6).all()


def test_same_arguments_give_the_same_answer():
    one, two = (pack(family(5, 8), [FIELD], clearance=6, effort=0.02) for _ in range(2))
    assert one == two


@given(st.lists(st.integers(8, 60), min_size=1, max_size=6), st.integers(0, 2**20))
@settings(max_examples=40)
def test_bound_by_areas_is_the_optimum_of_one_dimension(percents, pattern):
    shares = np.array(percents) / 100
    count = len(shares)
    apart = np.zeros((count, count), dtype=bool)
    for bit, (i, j) in enumerate(itertools.combinations(range(count), 2)):
        apart[i, j] = apart[j, i] = (pattern >> bit) & 1 and (pattern >> (bit + 1)) & 1
    best = count
    for deal in itertools.product(range(count), repeat=count):
        used = max(deal) + 1
        if used >= best or deal[0] != 0:
            continue
        loads = np.bincount(deal, weights=shares, minlength=used)
        if (loads <= 1 + 1e-9).all() and not any(
            apart[i, j] and deal[i] == deal[j] for i in range(count) for j in range(i)
        ):
            best = used
    assert fewest_fields(shares, apart) == best


def test_pair_is_not_said_to_be_apart_where_a_packing_is_found():
    random = np.random.default_rng(7)
    settled = {True: 0, False: 0}
    for _ in range(40):
        pair = [Piece(shapely.box(0, 0, *random.uniform(50, 128, 2)), turns=QUARTER_TURNS) for _ in range(2)]
        apart = never_together(core_of(pair[0]), core_of(pair[1]), (0, 90, 180, 270), (130.0, 180.0), 6.0)
        # upright pieces in opposite corners: side by side or one above the other
        sizes = [np.ptp(piece.hull, axis=0) for piece in pair]
        fits = any(
            (a[0] + b[0] + 6 <= 130 and max(a[1], b[1]) <= 180) or (a[1] + b[1] + 6 <= 180 and max(a[0], b[0]) <= 130)
            for a in (sizes[0], sizes[0][::-1])
            for b in (sizes[1], sizes[1][::-1])
        )
        assert not (apart and fits)
        settled[apart] += 1
    assert min(settled.values()) >= 8


def test_core_of_a_shape_with_a_notch_is_convex_and_within_it():
    piece = Piece(quarter_disc(60))
    core = core_of(piece)
    own = shapely.Polygon(core.convex)
    assert own.equals(own.convex_hull)
    assert own.area > 0.3 * piece.shape.area
    x, y = piece.hull.mean(axis=0) - core.hull.mean(axis=0)
    assert piece.shape.buffer(1e-6).covers(shapely.transform(own, lambda xy: xy + (x, y)))


def test_fields_within_others_are_left_out():
    hoops = [Hoop(100, 100), Hoop(180, 130), Hoop(130, 180), Hoop(360, 90)]
    assert largest_fields(hoops) == (Hoop(360, 90), Hoop(180, 130))


def test_move_of_the_field_is_applied_after_the_piece_own_placement():
    place, move = Placement(30, (10, 20)), Placement(90, (1, 2))
    points = [(3.0, 4.0), (-5.0, 6.0)]
    assert np.allclose(moved(place, move).placed(points), move.placed(place.placed(points)))


@pytest.mark.parametrize(
    ("change", "named"),
    [
        ({"clearance": -1}, "clearance"),
        ({"clearance": "six"}, "clearance"),
        ({"margin": 70}, "margin"),
        ({"hoops": []}, "hoops"),
        ({"apart": [(0, 0)]}, "apart"),
        ({"apart": [(0, 5)]}, "apart"),
        ({"pieces": [Piece(shapely.box(0, 0, 400, 400))]}, "pieces"),
        ({"pieces": [Piece(shapely.box(0, 0, 4, 4))] * 201}, "pieces"),
    ],
)
def test_arguments_that_cannot_be_used_are_named(change, named):
    arguments = {"pieces": [Piece(shapely.box(0, 0, 20, 20))], "hoops": [FIELD], "clearance": 5} | change
    with pytest.raises(ParameterError) as caught:
        pack(arguments.pop("pieces"), arguments.pop("hoops"), **arguments)
    assert caught.value.name == named


@pytest.mark.parametrize("bad", [{"shape": shapely.LineString([(0, 0), (1, 1)])}, {"turns": ()}, {"reach": np.ones(3)}])
def test_piece_refuses_what_cannot_be_laid(bad):
    with pytest.raises(ParameterError):
        Piece(**({"shape": shapely.box(0, 0, 9, 9), "turns": ANY_TURN} | bad))


def test_nothing_to_pack_takes_no_field():
    assert pack([], [FIELD], clearance=5).fields == ()
