"""The numbers of the pieces in a shared hooping: inside the field, off what is sewn, off one another."""

import numpy as np
import pytest
import shapely

from stitchcraft.paper.shared_page import number_spot

FIELD = shapely.box(-30, -40, 30, 40)


def number_at(at):
    return shapely.Point(at).buffer(2.4)


@pytest.mark.parametrize("angle", [0, 90, 180, 270])
def test_number_of_a_small_piece_lies_beside_it(angle):
    hulls = [shapely.box(-12, y, 12, y + 5) for y in (-30, 0, 25)]
    taken = []
    for number in range(3):
        at = number_spot(number, hulls, FIELD, angle, taken)
        badge = number_at(at)
        assert FIELD.contains(badge)
        assert not any(badge.intersects(one) for one in (*hulls, *taken))
        taken.append(badge)


def test_number_of_a_large_piece_lies_in_its_middle():
    hull = shapely.box(-20, -30, 20, 10)
    assert number_spot(0, [hull], FIELD, 0, []) == pytest.approx((0, -10))


def test_number_of_a_piece_with_no_room_beside_it_stays_within_the_field():
    rows = [shapely.box(-29.9, y, 29.9, y + 3) for y in np.arange(-39.9, 36, 3.2)]
    for number in range(len(rows)):
        assert FIELD.contains(number_at(number_spot(number, rows, FIELD, 0, [])))
