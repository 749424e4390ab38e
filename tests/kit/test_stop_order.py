"""Merging the stops of parts: order kept, threads changed as seldom as can be."""

import itertools

from hypothesis import given, settings
from hypothesis import strategies as st

from stitchcraft.kit.stop_order import merged_stops

THREADS = st.lists(st.sampled_from("abc"), min_size=1, max_size=4)


def changes(sequence: str) -> int:
    return sum(one != other for one, other in itertools.pairwise(sequence))


def takes_all(sequence: str, parts: list[list[str]]) -> bool:
    """Whether every part's stops can be found in a sequence, in order."""
    for part in parts:
        rest = iter(sequence)
        if not all(any(thread == step for step in rest) for thread in part):
            return False
    return True


def brute(parts: list[list[str]]) -> tuple[int, int]:
    """Fewest changes of thread, then fewest stops, over all sequences by rising length."""
    most = sum(len(part) for part in parts)
    best = (most, most)
    for length in range(1, most + 1):
        for sequence in itertools.product(sorted({t for part in parts for t in part}), repeat=length):
            cost = (changes("".join(sequence)), length)
            if cost < best and takes_all("".join(sequence), parts):
                best = cost
    return best


@given(st.lists(THREADS, min_size=1, max_size=3).filter(lambda parts: sum(map(len, parts)) <= 8))
@settings(max_examples=40)
def test_merged_stops_change_threads_as_seldom_as_any_order_does(parts):
    merged = merged_stops(parts, [[False] * len(part) for part in parts])
    threads = "".join(parts[stop.members[0][0]][stop.members[0][1]] for stop in merged)
    assert (changes(threads), len(merged)) == brute(parts)


@given(st.lists(THREADS, min_size=1, max_size=5))
def test_each_stop_is_sewn_once_in_its_part_order_and_in_its_thread(parts):
    merged = merged_stops(parts, [[number > 0 for number in range(len(part))] for part in parts])
    for number, part in enumerate(parts):
        own = [source for stop in merged for member, source in stop.members if member == number]
        assert own == list(range(len(part)))
    for stop in merged:
        assert len({parts[member][source] for member, source in stop.members}) == 1
        assert len({member for member, _ in stop.members}) == len(stop.members)


def test_copies_of_one_part_go_in_step():
    part = ["mark", "seam", "accent", "edge", "mark", "mark"]
    merged = merged_stops([part] * 4, [[False] * 6] * 4)
    assert [stop.members for stop in merged] == [tuple((k, number) for k in range(4)) for number in range(6)]


def test_of_equal_orders_the_one_with_fewer_waits_for_hands_is_taken():
    # "a" and "b" twice: whichever thread comes first, the stops that hands come before are put together
    merged = merged_stops([["a", "b"], ["a", "b"]], [[False, True], [False, True]])
    assert len(merged) == 2
