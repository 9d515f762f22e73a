# SPDX-License-Identifier: BSD-3-Clause
"""The command line: readable output and exit codes."""

import json
import signal
import subprocess
import sys
import time

import pytest

import capsim

PATIENCE_S = 120


@pytest.fixture
def command(tmp_path):
    def run(*arguments):
        return subprocess.run([sys.executable, "-m", "capsim", *map(str, arguments)], capture_output=True, text=True,
                              timeout=PATIENCE_S, cwd=tmp_path)

    return run


def test_run_shows_the_opening_and_writes_the_result(command, scenario_file, tmp_path, history):
    done = command("run", scenario_file, "-o", tmp_path / "result.h5")
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    loaded = capsim.load(tmp_path / "result.h5")
    assert (loaded.opening_area_mm2 == history.opening_area_mm2).all()
    rows = [line.split() for line in done.stdout.splitlines()]
    first = next(row for row in rows if row[:1] == ["0.0"])
    last = next(row for row in rows if row[:1] == ["60.0"])
    assert first[1:] == [f"{history.opening_area_mm2[0]:.2f}", f"{history.opening_diameter_mm[0]:.2f}", "0.0"]
    assert last[1] == f"{history.opening_area_mm2[-1]:.2f}"
    assert float(last[3]) == pytest.approx(capsim.outcomes(history)["area_loss_percent"], abs=0.051)  # one decimal
    assert "just before event" in done.stdout and "just after event" in done.stdout
    words = " ".join(done.stdout.split())
    for caution in capsim.outcomes(history).cautions:
        assert " ".join(caution.split()) in words
    for flag in capsim.outcomes(history).flags:
        assert flag.code in words


def test_run_without_output_writes_nothing(command, scenario_file, tmp_path):
    before = sorted(tmp_path.iterdir())
    assert command("run", scenario_file).returncode == 0
    assert sorted(tmp_path.iterdir()) == before


def test_check_accepts_a_valid_scenario(command, scenario_file):
    done = command("check", scenario_file)
    assert done.returncode == 0
    assert "valid" in done.stdout and "invented eye, small" in done.stdout


def test_wrong_scenario_is_refused_with_every_violation(command, scenario_file, small):
    small["duration_dayz"] = 3
    small["opening"]["diameter_mm"] = -1
    scenario_file.write_text(json.dumps(small), encoding="utf-8")
    for name in ("check", "run"):
        done = command(name, scenario_file)
        assert done.returncode == 2
        assert done.stdout == ""
        assert "duration_dayz" in done.stderr and "opening.diameter_mm" in done.stderr
        assert "duration_days" in done.stderr
        assert "Traceback" not in done.stderr


def test_file_that_is_not_there_is_refused(command):
    for name in ("check", "run"):
        done = command(name, "nothing here.json")
        assert done.returncode == 2
        assert "nothing here.json" in done.stderr and "No such file" in done.stderr
        assert "Traceback" not in done.stderr


def test_output_that_can_not_be_written_is_refused_before_the_run(command, scenario_file, tmp_path):
    text = scenario_file.read_text(encoding="utf-8")
    for output in (tmp_path / "no folder" / "result.h5", tmp_path, scenario_file):
        done = command("run", scenario_file, "-o", output)
        assert done.returncode == 2
        assert done.stdout == ""
        assert str(output) in done.stderr
        assert "Traceback" not in done.stderr
    assert scenario_file.read_text(encoding="utf-8") == text


def test_run_that_does_not_complete_has_its_own_exit_code(command, scenario_file, small, tmp_path):
    small["numerics"] = {"max_steps": 2, "max_step_days": 0.5}
    scenario_file.write_text(json.dumps(small), encoding="utf-8")
    done = command("run", scenario_file, "-o", tmp_path / "partial.h5")
    assert done.returncode == 3
    assert "too_many_steps" in done.stdout
    assert capsim.load(tmp_path / "partial.h5").status == "too_many_steps"


def test_wrong_use_is_told_with_the_usage(command):
    for arguments in ((), ("walk",), ("run",)):
        done = command(*arguments)
        assert done.returncode == 2
        assert "usage" in done.stderr


def test_interrupt_ends_without_a_traceback(tmp_path, endless):
    path = tmp_path / "endless.json"
    path.write_text(json.dumps(endless), encoding="utf-8")
    process = subprocess.Popen([sys.executable, "-m", "capsim", "run", str(path)], stdout=subprocess.PIPE,
                               stderr=subprocess.PIPE, text=True)
    time.sleep(3)  # long enough to be in the run
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 130
    assert "interrupted" in errors
    assert "Traceback" not in errors
