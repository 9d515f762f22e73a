# SPDX-License-Identifier: BSD-3-Clause
"""The numbered examples and the notebook: each runs at reduced size, and what it teaches is true of its result.

Defaults of the library may change; what is checked here follows from the physics or from the sizes of the numbers
that the examples themselves state.
"""

import ast
import importlib.util
import json
import os
import re
import subprocess
import sys
import warnings
from pathlib import Path

import capsim
import numpy as np
import pytest
from capsim import _core

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "libcapsim" / "doc" / "site"))

import gallery  # noqa: E402

# A warning is an error: users see what an example prints.
pytestmark = pytest.mark.filterwarnings("error")

EXAMPLES = ROOT / "examples"
NUMBERED = sorted(EXAMPLES.glob("[0-9][0-9]_*.py"))
NOTEBOOK = EXAMPLES / "what_if.ipynb"
WITH_CUTS = {"06_when_to_cut.py", "10_forecast.py", "13_where_to_cut.py"}

# Angles on a mesh of 24 columns: half a column.
HALF_A_COLUMN_H = 0.25
# An eye that is the same all round stays where it is, up to the tolerance of forces.
AT_REST_MM = 1e-5
# When nothing grows any more, the area still moves within the tolerance of forces.
SAME_AREA = 1e-5
# Hours are sums over elements, whose ends lie in two hours by the last bit.
NO_LOAD_MN = 1e-12


@pytest.fixture
def example(tmp_path, capsys):
    """Runs an example's main at reduced size, writing to a folder of its own: what it returned, what it printed, and the folder."""

    def run(name, *arguments):
        path = EXAMPLES / name
        spec = importlib.util.spec_from_file_location(f"example_{path.stem}", path)
        module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
        folder = tmp_path / "pictures here"
        result = module.main(["--small", "-o", str(folder), *arguments])
        said = capsys.readouterr().out
        printed = " ".join(said.split())
        assert _core.research_caution in printed
        assert (_core.relaxing_cut_caution in printed) == (name in WITH_CUTS)
        pictures = list(folder.glob("*.png"))
        assert pictures
        for picture in pictures:
            assert_drawn(picture)
        if "CAPSIM_GALLERY" in os.environ and not arguments:
            gallery.keep(path, Path(os.environ["CAPSIM_GALLERY"]), said, folder)
        return result, printed, folder

    pytest.importorskip("matplotlib", reason="Matplotlib is not installed: the examples were not run")
    return run


def assert_drawn(path):
    """The picture is not blank: ink, more than one colour, and paper between."""
    from PIL import Image

    with Image.open(path) as image:
        pixels = np.asarray(image.convert("RGB")).astype(int)
    grey = np.ptp(pixels, axis=2) < 12
    assert 0.5 < (pixels.min(axis=2) > 250).mean() < 0.99, path.name
    assert (~grey).mean() > 0.002, path.name


def test_there_are_thirteen_numbered_examples_without_gaps():
    assert [int(path.name[:2]) for path in NUMBERED] == list(range(1, 14))


@pytest.mark.parametrize("path", NUMBERED, ids=lambda path: path.name)
def test_example_opens_with_purpose_sketch_and_how_to_run(path):
    text = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8")))
    first = text.splitlines()[0]
    assert re.match(rf"{int(path.name[:2])}\. .+[?.]$|{int(path.name[:2])}\. [^:]+: .+", first), first
    assert f"Run:  python {path.name}" in text and "--small" in text and "-o FOLDER" in text
    assert sum(line.startswith("    ") for line in text.splitlines()) >= 2, "no equation or sketch"
    assert max(map(len, text.splitlines())) <= 110


def test_opening_of_the_first_run_only_shrinks_and_the_saved_run_is_the_same(example):
    history, printed, folder = example("01_first_run.py")
    assert history.day[-1] == 365
    assert (np.diff(history.opening_area_mm2) < SAME_AREA * history.opening_area_mm2[0]).all()
    loss = 100 * (1 - history.opening_area_mm2[-1] / history.opening_area_mm2[0])
    assert loss > 0.5 and f"{loss:.1f} % of the area is lost" in printed
    assert capsim.load(folder / "first_run.h5").opening_area_mm2.tobytes() == history.opening_area_mm2.tobytes()


def test_smaller_openings_lose_more_whatever_the_reach_of_cells(example):
    loss, _, _ = example("02_opening_size.py")
    bands = list(dict.fromkeys(band for band, _ in loss))
    assert len(bands) == 3
    for band in bands:
        assert loss[band, 4.5] > loss[band, 5.0] > loss[band, 5.5] > 0
    gaps = [loss[band, 4.5] - loss[band, 5.5] for band in bands]
    assert gaps == sorted(gaps)  # the farther cells reach, the more a wide contact adds


def test_bag_and_opening_go_over_to_the_whole_side_and_the_neighbours_carry_most(example):
    histories, _, _ = example("03_weak_hours.py")
    whole, weak = (capsim.outcomes(histories[name]) for name in ("whole", "weak"))
    for what in ("opening", "equator"):
        assert whole[f"{what}_decentration_mm"] < AT_REST_MM
        assert weak[f"{what}_decentration_mm"] > 0.05
        assert weak[f"{what}_decentration_hour"] == pytest.approx(10, abs=HALF_A_COLUMN_H)  # opposite 4 o'clock
    load = histories["weak"].zonule_load_mN[-1]  # column 0 is 12 o'clock
    assert (load[[3, 4, 5]] < NO_LOAD_MN).all()
    assert set(np.argsort(load)[-2:]) == {2, 6}
    assert load[2] == pytest.approx(load[6], rel=1e-6)  # mirror images about 4 to 10 o'clock
    assert load[2] > histories["whole"].zonule_load_mN[-1].max()


def test_stiffer_rings_keep_more_of_a_bag_without_part_of_its_zonule(example):
    results, _, _ = example("04_tension_ring.py")
    for outcome in ("area_loss_percent", "equator_decentration_mm", "equator_loss_mm", "zonule_load_max_mN"):
        without, thin, thick = (result[outcome] for result in results.values())
        assert without > thin > thick, outcome


def test_fewer_cells_lose_less_and_a_missed_part_pushes_the_opening_away(example):
    histories, _, _ = example("05_polishing.py")
    results = [capsim.outcomes(history) for history in histories.values()]
    loss = [result["area_loss_365d_percent"] for result in results]
    everything, half, tenth, none, missed = loss
    assert everything > half > tenth > none
    assert half > 0.5 * everything and tenth > 0.1 * everything  # they grow back
    assert none < missed < everything
    assert all(result["opening_shift_mm"] < AT_REST_MM for result in results[:4])
    assert results[4]["opening_shift_mm"] > 0.01
    assert results[4]["opening_decentration_hour"] == pytest.approx(6, abs=HALF_A_COLUMN_H)


def test_late_cuts_gain_more_at_once_and_early_ones_give_some_back(example):
    histories, _, _ = example("06_when_to_cut.py")
    uncut = histories[None].opening_area_mm2
    gained, kept = {}, {}
    for day in (30, 180):
        history = histories[day]
        after = history.row_at(day)
        assert list(history.event_side[after - 1 : after + 1]) == [-1, 1] and list(
            history.day[after - 1 : after + 1]
        ) == [day, day]
        gained[day] = history.opening_area_mm2[after] - history.opening_area_mm2[after - 1]
        kept[day] = history.opening_area_mm2[-1]
        assert capsim.outcomes(history)[f"relief_day_{day}_mm2"] == pytest.approx(gained[day], rel=1e-9)
        assert kept[day] > uncut[-1]
    assert 0 < gained[30] < gained[180]
    early = histories[30]
    assert early.opening_area_mm2[-1] < early.opening_area_mm2[early.row_at(30)]


def test_sweep_is_labelled_complete_and_ordered(example):
    pytest.importorskip("xarray", reason="xarray is not installed: the sweep was not run")
    pytest.importorskip("h5py", reason="h5py is not installed: the sweep was not written")
    result, printed, folder = example("07_sweep.py")
    loss = result["area_loss_percent"]
    assert loss.dims == ("opening.diameter_mm", "zonule.strength") and loss.attrs["units"] == "%"
    assert (result["status"] == "completed").all()
    assert (loss.diff("opening.diameter_mm") < 0).all() and (loss.diff("zonule.strength") < 0).all()
    assert capsim.load_sweep(folder / "sweep.nc").identical(result)
    assert re.search(
        r"fastest loss: [\d.]+ mm2 a day, where opening.diameter_mm is [\d.]+, zonule.strength is 0.1", printed
    )


def test_sobol_study_names_the_drivers(example):
    pytest.importorskip(
        "SALib",
        reason="SALib is not installed (Debian has no package of it): the Sobol study was not run; pip install SALib",
    )
    pytest.importorskip("xarray", reason="xarray is not installed: the Sobol study was not run")
    result, answers = example("08_sobol.py")[0]
    assert result.sizes["run"] == 16 * (10 + 2)
    assert (result["status"] == "completed").all()
    names = list(constant_of("08_sobol.py", "RANGES"))
    assert len(names) >= 8
    leading = {outcome: [names[i] for i in np.argsort(-answer["ST"])[:3]] for outcome, answer in answers.items()}
    assert {"opening diameter [mm]", "fibre modulus [kPa]"} <= set(leading["area_loss_percent"])
    assert leading["opening_decentration_mm"][0] == "zonule, hours 3 to 5"  # nothing else takes the eye's symmetry
    assert leading["zonule_load_max_mN"][0] == "zonule strength"
    for answer in answers.values():
        assert (answer["ST"] > -0.01).all() and (answer["S1_conf"] > 0).all() and (answer["ST_conf"] >= 0).all()
    # Row 7 of the table by itself: the study's runs are those of the scenario that the row says.
    changes = {
        path: values[7] if values.dtype != object else json.loads(values[7])
        for path, values in ((str(name), c.values) for name, c in result.coords.items() if "." in str(name))
    }
    alone = capsim.outcomes(capsim.simulate(capsim.Scenario.from_json(result.attrs["base_scenario"]).with_(changes)))
    assert alone["area_loss_percent"] == float(result["area_loss_percent"][7])


def test_chain_rule_of_the_sobol_study_is_that_of_its_changes():
    """`slopes` says by hand what `changes` does: against differences, which are exact for products."""
    spec = importlib.util.spec_from_file_location("example_08_sobol", EXAMPLES / "08_sobol.py")
    study = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(study)

    def flat(x):
        found = {}
        for path, value in study.changes(x).items():
            found |= (
                {f"{path}.{key}": item for key, item in value.items()} if isinstance(value, dict) else {path: value}
            )
        return found

    middle = [(low + high) / 2 for low, high in study.RANGES.values()]
    for i, (said, (low, high)) in enumerate(zip(study.slopes(middle), study.RANGES.values())):
        step = (high - low) / 8
        one, other = flat([x + step * (k == i) for k, x in enumerate(middle)]), flat(middle)
        found = {path: (one[path] - other[path]) / step for path in one if one[path] != other[path]}
        assert found == pytest.approx(said)


def constant_of(name, variable):
    """A top-level dict of an example, read without running it."""
    tree = ast.parse((EXAMPLES / name).read_text(encoding="utf-8"))
    return next(
        ast.literal_eval(node.value)
        for node in tree.body
        if isinstance(node, ast.Assign) and node.targets[0].id == variable
    )


def test_fit_finds_the_invented_eye_and_is_told_what_visits_can_not_tell(example):
    pytest.importorskip("scipy.optimize", reason="SciPy is not installed: nothing was fitted")
    fits, _, _ = example("09_fit_a_follow_up.py")
    eye = fits["fit"].only
    assert len(eye.visits.day) == 6  # the missing visit is not one
    # With these the visits of follow_up.csv were made.
    truth = {"contraction.fibre_modulus_kPa": 550.0, "contraction.tissue_per_day": 0.04, "opening.size": 1.02}
    assert all(eye.estimates[name].contains(value) for name, value in truth.items())
    assert eye.estimates["contraction.fibre_modulus_kPa"].sd_ratio < 0.5
    assert np.abs(eye.residuals).max() < 3
    assert ("data_do_not_tell", "contraction.remodelling_days") in {
        (flag.code, flag.parameter) for flag in fits["too much"].only.flags
    }


def test_forecast_widens_and_cuts_gain_only_after_their_day(example):
    pytest.importorskip("scipy.optimize", reason="SciPy is not installed: nothing was forecast")
    (forecast, effects), printed, _ = example("10_forecast.py")
    assert "under the other contraction law, active_lock_in:" in printed
    low, high = forecast.band_mm2(0.9)
    width = high - low
    assert (np.diff(forecast.median_mm2) < 0).all() and width[-1] > 2 * width[0]
    chance = forecast.chance_below(diameter_mm=4.0)
    assert (np.diff(chance) >= 0).all() and chance[0] < 0.2 and chance[-1] > 0.5
    assert (effects[160].gain_samples_mm2 > 0).all()
    assert (effects[360].gain_samples_mm2[:, 1:] > 0).all()
    assert np.abs(effects[360].gain_samples_mm2[:, 0]).max() < 1e-3 * forecast.median_mm2[1]  # day 180, before the cut
    assert effects[160].cautions[1] == _core.relaxing_cut_caution


def test_notebook_runs_from_top_to_bottom_and_shows_what_it_says():
    nbformat = pytest.importorskip("nbformat", reason="nbformat is not installed: the notebook was not run")
    nbclient = pytest.importorskip("nbclient", reason="nbclient is not installed: the notebook was not run")
    pytest.importorskip("ipykernel", reason="ipykernel is not installed: the notebook was not run")
    for package in ("matplotlib", "xarray", "pandas"):
        pytest.importorskip(package, reason=f"{package} is not installed: the notebook was not run")
    notebook = nbformat.read(NOTEBOOK, as_version=4)
    # The kernel of this Python, whatever kernels are installed besides.
    notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        nbclient.NotebookClient(notebook, timeout=120, resources={"metadata": {"path": str(EXAMPLES)}}).execute()
    outputs = [output for cell in notebook.cells if cell.cell_type == "code" for output in cell.outputs]
    assert not [output for output in outputs if output.output_type == "error" or output.get("name") == "stderr"], (
        outputs
    )
    shown = [output["data"] for output in outputs if "data" in output]
    assert any("<svg" in str(data.get("text/html", "")) for data in shown), "no drawing of the scenario"
    assert any("image/png" in data for data in shown), "no picture"
    printed = "".join(output["text"] for output in outputs if output.get("name") == "stdout")
    losses = {
        name.strip(): float(loss)
        for name, loss in re.findall(r"^(.+?)\s+([\d.]+) % of the area lost", printed, re.MULTILINE)
    }
    assert losses["polished"] < losses["invented eye"] and losses["larger opening"] < losses["invented eye"]
    assert 'did you mean "diameter_mm"' in printed or "did you mean 'diameter_mm'" in printed


def test_notebook_is_stored_without_outputs():
    cells = json.loads(NOTEBOOK.read_text(encoding="utf-8"))["cells"]
    assert len(cells) > 5
    for cell in cells:
        assert not cell.get("outputs") and cell.get("execution_count") is None
    assert any(
        "not for treating a patient" in "".join(cell["source"]) for cell in cells if cell["cell_type"] == "markdown"
    )


def test_examples_are_scripts_that_need_no_display(tmp_path):
    environment = {
        name: value for name, value in os.environ.items() if name not in ("DISPLAY", "WAYLAND_DISPLAY", "MPLBACKEND")
    }
    done = subprocess.run(
        [sys.executable, EXAMPLES / "01_first_run.py", "--small", "-o", "pictures"],
        cwd=tmp_path,
        env=environment,
        capture_output=True,
        text=True,
        timeout=300,
    )
    assert done.returncode == 0 and done.stderr == "", done.stderr
    assert sorted(path.name for path in (tmp_path / "pictures").iterdir()) == [
        "first_run.h5",
        "first_run.png",
        "first_run_curves.png",
    ]
    assert _core.research_caution in " ".join(done.stdout.split())


@pytest.mark.parametrize("path", [*NUMBERED, EXAMPLES / "demo.py"], ids=lambda path: path.name)
def test_example_without_its_packages_ends_in_one_line_and_code_4(path, tmp_path):
    blocked = (
        "import runpy, sys\n"
        "for name in ('matplotlib', 'scipy', 'xarray', 'SALib', 'PIL'): sys.modules[name] = None\n"
        f"sys.argv = [{str(path)!r}, '-o', {str(tmp_path)!r}]\n"
        f"sys.argv += ['--coarse', '--eyes', '1', '--animation', 'gif'] if {path.name == 'demo.py'} else ['--small']\n"
        f"sys.path.insert(0, {str(path.parent)!r})\n"
        f"runpy.run_path({str(path)!r}, run_name='__main__')\n"
    )
    done = subprocess.run([sys.executable, "-c", blocked], capture_output=True, text=True, timeout=300, check=False)
    assert done.returncode == 4, done.stderr
    assert "Traceback" not in done.stderr
    last = done.stderr.strip().splitlines()
    assert len(last) == 1 and "needs the package" in last[0] and "pip install" in last[0]
    assert path.name != "demo.py" or done.stdout == ""  # told before minutes are spent


def test_example_11_finds_the_larger_opening_larger_in_every_eye_under_both_laws(example):
    result, printed, _ = example("11_compare_plans.py")
    for law in result.laws:
        pair = result.pair("opening_area_mm2", law, "4.5 mm", "5.5 mm")
        assert pair["second_better"]["count"] == result.eyes
        assert pair["second_better"]["low"] < 1
    assert "4 of 4 (51 to 100 %)" in printed


def test_example_12_counts_every_eye_once_and_finds_none_before_it_crosses(example):
    result, printed, _ = example("12_when_to_look.py")
    for row in result.schedules:
        crossed = result.crosses[row["law"]]["count"]
        assert row["ever_found"]["of"] == crossed
        assert sum(p["count"] for p in row["found"]) == row["ever_found"]["count"] <= crossed
        assert row["days_late"]["low"] is None or row["days_late"]["low"] >= 0
    assert "days late" in printed


def test_example_13_gives_more_area_back_with_longer_cuts(example):
    result, printed, _ = example("13_where_to_cut.py")
    back = result.values("area_back_mm2")
    assert (back[:, :, 0] < back[:, :, 2])[np.isfinite(back[:, :, 2])].all()
    assert result.nothing_beats()
    assert all(layout.name in printed for layout in result.layouts)
