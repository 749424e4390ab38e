"""Where the work is done: processes of this machine, or a cluster that runs already; the same call for both."""

from __future__ import annotations

import contextlib
import logging
import math
import multiprocessing
import os
import signal
import time
from collections.abc import Callable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from dataclasses import dataclass
from typing import Final, NamedTuple, TypeVar

from stitchcraft.errors import ParameterError, StitchcraftError


class Workers(NamedTuple):
    """Those who do the work.

    Attributes:
        executor: Takes a task.
        at_once: How many tasks they do at a time, now.
    """

    executor: Executor
    at_once: Callable[[], int]


@dataclass(frozen=True, slots=True)
class Engine:
    """Something that does work.

    Attributes:
        open: Opens it; asked again if its processes were lost.
    """

    open: Callable[[], contextlib.AbstractContextManager[Workers]]


_T = TypeVar("_T")
_R = TypeVar("_R")

_AHEAD: Final = 4  # tasks handed out for each worker: enough to keep it busy, few enough to stay small
_LOOK_AGAIN: Final = 1.0  # seconds after which a cluster is asked how large it is by now
_KITS_A_PROCESS: Final = 100  # then a fresh one, so that what a library may leak does not add up
_TRIES: Final = 3  # a task that is about when three processes die is given up


def local(jobs: int | None = None) -> Engine:
    """Processes of this machine.

    Args:
        jobs: How many; None takes one for each core.

    Raises:
        ParameterError: If it is no whole number from 1 to 512.
    """
    count = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
    workers = count if jobs is None else jobs
    if isinstance(workers, bool) or not isinstance(workers, int) or not 1 <= workers <= 512:
        raise ParameterError("jobs", jobs, "a whole number from 1 to 512")
    # a copy of this process is unsafe once it has threads; a server without any is copied fast
    way = "forkserver" if "forkserver" in multiprocessing.get_all_start_methods() else "spawn"

    @contextlib.contextmanager
    def opened() -> Iterator[Workers]:
        context = multiprocessing.get_context(way)
        if way == "forkserver":
            context.set_forkserver_preload(["stitchcraft.kit", "stitchcraft.catalogue.work"])
        with ProcessPoolExecutor(
            workers, mp_context=context, initializer=_leave_stopping_to_us, max_tasks_per_child=_KITS_A_PROCESS
        ) as executor:
            yield Workers(executor, lambda: workers)

    return Engine(opened)


def _leave_stopping_to_us() -> None:
    """A terminal interrupts all processes at once: the one that hands out the work stops, the others end their kit."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def cluster(address: str) -> Engine:
    """Workers of a Dask cluster that runs already and shares this machine's folders.

    Args:
        address: Of its scheduler, such as ``tcp://10.0.0.1:8786``.

    Raises:
        StitchcraftError: If the library for it is missing, or nothing answers at the address.
    """
    try:
        from distributed import Client
    except ImportError:
        raise StitchcraftError("a cluster needs the library for it: pip install 'stitchcraft[cluster]'") from None

    @contextlib.contextmanager
    def opened() -> Iterator[Workers]:
        try:
            client = Client(address, timeout=10, set_as_default=False)
        except (OSError, ValueError, TimeoutError) as error:
            raise StitchcraftError(f"{address}: no cluster answers there: {error}") from None
        with _without_its_log(), client:
            try:
                # a task of equal arguments is to be run again, not answered from memory
                yield Workers(client.get_executor(pure=False), _now_and_then(lambda: sum(client.nthreads().values())))
            except (RuntimeError, OSError, CancelledError) as error:
                if client.status == "running":
                    raise
                raise StitchcraftError(
                    f"{address}: the cluster went away; what it made is kept: start it and do the same again"
                ) from error

    return Engine(opened)


@contextlib.contextmanager
def _without_its_log() -> Iterator[None]:
    """What the library logs of a cluster that goes away is left out, tracebacks and all: it is told in a line."""
    log = logging.getLogger("distributed.client")
    level = log.level
    log.setLevel(logging.CRITICAL)
    try:
        yield
    finally:
        log.setLevel(level)


def _now_and_then(count: Callable[[], int]) -> Callable[[], int]:
    """A count that is taken anew only after a while: workers join a cluster and leave it, but not with each task."""
    known, taken = 0, -math.inf

    def counted() -> int:
        nonlocal known, taken
        if time.monotonic() - taken > _LOOK_AGAIN:
            known, taken = count(), time.monotonic()
        return known

    return counted


def results(engine: Engine, work: Callable[[_T], _R], tasks: Iterator[_T], *, lost: Callable[[_T], _R]) -> Iterator[_R]:
    """Do tasks and give their results as they come in, in whatever order.

    Only a few tasks are handed out at a time, so that memory does not grow with their number. When a worker
    dies, what it was at is done again by another.

    Args:
        engine: Where.
        work: A function that other processes can import; it must not raise.
        tasks: What to do.
        lost: What stands for a task that was about each time that workers died, `_TRIES` times in all.
    """
    again: list[tuple[_T, int]] = []
    while True:
        waiting: dict[Future[_R], tuple[_T, int]] = {}
        with engine.open() as workers:
            try:
                yield from _done(workers, work, tasks, lost, again, waiting)
            except BrokenExecutor:
                pass  # all that waits is lost, but for what was done already
            finally:
                for future in waiting:
                    future.cancel()
            if not waiting:
                return
        for future, (task, tries) in waiting.items():
            if future.done() and not future.cancelled() and future.exception() is None:
                yield future.result()
            elif tries < _TRIES:
                again.append((task, tries + 1))
            else:
                yield lost(task)


def _done(
    workers: Workers,
    work: Callable[[_T], _R],
    tasks: Iterator[_T],
    lost: Callable[[_T], _R],
    again: list[tuple[_T, int]],
    waiting: dict[Future[_R], tuple[_T, int]],
) -> Iterator[_R]:
    """Hand tasks out and give what comes back, until there are none or the executor breaks.

    Raises:
        BrokenExecutor: If its processes died; what was about stands in *waiting*.
    """
    suspect = False
    while True:
        ahead = max(1, workers.at_once()) * _AHEAD
        # what was about when a worker died is done one at a time: the next to die names the culprit
        while len(waiting) < (1 if again or suspect else ahead):
            suspect = bool(again)
            one = again.pop() if again else next(((task, 1) for task in tasks), None)
            if one is None:
                break
            try:
                waiting[workers.executor.submit(work, one[0])] = one
            except BrokenExecutor:
                again.append(one)
                raise
        if not waiting:
            return
        done, _ = wait(waiting, return_when=FIRST_COMPLETED)
        for future in done:
            try:
                result = future.result()
            except BrokenExecutor:
                raise
            except Exception:  # noqa: BLE001 - the work raises nothing: the engine lost its worker, and lives
                task, tries = waiting.pop(future)
                if tries < _TRIES:
                    again.append((task, tries + 1))
                    continue
                result = lost(task)
            waiting.pop(future, None)
            yield result
