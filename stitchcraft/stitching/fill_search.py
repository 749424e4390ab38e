"""Local search for a better order of a fill's sections: annealing with small, cheap changes."""

from __future__ import annotations

import math
import random

from stitchcraft.stitching.fill_hops import Hops
from stitchcraft.stitching.fill_travel import OVER_SEWN

Tour = list[tuple[int, int]]
"""Sections in order of sewing, each with the corner it is entered at: 2 * top + right."""

FIRST_HEAT = 0.6
NEAR = 6


class Costs:
    """What a tour costs, step by step."""

    def __init__(
        self, hops: Hops, enters: list[list[int]], leaves: list[list[int]], start: list[float], end: list[float]
    ) -> None:
        """Prepare.

        Args:
            hops: The ways between corners.
            enters: For each section and mode, the corner that it is entered at.
            leaves: Likewise the corner that it is left at.
            start: For each corner, the way to it from where the needle comes from, mm.
            end: For each corner, the way from it to where the needle goes, mm.
        """
        self.hops, self.enters, self.leaves, self.start, self.end = hops, enters, leaves, start, end

    def step(self, tour: Tour, when: list[int], t: int) -> float:
        """Cost of getting to the section at place *t*, or from the last one on to the end."""
        if t == len(tour):
            section, mode = tour[-1]
            return self.end[self.leaves[section][mode]]
        section, mode = tour[t]
        goal = self.enters[section][mode]
        if t == 0:
            return self.start[goal]
        before, its_mode = tour[t - 1]
        key = (self.leaves[before][its_mode], goal)
        found = self.hops.known.get(key)
        if found is None:
            found = self.hops.hop(*key)
        shown = 0.0
        for room, length in found[1]:
            if when[room] < t:
                shown += length
        return found[0] + (OVER_SEWN - 1.0) * shown

    def total(self, tour: Tour) -> float:
        """Length of all ways, what shows of them counted `OVER_SEWN` times."""
        when = _times(tour)
        return sum(self.step(tour, when, t) for t in range(len(tour) + 1))


def improved(costs: Costs, tour: Tour, *, chance: random.Random, turns: int) -> Tour:
    """Change a tour at random, keep what is better, and early on what is a little worse.

    A change touches a short stretch of the tour; only the steps into and behind that stretch are priced anew,
    since what has been sewn before and after it stays the same.

    Args:
        costs: The prices.
        tour: Where to begin.
        chance: Source of the changes.
        turns: How many changes to try.

    Returns:
        The best tour seen.
    """
    tour = list(tour)
    when = _times(tour)
    steps = [costs.step(tour, when, t) for t in range(len(tour) + 1)]
    now = least = sum(steps)
    best = list(tour)
    heat = FIRST_HEAT * now / len(tour)
    for turn in range(turns):
        first, stretch = _change(tour, costs, chance)
        last = first + len(stretch)
        old = tour[first:last]
        tour[first:last] = stretch
        for t in range(first, last):
            when[tour[t][0]] = t
        priced = [costs.step(tour, when, t) for t in range(first, last + 1)]
        gain = sum(steps[first : last + 1]) - sum(priced)
        if gain >= 0 or chance.random() < math.exp(gain / (heat * (1.0 - turn / turns) + 1e-12)):
            steps[first : last + 1] = priced
            now -= gain
            if now < least - 1e-9:
                least, best = now, list(tour)
        else:
            tour[first:last] = old
            for t in range(first, last):
                when[tour[t][0]] = t
    return best


def _times(tour: Tour) -> list[int]:
    when = [0] * len(tour)
    for t, (section, _) in enumerate(tour):
        when[section] = t
    return when


def _change(tour: Tour, costs: Costs, chance: random.Random) -> tuple[int, Tour]:
    """A stretch of the tour, changed: where it begins, and what to put there."""
    count = len(tour)
    i = int(chance.random() * count)
    kind = chance.random()
    section, mode = tour[i]
    if kind < 0.25:
        return i, [(section, mode ^ (1 + int(chance.random() * 3)))]
    length = min(count - i, 1 + int(chance.random() ** 2 * 5))
    block = tour[i : i + length]
    if length == 1 and kind < 0.6:
        block = [(section, int(chance.random() * 4))]
    elif kind < 0.7:
        block = [(s, costs.hops.travel.rows.turned_mode(s, m)) for s, m in reversed(block)]
    if length > 1 and kind < 0.4:
        return i, block
    reach = NEAR if chance.random() < 0.7 else count
    j = min(count - length, max(0, i + int((2.0 * chance.random() - 1.0) * reach)))
    if j < i:
        return j, block + tour[j:i]
    return i, tour[i + length : j + length] + block
