"""Where the work is done: processes of this machine, or a cluster that runs already; the same call for both."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
from collections.abc import Callable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    Executor,
    Future,
    ProcessPoolExecutor,
    wait,
)
from dataclasses import dataclass
from typing import Final, TypeVar

from stitchcraft.errors import ParameterError, StitchcraftError


@dataclass(frozen=True, slots=True)
class Engine:
    """Something that does work.

    Attributes:
        open: Opens an executor; asked again if its processes were lost.
        workers: How many tasks it does at a time, about.
    """

    open: Callable[[], contextlib.AbstractContextManager[Executor]]
    workers: int


_T = TypeVar("_T")
_R = TypeVar("_R")

_AHEAD: Final = 4  # tasks handed out for each worker: enough to keep it busy, few enough to stay small
_CLUSTER_AHEAD: Final = 500  # of a cluster nobody knows how large it is, or will be
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

    def opened() -> ProcessPoolExecutor:
        context = multiprocessing.get_context(way)
        if way == "forkserver":
            context.set_forkserver_preload(["stitchcraft.kit", "stitchcraft.catalogue.work"])
        return ProcessPoolExecutor(
            workers, mp_context=context, initializer=_leave_stopping_to_us, max_tasks_per_child=_KITS_A_PROCESS
        )

    return Engine(opened, workers)


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
    def opened() -> Iterator[Executor]:
        try:
            client = Client(address, timeout=10, set_as_default=False)
        except (OSError, ValueError, TimeoutError) as error:
            raise StitchcraftError(f"{address}: no cluster answers there: {error}") from None
        with client:
            # a task of equal arguments is to be run again, not answered from memory
            yield client.get_executor(pure=False)

    return Engine(opened, _CLUSTER_AHEAD)


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
        with engine.open() as executor:
            try:
                yield from _done(executor, engine.workers * _AHEAD, work, tasks, lost, again, waiting)
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
    executor: Executor,
    ahead: int,
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
        # what was about when a worker died is done one at a time: the next to die names the culprit
        while len(waiting) < (1 if again or suspect else ahead):
            suspect = bool(again)
            one = again.pop() if again else next(((task, 1) for task in tasks), None)
            if one is None:
                break
            try:
                waiting[executor.submit(work, one[0])] = one
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
