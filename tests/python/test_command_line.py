# SPDX-License-Identifier: BSD-3-Clause
"""The command line: readable output and exit codes."""

import json
import os
import signal
import subprocess
import sys
import time

import capsim
import pytest

PATIENCE_S = 120


@pytest.fixture
def command(tmp_path):
    def run(*arguments):
        return subprocess.run(
            [sys.executable, "-m", "capsim", *map(str, arguments)],
            capture_output=True,
            text=True,
            timeout=PATIENCE_S,
            cwd=tmp_path,
        )

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


def test_run_tells_how_far_relief_hangs_on_length_and_law(command, scenario_file, history):
    found = capsim.relief_range(history.scenario)
    told = " ".join(command("run", scenario_file).stdout.split())
    assert "give back" in found.flag.text and found.flag.text in told
    brief = " ".join(command("run", scenario_file, "--no-relief-range").stdout.split())
    assert "! relief_range:" in brief and found.flag.text not in brief


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
    process = subprocess.Popen(
        [sys.executable, "-m", "capsim", "run", str(path)], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    time.sleep(3)  # long enough to be in the run
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 130
    assert "interrupted" in errors
    assert "Traceback" not in errors


# --- sweep, compare, fit, animate


@pytest.fixture
def tiny_file(tmp_path):
    path = tmp_path / "tiny.json"
    path.write_text(
        json.dumps(
            {
                "format": "capsim-scenario",
                "version": 1,
                "name": "invented eye, tiny",
                "duration_days": 30,
                "mesh": {"around": 12, "radial": 2},
            }
        ),
        encoding="utf-8",
    )
    return path


def test_values_are_set_on_the_command_line(command, tiny_file):
    done = command("run", tiny_file, "--set", "opening.diameter_mm=4.5", "--set", "name=other", "--set", "lens=null")
    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("other: completed")
    assert "4.50" in done.stdout
    for wrong, words in (
        ("opening.diamter_mm=4", "did you mean 'diameter_mm'"),
        ("opening.diameter_mm", "give PATH=VALUE"),
        ("opening.diameter_mm=400", "opening.diameter_mm = 400"),
    ):
        done = command("check", tiny_file, "--set", wrong)
        assert done.returncode == 2
        assert words in done.stderr and "Traceback" not in done.stderr


def test_check_tells_of_every_file(command, scenario_file, tiny_file, small):
    small["duration_dayz"] = 3
    scenario_file.write_text(json.dumps(small), encoding="utf-8")
    done = command("check", tiny_file, scenario_file)
    assert done.returncode == 2
    assert "tiny.json: valid" in done.stdout and "duration_dayz" in done.stderr


def test_sweep_shows_and_writes_every_run(command, tiny_file, tmp_path):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    done = command(
        "sweep",
        tiny_file,
        "--vary",
        "opening.diameter_mm=4.5:5.5:3",
        "--vary",
        "zonule.strength=0.3,1",
        "--outcome",
        "area_loss_percent",
        "--series",
        "opening_area_mm2",
        "-o",
        tmp_path / "sweep.nc",
        "--csv",
        tmp_path / "sweep.csv",
    )
    assert done.returncode == 0, done.stderr
    assert done.stderr == ""
    assert "6 runs: 6 completed" in done.stdout
    assert "not for treating a patient" in done.stdout
    result = capsim.load_sweep(tmp_path / "sweep.nc")
    assert result.opening_area_mm2.dims == ("opening.diameter_mm", "zonule.strength", "day")
    rows = [line.split(",") for line in (tmp_path / "sweep.csv").read_text().splitlines()]
    assert rows[0] == ["opening.diameter_mm", "zonule.strength", "area_loss_percent", "status"]
    for row in rows[1:]:
        cell = result.sel({"opening.diameter_mm": float(row[0]), "zonule.strength": float(row[1])})
        assert float(row[2]) == float(cell.area_loss_percent) and row[3] == "completed"
    again = command("sweep", tiny_file, "--vary", "opening.diameter_mm=4.5", "-o", tmp_path / "sweep.nc")
    assert again.returncode == 2 and "result of another sweep" in again.stderr


def test_sweep_over_a_table_keeps_failed_runs(command, tiny_file, tmp_path):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    (tmp_path / "table.csv").write_text("opening.diameter_mm,eye\n4.5,left\n25,right\n")
    done = command("sweep", tiny_file, "--samples", tmp_path / "table.csv", "--outcome", "opening_nasal_mm")
    assert done.returncode == 3
    assert "2 runs: 1 completed, 1 invalid_scenario" in done.stdout
    single = command("sweep", tiny_file, "--vary", "opening.diameter_mm=4.5,5")
    assert single.returncode == 0 and "2 runs: 2 completed" in single.stdout


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("--vary", "opening.diamter_mm=4,5"), "did you mean 'diameter_mm'"),
        (("--vary", "opening.diameter_mm=4:5"), "no run of the sweep is a valid scenario"),
        (("--vary", "opening.diameter_mm=4:5:x"), "FROM:TO:COUNT"),
        (("--vary", "opening.diameter_mm"), "give PATH=VALUE"),
        (("--vary", "opening.diameter_mm=5", "--outcome", "area"), "there is no outcome 'area'"),
        (("--vary", "opening.diameter_mm=5", "--workers", "0"), "workers is 0"),
        (("--samples", "nothing.csv"), "nothing.csv: No such file"),
        ((), "--vary"),
    ],
)
def test_wrong_sweep_is_refused(command, tiny_file, arguments, words):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    done = command("sweep", tiny_file, *arguments)
    assert done.returncode == 2
    assert words in done.stderr and "Traceback" not in done.stderr


def test_interrupted_sweep_says_where_its_runs_are(tmp_path, tiny_file):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    arguments = [
        sys.executable,
        "-m",
        "capsim",
        "sweep",
        str(tiny_file),
        "--set",
        "duration_days=3000",
        "--set",
        "numerics.max_step_days=0.5",
        "--vary",
        "opening.diameter_mm=4:6:200",
        "-o",
        "long.nc",
    ]
    process = subprocess.Popen(arguments, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, cwd=tmp_path)
    partial = tmp_path / "long.nc.partial"
    end = time.monotonic() + PATIENCE_S
    while not partial.exists() and time.monotonic() < end:
        time.sleep(0.05)
    process.send_signal(signal.SIGINT)
    _, errors = process.communicate(timeout=PATIENCE_S)
    assert process.returncode == 130
    assert "long.nc.partial" in errors and "Traceback" not in errors
    assert partial.exists() and not (tmp_path / "long.nc").exists()


def test_comparison_shows_what_differs(command, tiny_file, tmp_path):
    other = tmp_path / "other.json"
    other.write_text(
        tiny_file.read_text()
        .replace("invented eye, tiny", "larger")
        .replace('"duration_days"', '"opening": {"diameter_mm": 5.8}, "duration_days"')
    )
    command("run", other, "-o", tmp_path / "other.h5")
    done = command("compare", tiny_file, tmp_path / "other.h5", "-o", tmp_path / "both.png")
    assert done.returncode == 0, done.stderr
    losses = [capsim.outcomes(capsim.simulate(path))["area_loss_percent"] for path in (tiny_file, other)]
    line = next(line.split() for line in done.stdout.splitlines() if line.startswith("area_loss_percent"))
    assert line == ["area_loss_percent", f"{losses[0]:.5g}", f"{losses[1]:.5g}", "%"]
    assert "\nday " not in done.stdout  # the same for both
    assert "\nday " in command("compare", tiny_file, other, "--all").stdout
    assert (tmp_path / "both.png").read_bytes().startswith(b"\x89PNG")


def test_comparison_with_a_run_that_failed_says_so(command, tiny_file):
    done = command("compare", tiny_file, "--set", "numerics.max_steps=1")
    assert done.returncode == 3
    assert "too_many_steps" in done.stdout and "run_not_completed" in done.stdout


def test_fit_shows_estimates_flags_and_forecast(command, tiny_file, tmp_path):
    pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no fits")
    (tmp_path / "visits.csv").write_text("day;area_mm2\n1;21,3\n30;20,3\n90;19,6\n")
    done = command(
        "fit",
        tmp_path / "visits.csv",
        tiny_file,
        "--forecast",
        "90,365",
        "--threshold-diameter-mm",
        "4.9",
        "--draws",
        "8",
        "-o",
        tmp_path / "fit.json",
    )
    assert done.returncode == 0, done.stderr
    assert "contraction.fibre_modulus_kPa" in done.stdout and "data_do_not_tell" in done.stdout
    assert "chance of a diameter below 4.9 mm" in done.stdout
    assert "not for treating a patient" in done.stdout
    record = json.loads((tmp_path / "fit.json").read_text())
    estimate = record["eyes"]["eye"]["estimates"]["contraction.fibre_modulus_kPa"]
    assert estimate["low"] < estimate["value"] < estimate["high"]
    assert record["eyes"]["eye"]["forecast"]["day"] == [90, 365]
    assert len(record["eyes"]["eye"]["forecast"]["chance_below_threshold"]) == 2


def test_fit_with_a_population_forecasts_under_each_law(command, tiny_file, tmp_path):
    pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no fits")
    (tmp_path / "visits.csv").write_text("day,area_mm2\n1,21.3\n30,20.3\n90,19.6\n")
    done = command(
        "fit",
        tmp_path / "visits.csv",
        tiny_file,
        "--population",
        "age_related_cataract",
        "--forecast",
        "90,365",
        "--threshold-diameter-mm",
        "4.9",
        "--draws",
        "4",
        "-o",
        tmp_path / "fit.json",
    )
    assert done.returncode == 0, done.stderr
    assert "eye: forecast under the contraction law active_lock_in" in done.stdout
    eye = json.loads((tmp_path / "fit.json").read_text())["eyes"]["eye"]
    other = eye["forecast_under"]["active_lock_in"]
    # Both laws were given the same visits, so they must tell the last of them alike, and need not tell the year alike.
    assert abs(other["median_mm2"][0] / eye["forecast"]["median_mm2"][0] - 1) < 0.05
    assert len(other["chance_below_threshold"]) == 2 and other["median_mm2"] != eye["forecast"]["median_mm2"]


@pytest.mark.parametrize(
    ("text", "arguments", "words"),
    [
        ("day,diameter_mm\n0,5200\n", (), "line 2, column diameter_mm"),
        ("day,area_mm2\n0,\n", (), "no visit to use"),
        ("day,area_mm2\n0,21\n", ("--free", "contraction.fibre_modulus"), "did you mean 'fibre_modulus_kPa'"),
        ("day,area_mm2\n0,21\n", ("--prior", "contraction.tissue_per_day=1"), "PATH=LOW,HIGH"),
        ("day,area_mm2\n0,21\n", ("--forecast", "soon"), "--forecast soon"),
        ("day,area_mm2\n0,21\n", ("--threshold-diameter-mm", "4"), "needs --forecast"),
    ],
)
def test_wrong_fit_is_refused(command, tiny_file, tmp_path, text, arguments, words):
    pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no fits")
    (tmp_path / "visits.csv").write_text(text)
    done = command("fit", tmp_path / "visits.csv", tiny_file, *arguments)
    assert done.returncode == 2
    assert words in done.stderr and "Traceback" not in done.stderr


def test_film_is_written(command, tiny_file, tmp_path):
    done = command("animate", tiny_file, "-o", tmp_path / "film.gif", "--frames-per-second", "5")
    assert done.returncode == 0, done.stderr
    assert (tmp_path / "film.gif").read_bytes().startswith(b"GIF89a")
    wrong = command("animate", tiny_file, "-o", tmp_path / "film.avi")
    assert wrong.returncode == 2 and ".gif, .html or .mp4" in wrong.stderr


def test_missing_program_or_package_has_its_own_exit_code(tmp_path, tiny_file):
    script = (
        "import sys, os; os.environ['PATH'] = ''; sys.modules['xarray'] = None; from capsim.__main__ import main; "
        "sys.exit(main(sys.argv[1:]))"
    )
    for arguments, words in (
        (("animate", tiny_file, "-o", tmp_path / "film.mp4"), "ffmpeg"),
        (("sweep", tiny_file, "--vary", "opening.diameter_mm=5"), "needs the package xarray"),
    ):
        done = subprocess.run(
            [sys.executable, "-c", script, *map(str, arguments)], capture_output=True, text=True, timeout=PATIENCE_S
        )
        assert done.returncode == 4, done.stderr
        assert words in done.stderr and "Traceback" not in done.stderr


def test_help_is_complete(command):
    main = command("--help").stdout
    for name in ("check", "run", "sweep", "compare", "fit", "animate"):
        assert f"    {name} " in main
        done = command(name, "--help")
        assert done.returncode == 0
        assert "exit codes" in done.stdout and f"python -m capsim {name}" in done.stdout
        assert "None" not in done.stdout
    assert "not for treating a patient" in " ".join(main.split())


def test_reader_that_has_enough_is_no_error(tiny_file):
    done = subprocess.run(
        f"{sys.executable} -m capsim run '{tiny_file}' | head -n 1",
        shell=True,
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )
    assert done.stdout.startswith("invented eye") and "Traceback" not in done.stderr and "BrokenPipe" not in done.stderr


@pytest.mark.skipif(not os.path.exists("/dev/full"), reason="this system has no /dev/full")
def test_closed_or_full_standard_output_ends_in_no_traceback(scenario_file):
    command = [sys.executable, "-m", "capsim", "run", str(scenario_file)]
    closed = subprocess.run(
        ["sh", "-c", 'exec "$@" >&-', "sh", *command], stderr=subprocess.PIPE, text=True, timeout=120, check=False
    )
    assert (closed.returncode, closed.stderr) == (0, "")
    with open("/dev/full", "w") as full:
        done = subprocess.run(command, stdout=full, stderr=subprocess.PIPE, text=True, timeout=120, check=False)
    assert (done.returncode, done.stderr) == (2, "capsim: No space left on device\n")
    nowhere = subprocess.run(["sh", "-c", 'exec "$@" >&- 2>&-', "sh", *command], timeout=120, check=False)
    assert nowhere.returncode == 0
