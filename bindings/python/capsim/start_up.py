# SPDX-License-Identifier: BSD-3-Clause
"""Loads what is compiled, with an interrupt waiting until it is there.

A compiled module that is interrupted while it is being made tells of an ImportError, and a caller would look for a package
that is missing.
"""

from __future__ import annotations

import signal
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any


@contextmanager
def interrupts_wait() -> Iterator[None]:
    """Ctrl-C inside is answered at the end, by the handler that was there; elsewhere than in the main thread nothing changes."""
    handler = signal.getsignal(signal.SIGINT)
    if threading.current_thread() is not threading.main_thread() or not callable(handler):
        yield
        return
    waiting: list[tuple[int, Any]] = []
    signal.signal(signal.SIGINT, lambda number, frame: waiting.append((number, frame)))
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, handler)
        if waiting:
            handler(*waiting[-1])


with interrupts_wait():
    import numpy  # noqa: F401

    from . import _core  # noqa: F401
