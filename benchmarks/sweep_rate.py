#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Runs per second of a sweep: one worker and two, and what Python costs beside the runs.

    python benchmarks/sweep_rate.py [--runs 1000] [--blocks 10] [--workers 2] [--around 24 --radial 4] [--days 365]

The runs are a Latin hypercube over six parameters on the coarse mesh. They are done in blocks, each with one
worker and with two in turn, so that a machine which others use slows down both alike; the ratio is that of the
sums, with the smallest and largest of the blocks. The cost of Python is what the process computes outside
`run_rows`, in processor time: texts of the scenarios, rows, the labelled arrays. It is
measured with one worker. Prints a table and checks nothing; compare on an idle machine.

On a busy machine the ratio says little, since others take what a second worker could have. Linux tells how long
each thread computed, how long it waited for a core, and hence how long it was blocked by anything else, such as
another thread's lock. The ratio on an idle machine follows: workers times the share not blocked, over what a run
costs more when its neighbour works too. Both are printed.
"""

import argparse
import os
import platform
import threading
import time
from collections.abc import Sequence
from typing import Any

import capsim
from capsim import _core

RANGES = {
    "opening.diameter_mm": (4.5, 5.6),
    "zonule.strength": (0.2, 1.0),
    "capsule.modulus_kPa": (400.0, 1600.0),
    "contraction.fibre_modulus_kPa": (150.0, 600.0),
    "contraction.tissue_per_day": (0.03, 0.14),
    "contraction.chronic_signal": (0.0, 0.3),
}


class Meter:
    """Times every call of the compiled `run_rows` that a sweep makes, and watches the threads that make them."""

    def __init__(self) -> None:
        self.processor = 0.0
        self.seen: dict[int, list[tuple[float, float]]] = {}
        self._lock = threading.Lock()
        self.compiled: Any = _core.run_rows

    def __call__(self, *arguments: Any) -> Any:
        processor = time.thread_time()
        result = self.compiled(*arguments)
        with self._lock:
            self.processor += time.thread_time() - processor
            self.seen.setdefault(threading.get_ident(), []).append((time.perf_counter(), not_blocked()))
        return result

    def blocked(self) -> tuple[float, float]:
        """Seconds for which threads were blocked, and seconds watched, since the last call of this."""
        spans = [(looks[-1][0] - looks[0][0], looks[-1][1] - looks[0][1]) for looks in self.seen.values()]
        self.seen.clear()
        return sum(wall - awake for wall, awake in spans), sum(wall for wall, _ in spans)


def not_blocked() -> float:
    """Seconds for which this thread has computed or waited for a core; not a number where the system does not tell."""
    try:
        with open("/proc/thread-self/schedstat", encoding="ascii") as file:
            computed, waited, _ = file.read().split()
        return (int(computed) + int(waited)) / 1e9
    except (OSError, ValueError):
        return float("nan")


def main(arguments: Sequence[str] | None = None) -> dict[str, float]:
    """Runs the benchmark, prints the table, and returns its numbers."""
    parser = argparse.ArgumentParser(description="Runs per second of a sweep.")
    parser.add_argument("--runs", type=int, default=1000, help="with each number of workers (default: 1000)")
    parser.add_argument("--blocks", type=int, default=10, help="in so many blocks (default: 10)")
    parser.add_argument("--workers", type=int, default=2, help="compared with one (default: 2)")
    parser.add_argument("--around", type=int, default=24)
    parser.add_argument("--radial", type=int, default=4)
    parser.add_argument("--days", type=float, default=365.0)
    options = parser.parse_args(arguments)
    base = capsim.Scenario(
        name="invented eye", duration_days=options.days, mesh={"around": options.around, "radial": options.radial}
    )
    size = max(1, options.runs // options.blocks)
    capsim.sweep(base, capsim.samples(RANGES, 2, seed=0), progress=False)  # imports what sweeps need

    elapsed: dict[int, list[float]] = {1: [], options.workers: []}
    spent = {1: 0.0, options.workers: 0.0}
    inside = blocked = watched = 0.0
    completed = done = 0
    meter = Meter()
    _core.run_rows = meter  # type: ignore[assignment]
    try:
        for block in range(options.blocks):
            table = capsim.samples(RANGES, size, seed=block)
            for workers in (1, options.workers) if block % 2 == 0 else (options.workers, 1):
                before, measured = time.process_time(), meter.processor
                meter.seen.clear()
                started = time.perf_counter()
                result = capsim.sweep(base, table, workers=workers, progress=False)
                elapsed[workers].append(time.perf_counter() - started)
                done += size
                completed += int((result["status"] == "completed").sum())
                spent[workers] += time.process_time() - before
                if workers == 1:
                    inside += meter.processor - measured
                else:
                    block_blocked, block_watched = meter.blocked()
                    blocked, watched = blocked + block_blocked, watched + block_watched
    finally:
        _core.run_rows = meter.compiled

    rate = {workers: options.blocks * size / sum(times) for workers, times in elapsed.items()}
    ratios = sorted(one / many for one, many in zip(elapsed[1], elapsed[options.workers]))
    share = 1 - inside / spent[1]
    blocked_share = blocked / watched if watched > 0 else float("nan")
    idle = options.workers * (1 - blocked_share) * spent[1] / spent[options.workers]
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(
        f"{platform.machine()}, {os.cpu_count()} cores{load}; mesh {options.around} x {options.radial}, {options.days:g} days, "
        f"{options.blocks} blocks of {size} runs; {completed} of {done} completed"
    )
    print(f"{'workers':>8}  {'runs per second':>15}  {'ms a run':>9}")
    for workers in elapsed:
        print(f"{workers:8d}  {rate[workers]:15.1f}  {1000 / rate[workers]:9.2f}")
    print(
        f"{options.workers} workers over one: {rate[options.workers] / rate[1]:.2f} times the rate, in single blocks {ratios[0]:.2f} to {ratios[-1]:.2f}"
    )
    print(
        f"blocked {100 * blocked_share:.1f} % of the time; a run computes "
        f"{spent[options.workers] / spent[1]:.2f} times as long beside another: {idle:.2f} times the rate on an idle machine"
    )
    print(
        f"Python beside the runs: {100 * share:.2f} % of the processor time ({1000 * (spent[1] - inside) / (options.blocks * size):.2f} of "
        f"{1000 * spent[1] / (options.blocks * size):.2f} ms a run)"
    )
    return {
        "ratio": rate[options.workers] / rate[1],
        "idle_ratio": idle,
        "blocked": blocked_share,
        "overhead": share,
        "rate": rate[options.workers],
        "completed": completed / done,
    }


if __name__ == "__main__":
    main()
