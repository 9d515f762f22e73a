# SPDX-License-Identifier: BSD-3-Clause
"""Result files: what was saved comes back, and any HDF5 tool can read it."""

import json
import os

import capsim
import numpy as np
import pytest

h5py = pytest.importorskip("h5py")


@pytest.fixture
def saved(history, tmp_path):
    path = tmp_path / "with a space" / "r\u00e9sult.h5"
    path.parent.mkdir()
    history.save(path)
    return path


def assert_same(one, other):
    assert one.status == other.status
    assert one.message == other.message
    assert one.version == other.version
    assert one.scenario == other.scenario
    assert one.cuts == other.cuts
    assert repr(one.diagnostics) == repr(other.diagnostics)  # repr: NaN equals itself
    assert one.names == other.names
    for name in one.names:
        assert one.unit(name) == other.unit(name)
        assert one.description(name) == other.description(name)
        assert one.array(name).tobytes() == other.array(name).tobytes(), name


def test_load_gives_back_what_was_saved(history, saved):
    again = capsim.load(saved)
    assert_same(again, history)
    assert_same(capsim.load(str(saved)), history)
    assert dict(capsim.outcomes(again)) == dict(capsim.outcomes(history))
    assert os.listdir(saved.parent) == [saved.name]


def test_partial_run_survives_the_file(small, tmp_path):
    partial = capsim.simulate(small, progress=lambda progress: progress.day < 15)
    assert partial.status == "cancelled"
    partial.save(tmp_path / "partial.h5")
    assert_same(capsim.load(tmp_path / "partial.h5"), partial)


def test_file_is_readable_without_capsim(history, saved):
    with h5py.File(saved, "r") as file:
        assert file.attrs["format"] == "capsim-result"
        assert file.attrs["format_version"] == 2
        assert file.attrs["capsim_version"] == capsim.__version__
        assert file.attrs["status"] == "completed"
        assert file.attrs["message"] == history.message
        assert json.loads(file["scenario"].asstr()[()]) == history.scenario.to_dict()
        sets = {name: part for name, part in file["series"].items() if "CLASS" not in part.attrs}  # without dimensions
        assert set(sets) == set(history.names)
        for name, dataset in sets.items():
            np.testing.assert_array_equal(dataset[()], history.array(name))
            assert dataset.attrs["units"] == history.unit(name)
            assert dataset.attrs["long_name"] == history.description(name)
            assert dataset.attrs["dimensions"].startswith("row")
        assert list(file["cuts/hour"]) == [cut.hour for cut in history.cuts]
        assert file["cuts/length_mm"].attrs["units"] == "mm"
        assert file["diagnostics/steps"][()] == history.diagnostics.steps
        assert file["diagnostics/residual_mN"].attrs["units"] == "mN"
        cautions = list(file["cautions"].asstr()[()])
        assert any("research and teaching" in caution.lower() for caution in cautions)
        assert any("detachment" in caution for caution in cautions), "it has relaxing cuts"


def test_capsim_and_h5py_work_together_in_either_order(python, saved, tmp_path):
    script = """
import sys
for name in sys.argv[1].split(","):
    __import__(name)
import capsim, h5py
open_here = h5py.File(sys.argv[2], "r")            # open in h5py while capsim reads and writes
history = capsim.load(sys.argv[2])
history.save(sys.argv[3])
with h5py.File(sys.argv[3], "r") as copy:
    assert (copy["series/day"][()] == history.day).all()
assert (open_here["series/day"][()] == history.day).all()
try:
    h5py.File(sys.argv[1] + " is not there", "r")  # h5py still turns HDF5's errors into exceptions
except OSError:
    libraries = {line.split()[-1] for line in open("/proc/self/maps") if "libhdf5" in line and "_hl" not in line}
    print(len(libraries), history.status)
"""
    for order in ("capsim,h5py", "h5py,capsim"):
        libraries, status = python(script, order, saved, tmp_path / "copy.h5").split()
        assert status == "completed"
        # The system's h5py shares the system's HDF5 with capsim; one from the package index brings its own along.
        assert libraries == "1" if "dist-packages" in h5py.__file__ else libraries in ("1", "2")


def test_saving_in_threads_beside_h5py_is_safe(python, saved, tmp_path):
    script = """
import sys, threading, capsim, h5py
history, errors = capsim.load(sys.argv[1]), []
def ours(index):
    try:
        for _ in range(30):
            history.save(f"{sys.argv[2]}/{index}.h5")
            assert (capsim.load(f"{sys.argv[2]}/{index}.h5").day == history.day).all()
    except Exception as error:
        errors.append(error)
def theirs(index):
    try:
        for _ in range(30):
            with h5py.File(f"{sys.argv[2]}/{index}.h5", "w") as file:
                file["x"] = history.opening_area_mm2
                assert (file["x"][()] == history.opening_area_mm2).all()
    except Exception as error:
        errors.append(error)
threads = [threading.Thread(target=work, args=(f"{work.__name__}{n}",)) for work in (ours, theirs) for n in (1, 2)]
for thread in threads: thread.start()
for thread in threads: thread.join()
print(len(errors), *errors)
"""
    assert python(script, saved, tmp_path).split() == ["0"]


def test_nothing_is_printed_when_reading_fails(python, tmp_path):
    (tmp_path / "short.h5").write_bytes(b"\x89HDF\r\n\x1a\n")
    script = """
import os, sys, tempfile, capsim
with tempfile.TemporaryFile() as printed:
    os.dup2(printed.fileno(), 2)                   # what HDF5 itself would print goes here
    try:
        capsim.load(sys.argv[1])
    except capsim.ResultsFileError as error:
        print(printed.tell(), error)
"""
    output = python(script, tmp_path / "short.h5")
    assert output.startswith("0 ")
    assert "short.h5" in output


def test_file_that_is_not_a_result_is_refused(saved, tmp_path):
    with pytest.raises(FileNotFoundError):
        capsim.load(tmp_path / "none.h5")
    (tmp_path / "text.h5").write_text("not HDF5")
    with pytest.raises(capsim.ResultsFileError, match="not an HDF5 file"):
        capsim.load(tmp_path / "text.h5")
    with h5py.File(tmp_path / "other.h5", "w") as file:
        file["x"] = 1
    with pytest.raises(capsim.ResultsFileError, match="no seal"):
        capsim.load(tmp_path / "other.h5")
    with pytest.raises(capsim.ResultsFileError, match="not a result of capsim"):
        capsim.load(tmp_path / "other.h5", edited=True)
    (tmp_path / "short.h5").write_bytes(saved.read_bytes()[:3000])
    with pytest.raises(capsim.ResultsFileError, match="damaged"):
        capsim.load(tmp_path / "short.h5")


def test_file_of_a_newer_format_is_refused_with_advice(saved):
    with h5py.File(saved, "r+") as file:
        file.attrs["format_version"] = 99
    with pytest.raises(capsim.ResultsFileError, match="newer capsim"):
        capsim.load(saved, edited=True)


def test_note_added_with_h5py_does_no_harm_where_the_host_knows_of_it(history, saved):
    with h5py.File(saved, "r+") as file:
        file.create_group("my notes").attrs["patient"] = "invented"
    with pytest.raises(capsim.ResultsFileError, match="load it as edited"):
        capsim.load(saved)
    assert_same(capsim.load(saved, edited=True), history)


def test_value_edited_with_h5py_is_noticed(saved):
    with h5py.File(saved, "r+") as file:
        file["series/opening_area_mm2"][-1] += 1e-9
    with pytest.raises(capsim.ResultsFileError, match="checksum"):
        capsim.load(saved, edited=True)


def test_path_that_can_not_be_written_is_refused(history, tmp_path):
    for path in (tmp_path / "no folder" / "result.h5", tmp_path):
        with pytest.raises(capsim.ResultsFileError) as error:
            history.save(path)
        assert str(path) in str(error.value)
        assert isinstance(error.value, OSError)
    assert list(tmp_path.iterdir()) == []


def test_name_of_any_bytes_can_be_used(history, tmp_path):
    path = os.fsencode(tmp_path) + b"/\xff.h5"
    history.save(path)
    assert_same(capsim.load(path), history)
    os.truncate(path, 10)
    with pytest.raises(capsim.ResultsFileError):
        capsim.load(path)


def test_xarray_opens_the_series_with_named_dimensions_and_day_as_coordinate(history, saved):
    xarray = pytest.importorskip("xarray", reason="xarray is not installed: no labelled arrays")
    pytest.importorskip("h5netcdf", reason="h5netcdf is not installed: netCDF-4 was not read")
    with xarray.open_dataset(saved, group="series", engine="h5netcdf") as opened:
        assert set(opened.variables) - {"hour", "pupil_mm"} == set(history.names)
        assert opened.opening_area_mm2.dims == ("row",) and {"day", "event_side"} <= set(opened.opening_area_mm2.coords)
        assert opened.zonule_load_mN.dims == ("row", "hour") and list(opened.hour.values) == [12, *range(1, 12)]
        assert opened.lens_center_mm.dims == ("row", "axis") and opened.cut_gape_mm.dims == ("row", "cut")
        assert opened.pupil_clear_fraction.dims == ("row", "pupil_mm")
        assert opened.attrs["Conventions"].startswith("CF-") and "not for treating" in opened.attrs["caution"]
        for name in history.names:
            assert opened[name].attrs["units"] == history.unit(name)
            assert opened[name].attrs["long_name"] == history.description(name)
            np.testing.assert_array_equal(opened[name].values, history.array(name))


def test_file_names_the_commit_and_build_that_wrote_it(saved):
    with h5py.File(saved, "r") as file:
        assert file.attrs["written_by_commit"] == capsim.commit
        assert file.attrs["written_by_build"] == capsim.build
