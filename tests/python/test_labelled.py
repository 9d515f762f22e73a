# SPDX-License-Identifier: BSD-3-Clause
"""Runs as labelled arrays, lists of what can be asked, and results that can be compared and sent elsewhere."""

import pickle

import capsim
import numpy as np
import pytest

xarray = pytest.importorskip("xarray", reason="xarray is not installed: labelled arrays were not tried")

BASE = capsim.Scenario(
    name="invented eye",
    eye="right",
    duration_days=30,
    output_every_days=10,
    mesh={"around": 12, "radial": 2},
    events=[{"day": 15, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}],
)


@pytest.fixture(scope="module")
def run():
    return capsim.simulate(BASE)


def test_labelled_run_has_every_value_both_sides_of_events_and_units(run):
    data = run.to_xarray()
    assert set(data.data_vars) | {"day", "event_side"} == set(run.names)
    for name in run.names:
        assert data[name].values.tobytes() == run.array(name).tobytes(), name
        assert data[name].attrs["units"] == run.unit(name) and data[name].attrs["long_name"] == run.description(name)
    assert data.day.values.tolist() == [0, 10, 15, 15, 20, 30]
    before, after = data.where(data.day == 15, drop=True).opening_area_mm2.values
    assert before < after
    assert data.zonule_load_mN.sel(hour=4).values.tobytes() == run.zonule_load_mN[:, 4].tobytes()
    assert data.zonule_load_mN.sel(hour=12).values.tobytes() == run.zonule_load_mN[:, 0].tobytes()
    assert (data.opening_center_mm.sel(axis="y").values == run.opening_center_mm[:, 1]).all()
    assert data.rim_outline_mm.dims == ("row", "rim_point", "axis")
    assert (data.rim_outline_mm[-1].values == run.array("rim_outline_mm")[-1].reshape(-1, 2)).all()
    assert data.attrs["status"] == "completed" and "retinal detachment" in data.attrs["caution"]
    assert capsim.Scenario.from_json(data.attrs["scenario"]) == BASE


def test_columns_of_cuts_are_labelled_by_the_hour_of_their_line():
    events = [
        {"day": 10, "relaxing_cuts": {"hours": [9], "length_mm": 0.5}},
        {"day": 20, "relaxing_cuts": {"hours": [3, 12], "length_mm": 0.5}},
    ]
    data = capsim.simulate(BASE.with_(events=events)).to_xarray()
    between = data.cut_tip_release_mN.where((data.day < 20) & (data.event_side >= 0), drop=True).isel(row=-1)
    assert dict(zip(between.cut_hour.values, between.values > 0)) == {9: True, 3: False, 12: False}
    assert (data.cut_tip_release_mN.isel(row=-1) > 0).all()


def test_labelled_run_survives_a_netcdf_file(run, tmp_path):
    pytest.importorskip("h5netcdf", reason="h5netcdf is not installed: netCDF was not tried")
    run.to_xarray().to_netcdf(tmp_path / "run.nc", engine="h5netcdf")
    with xarray.open_dataset(tmp_path / "run.nc", engine="h5netcdf") as again:
        xarray.testing.assert_identical(again.load(), xarray.decode_cf(run.to_xarray()))


def test_histories_are_equal_when_every_bit_is(run):
    again = capsim.simulate(BASE)
    assert run == again and hash(run) == hash(again)
    assert run == pickle.loads(pickle.dumps(run))
    assert run != capsim.simulate(BASE.with_({"opening.diameter_mm": 5.0000001}))
    assert run != capsim.simulate(BASE.with_(name="other")) and run != "a history"


def test_populations_and_fits_travel_to_other_processes():
    pytest.importorskip("scipy", reason="SciPy is not installed: no fits")
    eyes = capsim.population("pseudoexfoliation")
    assert pickle.loads(pickle.dumps(eyes)) == eyes
    assert pickle.loads(pickle.dumps(eyes)).draw(BASE, 3) == eyes.draw(BASE, 3)
    visits = capsim.Visits([1, 10, 30], [19.0, 18.5, 18.0], eye="right")
    found = capsim.fit(visits, BASE.with_(events=[]), start="base")
    again = pickle.loads(pickle.dumps(found))
    assert (again.only.z == found.only.z).all() and str(again) == str(found)
    assert (again.forecast([60], draws=2).areas_mm2 == found.forecast([60], draws=2).areas_mm2).all()


def test_lists_name_what_runs_have(run):
    outcomes = capsim.outcomes(run)
    listed = capsim.outcome_names()
    for name in outcomes:
        key = name.replace("day_15", "day_{day}")
        assert (listed[key].unit, listed[key].name) == (outcomes.units[name], key)
    assert listed["area_loss_percent"].description and str(listed["area_loss_percent"]).startswith(
        "area_loss_percent [%]: "
    )
    for name in run.names:
        assert capsim.series_names()[name].unit == run.unit(name)


# --- sweeps


def widest(history):
    """Largest diameter that the opening ever had."""
    return history.opening_max_diameter_mm.max()


widest.unit = "mm"


def test_functions_of_a_history_are_outcomes(tmp_path):
    axis = {"opening.diameter_mm": [4.5, 5.0]}
    path = tmp_path / "sweep.nc"
    result = capsim.sweep(BASE, axis, outcomes=["area_loss_percent", widest], path=path)
    for diameter in axis["opening.diameter_mm"]:
        expected = widest(capsim.simulate(BASE.with_({"opening.diameter_mm": diameter})))
        assert float(result.widest.sel({"opening.diameter_mm": diameter})) == expected
    assert result.widest.attrs == {"units": "mm", "long_name": "Largest diameter that the opening ever had."}
    assert "widest" in capsim.sweep(BASE, axis, outcomes=["area_loss_percent", widest], path=path)

    def other():
        def widest(history):
            return history.opening_max_diameter_mm.min()

        widest.unit = "mm"
        return widest

    with pytest.raises(capsim.ResultsFileError, match="another sweep"):
        capsim.sweep(BASE, axis, outcomes=["area_loss_percent", other()], path=path)
    with pytest.raises(ValueError, match="needs a name"):
        capsim.sweep(BASE, axis, outcomes=lambda history: 1.0)


def enclosed(outline):
    x, y = outline.T
    return 0.5 * (x * np.roll(y, -1) - y * np.roll(x, -1)).sum()


def test_outlines_are_kept_with_the_area_they_enclose():
    result = capsim.sweep(BASE, {"opening.diameter_mm": [4.5, 5.5]}, series=["rim_outline_mm", "opening_area_mm2"])
    outline = result.rim_outline_mm
    assert outline.dims == ("opening.diameter_mm", "day", "rim_point", "axis")
    for diameter in (4.5, 5.5):
        own = capsim.simulate(BASE.with_({"opening.diameter_mm": diameter})).outline_mm(0)
        kept = outline.sel({"opening.diameter_mm": diameter}).isel(day=0).values
        # Corners between points of the outline are cut, each by less than the square of the spacing.
        assert enclosed(kept) == pytest.approx(enclosed(own), rel=2e-3)
        assert enclosed(kept) < enclosed(own)
    first = outline.isel(day=0, rim_point=0)
    assert np.allclose(first.sel(axis="x"), 0, atol=1e-3) and (first.sel(axis="y") > 2).all()  # at 12 o'clock


def test_a_matrix_with_the_names_of_its_problem_is_a_table():
    problem = {"num_vars": 2, "names": ["opening.diameter_mm", "zonule.strength"], "bounds": [[4, 6], [0.2, 1]]}
    matrix = np.array([[4.5, 0.3], [5.0, 0.9], [5.5, 0.6]])
    result = capsim.sweep(BASE, matrix, names=problem, outcomes="area_loss_percent")
    assert result.sizes["run"] == 3
    assert (result["zonule.strength"].values == matrix[:, 1]).all()
    alone = capsim.outcomes(capsim.simulate(BASE.with_({"opening.diameter_mm": 5.0, "zonule.strength": 0.9})))
    assert float(result.area_loss_percent[1]) == alone["area_loss_percent"]
    with pytest.raises(ValueError, match="2 names need a matrix of as many columns"):
        capsim.sweep(BASE, matrix[:, :1], names=problem)
    with pytest.raises(ValueError, match="a matrix needs the names of its columns"):
        capsim.sweep(BASE, matrix)
