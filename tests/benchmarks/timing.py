"""How long work takes, for the benchmarks beside this."""

from __future__ import annotations

import time
from collections.abc import Callable


def best_of(work: Callable[[], object], rounds: int = 3) -> float:
    """Shortest of several times, processor seconds."""
    times = []
    for _ in range(rounds):
        begin = time.process_time()
        work()
        times.append(time.process_time() - begin)
    return min(times)
