"""In which order the stops of several parts are sewn in one hooping, so that threads are changed least."""

from __future__ import annotations

import heapq
from collections.abc import Hashable, Sequence
from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class MergedStop:
    """One stop of the whole: the stops of parts that are sewn in it.

    Attributes:
        members: Pairs of part and stop, by index, in order of the parts.
    """

    members: tuple[tuple[int, int], ...]


def merged_stops(threads: Sequence[Sequence[Hashable]], hands: Sequence[Sequence[bool]]) -> tuple[MergedStop, ...]:
    """Merge the stops of parts.

    Each part's stops keep their order, and stops in one thread that come next are sewn together. Of all such orders
    it is one with the fewest changes of thread; of those, with the fewest stops; of those, with the fewest stops that
    hands come before. It is found by going through all of them, cheapest first: to take along every stop that can be
    taken never costs more, since what is left then is a part of what would be left otherwise.

    Args:
        threads: For each part the thread of each of its stops.
        hands: For each part whether hands have something to do before each of its stops.

    Returns:
        The merged stops in order.

    Example:
        >>> merged = merged_stops([["grey", "teal", "gold"], ["grey", "gold"]], [[False] * 3, [False] * 2])
        >>> [stop.members for stop in merged]
        [((0, 0), (1, 0)), ((0, 1),), ((0, 2), (1, 1))]
    """
    # parts with the same stops go in step
    kinds: dict[tuple[tuple[Hashable, ...], tuple[bool, ...]], list[int]] = {}
    for part, (stops_of_part, waits) in enumerate(zip(threads, hands, strict=True)):
        kinds.setdefault((tuple(stops_of_part), tuple(waits)), []).append(part)
    rows = list(kinds)
    start = (0,) * len(rows)
    names = {thread: number for number, thread in enumerate(dict.fromkeys(one for own, _ in rows for one in own))}
    queue: list[tuple[tuple[int, int, int], tuple[int, ...], int]] = [((0, 0, 0), start, -1)]
    came: dict[tuple[tuple[int, ...], int], tuple[tuple[int, ...], int] | None] = {(start, -1): None}
    best = {(start, -1): (0, 0, 0)}
    end: tuple[tuple[int, ...], int] | None = None
    while queue:
        cost, done, last = heapq.heappop(queue)
        if cost > best[done, last]:
            continue
        if all(count == len(own) for count, (own, _) in zip(done, rows, strict=True)):
            end = (done, last)
            break
        for thread, number in names.items():
            goes = [count < len(own) and own[count] == thread for count, (own, _) in zip(done, rows, strict=True)]
            if not any(goes):
                continue
            busy = any(go and row[1][count] for go, row, count in zip(goes, rows, done, strict=True))
            changed = int(last >= 0 and number != last)
            new = (cost[0] + changed, cost[1] + 1, cost[2] + int(busy))
            state = (tuple(count + int(go) for count, go in zip(done, goes, strict=True)), number)
            if new < best.get(state, (10**9, 0, 0)):
                best[state], came[state] = new, (done, last)
                heapq.heappush(queue, (new, *state))
    return _walked(end, came, list(kinds.values()))


def _walked(
    end: tuple[tuple[int, ...], int] | None,
    came: dict[tuple[tuple[int, ...], int], tuple[tuple[int, ...], int] | None],
    members: Sequence[Sequence[int]],
) -> tuple[MergedStop, ...]:
    """The way back from the end, turned round."""
    stops: list[MergedStop] = []
    while end is not None and (before := came[end]) is not None:
        taken = [
            (part, count)
            for count, now, parts in zip(before[0], end[0], members, strict=True)
            if now > count
            for part in parts
        ]
        stops.append(MergedStop(tuple(sorted(taken))))
        end = before
    return tuple(reversed(stops))
