# SPDX-License-Identifier: BSD-3-Clause
"""Whatever stops a program while it runs, saves, sweeps or goes on, loses nothing that was whole."""

import os
import random
import resource
import signal
import subprocess
import sys
import time

import capsim
import pytest

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="no fork on this system")

KILLS_OF_SAVE = 40
KILLS_OF_SWEEP = 10
RUNS = 24
LARGE_ENOUGH = 4096  # bytes that the full disk still takes


@pytest.fixture(scope="module")
def history():
    return capsim.simulate(small())


def small():
    return capsim.Scenario(name="invented eye", duration_days=20, mesh={"around": 12, "radial": 2})


def child(work):
    """A process that does `work` and ends; its own id."""
    number = os.fork()
    if number:
        return number
    try:
        signal.signal(signal.SIGINT, signal.default_int_handler)
        work()
        os._exit(0)
    except BaseException:
        os._exit(1)


def exit_code(number):
    """Of a child, minus the signal that ended it."""
    return os.waitstatus_to_exitcode(os.waitpid(number, 0)[1])


def save_for_ever(history, path):
    while True:
        history.save(path)


def test_a_kill_at_any_moment_of_saving_leaves_a_whole_file(history, tmp_path):
    draw = random.Random(14)
    path = tmp_path / "eye.h5"
    history.save(path)
    whole = path.read_bytes()
    for _ in range(KILLS_OF_SAVE):
        number = child(lambda: save_for_ever(history, path))
        time.sleep(draw.uniform(0, 0.02))
        os.kill(number, signal.SIGKILL)
        assert exit_code(number) == -signal.SIGKILL
        assert path.read_bytes() == whole
    assert capsim.load(path).status == "completed"


def test_two_that_save_to_one_file_leave_the_whole_of_one(history, tmp_path):
    path = tmp_path / "eye.h5"
    writers = [child(lambda: [history.save(path) for _ in range(30)]) for _ in range(2)]
    assert [exit_code(number) for number in writers] == [0, 0]
    assert capsim.load(path).status == "completed"


def sweep(path):
    return capsim.sweep(
        small(),
        {"contraction.fibre_modulus_kPa": [200.0 + 10 * k for k in range(RUNS)]},
        path=path,
        progress=False,
        workers=1,
    )


def test_kills_at_random_moments_of_a_sweep_and_of_its_going_on_lose_no_row(tmp_path):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    uninterrupted, path = tmp_path / "whole.nc", tmp_path / "killed.nc"
    begin = time.monotonic()
    sweep(uninterrupted)
    took = time.monotonic() - begin
    partial = path.with_name(path.name + ".partial")
    draw = random.Random(41)
    kept = 0
    for _ in range(KILLS_OF_SWEEP):
        number = child(lambda: sweep(path))
        time.sleep(draw.uniform(0, 0.3 * took))
        os.kill(number, signal.SIGKILL)
        if exit_code(number) == 0 or path.exists():
            break  # it was through
        size = partial.stat().st_size if partial.exists() else 0
        assert size >= kept
        kept = size if size > kept else kept
    sweep(path)
    assert path.read_bytes() == uninterrupted.read_bytes()
    assert not partial.exists()


def full_disk():
    """From here on this process's files may not grow beyond a few kilobytes."""
    signal.signal(signal.SIGXFSZ, signal.SIG_IGN)
    resource.setrlimit(resource.RLIMIT_FSIZE, (LARGE_ENOUGH, LARGE_ENOUGH))


def refused(work):
    """Whether `work` ends in a ResultsFileError in a process whose disk is full."""

    def tried():
        full_disk()
        try:
            work()
        except capsim.ResultsFileError:
            os._exit(7)

    return exit_code(child(tried)) == 7


def test_a_full_disk_is_told_and_leaves_what_was_there(history, tmp_path):
    path = tmp_path / "eye.h5"
    history.save(path)
    whole = path.read_bytes()
    assert len(whole) > LARGE_ENOUGH
    assert refused(lambda: history.save(path))
    assert path.read_bytes() == whole
    assert [entry.name for entry in tmp_path.iterdir()] == ["eye.h5"]  # nothing half written lies about


def test_a_disk_that_is_full_during_a_sweep_keeps_its_rows(tmp_path):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    uninterrupted, path = tmp_path / "whole.nc", tmp_path / "full.nc"
    sweep(uninterrupted)
    assert refused(lambda: sweep(path))
    assert not path.exists()
    sweep(path)
    assert path.read_bytes() == uninterrupted.read_bytes()


def test_a_place_that_takes_no_files_is_told(history):
    if not os.path.isdir("/proc/self"):
        pytest.skip("no file system here that takes no files")
    with pytest.raises(capsim.ResultsFileError, match="/proc/self/eye.h5"):
        history.save("/proc/self/eye.h5")


def test_an_interrupt_at_any_moment_of_a_command_ends_it_without_half_a_file(tmp_path):
    scenario = tmp_path / "eye.json"
    scenario.write_text(small().with_(duration_days=2000).to_json())
    for after_s in (0, 0.05, 0.2, 0.4, 0.8):
        path = tmp_path / f"after_{after_s}.h5"
        process = subprocess.Popen(
            [sys.executable, "-m", "capsim", "run", str(scenario), "-o", str(path)],
            stdout=subprocess.PIPE,
            stderr=subprocess.PIPE,
            text=True,
            preexec_fn=lambda: signal.signal(signal.SIGINT, signal.default_int_handler),
        )
        time.sleep(after_s)
        process.send_signal(signal.SIGINT)
        _, errors = process.communicate(timeout=120)
        if "Fatal Python error" in errors:  # before Python itself was there
            assert process.returncode == 1 and not path.exists()
            continue
        assert process.returncode in (0, 130, -signal.SIGINT), errors
        if process.returncode == 0:
            assert capsim.load(path).status == "completed"  # it was through
        elif path.exists():
            # Whole, whether it was interrupted in the run or after it, in those that tell the range of relief.
            assert capsim.load(path).status in ("cancelled", "completed")


WHILE_LOADING = """
import importlib.abc, os, signal, subprocess, sys, time
signal.signal(signal.SIGINT, signal.default_int_handler)

class Interrupts(importlib.abc.MetaPathFinder):
    def find_spec(self, name, path, target=None):
        if name == "capsim._core":
            subprocess.Popen(["sh", "-c", f"sleep {sys.argv[1]}; kill -INT {os.getpid()}"])

sys.meta_path.insert(0, Interrupts())
try:
    import capsim
    time.sleep(5)  # it was through before
except KeyboardInterrupt:
    print("interrupted")
"""


@pytest.mark.parametrize("after_ms", [0, 2, 4, 6, 8, 12, 16, 24])
def test_an_interrupt_while_the_compiled_part_is_loaded_is_no_import_error(after_ms):
    done = subprocess.run(
        [sys.executable, "-c", WHILE_LOADING, str(1e-3 * after_ms)], capture_output=True, text=True, timeout=120
    )
    assert done.stdout == "interrupted\n", done.stderr
