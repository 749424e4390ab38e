"""Small changes to the order of a fill's passes, all of them priced at once."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from stitchcraft.arrays import FloatArray, IntArray
from stitchcraft.stitching.fill_passes import HALVES, Variants

LONGEST_STRETCH = 4
LEAST_GAIN = 1e-6

Move = tuple[float, Callable[[], IntArray]]
"""What a change adds to the price, mm, and how to make the order changed."""


Shown = tuple[int, int, int, int, float]
"""A way that shows: from which corner to which, before the pass at which place, over the pass at which place, and
the price of what shows."""


@dataclass(eq=False)
class Neighbours:
    """The orders that differ from a given one by one change.

    Attributes:
        price: (corners + 1, corners + 1) from corner to corner; the last row and column stand for where the
            needle comes from and where it goes.
        variants: The ways to make a pass.
        tour: (n,) variants in order of sewing.
        most: So many changes of each sort at most.
        showing: What shows of the ways; changes that would end it are priced accordingly.
    """

    price: FloatArray
    variants: Variants
    tour: IntArray
    most: int
    showing: Sequence[Shown] = ()
    found: list[Move] = field(default_factory=list)

    def __post_init__(self) -> None:
        tour, variants = self.tour, self.variants
        count = len(tour)
        self.later = np.zeros((count, count + 1))
        self.swapped = np.zeros((count, count))
        if self.showing:
            self.price = self.price.copy()
        for before, after, place, over, more in self.showing:
            self.price[before, after] += more
            # what lies on top now would be sewn after the way
            self.later[over, place + 1 :] += more
            self.swapped[: over + 1, place:] += more
        price = self.price
        self.items = np.arange(count)
        self.enter, self.leave = variants.enter[tour], variants.leave[tour]
        # gap g lies before the item at place g; the last lies behind all
        self.before, self.after = np.append(-1, self.leave), np.append(self.enter, -1)
        self.hop = price[self.before, self.after]
        self.kind = tour >> 2 & 7
        self.whole = self.kind < HALVES[0][0]
        self.others = (tour & ~31) + np.arange(32)[:, None]
        own = variants.extra[tour]
        self.old = self.hop[:-1] + self.hop[1:] + own
        self.freed = self.old - price[self.before[:-1], self.after[1:]]
        extra = variants.extra[self.others]
        enters, leaves = variants.enter[self.others], variants.leave[self.others]
        self.here = price[self.before[:-1], enters] + price[leaves, self.after[1:]] + extra - self.old
        self.to_gap = price[self.before]
        self.from_gap = price[:, self.after]
        # (kinds, modes, items, gaps): the corners to enter by do not depend on the kind
        there = self.from_gap[leaves].reshape(8, 4, count, count + 1)
        there += np.ascontiguousarray(self.to_gap.T)[enters[:4]]
        there += extra.reshape(8, 4, count, 1)
        self.there = there
        self.least = there.min(axis=1) - self.hop
        self.least[:, self.items, self.items] = np.inf
        self.least[:, self.items, self.items + 1] = np.inf

    def moves(self) -> list[Move]:
        """The changes that add least, best first."""
        self._other_kinds_and_corners()
        self._elsewhere()
        self._into_halves()
        if not self.whole.all():
            self._into_one()
        self._turned()
        if len(self.tour) > 2:
            self._stretches()
        return sorted(self.found, key=lambda move: move[0])

    def _take(self, adds: FloatArray, make: Callable[[int, int], Callable[[], IntArray]]) -> None:
        """Keep the best change of each row of a table, and of those the best few."""
        column = adds.argmin(axis=1)
        best = adds[np.arange(len(adds)), column]
        for row in np.argsort(best, kind="stable")[: self.most].tolist():
            if not best[row] < -LEAST_GAIN:
                break
            self.found.append((float(best[row]), make(row, int(column[row]))))

    def _allowed(self) -> NDArray[np.bool_]:
        """(32, n) variants that sew as much as the one there is."""
        kind = np.arange(32)[:, None] >> 2
        return np.where(self.whole, kind < HALVES[0][0], kind == self.kind)

    def _other_kinds_and_corners(self) -> None:
        adds = np.where(self._allowed(), self.here, np.inf).T
        self._take(adds, lambda i, k: lambda: self._with(i, self.others[k, i]))

    def _elsewhere(self) -> None:
        adds = np.where(self.whole[:, None], self.least[:4].min(axis=0), self.least[self.kind, self.items])
        self._take(
            adds - self.freed[:, None] - self.later,
            lambda i, gap: lambda: self._moved(i, 1, gap, self._best_at(i, gap)),
        )

    def _best_at(self, i: int, gap: int) -> IntArray:
        kinds = slice(0, HALVES[0][0]) if self.whole[i] else slice(self.kind[i], self.kind[i] + 1)
        at = int(self.there[kinds, :, i, gap].argmin())
        return self.others[4 * kinds.start + at, i : i + 1]

    def _into_halves(self) -> None:
        """Sew one half where the section is sewn now, the other elsewhere."""
        here = self.here.reshape(8, 4, -1)
        for first, second in (pair for half in HALVES for pair in (half, half[::-1])):
            adds = here[first].min(axis=0)[:, None] + self.least[second]
            adds[~self.whole] = np.inf

            def make(i: int, gap: int, first: int = first, second: int = second) -> Callable[[], IntArray]:
                one = 4 * first + int(here[first, :, i].argmin())
                two = 4 * second + int(self.there[second, :, i, gap].argmin())
                return lambda: np.insert(self._with(i, self.others[one, i]), gap, self.others[two, i])

            self._take(adds, make)

    def _into_one(self) -> None:
        """Sew two halves as one again, where either of them is sewn."""
        price, variants = self.price, self.variants
        places: dict[int, list[int]] = {}
        for i in np.flatnonzero(~self.whole).tolist():
            places.setdefault(int(self.tour[i]) >> 5, []).append(i)
        for first, second in places.values():
            whole = self.others[:16, first]
            if second == first + 1:
                adds = price[self.before[first], variants.enter[whole]] + variants.extra[whole]
                adds += price[variants.leave[whole], self.after[second + 1]]
                adds -= self.old[first] + self.old[second] - self.hop[second]
                self._take_joined(first, second, adds)
            else:
                self._take_joined(first, second, self.here[:16, first] - self.freed[second])
                self._take_joined(second, first, self.here[:16, second] - self.freed[first])

    def _take_joined(self, kept: int, gone: int, adds: FloatArray) -> None:
        def make(_: int, variant: int) -> Callable[[], IntArray]:
            return lambda: np.delete(self._with(kept, self.others[variant, kept]), gone)

        self._take(adds[None], make)

    def _turned(self) -> None:
        """Sew a stretch of the order backward."""
        self.back = np.append(0.0, np.cumsum(self.price[self.enter[1:], self.leave[:-1]] - self.hop[1:-1]))
        adds = self.to_gap[:-1, self.leave] + self.from_gap[self.enter, 1:] - self.hop[:-1, None] - self.hop[1:]
        adds += self.back - self.back[:, None] - self.swapped
        adds[self.items[:, None] >= self.items] = np.inf
        self._take(adds, lambda i, j: lambda: self._moved(i, j + 1 - i, i, self._backward(i, j + 1)))

    def _stretches(self) -> None:
        """Sew a few passes elsewhere, forward or backward."""
        count = len(self.tour)
        lengths = range(2, min(LONGEST_STRETCH, count - 1) + 1)
        first = np.concatenate([np.arange(count - k + 1) for k in lengths])
        size = np.repeat(lengths, [count - k + 1 for k in lengths])
        last = first + size - 1
        gap = np.arange(count + 1)
        within = (gap >= first[:, None]) & (gap <= last[:, None] + 1)
        freed = self.hop[first] + self.hop[last + 1] - self.price[self.before[first], self.after[last + 1]]
        inner = self.back[last] - self.back[first]
        enter, leave = self.enter[first], self.leave[last]
        for a, b, gain, way in ((enter, leave, freed, 1), (leave, enter, freed - inner, -1)):
            adds = self.to_gap[:, a].T + self.from_gap[b] - self.hop - gain[:, None]
            adds[within] = np.inf

            def make(s: int, g: int, way: int = way) -> Callable[[], IntArray]:
                i, j = int(first[s]), int(last[s]) + 1
                return lambda: self._moved(i, j - i, g, self.tour[i:j] if way > 0 else self._backward(i, j))

            self._take(adds, make)

    def _backward(self, first: int, end: int) -> IntArray:
        return self.variants.turned[self.tour[first:end][::-1]]

    def _with(self, i: int, variant: int) -> IntArray:
        tour = self.tour.copy()
        tour[i] = variant
        return tour

    def _moved(self, i: int, size: int, gap: int, stretch: IntArray) -> IntArray:
        tour = self.tour
        if gap <= i:
            return np.concatenate([tour[:gap], stretch, tour[gap:i], tour[i + size :]])
        return np.concatenate([tour[:i], tour[i + size : gap], stretch, tour[gap:]])
