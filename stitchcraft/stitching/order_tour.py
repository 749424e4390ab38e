"""A round tour over points some of which are tied in pairs, improved by exchanging two or three links.

The tour is kept as a list of nodes and the place of each in it. A move takes away the links t1-t2, t3-t4 and
perhaps t5-t6, and puts in t2-t3, t4-t1 or t2-t3, t4-t5, t6-t1, looking for t3 and t5 only among near nodes and
only while what was saved is more than what was spent (S. Lin, B. W. Kernighan, "An effective heuristic
algorithm for the traveling-salesman problem", Operations Research 21 (1973) 498-516, cut at three links).
"""

from __future__ import annotations

from array import array
from random import Random
from typing import Final, TypeAlias

LEAST_GAIN_MM: Final = 1e-9
"""A move has to save at least this much, so that rounding cannot make two moves undo each other for ever."""

Move: TypeAlias = tuple[int, int, int, int, int, int, int]
"""Kind and t1 to t6. Kinds: 0 two links; 1 three links, two turned stretches; 2 a stretch moved as it is, its two
parts swapped; 3 both parts of a stretch turned where they are."""


class Tour:
    """A round tour that can be improved.

    Attributes:
        nodes: The nodes in the order of the tour.
        place: Where each node stands in it.
        dist: Distance from node to node, a row for each node.
        touched: Nodes that moves have touched; whoever wants to know empties it first.
    """

    __slots__ = ("dist", "first", "mate", "near", "nodes", "place", "touched")

    def __init__(
        self, nodes: list[int], dist: list[array[float]], near: list[list[int]], mate: list[int], *, wide: int
    ) -> None:
        self.nodes = nodes
        self.place = [0] * len(nodes)
        for k, node in enumerate(nodes):
            self.place[node] = k
        self.dist = dist
        self.first = near
        self.near = [row[:wide] for row in near]
        self.mate = mate
        self.touched: set[int] = set()

    def length(self) -> float:
        """Length of the whole tour."""
        return sum(self.dist[node][self.nodes[k - 1]] for k, node in enumerate(self.nodes))

    def restore(self, nodes: list[int], place: list[int]) -> None:
        """Go back to a tour that was kept."""
        self.nodes[:] = nodes
        self.place[:] = place

    def settle(self, waiting: list[int]) -> float:
        """Improve until no move that begins at a waiting node, or at a node touched since, helps.

        Returns:
            What was saved.
        """
        saved = 0.0
        queued = set(waiting)
        while waiting:
            node = waiting.pop()
            queued.discard(node)
            gain, move = self._best_move(node)
            while move is not None:
                saved += gain
                self._make(move)
                self.touched.update(move[1:])
                for touched in move[1:5] if move[0] == 0 else move[1:]:
                    if touched not in queued:
                        queued.add(touched)
                        waiting.append(touched)
                gain, move = self._best_move(node)
        return saved

    def shake(self, random: Random, width: int) -> tuple[float, list[int]] | None:
        """Put three neighbouring stretches in the opposite order, which no single move can undo.

        Known as the double bridge (O. Martin, S. W. Otto, E. W. Felten, "Large-step Markov chains for the
        traveling salesman problem", Complex Systems 5 (1991) 299-326).

        Args:
            random: Where the choices come from.
            width: Largest number of nodes in a stretch.

        Returns:
            What it costs and the nodes touched, or None if the stretches did not fit.
        """
        nodes, place, dist, mate = self.nodes, self.place, self.dist, self.mate
        last = len(nodes) - 1
        cuts: list[int] = []
        at = int(random.random() * len(nodes))
        for _ in range(4):
            if at < last and mate[nodes[at]] == nodes[at + 1]:
                at += 1
            if at >= last:
                return None
            cuts.append(at)
            at += 1 + int(random.random() * width)
        a, b, c, d = cuts
        touched = [nodes[k] for cut in cuts for k in (cut, cut + 1)]
        a0, a1, b0, b1, c0, c1, d0, d1 = touched
        cost = dist[a0][c1] + dist[d0][b1] + dist[c0][a1] + dist[b0][d1]
        cost -= dist[a0][a1] + dist[b0][b1] + dist[c0][c1] + dist[d0][d1]
        nodes[a + 1 : d + 1] = nodes[c + 1 : d + 1] + nodes[b + 1 : c + 1] + nodes[a + 1 : b + 1]
        for k in range(a + 1, d + 1):
            place[nodes[k]] = k
        return cost, touched

    def _exchange(self, a: int, b: int, c: int, d: int) -> None:
        """Replace the links a-b and c-d by a-c and b-d, turning whichever stretch is shorter."""
        nodes, place = self.nodes, self.place
        count = len(nodes)
        low, high = (place[b], place[c]) if nodes[place[a] + 1 - count] == b else (place[a], place[d])
        size = high - low + 1
        if size <= 0:
            size += count
        if 2 * size > count:
            low, high = (high + 1) % count, (low - 1) % count
            size = count - size
        if low <= high:
            stretch = nodes[low : high + 1]
            stretch.reverse()
            nodes[low : high + 1] = stretch
            for node in stretch:
                place[node] = low
                low += 1
            return
        for _ in range(size // 2):
            one, other = nodes[low], nodes[high]
            nodes[low], nodes[high] = other, one
            place[other], place[one] = low, high
            low = low + 1 if low + 1 < count else 0
            high = high - 1 if high else count - 1

    def _make(self, move: Move) -> None:
        kind, t1, t2, t3, t4, t5, t6 = move
        exchange = self._exchange
        if kind == 0:
            exchange(t1, t2, t4, t3)
        elif kind == 1:
            exchange(t1, t2, t4, t3)
            exchange(t1, t4, t6, t5)
        elif kind == 2:
            exchange(t1, t2, t3, t4)
            exchange(t1, t3, t6, t5)
            exchange(t3, t5, t2, t4)
        else:
            exchange(t1, t2, t6, t5)
            exchange(t2, t5, t3, t4)

    # one nest of loops on purpose: it runs a hundred thousand times, and calls inside it cost a third more time
    def _best_move(self, t1: int) -> tuple[float, Move | None]:  # noqa: C901
        """The best move that takes away the link from *t1* to the next node; if there is none, to the one before."""
        nodes, place, mate, dist, near = self.nodes, self.place, self.mate, self.dist, self.near
        count = len(nodes)
        from_t1 = dist[t1]
        best = LEAST_GAIN_MM
        move: Move | None = None
        for ahead in (True, False):
            t2 = nodes[place[t1] + 1 - count] if ahead else nodes[place[t1] - 1]
            if mate[t1] == t2:
                continue
            start = place[t2]
            broken = from_t1[t2]
            from_t2 = dist[t2]
            for t3 in self.first[t2]:
                saved = broken - from_t2[t3]
                if saved <= LEAST_GAIN_MM:
                    break
                if t3 == t1:
                    continue
                turning, shifting = nodes[place[t3] - 1], nodes[place[t3] + 1 - count]
                if not ahead:
                    turning, shifting = shifting, turning
                # close the tour at once, or turn a second stretch after the first
                if turning not in (t2, mate[t3]):
                    t4 = turning
                    saved_2 = saved + dist[t3][t4]
                    from_t4 = dist[t4]
                    if saved_2 - from_t1[t4] > best:
                        best = saved_2 - from_t1[t4]
                        move = (0, t1, t2, t3, t4, t1, t1)
                    span = (place[t4] - start) % count if ahead else (start - place[t4]) % count
                    for t5 in near[t4]:
                        saved_3 = saved_2 - from_t4[t5]
                        if saved_3 <= LEAST_GAIN_MM:
                            break
                        if t5 in (t3, t1):
                            continue
                        at = place[t5]
                        if ahead:
                            t6 = nodes[at + 1 - count] if (at - start) % count <= span else nodes[at - 1]
                        else:
                            t6 = nodes[at - 1] if (start - at) % count <= span else nodes[at + 1 - count]
                        gain = saved_3 + dist[t5][t6] - from_t1[t6]
                        if gain > best and t6 not in (t4, mate[t5]):
                            best = gain
                            move = (1, t1, t2, t3, t4, t5, t6)
                # cut the stretch from t2 to t3 out, open it somewhere and put it back between t1 and t4
                if shifting != mate[t3]:
                    t4 = shifting
                    saved_2 = saved + dist[t3][t4]
                    from_t4 = dist[t4]
                    span = (place[t3] - start) % count if ahead else (start - place[t3]) % count
                    for t5 in near[t4]:
                        saved_3 = saved_2 - from_t4[t5]
                        if saved_3 <= LEAST_GAIN_MM:
                            break
                        at = place[t5]
                        if t5 == t3 or ((at - start) % count if ahead else (start - at) % count) > span:
                            continue
                        from_t5 = dist[t5]
                        after, before = nodes[at + 1 - count], nodes[at - 1]
                        if not ahead:
                            after, before = before, after
                        gain = saved_3 + from_t5[after] - from_t1[after]
                        if gain > best and after != mate[t5]:
                            best = gain
                            move = (2, t1, t2, t3, t4, t5, after)
                        gain = saved_3 + from_t5[before] - from_t1[before]
                        if gain > best and t5 != t2 and before != mate[t5]:
                            best = gain
                            move = (3, t1, t2, t3, t4, t5, before)
            if move is not None:
                break
        return best, move
