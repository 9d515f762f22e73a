# SPDX-License-Identifier: BSD-3-Clause
"""Sweeps: labelled results that do not depend on where, or in what order, the runs are done."""

import concurrent.futures
import sys

import capsim
import numpy as np
import pytest
from capsim.sweeps.pool import DaskClient, batches
from capsim.sweeps.run import Row, on_days
from tiny_sweep import GRID, TINY, grid_of, identical, never_run

xarray = pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")


@pytest.fixture(scope="module")
def tiny():
    return capsim.Scenario(**TINY)


@pytest.fixture(scope="module")
def grid(tiny):
    return grid_of(tiny)


def test_grid_has_a_named_dimension_for_each_path(grid):
    assert grid.area_loss_percent.dims == ("opening.diameter_mm", "zonule.strength")
    assert grid["opening.diameter_mm"].values.tolist() == GRID["opening.diameter_mm"]
    assert grid["zonule.strength"].values.tolist() == GRID["zonule.strength"]
    assert grid.zonule_load_mN.dims == (*GRID, "day", "hour")
    assert grid.hour.values.tolist() == [12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11]
    assert grid.opening_center_mm.dims == (*GRID, "day", "axis")
    assert grid.axis.values.tolist() == ["x", "y"]
    assert grid.day.values.tolist() == [0, 7, 14, 21, 28, 30]


def test_values_are_those_of_single_runs(grid, tiny):
    for diameter in GRID["opening.diameter_mm"]:
        for strength in GRID["zonule.strength"]:
            changes = {"opening.diameter_mm": diameter, "zonule.strength": strength}
            history = capsim.simulate(tiny.with_(changes))
            outcomes = capsim.outcomes(history)
            cell = grid.sel(changes)
            for name in ("area_loss_percent", "zonule_load_max_mN", "opening_area_mm2"):
                assert float(cell[name]) == outcomes[name]
            assert (cell.zonule_load_mN.values == history.zonule_load_mN).all()
            assert cell.status == history.status == "completed"


def test_every_number_has_unit_and_description(grid):
    for name, variable in grid.variables.items():
        assert variable.attrs["long_name"], name
        if variable.dtype != object and name != "hour":
            assert variable.attrs["units"], name
    assert grid.area_loss_percent.attrs["units"] == "%"
    assert grid.zonule_load_mN.attrs["units"] == "mN"
    assert grid["opening.diameter_mm"].attrs["units"] == "mm"
    assert grid["zonule.strength"].attrs["units"] == "1"
    assert "not for treating a patient" in grid.attrs["caution"]
    assert capsim.Scenario.from_json(grid.attrs["base_scenario"]) == capsim.Scenario(**TINY)


def test_table_has_one_row_for_each_run(tiny, grid):
    rows = [{"opening.diameter_mm": 4.5, "zonule.strength": 1.0}, {"opening.diameter_mm": 5.5, "zonule.strength": 0.3}]
    columns = {name: np.array([row[name] for row in rows]) for name in rows[0]}
    table = capsim.sweep(tiny, rows)
    assert table.area_loss_percent.dims == ("run",)
    for run, row in enumerate(rows):
        assert float(table.area_loss_percent[run]) == float(grid.area_loss_percent.sel(row))
        assert all(float(table[path][run]) == value for path, value in row.items())
    identical(capsim.sweep(tiny, columns, layout="table"), table)
    pandas = pytest.importorskip("pandas", reason="pandas is not installed: tables from data frames were not tried")
    identical(capsim.sweep(tiny, pandas.DataFrame(columns)), table)


def test_samples_fill_their_ranges_and_can_be_repeated(tiny):
    scipy_stats = pytest.importorskip("scipy.stats", reason="SciPy is not installed: no samples")
    ranges = {"opening.diameter_mm": (4.5, 5.5), "contraction.fibre_modulus_kPa": scipy_stats.lognorm(0.3, scale=300)}
    for method in ("latin_hypercube", "sobol", "random"):
        table = capsim.samples(ranges, 8, method, seed=3)
        assert list(table) == list(ranges) and table.rows == 8
        assert all((4.5 <= value <= 5.5) for value in table["opening.diameter_mm"])
        assert len(set(table["contraction.fibre_modulus_kPa"])) == 8
        for path in ranges:
            assert (table[path] == capsim.samples(ranges, 8, method, seed=3)[path]).all()
            assert (table[path] != capsim.samples(ranges, 8, method, seed=4)[path]).all()
    # Latin hypercube: one sample in each eighth of every range.
    column = capsim.samples(ranges, 8, seed=3)["opening.diameter_mm"]
    assert sorted(((column - 4.5) * 8).astype(int)) == list(range(8))
    assert capsim.sweep(tiny, capsim.samples(ranges, 2, seed=1)).sizes["run"] == 2
    with pytest.raises(ValueError, match="opening.diameter_mm is .5.0, 4.0."):
        capsim.samples({"opening.diameter_mm": (5, 4)}, 8, seed=3)


def test_whole_parts_can_vary(tiny):
    result = capsim.sweep(tiny, {"tension_ring": [None, {"free_diameter_mm": 12.0}]}, outcomes=["equator_diameter_mm"])
    assert result["tension_ring"].values.tolist() == ["null", '{"free_diameter_mm": 12.0}']
    assert float(result.equator_diameter_mm[1]) > float(result.equator_diameter_mm[0])


@pytest.mark.parametrize("workers", [2, 3, 8])
def test_results_are_the_same_bits_for_any_number_of_threads(tiny, grid, workers):
    again = capsim.sweep(tiny, GRID, series=["zonule_load_mN", "opening_center_mm"], workers=workers)
    identical(again, grid)


def test_results_are_the_same_bits_in_any_executor(tiny, grid):
    with concurrent.futures.ProcessPoolExecutor(2) as executor:
        again = capsim.sweep(tiny, GRID, series=["zonule_load_mN", "opening_center_mm"], executor=executor)
    identical(again, grid)
    with concurrent.futures.ThreadPoolExecutor(2) as executor:
        again = capsim.sweep(tiny, GRID, series=["zonule_load_mN", "opening_center_mm"], executor=executor)
    identical(again, grid)


def test_failed_runs_are_kept(tiny):
    result = capsim.sweep(
        tiny.with_({"numerics.max_step_days": 0.5}),
        [
            {"opening.diameter_mm": 5.0, "numerics.max_steps": 5000},
            {"opening.diameter_mm": 5.0, "numerics.max_steps": 3},
            {"opening.diameter_mm": 25.0, "numerics.max_steps": 5000},
        ],
        outcomes=["area_loss_percent"],
        series=["opening_area_mm2"],
    )
    assert result.status.values.tolist() == ["completed", "too_many_steps", "invalid_scenario"]
    assert "run_not_completed" in str(result.flags.values[1])
    assert "opening.diameter_mm = 25" in str(result.message.values[2])
    area = result.opening_area_mm2.values
    assert np.isfinite(area[0]).all()
    assert np.isfinite(area[1, 0]) and np.isnan(area[1, -1])
    assert np.isnan(area[2]).all() and np.isnan(result.area_loss_percent.values[2])


def test_series_are_interpolated_between_rows_and_show_the_day_of_an_event_after_it(history):
    days = np.array([0.0, 12.5, 30.0, 59.0, 60.0, 61.0])
    area = on_days(history, "opening_area_mm2", days)
    at = {float(day): float(value) for day, value in zip(history.day, history.opening_area_mm2)}  # after: it is later
    assert area[0] == at[0.0] and area[4] == at[60.0]
    assert area[1] == pytest.approx(0.75 * at[10.0] + 0.25 * at[20.0], rel=1e-12)  # rounding of one multiplication
    assert area[2] == at[30.0] == history.opening_area_mm2[history.row_at(30)]
    assert area[3] == pytest.approx(0.1 * at[50.0] + 0.9 * at[60.0], rel=1e-12)
    assert np.isnan(area[5])
    assert on_days(history, "zonule_load_mN", days).shape == (6, 12)


def scatter_strength(scenario, rng):
    return scenario.with_({"zonule.strength": rng.uniform(0.2, 1.0), "name": f"{rng.random():.17g}"})


def test_random_runs_depend_on_root_seed_and_run_only(tiny):
    axis = {"opening.diameter_mm": [4.5, 5.0, 5.5]}
    one = capsim.sweep(tiny, axis, seed=7, vary=scatter_strength, workers=1)
    identical(capsim.sweep(tiny, axis, seed=7, vary=scatter_strength, workers=3), one)
    shorter = capsim.sweep(tiny, {"opening.diameter_mm": [4.5, 5.0]}, seed=7, vary=scatter_strength)
    assert (shorter.zonule_load_total_mN.values == one.zonule_load_total_mN.values[:2]).all()
    assert len(set(one.run_seed.values.tolist())) == 3
    other = capsim.sweep(tiny, axis, seed=8, vary=scatter_strength)
    assert (other.zonule_load_total_mN.values != one.zonule_load_total_mN.values).all()
    again = scatter_strength(tiny.with_({"opening.diameter_mm": 5.0}), np.random.default_rng(int(one.run_seed[1])))
    assert capsim.outcomes(capsim.simulate(again))["zonule_load_total_mN"] == float(one.zonule_load_total_mN[1])


@pytest.mark.parametrize(
    ("arguments", "error", "words"),
    [
        ({"outcomes": ["area_los_percent"]}, ValueError, "did you mean 'area_loss_percent'"),
        ({"series": ["opening_area_mm"]}, ValueError, "did you mean 'opening_area_mm2'"),
        ({"series": ["equator_outline_mm"]}, ValueError, "equator_outline_mm has not the same columns"),
        (
            {"outcomes": ["opening_area_mm2"], "series": ["opening_area_mm2"]},
            ValueError,
            "opening_area_mm2 is asked for as",
        ),
        ({"axes_or_samples": {"opening.diamter_mm": [5]}}, capsim.ScenarioError, "did you mean 'diameter_mm'"),
        (
            {"axes_or_samples": {"opening.diameter_mm": [25, 26]}},
            capsim.ScenarioError,
            "no run of the sweep is a valid",
        ),
        ({"axes_or_samples": {"opening.diameter_mm": []}}, ValueError, "opening.diameter_mm has no values"),
        ({"axes_or_samples": {"opening.diameter_mm": [5, 5]}}, ValueError, "opening.diameter_mm has the value 5 twice"),
        ({"axes_or_samples": {}}, ValueError, "at least one dotted path"),
        ({"axes_or_samples": {"opening.diameter_mm": 5}}, TypeError, "opening.diameter_mm needs a list"),
        ({"axes_or_samples": {"a": [1], "b": [1, 2]}, "layout": "table"}, ValueError, "of one length"),
        ({"axes_or_samples": [{"a": 1}, {"b": 1}]}, ValueError, "row 0 of the samples has no value 'b'"),
        ({"workers": 0}, ValueError, "workers is 0"),
        ({"workers": 1, "client": object()}, ValueError, "one of workers, executor and client"),
        ({"vary": scatter_strength}, ValueError, "vary needs a seed"),
        ({"seed": -1}, ValueError, "seed is -1"),
        ({"days": [-1]}, ValueError, "days must be"),
        ({"layout": "cube"}, ValueError, "layout is 'cube'"),
        ({"path": "no folder/there.nc"}, capsim.ResultsFileError, "there is no folder no folder"),
    ],
)
def test_what_can_not_be_done_is_refused_before_any_run(tiny, monkeypatch, arguments, error, words):
    capsim.sweeps.quantities._known()
    never_run(monkeypatch)
    with pytest.raises(error, match=words.replace("(", ".")):
        capsim.sweep(**{"base": tiny, "axes_or_samples": GRID, **arguments})


def test_outcomes_of_events_are_known_on_any_day(tiny):
    base = tiny.with_(events=[{"day": 10, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}])
    result = capsim.sweep(
        base, {"events[0].relaxing_cuts.length_mm": [0.4, 0.6]}, outcomes=["relief_day_10_mm2", "area_loss_30d_percent"]
    )
    relief = result.relief_day_10_mm2
    assert relief.attrs["units"] == "mm2" and (relief.values > 0).all()
    assert "retinal detachment" in result.attrs["caution"]


def test_progress_is_told_and_nothing_is_printed(tiny, capfd):
    told = []
    capsim.sweep(tiny, GRID, progress=lambda done, total: told.append((done, total)))
    assert told == [(k, 6) for k in range(1, 7)]
    capsim.sweep(tiny, GRID)  # not a terminal: no bar
    assert capfd.readouterr() == ("", "")


def test_bar_is_shown_on_a_terminal(tiny, monkeypatch, capsys):
    pytest.importorskip("tqdm", reason="tqdm is not installed: the progress bar was not tried")
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    capsim.sweep(tiny, GRID)
    assert "6/6" in capsys.readouterr().err


def test_what_a_function_raises_ends_the_sweep(tiny):
    def bad(scenario, rng):
        raise ZeroDivisionError("mine")

    with pytest.raises(ZeroDivisionError, match="mine"):
        capsim.sweep(tiny, GRID, seed=1, vary=bad)


def test_missing_package_is_told_with_the_way_to_get_it(python):
    script = """
import sys
sys.modules["xarray"] = None
import capsim
try:
    capsim.sweep(capsim.Scenario(), {"opening.diameter_mm": [5]})
except ImportError as error:
    print(error)
"""
    text = python(script)
    assert "a sweep needs the package xarray" in text
    assert "pip install xarray" in text and "python3-xarray" in text


# --- how the work is divided


class CountingClient:
    """Stands for a dask client: does nothing but hand out empty rows, and counts what it is asked for."""

    def __init__(self):
        self.tasks = []

    def submit(self, function, plan, batch, **options):
        future = concurrent.futures.Future()
        future.key, future.release = len(self.tasks), lambda: None
        future.set_result([Row(run, "completed", "", "", np.zeros(0), []) for run, _ in batch])
        self.tasks.append(batch)
        return future


class Runs:
    def __init__(self, count):
        self.count = count

    def __len__(self):
        return self.count

    def part(self, first, last):
        return [(run, {}) for run in range(first, min(last, self.count))]


@pytest.mark.parametrize("count", [1, 7, 999, 1001, 100_000])
def test_a_cluster_is_given_all_runs_in_fewer_than_2000_tasks(count):
    pytest.importorskip("distributed", reason="dask.distributed is not installed")
    client, kept = CountingClient(), []
    place = DaskClient(client)
    place.as_completed = iter
    place.do(None, Runs(count), kept.append)
    assert [row.run for row in kept] == list(range(count))
    assert len(client.tasks) < 2000
    assert len(client.tasks) == min(count, len(client.tasks))
    if count >= 1000:
        assert len(client.tasks) >= 500  # small enough parts that no worker is idle for long at the end


def test_batches_are_all_runs_in_order():
    assert [run for batch in batches(Runs(10), 4) for run, _ in batch] == list(range(10))
    assert [len(batch) for batch in batches(Runs(10), 4)] == [4, 4, 2]


def test_compiled_rows_are_those_of_the_runs_in_python(tiny, tmp_path):
    """Bit for bit, with events, failures, invalid scenarios, sections as values and days beyond the end."""
    base = tiny.with_({"events": [{"day": 10, "relaxing_cuts": {"hours": [12], "length_mm": 0.5}}]}, duration_days=21)
    table = [
        {"opening.diameter_mm": 4.8, "zonule": {"strength": 0.5}, "lens": None, "numerics.max_steps": 5000},
        {"opening.diameter_mm": 5, "zonule": {"strength_by_hour": {"4": 0.1}}, "lens": {}, "numerics.max_steps": 1},
        {"opening.diameter_mm": 50.0, "zonule": {}, "lens": {}, "numerics.max_steps": 5000},
    ]
    options = dict(series=["zonule_load_mN", "opening_area_mm2"], days=[0, 3.3, 10, 21, 30], seed=1)
    compiled = capsim.sweep(base, table, **options)
    python = capsim.sweep(base, table, vary=lambda scenario, rng: scenario, **options)
    identical(compiled, python.drop_vars([name for name in python.data_vars if name not in compiled]))
    assert compiled.status.values[2] == "invalid_scenario" and "completed" in compiled.status.values
    assert np.isnan(compiled.opening_area_mm2.sel(day=30)).all()


def test_texts_of_runs_mean_what_their_changes_mean(tiny):
    from capsim.complete_values import normalised
    from capsim.scenario import changed
    from capsim.sweeps.template import Template

    template = Template(tiny.to_dict())
    for changes in (
        {"opening.diameter_mm": 4.5, "zonule.strength": 0.25, "zonule.strength_by_hour.4": 0.1},
        {"opening.diameter_mm": 5.5000000001, "zonule.strength": 0.75, "zonule.strength_by_hour.4": 0.2},
        {"opening.diameters_mm": [5.0, 4.0], "mesh.around": np.int64(16)},
        {"name": 'a "name" \ufffe0\ufffe', "opening.diameter_mm": 5.5},
        {"lens": None, "zonule.strength": 0},
    ):
        for _ in range(2):
            assert normalised(template.text(changes)) == tiny.with_(changes).to_dict()
        assert changed(tiny.to_dict(), changes)
