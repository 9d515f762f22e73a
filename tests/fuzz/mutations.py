#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Damages the files that Python reads and looks whether one is believed, or ends in anything but its own error.

    python3 tests/fuzz/mutations.py visits --seconds 30
    python3 tests/fuzz/mutations.py sweep --seconds 30 --seed 7
    python3 tests/fuzz/mutations.py checkpoint            likewise `journal`, `result` and `scenario`

Needs the package (`PYTHONPATH=$PWD/build/python`). A file that is read wrong is kept beside its seed, and the exit code is 1.
"""

from __future__ import annotations

import argparse
import random
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import capsim
import numpy as np

CORPUS = Path(__file__).with_name("corpus")
JOURNAL_RUNS = 4
_PIECES = [
    b",",
    b";",
    b"\t",
    b"\n",
    b'"',
    b"\xef\xbb\xbf",
    b"nan",
    b"-1e309",
    b"laser",
    b"0",
    b"\x00",
    b"[{",
    b"day",
    b"\xff",
]


def mutated(data: bytes, draw: random.Random) -> bytes:
    """The bytes with one to four changes: a bit, a byte, a piece put in, taken out, doubled or moved, an end cut off."""
    out = bytearray(data)
    for _ in range(draw.randint(1, 4)):
        at = draw.randrange(len(out) + 1)
        length = min(draw.choice([1, 2, 8, 64, 1024]), len(out) - at)
        kind = draw.randrange(7)
        if kind == 0 and at < len(out):
            out[at] ^= 1 << draw.randrange(8)
        elif kind == 1 and at < len(out):
            out[at] = draw.randrange(256)
        elif kind == 2:
            out[at:at] = draw.choice(_PIECES)
        elif kind == 3:
            del out[at : at + length]
        elif kind == 4:
            out[at:at] = out[at : at + length]
        elif kind == 5:
            piece = out[at : at + length]
            del out[at : at + length]
            to = draw.randrange(len(out) + 1)
            out[to:to] = piece
        else:
            del out[at:]
    return bytes(out)


def damaged(seeds: list[bytes], seed: int) -> Iterator[bytes]:
    """Damaged files without end, none of them as it was."""
    draw = random.Random(seed)
    while True:
        whole = draw.choice(seeds)
        data = mutated(whole, draw)
        if data not in seeds:
            yield data


def read_visits(path: Path) -> None:
    """Read or refused: a table may still be one after a change."""
    try:
        visits = capsim.read_visits(path)
    except capsim.VisitsError as error:
        assert error.problems
    else:
        assert len(visits.day) == len(visits.area_mm2)


def read_sweep(path: Path) -> None:
    """Refused: no change is believed."""
    try:
        capsim.load_sweep(path)
    except capsim.ResultsFileError:
        return
    raise AssertionError("a damaged sweep was loaded")


def journal_at(path: Path) -> Any:
    """The journal of a small sweep, opened."""
    from capsim.sweeps.journal import Journal
    from capsim.sweeps.quantities import outcomes_named, series_named
    from capsim.sweeps.run import Plan

    days = np.array([0.0, 1.0])
    plan = Plan({}, outcomes_named(["area_loss_percent"]), series_named(["zonule_load_mN"]), days, None, None)
    return Journal(path, plan, {"what": "this"})


def journal_row(run: int) -> Any:
    """What is kept there of a run."""
    from capsim.sweeps.run import Row

    return Row(run, "completed", "a message", "", np.array([run + 0.1]), [np.full((2, 12), np.pi * run)])


def read_journal(path: Path) -> None:
    """Refused, or what comes before something that looks as a kill would leave it; every row as it was written."""
    try:
        journal = journal_at(path)
    except capsim.ResultsFileError:
        return
    try:
        for run in journal.runs:
            row, wanted = journal.row(run), journal_row(run)
            assert 0 <= run < JOURNAL_RUNS and row.status == wanted.status and row.message == wanted.message
            assert row.outcomes.tobytes() == wanted.outcomes.tobytes()
            assert row.series[0].tobytes() == wanted.series[0].tobytes()
    finally:
        journal.close()


def journal_file() -> bytes:
    """A journal with some runs."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "journal"
        journal = journal_at(path)
        for run in range(JOURNAL_RUNS):
            journal.append(journal_row(run))
        journal.close()
        return path.read_bytes()


def sweep_file() -> bytes:
    """A small sweep."""
    base = capsim.Scenario(duration_days=0, output_every_days=1, mesh={"around": 12, "radial": 2})
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "sweep.nc"
        capsim.sweep(base, {"opening.diameter_mm": [4.5, 5.5]}, path=path, progress=False, workers=1)
        return path.read_bytes()


def small_eye() -> capsim.Scenario:
    """Quick to run, with an event and a ring."""
    cuts = {"day": 1, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}
    return capsim.Scenario(
        name="invented eye",
        duration_days=2,
        output_every_days=1,
        mesh={"around": 12, "radial": 2},
        tension_ring={},
        events=[cuts],
    )


def read_result(path: Path) -> None:
    """Refused: no change is believed."""
    try:
        capsim.load(path)
    except capsim.ResultsFileError:
        return
    raise AssertionError("a damaged result was loaded")


def read_checkpoint(path: Path) -> None:
    """Refused: no change is believed."""
    try:
        capsim.Simulation.restore(small_eye(), path.read_bytes())
    except capsim.CheckpointError:
        return
    raise AssertionError("a damaged checkpoint was restored")


def read_scenario(path: Path) -> None:
    """Refused, or a scenario that is the same when it is written and read again."""
    try:
        scenario = capsim.Scenario.from_json(path)
    except capsim.ScenarioError as error:
        assert error.violations
    else:
        assert capsim.Scenario.from_json(scenario.to_json()).to_dict() == scenario.to_dict()


def result_file() -> bytes:
    """A small result."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "result.h5"
        capsim.simulate(small_eye()).save(path)
        return path.read_bytes()


def checkpoint() -> bytes:
    """Of a small eye on its second day."""
    simulation = capsim.Simulation(small_eye())
    simulation.advance_to(1.5)
    return simulation.checkpoint()


SUBJECTS: dict[str, tuple[Callable[[Path], None], Callable[[], list[bytes]]]] = {
    "visits": (read_visits, lambda: [path.read_bytes() for path in sorted((CORPUS / "visits").iterdir())]),
    "journal": (read_journal, lambda: [journal_file()]),
    "sweep": (read_sweep, lambda: [sweep_file()]),
    "result": (read_result, lambda: [result_file()]),
    "checkpoint": (read_checkpoint, lambda: [checkpoint()]),
    "scenario": (read_scenario, lambda: [small_eye().to_json().encode()]),
}


def tried(subject: str, folder: Path, seed: int, enough: Callable[[int], bool]) -> int:
    """How many damaged files were tried until `enough(count)`; raises on the first that was not refused as it should."""
    read, seeds = SUBJECTS[subject]
    path = folder / f"damaged_{subject}"
    count = 0
    for data in damaged(seeds(), seed):
        if enough(count):
            break
        path.write_bytes(data)
        read(path)
        count += 1
    path.unlink(missing_ok=True)
    return count


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("subject", choices=sorted(SUBJECTS))
    parser.add_argument("--seconds", type=float, default=30)
    parser.add_argument("--seed", type=int, default=1)
    options = parser.parse_args(arguments)
    folder = Path(tempfile.mkdtemp(prefix="capsim_mutations_"))
    end = time.monotonic() + options.seconds
    try:
        count = tried(options.subject, folder, options.seed, lambda _: time.monotonic() > end)
    except Exception as error:  # whatever it is, it is not what a reader should answer with
        print(f"{options.subject}: {type(error).__name__}: {error}; the file is kept in {folder}")
        return 1
    print(f"{options.subject}: {count} damaged files, none believed")
    folder.rmdir()
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
