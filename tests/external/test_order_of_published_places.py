"""Orders of published places against the tour that is proven to be the shortest.

"berlin52" of TSPLIB (G. Reinelt, "TSPLIB: a traveling salesman problem library", ORSA Journal on Computing 3 (1991)
376-384): 52 places in Berlin, optimum 7542 with every move rounded to a whole number. Places and tour are from memory;
the first test shows that they belong together: one wrong digit, and the tour would not have the published length.
"""

from __future__ import annotations

import itertools
import math

import numpy as np
import pytest

from stitchcraft.stitching.order import best_order, travel_of

PLACES = np.array(
    [
        (565, 575), (25, 185), (345, 750), (945, 685), (845, 655), (880, 660), (25, 230), (525, 1000), (580, 1175),
        (650, 1130), (1605, 620), (1220, 580), (1465, 200), (1530, 5), (845, 680), (725, 370), (145, 665), (415, 635),
        (510, 875), (560, 365), (300, 465), (520, 585), (480, 415), (835, 625), (975, 580), (1215, 245), (1320, 315),
        (1250, 400), (660, 180), (410, 250), (420, 555), (575, 665), (1150, 1160), (700, 580), (685, 595), (685, 610),
        (770, 610), (795, 645), (720, 635), (760, 650), (475, 960), (95, 260), (875, 920), (700, 500), (555, 815),
        (830, 485), (1170, 65), (830, 610), (605, 625), (595, 360), (1340, 725), (1740, 245),
    ],
    dtype=float,
)  # fmt: skip
SHORTEST = [
    1, 49, 32, 45, 19, 41, 8, 9, 10, 43, 33, 51, 11, 52, 14, 13, 47, 26, 27, 28, 12, 25, 4, 6, 15, 5, 24, 48, 38, 37,
    40, 39, 36, 35, 34, 44, 46, 16, 29, 50, 20, 23, 30, 2, 7, 42, 21, 17, 3, 18, 31, 22,
]  # fmt: skip
TOUR = PLACES[np.array([*SHORTEST, 1]) - 1]
OPTIMUM = float(np.hypot(*np.diff(TOUR, axis=0).T).sum())


def test_places_and_tour_have_the_published_length():
    assert sorted(SHORTEST) == list(range(1, 53))
    assert np.floor(np.hypot(*np.diff(TOUR, axis=0).T) + 0.5).sum() == 7542


@pytest.mark.parametrize("seed", range(3))
def test_a_round_through_the_places_is_within_half_a_percent_of_the_shortest(seed):
    # from the first place through the other 51 and back; the unrounded lengths of the same tour are within 52 / 2
    random = np.random.default_rng(seed)
    dots = [place[None] for place in random.permutation(PLACES[1:])]
    order = best_order(dots, dots, start=tuple(PLACES[0]), end=tuple(PLACES[0]))
    travel = travel_of(order, dots, dots, tuple(PLACES[0]), tuple(PLACES[0]))
    # a tour a hair shorter by true lengths than the best by rounded ones could be at most 52 halves shorter
    assert OPTIMUM - 26 <= travel <= 1.005 * OPTIMUM


def test_an_open_way_is_no_longer_than_the_round_without_its_longest_move():
    dots = [place[None] for place in PLACES]
    travel = travel_of(best_order(dots, dots), dots, dots)
    longest = max(math.dist(a, b) for a, b in itertools.pairwise(TOUR))
    assert travel <= OPTIMUM - longest + 1e-6
