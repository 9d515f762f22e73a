# SPDX-License-Identifier: BSD-3-Clause
"""Studies of a crowd from Python: datasets, tables, files, commands, and what is refused."""

import csv
import json
import math
import subprocess
import sys

import capsim
import numpy as np
import pytest
from capsim import _core

EYE = {
    "eye": "right",
    "duration_days": 60,
    "mesh": {"around": 12, "radial": 2},
    "zonule": {"strength": 0.2, "strength_by_hour": {6: 0.05}},
    "contraction": {"chronic_signal": 0.1},
}


def plan(diameter_mm, name="plan"):
    return capsim.Scenario(name=name, opening={"diameter_mm": diameter_mm}, **EYE)


@pytest.fixture(scope="module")
def comparison():
    return capsim.compare({"small": plan(4.5), "large": plan(5.5)}, "pseudoexfoliation", eyes=3, workers=2)


@pytest.fixture(scope="module")
def seen():
    return capsim.visits(
        plan(4.5),
        "pseudoexfoliation",
        below={"opening_diameter_mm": 4.2},
        schedules={"week and month": [7, 30]},
        variants=True,
        eyes=16,
    )


def test_paired_values_are_those_of_single_runs_bit_for_bit(comparison):
    weak = capsim.population("pseudoexfoliation")
    for k, law in enumerate(comparison.laws):
        single = capsim.outcomes(capsim.simulate(weak.around(weak.under(plan(5.5, "large"), law), 2)))
        for name in comparison.quantities:
            assert comparison.values(name)[k, 1, 2] == single[name]


def test_comparison_becomes_a_labelled_dataset_a_table_and_a_page(comparison, tmp_path):
    xarray = pytest.importorskip("xarray")
    data = comparison.to_dataset()
    assert isinstance(data, xarray.Dataset) and data["opening_area_mm2"].dims == ("law", "plan", "eye")
    assert data["opening_area_mm2"].attrs["units"] == "mm2"
    assert np.array_equal(data.sel(plan="large")["opening_area_mm2"], comparison.values("opening_area_mm2")[:, 1])
    comparison.save_csv(tmp_path / "eyes.csv")
    with open(tmp_path / "eyes.csv", newline="", encoding="utf-8") as file:
        rows = list(csv.DictReader(file))
    assert len(rows) == 2 * 2 * 3
    assert float(rows[0]["opening_area_mm2"]) == comparison.values("opening_area_mm2")[0, 0, 0]
    page = comparison._repr_html_()
    for text in (str(comparison), page):
        assert "3 of 3 (44 to 100 %)" in text and "under both laws" in text
    assert _core.research_caution in " ".join(str(comparison).split())


def test_difference_of_a_pair_is_taken_within_each_eye(comparison):
    values = comparison.values("opening_area_mm2")[0]
    pair = comparison.pair("opening_area_mm2", comparison.laws[0], "small", "large")
    assert pair["difference"]["median"] == pytest.approx(float(np.median(values[1] - values[0])), rel=1e-12)
    assert pair["second_better"]["count"] == 3
    with pytest.raises(ValueError, match="in this order"):
        comparison.pair("opening_area_mm2", comparison.laws[0], "large", "small")


def test_study_ended_by_its_progress_keeps_what_is_done():
    part = capsim.compare([plan(5)], "pseudoexfoliation", eyes=12, workers=1, progress=lambda done, total: done < 2)
    # The waiting thread asks now and then, so that a run or two more may have ended by then; never all of 24.
    assert part.cancelled and 2 <= (part.status == "completed").sum() < 24
    assert "Ended on the way" in " ".join(str(part).split())


def test_visits_find_only_what_has_crossed_and_a_sign_beats_chance(seen):
    days = seen.crossing_day
    for row in seen.schedules:
        law = seen.laws.index(row["law"])
        by_then = [int(np.sum(days[law] <= day)) for day in row["days"]]
        found = np.cumsum([p["count"] for p in row["found"]])
        assert (found <= by_then).all()
    names = list(dict.fromkeys(row["schedule"] for row in seen.schedules))
    assert names[:3] == ["week and month", "without day 7", "without day 30"]
    assert len(seen.schedules) == 4 * len(seen.laws)
    best = seen.signs[0]
    assert best["sensitivity"][-1]["share"] + best["specificity"][-1]["share"] > 1
    assert "days late" in str(seen)


def test_cuts_are_marked_and_carry_their_cautions(tmp_path):
    layouts = [capsim.CutLayout("two", (12, 6), 0.4, 20), capsim.CutLayout("four", (12, 3, 6, 9), 0.4, 20)]
    result = capsim.cuts(plan(4.5), "pseudoexfoliation", layouts, eyes=1, workers=1)
    shares = result.layout("two")["area_kept_mm2"]["shares"]
    assert math.isclose(sum(shares.values()), 1, abs_tol=1e-9)
    for text in (str(result), result._repr_html_()):
        assert "dislocation" in text
    assert json.loads(result.to_json())["format"] == "capsim-cut-study"
    pytest.importorskip("matplotlib")
    result.plot().savefig(tmp_path / "cuts.png")
    assert (tmp_path / "cuts.png").stat().st_size > 10_000


def test_gathered_layouts_lie_about_the_weak_hours_and_opposite():
    named = {layout.name: layout.hours for layout in capsim.cut_layouts(plan(4.5))}
    assert named["3 towards the weak hours"] == (5, 6, 7)
    assert sorted(named["3 away from the weak hours"]) == [1, 11, 12]


def test_wrong_input_names_field_value_and_limit():
    with pytest.raises(capsim.ScenarioError, match=r"eyes.*0.*>= 1"):
        capsim.compare([plan(5)], "pseudoexfoliation", eyes=0)
    with pytest.raises(capsim.ScenarioError, match=r"plans\[1\]\.zonule\.strength"):
        capsim.compare([plan(5, "a"), plan(5, "b").with_({"zonule.strength": 0.5})], "pseudoexfoliation")
    with pytest.raises(ValueError, match="one"):
        capsim.visits(plan(5), "pseudoexfoliation")
    with pytest.raises(capsim.ScenarioError, match="day 0"):
        capsim.visits(plan(5), "pseudoexfoliation", below={"opening_diameter_mm": 6})


def test_command_compares_over_a_crowd(tmp_path):
    for name, diameter in (("a", 4.5), ("b", 5.5)):
        (tmp_path / f"{name}.json").write_text(plan(diameter, name).to_json(), encoding="utf-8")
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "capsim",
            "compare",
            "a.json",
            "b.json",
            "--population",
            "pseudoexfoliation",
            "--eyes",
            "1",
        ]
        + ["--quiet", "--csv", "eyes.csv", "--json", "all.json"],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr
    assert "b > a (best first)" in done.stdout
    assert (tmp_path / "eyes.csv").exists()
    assert json.loads((tmp_path / "all.json").read_text(encoding="utf-8"))["plans"] == ["a", "b"]
