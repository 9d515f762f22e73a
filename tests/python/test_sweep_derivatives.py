# SPDX-License-Identifier: BSD-3-Clause
"""Sweeps that keep derivatives, and what derivatives over many runs bound."""

import capsim
import numpy as np
import pytest

xarray = pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")

PATHS = ["contraction.fibre_modulus_kPa", "zonule.strength_by_hour.4", "opening.diameter_mm"]


@pytest.fixture(scope="module")
def tiny():
    return capsim.Scenario(
        name="invented eye", eye="right", duration_days=30, output_every_days=10, mesh={"around": 12, "radial": 2}
    )


@pytest.fixture(scope="module")
def grid(tiny):
    return capsim.sweep(
        tiny,
        {"opening.diameter_mm": [4.6, 5.2]},
        outcomes=["area_loss_percent"],
        series=["opening_area_mm2", "zonule_load_mN"],
        sensitivities=PATHS,
        progress=False,
    )


def test_derivatives_of_a_sweep_are_those_of_its_runs(tiny, grid):
    assert grid["area_loss_percent_by"].dims == ("opening.diameter_mm", "parameter")
    assert grid["zonule_load_mN_by"].dims == ("opening.diameter_mm", "day", "hour", "parameter")
    assert grid["parameter"].values.tolist() == PATHS
    for diameter in (4.6, 5.2):
        scenario = tiny.with_({"opening.diameter_mm": diameter})
        alone = capsim.sensitivities(scenario, PATHS, ["area_loss_percent"], ["opening_area_mm2", "zonule_load_mN"])
        here = grid.sel({"opening.diameter_mm": diameter})
        assert (here["area_loss_percent_by"].values == alone["area_loss_percent"].values).all()
        assert (here["opening_area_mm2_by"].values == alone["opening_area_mm2"].values).all()
        assert (here["zonule_load_mN_by"].values == alone["zonule_load_mN"].values).all()
        assert here["area_loss_percent_by"].attrs["units"].startswith("(%)/(kPa), ")
        assert float(here["area_loss_percent"]) == capsim.outcomes(capsim.simulate(scenario))["area_loss_percent"]


def test_derivatives_are_kept_in_the_file_and_make_another_sweep(tiny, tmp_path):
    pytest.importorskip("h5py", reason="h5py is not installed: no files")
    how = {"outcomes": ["opening_area_mm2"], "path": tmp_path / "sweep.nc", "progress": False}
    axes = {"zonule.strength": [0.5, 1.0]}
    kept = capsim.sweep(tiny, axes, sensitivities=PATHS, **how)
    assert capsim.load_sweep(tmp_path / "sweep.nc").identical(kept)
    assert np.isfinite(kept["opening_area_mm2_by"]).all()
    with pytest.raises(capsim.ResultsFileError, match="another sweep"):
        capsim.sweep(tiny, axes, **how)


@pytest.mark.parametrize(
    ("arguments", "error", "words"),
    [
        ({"sensitivities": ["zonule.strenght"]}, capsim.ScenarioError, "zonule.strenght"),
        ({"sensitivities": ["mesh.around"]}, capsim.ScenarioError, "mesh.around"),
        ({"sensitivities": "zonule.strength"}, ValueError, "a list of paths"),
        ({"sensitivities": PATHS, "outcomes": [len]}, ValueError, "len has no derivative"),
        ({"sensitivities": PATHS, "series": ["rim_outline_mm"]}, ValueError, "rim_outline_mm has no derivative"),
    ],
)
def test_what_has_no_derivative_is_refused_before_any_run(tiny, arguments, error, words):
    with pytest.raises(error, match=words):
        capsim.sweep(tiny, {"zonule.pull_mN": [40, 50]}, progress=False, **arguments)


def linear_model(slopes, width, runs=4000):
    """A sweep of f = sum of slopes times parameters, uniform in [0, width]."""
    x = np.random.default_rng(1).uniform(0, width, (runs, len(slopes)))
    return xarray.Dataset(
        {
            "f": ("run", x @ slopes),
            "f_by": (("run", "parameter"), np.tile(slopes, (runs, 1))),
            "status": ("run", np.full(runs, "completed", dtype=object)),
        },
        {"parameter": [f"p{i}" for i in range(len(slopes))]},
    )


def test_bound_of_a_linear_model_is_its_sobol_index_times_12_over_pi_squared():
    slopes, width = np.array([1.0, 2.0, 0.1]), np.array([1.0, 0.5, 3.0])
    measures = capsim.derivative_measures(linear_model(slopes, width), {f"p{i}": (0, w) for i, w in enumerate(width)})
    index = (slopes * width) ** 2 / ((slopes * width) ** 2).sum()
    # The variance of 4000 samples: 2 % or so.
    assert measures["bound"].sel(outcome="f").values == pytest.approx(12 / np.pi**2 * index, rel=0.06)
    assert np.allclose(measures["mean_square"], slopes**2) and np.allclose(measures["mean_absolute"], slopes)
    assert (measures["bound_low"] <= measures["bound"]).all() and (measures["bound"] <= measures["bound_high"]).all()


def test_bound_is_not_below_the_total_index_of_a_model_with_interaction():
    """f = x y on [0, 1]^2: V = 7/144, total index of each 4/7; E (df/dx)^2 = 1/3."""
    x = np.random.default_rng(2).uniform(size=(8000, 2))
    data = xarray.Dataset(
        {
            "f": ("run", x.prod(axis=1)),
            "f_by": (("run", "parameter"), x[:, ::-1]),
            "status": ("run", np.full(len(x), "completed", dtype=object)),
        },
        {"parameter": ["x", "y"]},
    )
    bound = capsim.derivative_measures(data, {"x": (0, 1), "y": (0, 1)})["bound"].values[0]
    assert bound == pytest.approx(144 / (21 * np.pi**2), rel=0.05)
    assert (bound > 4 / 7).all()


def test_measures_that_can_not_be_made_are_refused(grid):
    data = linear_model(np.array([1.0]), np.array([1.0]), 20)
    with pytest.raises(ValueError, match="no range for p0"):
        capsim.derivative_measures(data, {})
    with pytest.raises(ValueError, match="no derivatives of 'g'"):
        capsim.derivative_measures(data, {"p0": (0, 1)}, ["g"])
    with pytest.raises(ValueError, match="3 runs completed"):
        capsim.derivative_measures(data.isel(run=slice(3)), {"p0": (0, 1)})


def test_linear_bands_are_those_of_runs_beside_the_middle_eye(tiny):
    crowd = capsim.population("pseudoexfoliation")
    names = ["area_loss_percent", "zonule_load_total_mN"]
    bands = crowd.linear_bands(tiny, names, level=0.6827)
    middle = crowd.typical(tiny)
    squares = {name: 0.0 for name in names}
    for path, prior in crowd.priors(middle).items():
        ends = [capsim.simulate(middle.with_({path: float(prior.value(z))})) for z in (0.05, -0.05)]
        for name in names:
            one, other = (
                100 * (1 - h.opening_area_mm2 / h.opening_area_mm2[0]) if "loss" in name else h.array(name)
                for h in ends
            )
            squares[name] = squares[name] + ((one - other) / 0.1) ** 2
    for name in names:
        # A band of 68.27 % is one standard deviation either way; differences of runs are good to some per cent.
        half = 0.5 * (bands.high[name] - bands.low[name])
        assert np.allclose(half, np.sqrt(squares[name]), rtol=0.03, atol=0.01 * half.max()), name
        assert np.allclose(bands.median[name], 0.5 * (bands.high[name] + bands.low[name]))
    assert (bands.eyes, bands.failed) == (1, 0)
    with pytest.raises(ValueError, match="no 'opening_area_mm2'"):
        crowd.linear_bands(tiny).differences(bands)
