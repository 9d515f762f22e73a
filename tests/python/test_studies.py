# SPDX-License-Identifier: BSD-3-Clause
"""Studies of a crowd from Python: datasets, tables, files, commands, and what is refused."""

import csv
import json
import math
import re
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


def test_ctrl_c_inside_a_progress_callback_keeps_what_is_done():
    def stopped(done, total):
        if done >= 2:
            raise KeyboardInterrupt
        return True

    part = capsim.compare([plan(5)], "pseudoexfoliation", eyes=12, workers=1, progress=stopped)
    assert part.cancelled and 2 <= (part.status == "completed").sum() < 24


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


def test_each_visit_tells_what_it_finds_how_late_and_how_wide_with_intervals(seen):
    head, *rows = seen.visit_rows()
    assert head[2:] == ["finds, of those that cross", "days late", "opening then, mm"]
    assert len(rows) == 2 * len(seen.laws)  # visits of the first schedule
    for row in rows:
        assert " %)" in row[2]
    for of_law in seen.schedules[: len(seen.laws)]:
        counts = [found["count"] for found in of_law["found"]]
        assert sum(counts) == of_law["ever_found"]["count"] > 0
        for count, late, wide in zip(counts, of_law["days_late_at"], of_law["opening_diameter_mm_at"]):
            assert (late["median"] is None) == (count == 0) == (wide["median"] is None)
            if count:
                assert 0 <= late["low"] <= late["high"] and wide["high"] < 4.2
    with pytest.raises(ValueError, match="no schedule 'daily'"):
        seen.visit_rows("daily")


def test_every_share_that_is_printed_has_its_interval(comparison, seen):
    for text in (str(comparison), str(seen), comparison._repr_html_(), seen._repr_html_()):
        counted = re.findall(r"\d+ of \d+(?! runs)(?: \([^)]*%\))?", text)
        bare = [words for words in counted if not words.endswith("%)") and words != "8 of 10"]
        pairs = re.findall(r"\d+ of \d+ pairs? (?:is|are) settled", text)  # of pairs of plans, which are no sample
        assert len(bare) == len(pairs), bare


def test_picture_of_a_comparison_has_a_dot_for_each_eye(comparison):
    pytest.importorskip("matplotlib")
    figure = comparison.plot(["opening_area_mm2"])
    dots = np.concatenate([np.asarray(c.get_offsets()) for c in figure.axes[0].collections])
    assert len(dots) == 2 * 2 * 3  # laws, plans, eyes
    assert np.allclose(np.sort(dots[:, 1]), np.sort(comparison.values("opening_area_mm2").ravel()))


def test_progress_is_told_and_can_be_printed(capfd):
    told = []
    capsim.compare(
        [plan(5)], "pseudoexfoliation", eyes=1, progress=lambda done, total: told.append((done, total)) or True
    )
    assert told[-1] == (2, 2)
    capsim.compare([plan(5)], "pseudoexfoliation", eyes=1, progress=True)
    assert "2 of 2 runs" in capfd.readouterr().err


def test_layouts_at_several_lengths_and_days_say_what_varies():
    layouts = capsim.cut_layouts(plan(4.5), length_mm=[0.4, 0.8], day=[20, 40])
    assert len(layouts) == 5 * 2 * 2
    assert len({layout.name for layout in layouts}) == len(layouts)
    assert layouts[1] == capsim.CutLayout("2 evenly, 0.4 mm, day 40", (12, 6), 0.4, 40)


def test_set_that_nothing_beats_is_that_of_exhaustive_search_over_a_small_grid():
    eye = plan(4.5).with_({"duration_days": 30, "mesh.tip_layers": 1, "zonule.strength_by_hour": {}})
    layouts = capsim.cut_layouts(eye, length_mm=[0.3, 0.6], day=20)
    result = capsim.cuts(eye, "pseudoexfoliation", layouts, eyes=1)

    def median(name):
        return np.median(result.values(name).reshape(len(layouts), -1), axis=1)

    margin = np.minimum(median("tip_to_optic_edge_mm"), median("tip_to_equator_mm"))
    number = np.array([len(layout.hours) for layout in layouts])
    aims = np.column_stack([-median("area_kept_mm2"), -margin, number, median("zonule_load_max_mN")])
    free = [
        layout.name
        for layout, own in zip(layouts, aims)
        if not any((other <= own).all() and (other < own).any() for other in aims)
    ]
    assert result.nothing_beats() == free
    assert 0 < len(free) <= len(layouts) == 6


def test_cuts_are_marked_and_carry_their_cautions(tmp_path):
    layouts = [capsim.CutLayout("two", (12, 6), 0.4, 20), capsim.CutLayout("four", (12, 3, 6, 9), 0.4, 20)]
    result = capsim.cuts(plan(4.5), "pseudoexfoliation", layouts, eyes=1, workers=1)
    assert result.rows()[0][2:] == [
        "area back at once, mm2",
        "clear circle back, mm",
        "area kept, mm2",
        "clear circle kept, mm",
    ]
    assert result.risk_rows()[0][3] == "opening off centre, mm"
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
