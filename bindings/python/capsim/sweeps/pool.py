# SPDX-License-Identifier: BSD-3-Clause
"""Where the runs of a sweep are done: threads, any `concurrent.futures` executor, a dask client.

Every place does the same: batches of runs in, rows out in whatever order they are ready, each
handed on at once. Interrupted or failing, it cancels what has not begun, hands on what is
finished, and raises.
"""

from __future__ import annotations

import concurrent.futures as futures
import math
import os
import threading
import time
from collections.abc import Callable, Iterator
from typing import Any, Generic, Protocol, TypeVar

from .. import _core
from ..errors import ArgumentError, ResultsFileError
from ..optional import needed
from ..simulation import Progress
from .interruption import Arrivals, leave_interrupts_to
from .run import Plan, Row, run_batch
from .template import Template

Item = tuple[int, dict[str, Any]]
"""A run and what it changes."""
Keep = Callable[[Row], None]
Result = TypeVar("Result")

MOST_TASKS = 1000
"""For a dask client: its scheduler takes about a millisecond for each task."""

PATIENCE_S = 10.0
"""How long to wait, when interrupted, for batches that run in other processes."""


class Todo(Protocol):
    """The runs that are to be done."""

    def __len__(self) -> int: ...

    def part(self, first: int, last: int) -> list[Item]:
        """Those from `first` up to, not including, `last`."""


class Place(Protocol):
    """Does the runs and hands each row to `keep`, from the calling thread."""

    def do(self, plan: Plan, todo: Todo, keep: Keep) -> None: ...


class Threads:
    """Threads of this process, one run at a time in each; a simulation does not hold the interpreter lock."""

    def __init__(self, workers: int | None = None) -> None:
        if workers is not None and workers < 1:
            raise ArgumentError(f"workers is {workers}; at least 1 is needed")
        self.workers = workers or cores()

    def do(self, plan: Plan, todo: Todo, keep: Keep) -> None:
        stop, raised = _core.StopFlag(), threading.Event()
        template, library = Template(plan.base), _core.ModelLibrary()
        pace = _Pace()

        def halt() -> None:  # each stops at its next time step
            stop.raise_()
            raised.set()

        def go_on(_: Progress) -> bool:
            return not raised.is_set()

        def work(batch: list[Item]) -> list[Row]:
            begun = time.perf_counter()
            rows = run_batch(plan, batch, template, stop, go_on, library)
            pace.took((time.perf_counter() - begun) / len(batch))
            return rows

        with futures.ThreadPoolExecutor(self.workers, thread_name_prefix="capsim-sweep") as pool:
            submitted = (pool.submit(work, batch) for batch in pace.batches(todo, self.workers))
            _Flight(submitted, 2 * self.workers, keep, lambda rows: rows).finish(None, halt)


class _Pace:
    """How many runs a batch has: as many as are done in an instant, so that a kill costs no more than that."""

    INSTANT_S = 0.05
    MOST = 16

    def __init__(self) -> None:
        self._size = 1

    def took(self, seconds_a_run: float) -> None:
        self._size = max(1, min(self.MOST, int(self.INSTANT_S / max(seconds_a_run, 1e-9))))

    def batches(self, todo: Todo, workers: int) -> Iterator[list[Item]]:
        """The runs in order; batches of one at the end, so that no worker is left without."""
        first = 0
        while first < len(todo):
            fair = max(1, (len(todo) - first) // (2 * workers))
            last = first + min(self._size, fair)
            yield todo.part(first, last)
            first = last


class Executor:
    """Any `concurrent.futures` executor: processes, MPI ranks, a cluster's queue.

    Workers that are processes ignore interrupts from their first batch on; the host's process, which gets them too, ends
    the sweep. The executor stays the host's: batches that have begun when a sweep ends come to their end.
    """

    def __init__(self, executor: futures.Executor) -> None:
        self.executor = executor
        self.workers = int(getattr(executor, "_max_workers", None) or cores())

    def do(self, plan: Plan, todo: Todo, keep: Keep) -> None:
        pace, process = _Pace(), os.getpid()

        def take(timed: tuple[list[Row], float]) -> list[Row]:
            pace.took(timed[1])
            return timed[0]

        submitted = (
            self.executor.submit(_timed_batch, plan, batch, process) for batch in pace.batches(todo, self.workers)
        )
        _Flight(submitted, 2 * self.workers, keep, take).finish(PATIENCE_S, lambda: None)


def _timed_batch(plan: Plan, batch: list[Item], process: int) -> tuple[list[Row], float]:
    """What a worker does: rows, and how many seconds one took; `process` is the one that has the sweep."""
    leave_interrupts_to(process)
    begun = time.perf_counter()
    return run_batch(plan, batch), (time.perf_counter() - begun) / len(batch)


class DaskClient:
    """A `dask.distributed` client: more than one machine."""

    def __init__(self, client: Any) -> None:
        self.client = client
        self.as_completed = needed("dask.distributed", "a sweep with a client").as_completed

    def do(self, plan: Plan, todo: Todo, keep: Keep) -> None:
        size = math.ceil(len(todo) / MOST_TASKS)
        tasks = [self.client.submit(run_batch, plan, batch, pure=False, retries=2) for batch in batches(todo, size)]
        kept = set()
        try:
            for task in self.as_completed(tasks):
                for row in task.result():
                    keep(row)
                kept.add(task.key)
                task.release()
        except BaseException:
            self.client.cancel([task for task in tasks if task.key not in kept and task.status != "finished"])
            for task in tasks:
                if task.key not in kept and task.status == "finished":
                    for row in task.result():
                        keep(row)
            raise


class _Flight(Generic[Result]):
    """Futures that are on their way, no more than `width` at a time."""

    def __init__(
        self,
        submitted: Iterator[futures.Future[Result]],
        width: int,
        keep: Keep,
        take: Callable[[Result], list[Row]],
    ) -> None:
        self.submitted = submitted
        self.width = width
        self.keep = keep
        self.take = take
        self.flying: set[futures.Future[Result]] = set()

    def finish(self, patience_s: float | None, stop: Callable[[], None]) -> None:
        """Until all are done. Interrupted or failing, calls `stop` and keeps what is finished within `patience_s`
        (None: waits for all that began); raises what the first failed one raised."""
        with Arrivals[futures.Future[Result]]() as arrivals:
            try:
                while self._fill(arrivals):
                    landed = arrivals.next()
                    assert landed is not None
                    self._land(landed)
            except BaseException:
                stop()
                self._abandon(arrivals, patience_s)
                raise

    def _fill(self, arrivals: Arrivals[futures.Future[Result]]) -> bool:
        """Sends off as many as may fly; False when none flies."""
        while len(self.flying) < self.width:
            future = next(self.submitted, None)
            if future is None:
                break
            self.flying.add(future)
            future.add_done_callback(arrivals.put)
        return bool(self.flying)

    def _abandon(self, arrivals: Arrivals[futures.Future[Result]], patience_s: float | None) -> None:
        """Begins no more, and keeps the rows of those that are finished; another interrupt ends the waiting."""
        for waiting in list(self.flying):
            if waiting.cancel():
                self.flying.discard(waiting)
        end = math.inf if patience_s is None else time.monotonic() + patience_s
        try:
            while self.flying and time.monotonic() < end:
                future = arrivals.next(None if patience_s is None else end - time.monotonic())
                if future is None:
                    return
                if future in self.flying and future.exception() is None:
                    self._land(future)
                self.flying.discard(future)
        except (KeyboardInterrupt, ResultsFileError):
            return  # the user is in a hurry, or the disk is full, which was told already

    def _land(self, future: futures.Future[Result]) -> None:
        self.flying.discard(future)
        for row in self.take(future.result()):
            if row.status != "cancelled":  # stopped half-way: it will be done again
                self.keep(row)


def batches(todo: Todo, size: int) -> Iterator[list[Item]]:
    """The runs in parts of `size`, in order."""
    return (todo.part(first, first + size) for first in range(0, len(todo), size))


def cores() -> int:
    """How many cores this process may use."""
    return len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count() or 1
