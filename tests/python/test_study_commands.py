# SPDX-License-Identifier: BSD-3-Clause
"""The commands of studies as a stranger types them: what they print, write, refuse, and keep after Ctrl-C."""

import csv
import json
import os
import signal
import subprocess
import sys

import capsim
import pytest

SHORT = {
    "eye": "right",
    "duration_days": 30,
    "output_every_days": 10,
    "mesh": {"around": 12, "radial": 2, "tip_layers": 1},
    "zonule": {"strength": 0.2, "strength_by_hour": {6: 0.05}},
    "contraction": {"chronic_signal": 0.1},
}
COMMANDS = {
    "compare": ["small.json", "large.json"],
    "visits": ["small.json", "--below", "opening_diameter_mm=4.3", "--schedule", "7,20"],
    "cuts": ["small.json", "--layout", "12,6", "--day", "10", "--day", "20", "--length", "0.3"],
}
HEADERS = {
    "compare": "law,plan,eye,status",
    "visits": "law,eye,crossing_day,status",
    "cuts": "layout,hours,day,length_mm",
}


@pytest.fixture
def folder(tmp_path):
    for name, diameter in (("small", 4.5), ("large", 5.5)):
        plan = capsim.Scenario(name=f"{name} opening of an invented eye", opening={"diameter_mm": diameter}, **SHORT)
        (tmp_path / f"{name}.json").write_text(plan.to_json(), encoding="utf-8")
    return tmp_path


def arguments(command, *more):
    crowd = ["--population", "pseudoexfoliation", "--eyes", "2", "--quiet"]
    return [sys.executable, "-m", "capsim", command, *COMMANDS[command], *crowd, *more]


@pytest.mark.parametrize("command", list(COMMANDS))
def test_command_writes_table_json_and_picture_of_what_it_prints(command, folder):
    pytest.importorskip("matplotlib")
    outputs = ["--csv", "all.csv", "--json", "all.json", "-o", "all.png"]
    done = subprocess.run(arguments(command, *outputs), capture_output=True, text=True, cwd=folder, timeout=300)
    assert done.returncode == 0, done.stderr
    assert done.stdout.rstrip().endswith("written to all.csv, all.json, all.png")
    assert "not for treating a patient" in done.stdout
    table = (folder / "all.csv").read_text(encoding="utf-8").splitlines()
    assert table[0].startswith(HEADERS[command])
    answer = json.loads((folder / "all.json").read_text(encoding="utf-8"))
    assert len(table) - 1 == len(answer["status"])
    assert answer["cautions"]
    assert (folder / "all.png").read_bytes().startswith(b"\x89PNG")


def test_days_of_cuts_lie_side_by_side(folder):
    done = subprocess.run(
        arguments("cuts", "--csv", "all.csv"), capture_output=True, text=True, cwd=folder, timeout=300
    )
    assert done.returncode == 0, done.stderr
    with open(folder / "all.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert {(row["layout"], row["day"]) for row in rows} == {
        ("2 cuts at 12,6, day 10", "10.0"),
        ("2 cuts at 12,6, day 20", "20.0"),
    }
    assert "dislocation" in done.stdout


def test_long_names_of_plans_become_letters_with_a_key(folder):
    done = subprocess.run(arguments("compare"), capture_output=True, text=True, cwd=folder, timeout=300)
    assert "A: small opening of an invented eye" in done.stdout
    assert "B > A (best first)" in done.stdout
    assert max(map(len, done.stdout.splitlines())) <= 120


@pytest.mark.skipif(not hasattr(os, "openpty"), reason="a terminal is needed")
def test_progress_is_told_on_a_terminal(folder):
    terminal, end = os.openpty()
    asked = [word for word in arguments("compare") if word != "--quiet"]
    with subprocess.Popen(asked, stdout=subprocess.DEVNULL, stderr=end, cwd=folder) as running:
        os.close(end)
        told = b""
        while True:
            try:
                part = os.read(terminal, 1000)
            except OSError:  # the other end is closed
                break
            if not part:
                break
            told += part
    os.close(terminal)
    assert running.returncode == 0
    assert b"8 of 8 runs" in told


@pytest.mark.skipif(os.name != "posix", reason="signals of POSIX")
def test_ctrl_c_keeps_the_eyes_that_are_done(folder):
    asked = [word for word in arguments("compare", "--json", "part.json") if word != "--quiet"]
    asked[asked.index("--eyes") + 1] = "4000"  # half an hour: never run to the end
    script = (
        "import sys; sys.stderr.isatty = lambda: True; from capsim.__main__ import main; sys.exit(main(sys.argv[1:]))"
    )
    asked[1:3] = ["-c", script]
    with subprocess.Popen(asked, stdout=subprocess.PIPE, stderr=subprocess.PIPE, cwd=folder) as running:
        done, line = 0, b""
        while done < 12:
            read = running.stderr.read(1)
            assert read, "it ended by itself"
            if read == b"\r":
                done = int(line.split(b" ")[0] or 0)
                line = b""
            else:
                line += read
        running.send_signal(signal.SIGINT)
        printed, _ = running.communicate(timeout=60)
    assert running.returncode == 130
    assert "Ended on the way" in " ".join(printed.decode().split())
    part = json.loads((folder / "part.json").read_text(encoding="utf-8"))
    assert part["cancelled"]
    assert 12 <= part["status"].count("completed") < len(part["status"])


def test_wrong_plan_threshold_and_schedule_are_refused_in_words(folder):
    for command, more, said in (
        ("visits", ["--schedule", "20,7"], "visits in order of their days"),
        ("visits", ["--eyes", "0"], "eyes = 0: must be >= 1"),
        ("cuts", ["--day", "99"], "the plan's last day"),
        ("compare", ["--law", "magic"], "laws[0]"),
    ):
        done = subprocess.run(arguments(command, *more), capture_output=True, text=True, cwd=folder, timeout=300)
        assert done.returncode == 2
        assert said in done.stderr, done.stderr
        assert "Traceback" not in done.stderr
