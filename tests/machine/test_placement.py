import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from stitchcraft.errors import ParameterError
from stitchcraft.geometry.curves import mirrored
from stitchcraft.machine import Placement, centred
from stitchcraft.units import to_units

COORDINATE = st.floats(-200, 200)
POINTS = st.lists(st.tuples(COORDINATE, COORDINATE), min_size=1, max_size=30)


def test_a_point_is_turned_counter_clockwise_about_the_parts_origin_and_then_shifted() -> None:
    spot = Placement(90.0, (5.0, -2.0))
    assert spot.placed([(10.0, 0.0), (0.0, 10.0)]).tolist() == [[5.0, 8.0], [-5.0, -2.0]]


@given(POINTS, st.floats(-180, 180), st.integers(-500, 500), st.integers(-500, 500))
def test_a_mirrored_part_in_the_mirrored_placement_rounds_to_the_mirrored_units(
    points: list[tuple[float, float]], angle: float, x: int, y: int
) -> None:
    spot = Placement(angle, (x / 10, y / 10))
    one = to_units(spot.placed(points))
    other = to_units(spot.mirrored().placed(mirrored(points)))
    assert np.array_equal(other, one * (-1, 1))


def test_what_lies_in_the_field_is_taken_back_to_the_part() -> None:
    spot = Placement(90.0, (5.0, -2.0))
    assert spot.taken_back([(5.0, 8.0), (-5.0, -2.0)]).tolist() == [[10.0, 0.0], [0.0, 10.0]]


def test_mirroring_a_placement_twice_gives_it_back() -> None:
    spot = Placement(30.0, (1.5, 2.0))
    assert spot.mirrored() == Placement(-30.0, (-1.5, 2.0))
    assert spot.mirrored().mirrored() == spot


@given(POINTS)
def test_centred_points_reach_as_far_left_as_right_within_a_unit_and_the_shift_is_whole_units(
    points: list[tuple[float, float]],
) -> None:
    spot = centred(points)
    assert spot.angle_deg == 0.0
    assert all(round(value, 1) == value for value in spot.offset_mm)
    placed = spot.placed(points)
    assert np.abs(placed.min(axis=0) + placed.max(axis=0)).max() <= 0.1 + 1e-9


def test_there_is_no_centre_of_nothing() -> None:
    with pytest.raises(ParameterError, match="points"):
        centred(np.empty((0, 2)))


@pytest.mark.parametrize(
    ("angle", "offset"),
    [(float("nan"), (0, 0)), (float("inf"), (0, 0)), (0, (float("nan"), 0)), (0, (0, 6000)), (0, (0, 0, 0))],
)
def test_a_placement_out_of_reason_is_refused(angle: float, offset: tuple[float, ...]) -> None:
    with pytest.raises(ParameterError):
        Placement(angle, offset)  # type: ignore[arg-type]
