# SPDX-License-Identifier: BSD-3-Clause
"""Files of sweeps: what was computed comes back bit for bit, and nothing that is damaged or of another sweep is believed."""

import json
import os

import capsim
import numpy as np
import pytest
from tiny_sweep import GRID, TINY, grid_of, identical, never_run

xarray = pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")


@pytest.fixture(scope="module")
def tiny():
    return capsim.Scenario(**TINY)


@pytest.fixture(scope="module")
def grid(tiny):
    return grid_of(tiny)


def test_file_gives_the_same_dataset(tiny, grid, tmp_path):
    path = tmp_path / "a sweep.nc"
    result = capsim.sweep(tiny, GRID, series=["zonule_load_mN", "opening_center_mm"], path=path)
    identical(result, grid)
    identical(capsim.load_sweep(path), grid)
    assert os.listdir(tmp_path) == ["a sweep.nc"]


def test_finished_file_is_read_and_not_run_again(tiny, tmp_path, monkeypatch):
    path = tmp_path / "sweep.nc"
    first = capsim.sweep(tiny, GRID, path=path)
    never_run(monkeypatch)
    identical(capsim.sweep(tiny, GRID, path=path), first)


@pytest.mark.parametrize(
    "change",
    [
        {"axes_or_samples": {"opening.diameter_mm": [5.0]}},
        {"outcomes": ["area_loss_percent"]},
        {"seed": 1},
        {"series": ["opening_area_mm2"]},
        {"base": capsim.Scenario(**{**TINY, "duration_days": 31})},
    ],
)
def test_file_of_another_sweep_is_not_overwritten(tiny, tmp_path, change):
    path = tmp_path / "sweep.nc"
    capsim.sweep(tiny, GRID, path=path)
    before = path.read_bytes()
    with pytest.raises(capsim.ResultsFileError, match="sweep.nc is the result of another sweep; give another path"):
        capsim.sweep(**{"base": tiny, "axes_or_samples": GRID, "path": path, **change})
    assert path.read_bytes() == before


def test_file_that_is_no_sweep_is_refused(tiny, tmp_path, history):
    (tmp_path / "text.nc").write_text("hello")
    history.save(tmp_path / "run.h5")
    for name in ("text.nc", "run.h5"):
        with pytest.raises(capsim.ResultsFileError, match=f"{name} is not the result of a sweep"):
            capsim.load_sweep(tmp_path / name)
        with pytest.raises(capsim.ResultsFileError, match=name):
            capsim.sweep(tiny, GRID, path=tmp_path / name)
    with pytest.raises(FileNotFoundError):
        capsim.load_sweep(tmp_path / "none.nc")


def test_file_is_netcdf_to_xarray(tiny, grid, tmp_path):
    pytest.importorskip("h5netcdf", reason="h5netcdf is not installed: reading as netCDF was not tried")
    path = tmp_path / "sweep.nc"
    capsim.sweep(tiny, GRID, series=["zonule_load_mN", "opening_center_mm"], path=path)
    with xarray.open_dataset(path, engine="h5netcdf", decode_times=False) as opened:
        for name in ("zonule_load_mN", "area_loss_percent", "status"):
            assert opened[name].dims == grid[name].dims
            assert (opened[name].values == grid[name].values).all()
        assert (opened["opening.diameter_mm"].values == grid["opening.diameter_mm"].values).all()
        assert opened.area_loss_percent.attrs["units"] == "%"
        assert json.loads(str(opened["base_scenario"].values)) == json.loads(grid.attrs["base_scenario"])


def test_no_damaged_bit_of_a_sweep_file_is_believed(tiny, tmp_path):
    path = tmp_path / "sweep.nc"
    capsim.sweep(tiny, GRID, series=["opening_area_mm2"], path=path)
    whole = path.read_bytes()
    for bit in np.random.default_rng(3).choice(8 * len(whole), 300, replace=False):
        damaged = bytearray(whole)
        damaged[bit // 8] ^= 1 << (bit % 8)
        path.write_bytes(damaged)
        with pytest.raises(capsim.ResultsFileError, match=r"sweep\.nc is (damaged|not the result)"):
            capsim.load_sweep(path)
    with pytest.raises(capsim.ResultsFileError, match=r"sweep\.nc is (damaged|not the result)"):
        capsim.sweep(tiny, GRID, series=["opening_area_mm2"], path=path)


@pytest.mark.parametrize("what", ["cut short", "without its seal", "of another program"])
def test_file_without_a_seal_never_reaches_hdf5(tiny, tmp_path, monkeypatch, what):
    import h5py

    path = tmp_path / "sweep.nc"
    capsim.sweep(tiny, GRID, path=path)
    whole = path.read_bytes()
    path.write_bytes(
        {"cut short": whole[: len(whole) // 2], "without its seal": whole[: whole.rindex(b"\ncapsim-seal")]}.get(
            what, b"\x89HDF\r\n\x1a\n" + bytes(4000)
        )
    )
    monkeypatch.setattr(h5py, "File", lambda *_, **__: pytest.fail("HDF5 was given a file without a seal"))
    with pytest.raises(capsim.ResultsFileError, match="it has no seal at its end"):
        capsim.load_sweep(path)


def test_changed_variable_under_a_new_seal_is_named(tiny, tmp_path):
    """As another program would leave it that knows of the seal only."""
    import h5py
    from capsim.whole_file import seal_of, unsealed

    path = tmp_path / "sweep.nc"
    capsim.sweep(tiny, GRID, path=path)
    data = unsealed(path, "a sweep")
    for change, words in (
        (lambda file: file["area_loss_percent"].__setitem__((0, 0), 1.0), "the values of area_loss_percent"),
        (lambda file: file["status"].__setitem__((0, 0), "folded_element"), "the values of status"),
        (lambda file: file.__delitem__("flags"), "a variable is missing"),
    ):
        plain = tmp_path / "plain.nc"
        plain.write_bytes(data)
        with h5py.File(plain, "r+") as file:
            change(file)
        path.write_bytes(plain.read_bytes() + seal_of(plain.read_bytes()))
        with pytest.raises(capsim.ResultsFileError, match=words):
            capsim.load_sweep(path)


def a_vary(strength):
    def vary(scenario, rng):
        return scenario.with_({"zonule.strength": strength * rng.uniform(0.9, 1)})

    return vary


def test_another_function_of_the_same_name_is_another_sweep(tiny, tmp_path):
    path = tmp_path / "sweep.nc"
    first = capsim.sweep(tiny, GRID, seed=4, vary=a_vary(0.8), path=path)
    identical(capsim.sweep(tiny, GRID, seed=4, vary=a_vary(0.8), path=path), first)
    with pytest.raises(capsim.ResultsFileError, match=r"sweep\.nc is the result of another sweep"):
        capsim.sweep(tiny, GRID, seed=4, vary=a_vary(0.7), path=path)

    path = tmp_path / "other.nc"

    def interrupt(done, total):
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        capsim.sweep(tiny, GRID, seed=4, vary=a_vary(0.8), path=path, progress=interrupt, workers=1)
    with pytest.raises(capsim.ResultsFileError, match="vary draws another scenario for run 0 now"):
        capsim.sweep(tiny, GRID, seed=4, vary=a_vary(0.7), path=path)
    identical(capsim.sweep(tiny, GRID, seed=4, vary=a_vary(0.8), path=path), first)


def test_results_of_another_build_are_not_mixed(tiny, tmp_path, monkeypatch):
    path = tmp_path / "sweep.nc"
    result = capsim.sweep(tiny, GRID, path=path)
    assert result.attrs["capsim_build"] == capsim.build and len(capsim.build) == 16

    def interrupt(done, total):
        if done == 2:
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        capsim.sweep(tiny, GRID, path=tmp_path / "other.nc", progress=interrupt, workers=1)
    monkeypatch.setattr("capsim._core.build", "0123456789abcdef")
    with pytest.raises(capsim.ResultsFileError, match=f"another build of capsim .{capsim.build}, this one is 0123"):
        capsim.sweep(tiny, GRID, path=path)
    with pytest.raises(capsim.ResultsFileError, match="which differs in: build"):
        capsim.sweep(tiny, GRID, path=tmp_path / "other.nc")
    identical(capsim.load_sweep(path), result)


@pytest.mark.skipif(os.geteuid() == 0 if hasattr(os, "geteuid") else True, reason="root may write anywhere")
def test_folder_that_can_not_be_written_is_refused_before_any_run(tiny, tmp_path, monkeypatch):
    never_run(monkeypatch)
    tmp_path.chmod(0o500)
    with pytest.raises(capsim.ResultsFileError, match="can't write .*sweep.nc"):
        capsim.sweep(tiny, GRID, path=tmp_path / "sweep.nc")


def test_read_only_file_system_is_told_in_one_error(tiny, tmp_path, monkeypatch):
    import errno

    def read_only(*_, **__):
        raise OSError(errno.EROFS, os.strerror(errno.EROFS))

    monkeypatch.setattr("capsim.sweeps.journal.os.open", read_only)
    with pytest.raises(capsim.ResultsFileError, match=r"can't write .*sweep\.nc\.partial: Read-only file system"):
        capsim.sweep(tiny, GRID, path=tmp_path / "sweep.nc")
