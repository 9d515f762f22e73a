# SPDX-License-Identifier: BSD-3-Clause
"""Sweeps that are interrupted or killed go on where they were, and leave no process behind."""

import os
import signal
import subprocess
import sys
import threading
import time

import capsim
import numpy as np
import pytest
from capsim.sweeps.journal import Journal
from capsim.sweeps.run import Row

pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")

PATIENCE_S = 120
RUNS = 48

# The same sweep in every process. One that is to be interrupted dawdles after each run, so that there are runs left.
DEFINITION = f"""
import time, concurrent.futures, capsim

def run_sweep(path, how, dawdle_s):
    base = capsim.Scenario(name="invented eye", duration_days=20, mesh={{"around": 16, "radial": 3}})
    axis = {{"contraction.fibre_modulus_kPa": [200.0 + 10 * k for k in range({RUNS})]}}
    where = {{"threads": {{"workers": 2}}, "one": {{"workers": 1}}}}
    if how == "processes":
        where[how] = {{"executor": concurrent.futures.ProcessPoolExecutor(2)}}
    with where[how].get("executor", concurrent.futures.ThreadPoolExecutor(1)):
        return capsim.sweep(
            base, axis, series=["opening_area_mm2"], path=path, progress=lambda *_: time.sleep(dawdle_s), **where[how]
        )
"""
SCRIPT = (
    DEFINITION
    + """
if __name__ == "__main__":
    import signal, sys
    signal.signal(signal.SIGINT, signal.default_int_handler)  # whatever the tests were started with
    try:
        run_sweep(sys.argv[1], sys.argv[2], float(sys.argv[3]))
    except KeyboardInterrupt:
        print("interrupted")
        sys.exit(130)
"""
)
exec(DEFINITION)  # run_sweep, in this process


@pytest.fixture
def begin(tmp_path):
    """Starts the sweep in a process group of its own."""
    script = tmp_path / "sweep.py"
    script.write_text(SCRIPT)
    processes = []

    def start(path, how, dawdle_s=0.05):
        processes.append(
            subprocess.Popen(
                [sys.executable, str(script), str(path), how, str(dawdle_s)],
                stdout=subprocess.PIPE,
                stderr=subprocess.PIPE,
                text=True,
                start_new_session=True,
            )
        )
        return processes[-1]

    yield start
    for process in processes:
        if process.poll() is None:
            os.killpg(process.pid, signal.SIGKILL)
        process.communicate()


def wait_for_rows(process, path, rows):
    """Until so many rows are kept."""
    end = time.monotonic() + PATIENCE_S
    while time.monotonic() < end:
        assert process.poll() is None, process.communicate()
        if rows_in(path) >= rows:
            return
        time.sleep(0.01)
    pytest.fail("the sweep did not begin")


def rows_in(path):
    """How many whole records a journal has."""
    partial = path.with_name(path.name + ".partial")
    data = partial.read_bytes() if partial.exists() else b""
    if b"\n" not in data:
        return 0
    at, rows = data.index(b"\n") + 1, 0
    while at + 8 <= len(data):
        at += 8 + int.from_bytes(data[at : at + 4], "little")
        rows += at <= len(data)
    return rows


def goes_on_to(uninterrupted, path, how):
    assert run_sweep(path, how, 0).sizes["contraction.fibre_modulus_kPa"] == RUNS  # noqa: F821
    return path.read_bytes() == uninterrupted and not path.with_name(path.name + ".partial").exists()


def group_is_empty(group):
    end = time.monotonic() + 10
    while time.monotonic() < end:
        try:
            os.killpg(group, 0)
        except ProcessLookupError:
            return True
        time.sleep(0.05)
    return False


@pytest.fixture(scope="module")
def uninterrupted(tmp_path_factory):
    path = tmp_path_factory.mktemp("uninterrupted") / "sweep.nc"
    run_sweep(path, "one", 0)  # noqa: F821
    return path.read_bytes()


def test_killed_sweep_goes_on_to_the_same_file(begin, tmp_path, uninterrupted):
    path = tmp_path / "sweep.nc"
    for rows in (3, 9):
        process = begin(path, "threads")
        wait_for_rows(process, path, rows)
        os.killpg(process.pid, signal.SIGKILL)
        process.communicate()
        assert not path.exists()
    kept = rows_in(path)
    assert 9 <= kept < RUNS
    assert goes_on_to(uninterrupted, path, "threads")


# A terminal sends the interrupt to all of the group. Before the first row is kept workers are just being started.
@pytest.mark.parametrize(
    ("how", "to_all", "rows"),
    [("threads", False, 3), ("processes", False, 3), ("processes", True, 3), ("processes", True, 0)],
)
def test_interrupted_sweep_keeps_finished_runs_and_leaves_no_process(begin, tmp_path, uninterrupted, how, to_all, rows):
    path = tmp_path / "sweep.nc"
    process = begin(path, how)
    if rows:
        wait_for_rows(process, path, rows)
    else:
        wait_for_file(process, path.with_name(path.name + ".partial"))
    (os.killpg if to_all else os.kill)(process.pid, signal.SIGINT)
    output, errors = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 130, errors
    assert "interrupted" in output
    assert group_is_empty(process.pid)
    assert rows <= rows_in(path) < RUNS
    assert goes_on_to(uninterrupted, path, "one")


def wait_for_file(process, path):
    end = time.monotonic() + PATIENCE_S
    while not path.exists() and process.poll() is None and time.monotonic() < end:
        time.sleep(0.001)
    assert path.exists()


def test_second_sweep_on_the_same_file_is_refused(begin, tmp_path):
    pytest.importorskip("fcntl", reason="no file locks on this system")
    path = tmp_path / "sweep.nc"
    first = begin(path, "one", 0.02)
    wait_for_rows(first, path, 1)
    with pytest.raises(capsim.ResultsFileError, match=r"sweep\.nc\.partial is in use by another sweep"):
        run_sweep(path, "one", 0)  # noqa: F821
    _, errors = first.communicate(timeout=PATIENCE_S)
    assert first.returncode == 0, errors


def test_host_whose_handler_of_interrupts_does_not_raise_is_asked_and_the_sweep_goes_on(tmp_path, uninterrupted):
    asked = []
    before = signal.signal(signal.SIGINT, lambda *_: asked.append("once"))
    try:
        killer = threading.Timer(0.02, os.kill, (os.getpid(), signal.SIGINT))
        killer.start()
        assert goes_on_to(uninterrupted, tmp_path / "sweep.nc", "threads")
        killer.join()
        handler = signal.getsignal(signal.SIGINT)
    finally:
        signal.signal(signal.SIGINT, before)
    assert asked == ["once"]
    handler(signal.SIGINT, None)
    assert asked == ["once", "once"]  # the host's own handler is back


# --- the journal itself


@pytest.fixture
def journal_of(tmp_path):
    plan = capsim.sweeps.run.Plan(
        {},
        capsim.sweeps.quantities.outcomes_named(["area_loss_percent"]),
        capsim.sweeps.quantities.series_named(["zonule_load_mN"]),
        np.array([0.0, 1.0]),
        None,
        None,
    )
    path = tmp_path / "journal"
    return path, lambda record=None: Journal(path, plan, record or {"what": "this"})


def row(run):
    return Row(run, "completed", "ä message", "", np.array([run + 0.1]), [np.full((2, 12), np.pi * run)])


def test_journal_gives_back_what_was_kept(journal_of):
    path, opened = journal_of
    journal = opened()
    for run in (3, 1, 3):
        journal.append(row(run))
    journal.close()
    journal = opened()
    assert journal.runs == {1, 3}
    again = journal.row(3)
    assert (again.run, again.status, again.message) == (3, "completed", "ä message")
    assert (again.outcomes == row(3).outcomes).all() and (again.series[0] == row(3).series[0]).all()
    journal.close()


def test_journal_cut_or_damaged_anywhere_keeps_the_whole_records_before(journal_of):
    path, opened = journal_of
    journal = opened()
    ends = [path.stat().st_size]
    for run in range(3):
        journal.append(row(run))
        ends.append(path.stat().st_size)
    journal.close()
    whole = path.read_bytes()
    for length in (*range(0, len(whole), 17), *ends, *(end - 1 for end in ends)):
        path.write_bytes(whole[:length])
        journal = opened()
        assert journal.runs == set(range(sum(end <= length for end in ends) - 1)), length
        journal.append(row(7))
        journal.close()
        journal = opened()
        assert 7 in journal.runs and (journal.row(7).outcomes == row(7).outcomes).all()
        journal.close()


def test_no_damaged_bit_of_a_journal_is_believed(journal_of):
    """It is refused, or, where the damage looks like a record that a kill cut off, what comes before it is kept."""
    path, opened = journal_of
    journal = opened()
    begin = path.stat().st_size
    for run in range(3):
        journal.append(row(run))
    journal.close()
    whole = path.read_bytes()
    refused = 0
    for bit in np.random.default_rng(5).choice(8 * len(whole), 300, replace=False):
        damaged = bytearray(whole)
        damaged[bit // 8] ^= 1 << (bit % 8)
        path.write_bytes(damaged)
        try:
            journal = opened()
        except capsim.ResultsFileError:
            refused += 1
            continue
        assert bit // 8 >= begin  # a journal whose first line is damaged is never taken for this sweep's
        for run in journal.runs:
            again = journal.row(run)
            assert again.outcomes.tobytes() == row(run).outcomes.tobytes()
            assert again.series[0].tobytes() == row(run).series[0].tobytes()
        journal.close()
    assert refused > 250  # only a damaged length can look like a kill


@pytest.mark.skipif(not hasattr(os, "fork"), reason="limits of file size are set in a child process")
def test_disk_full_while_runs_are_kept_loses_none_and_the_same_sweep_goes_on(tmp_path, uninterrupted):
    path = tmp_path / "sweep.nc"
    script = tmp_path / "full.py"
    # A limit on the size of files stands for a full disk: writes beyond it fail half-way.
    script.write_text(
        "import resource, signal\nsignal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "resource.setrlimit(resource.RLIMIT_FSIZE, (6500, resource.RLIM_INFINITY))\n" + SCRIPT
    )
    done = subprocess.run(
        [sys.executable, script, path, "threads", "0"], capture_output=True, text=True, timeout=PATIENCE_S, check=False
    )
    assert done.returncode == 1
    last = done.stderr.strip().splitlines()[-1]
    assert last.startswith("capsim.errors.ResultsFileError: can't write") and "finished runs are kept there" in last
    assert "During handling" not in done.stderr
    kept = rows_in(path)
    assert 3 <= kept < RUNS and f"{kept} finished runs" in last
    assert goes_on_to(uninterrupted, path, "threads")
    assert sorted(os.listdir(tmp_path)) == ["full.py", "sweep.nc"]


def test_disk_full_while_the_result_is_written_keeps_every_run(tmp_path, uninterrupted):
    """All runs are done and kept; the file itself does not fit."""
    path = tmp_path / "sweep.nc"
    script = tmp_path / "full.py"
    script.write_text(
        "import errno, os, capsim.sweeps.file as file\n"
        "def write(path, data):\n"
        "    import resource, signal; signal.signal(signal.SIGXFSZ, signal.SIG_IGN)\n"
        "    resource.setrlimit(resource.RLIMIT_FSIZE, (len(data) // 2, resource.RLIM_INFINITY))\n"
        "    whole(path, data)\n"
        "whole, file.write_whole = file.write_whole, write\n" + SCRIPT
    )
    done = subprocess.run(
        [sys.executable, script, path, "threads", "0"], capture_output=True, text=True, timeout=PATIENCE_S, check=False
    )
    assert done.returncode == 1 and not path.exists()
    last = done.stderr.strip().splitlines()[-1]
    assert last == f"capsim.errors.ResultsFileError: can't write {path}: File too large"
    assert rows_in(path) == RUNS
    assert goes_on_to(uninterrupted, path, "one")
    assert sorted(os.listdir(tmp_path)) == ["full.py", "sweep.nc"]


def test_journal_of_another_sweep_is_refused_with_what_differs(journal_of):
    path, opened = journal_of
    opened({"what": "this", "seed": 1}).close()
    before = path.read_bytes()
    for record in ({"what": "that", "seed": 1}, {"what": "that, with more", "seed": 1}):
        with pytest.raises(capsim.ResultsFileError, match="journal belongs to another sweep, which differs in: what"):
            opened(record)
    assert path.read_bytes() == before
