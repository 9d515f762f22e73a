# SPDX-License-Identifier: BSD-3-Clause
"""Ctrl-C while runs are in flight: noticed between two of the caller's steps, never inside one of them.

Python raises KeyboardInterrupt wherever the main thread happens to be. Inside `concurrent.futures` that can leave a
lock taken, workers without anyone who tells them to end, or, while a process forks, nothing at all: the signal is gone.
"""

from __future__ import annotations

import os
import queue
import signal
import threading
from types import FrameType
from typing import Any, Generic, TypeVar

Item = TypeVar("Item")


class Arrivals(Generic[Item]):
    """What other threads hand over, and the interrupts of the user, one after the other.

    Within the `with`, in the main thread, an interrupt is kept until `next` is called. There the handler of the host is
    asked, as if the signal had come just then: Python's own raises KeyboardInterrupt.
    """

    def __init__(self) -> None:
        self._queue: queue.SimpleQueue[tuple[Item] | None] = queue.SimpleQueue()
        self._host: Any = None
        self._untold = 0  # interrupts that the host's handler has not been asked about

    def put(self, item: Item) -> None:
        """May be called from any thread."""
        self._queue.put((item,))

    def next(self, timeout_s: float | None = None) -> Item | None:
        """What comes next; None when nothing came in time. Raises what the host's handler of interrupts raises."""
        try:
            while True:
                item = self._queue.get(timeout=timeout_s)
                if item is not None:
                    return item[0]
                self._tell()
        except queue.Empty:
            return None

    def __enter__(self) -> Arrivals[Item]:
        if threading.current_thread() is threading.main_thread():
            host = signal.getsignal(signal.SIGINT)
            if callable(host) and not isinstance(host, signal.Handlers):  # neither ignored nor the system's
                self._host = host
                signal.signal(signal.SIGINT, self._note)
        return self

    def __exit__(self, kind: object, *_: object) -> None:
        if self._host is not None:
            signal.signal(signal.SIGINT, self._host)
            if self._untold and kind is None:
                self._tell()

    def _tell(self) -> None:
        self._untold = 0
        self._host(signal.SIGINT, None)

    def _note(self, _number: int, _frame: FrameType | None) -> None:
        self._untold += 1
        self._queue.put(None)  # safe in a handler, and wakes `next`


def leave_interrupts_to(process: int) -> None:
    """In a worker: a terminal interrupts the whole group, but it is the process that has the sweep which ends it.

    A worker that is interrupted while it takes or gives a task would leave the pool waiting for the other half.
    """
    if os.getpid() != process and threading.current_thread() is threading.main_thread():
        signal.signal(signal.SIGINT, signal.SIG_IGN)
