"""Local search for a better order of a fill's passes."""

from __future__ import annotations

import numpy as np

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.stitching.fill_hops import Hops
from stitchcraft.stitching.fill_moves import Neighbours, Shown
from stitchcraft.stitching.fill_passes import Variants

SHOWN = 20.0
"""Price of a millimetre of travel that shows, on top of its length."""

TRIED = 6
"""So many of the most promising changes are priced in full; when none helps, three times `WIDELY`."""

WIDELY = 20
MOST_ROUNDS = 400
LEAST_GAIN = 1e-6


class Costs:
    """What an order costs."""

    def __init__(self, hops: Hops, variants: Variants, start: FloatArray, end: FloatArray) -> None:
        """Prepare.

        Args:
            hops: The ways between corners.
            variants: The ways to make a pass.
            start: For each corner, the way to it from where the needle comes from, mm.
            end: For each corner, the way from it to where the needle goes, mm.
        """
        self.hops, self.variants = hops, variants
        corners = len(hops.price)
        self.price = np.zeros((corners + 1, corners + 1))
        self.price[:-1, :-1] = hops.price
        self.price[-1, :-1], self.price[:-1, -1] = start, end
        self._enter, self._leave = variants.enter.tolist(), variants.leave.tolist()

    def plain(self, tour: IntArray) -> float:
        """Price of all ways and passes, mm, as if no way ran over anything but the pass before it."""
        before, after = np.append(-1, self.variants.leave[tour]), np.append(self.variants.enter[tour], -1)
        return float(self.price[before, after].sum() + self.variants.extra[tour].sum())

    def showing(self, tour: IntArray) -> list[Shown]:
        """The ways that show in part, since they lie in sections sewn before, be it by half."""
        passes = tour.tolist()
        when: dict[int, int] = {}
        for t, variant in enumerate(passes):
            when.setdefault(variant >> 5, t)
        enter, leave, known = self._enter, self._leave, self.hops.known
        found = []
        before = leave[passes[0]]
        for t, variant in enumerate(passes[1:], 1):
            way = known.get((before, enter[variant]))
            if way is None:
                way = self.hops.rooms(before, enter[variant])
            for a, b, length in way:
                if when[a] < t and when[b] < t:
                    found.append((before, enter[variant], t, when[a], SHOWN * length))
            before = leave[variant]
        return found

    def total(self, tour: IntArray) -> float:
        """Price of an order, mm."""
        return self.plain(tour) + sum(shown[-1] for shown in self.showing(tour))


def improved(costs: Costs, tour: IntArray) -> tuple[IntArray, float]:
    """Make the best change as long as one makes the order better.

    All changes are priced at once as if what shows now would show again and nothing else; the whole price of the
    most promising ones is then worked out.

    Args:
        costs: The prices.
        tour: (n,) variants in order of sewing.

    Returns:
        The order that no change makes better, and its price.
    """
    now, widely = costs.total(tour), False
    for _ in range(MOST_ROUNDS):
        showing = costs.showing(tour) if widely else []
        near = Neighbours(costs.price, costs.variants, tour, WIDELY if widely else 3, showing)
        for _, made in near.moves()[: 3 * WIDELY if widely else TRIED]:
            other = made()
            then = costs.total(other)
            if then < now - LEAST_GAIN:
                tour, now, widely = other, then, False
                break
        else:
            if widely:
                break
            widely = True
    return tour, now


def with_best_corners(costs: Costs, tour: IntArray) -> IntArray:
    """Choose the kind and the corner of every pass of whole sections, the order as it is (dynamic programming)."""
    choices = (tour & ~31)[:, None] + np.arange(16)
    enter, leave, extra = (
        table[choices] for table in (costs.variants.enter, costs.variants.leave, costs.variants.extra)
    )
    best = costs.price[-1, enter[0]] + extra[0]
    came: list[IntArray] = []
    for t in range(1, len(tour)):
        table = best[:, None] + costs.price[leave[t - 1][:, None], enter[t]]
        came.append(table.argmin(axis=0))
        best = table.min(axis=0) + extra[t]
    at = int((best + costs.price[leave[-1], -1]).argmin())
    chosen = [at]
    for back in reversed(came):
        at = int(back[at])
        chosen.append(at)
    return choices[np.arange(len(tour)), chosen[::-1]]
