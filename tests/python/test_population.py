# SPDX-License-Identifier: BSD-3-Clause
"""Populations from Python: drawn eyes, bands, priors, and what is refused."""

import json

import capsim
import numpy as np
import pytest

BASE = capsim.Scenario(mesh={"around": 12, "radial": 2}, duration_days=90, output_every_days=30)
MODULUS = "contraction.fibre_modulus_kPa"


@pytest.fixture(scope="module")
def weak():
    return capsim.population("pseudoexfoliation")


def test_every_shipped_population_names_its_edition_and_rows():
    assert {"age_related_cataract", "polished_rim", "silicone_lens", "pseudoexfoliation"} <= set(
        capsim.population_names()
    )
    for name in capsim.population_names():
        population = capsim.population(name)
        assert population.edition in str(population)
        for law in population.laws:
            facts = population.provenance["fitted_to"][law]
            assert facts and all({"row", "quantity", "published", "model"} <= set(fact) for fact in facts)


def test_drawn_eye_differs_from_the_middle_one_by_its_spreads_only(weak):
    middle = weak.typical(BASE)
    drawn = weak.draw(BASE, 5)
    assert set(drawn.differences(middle)) == {spread.path for spread in weak.spreads()}
    assert drawn == weak.around(middle, 5)
    assert middle.zonule.strength < 0.3


def test_more_eyes_begin_with_the_same_eyes(weak):
    middle = weak.typical(BASE)
    few, many = weak.samples(middle, 4), weak.samples(middle, 9)
    for path in few:
        np.testing.assert_array_equal(few[path], many[path][:4])


def test_band_of_a_population_holds_its_middle_eye(weak):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    data = weak.sweep(BASE, 16, series=["opening_area_mm2"])
    assert data.attrs["population"] == f"pseudoexfoliation, edition {weak.edition}"
    middle = capsim.simulate(weak.typical(BASE))
    low, high = (data.opening_area_mm2.quantile(q, dim="run").values for q in (0.1, 0.9))
    assert (low[1:] < middle.opening_area_mm2[1:]).all() and (middle.opening_area_mm2[1:] < high[1:]).all()


def test_about_a_given_eye_its_own_settings_stay(weak):
    pytest.importorskip("xarray", reason="xarray is not installed: no sweeps")
    own = BASE.with_({"zonule.strength": 0.9, MODULUS: 100})
    data = weak.sweep(own, 31, about=True)
    assert np.median(data[MODULUS]) == pytest.approx(
        100, rel=1e-6
    )  # 31 points of the base-2 sequence have 1/2 in the middle
    assert (data["zonule.strength"] > 0.5).all()


def test_an_eye_keeps_its_place_under_another_law(weak):
    drawn = weak.draw(BASE, 4)
    laws = weak.under_every_law(drawn)
    assert list(laws) == ["fibre_remodelling", "active_lock_in"] and laws["fibre_remodelling"] == drawn
    there = laws["active_lock_in"]
    assert there.contraction.active_tension_mN_per_mm == pytest.approx(
        weak.draw(BASE.with_({"contraction.law": "active_lock_in"}), 4).contraction.active_tension_mN_per_mm, rel=1e-12
    )
    assert list(weak.under_every_law(there)) == ["active_lock_in", "fibre_remodelling"]
    assert weak.under(there, "fibre_remodelling").contraction.fibre_modulus_kPa == pytest.approx(
        drawn.contraction.fibre_modulus_kPa, rel=1e-12
    )
    assert weak.paths_under([MODULUS, "contraction.tissue_per_day"], BASE, "active_lock_in") == [
        "contraction.active_tension_mN_per_mm",
        "contraction.tissue_per_day",
    ]
    with pytest.raises(ValueError, match='not fitted for the contraction law "none"'):
        weak.under(drawn, "none")


def test_both_laws_say_nearly_the_same_of_the_eyes_they_were_fitted_to():
    eyes = capsim.population("age_related_cataract")
    losses = {
        law: capsim.outcomes(capsim.simulate(eye))["area_loss_percent"]
        for law, eye in eyes.under_every_law(eyes.typical(BASE)).items()
    }
    assert losses["active_lock_in"] == pytest.approx(losses["fibre_remodelling"], rel=0.3)


def test_priors_carry_the_spreads_of_the_population(weak):
    middle = weak.typical(BASE)
    priors = weak.priors(middle)
    spread = {s.path: s for s in weak.spreads()}[MODULUS]
    assert priors[MODULUS].sd == spread.sd and priors[MODULUS].median == middle.value_at(MODULUS)
    firm = capsim.population("age_related_cataract").priors(BASE)
    assert set(firm) == {MODULUS}


def test_own_population_is_read_from_a_file(tmp_path, weak):
    content = json.loads(weak._native.json())
    content["name"] = "mine"
    file = tmp_path / "mine.json"
    file.write_text(json.dumps(content), encoding="utf-8")
    assert capsim.Population(file).name == "mine"
    content["laws"]["fibre_remodelling"]["spreads"][0]["sd"] = -1
    with pytest.raises(capsim.ScenarioError) as error:
        capsim.Population(json.dumps(content))
    assert error.value.violations[0].path == "laws.fibre_remodelling.spreads[0].sd"


def test_unknown_names_laws_and_numbers_of_eyes_are_refused(weak):
    with pytest.raises(ValueError, match='did you mean "silicone_lens"'):
        capsim.population("silicon_lens")
    with pytest.raises(ValueError, match='not fitted for the contraction law "none"'):
        weak.settings("none")
    with pytest.raises(ValueError, match="eyes is 0"):
        weak.samples(BASE, 0)


def test_bands_hold_their_share_of_the_eyes_and_do_not_depend_on_workers(weak):
    bands = weak.bands(BASE, ["area_loss_percent"], 20, level=0.8)
    one = weak.bands(BASE, ["area_loss_percent"], 20, level=0.8, workers=1)
    for side in ("low", "median", "high"):
        np.testing.assert_array_equal(
            getattr(bands, side)["area_loss_percent"], getattr(one, side)["area_loss_percent"]
        )
    losses = [capsim.outcomes(capsim.simulate(weak.draw(BASE, i)))["area_loss_percent"] for i in range(20)]
    low, middle, high = bands.at("area_loss_percent", 90)
    assert sum(low <= loss <= high for loss in losses) == 16
    assert sum(loss < middle for loss in losses) == 10


def test_bands_are_drawn_and_named_on_the_picture(weak):
    pytest.importorskip("matplotlib", reason="matplotlib is not installed: no pictures")
    bands = weak.bands(BASE, ["opening_area_mm2"], 4)
    history = capsim.simulate(weak.typical(BASE))
    figure = capsim.plot.curves(history, ["opening_area_mm2"], bands=bands)
    texts = " ".join(text.get_text().replace("\n", " ") for text in figure.texts)
    assert "4 eyes of the population pseudoexfoliation, edition" in texts and "research and teaching" in texts
    assert any(axes.collections for axes in figure.axes)
    with pytest.raises(ValueError, match="1 runs need as many bands, not 2"):
        capsim.plot.curves(history, bands=[bands, bands])
    with pytest.raises(ValueError, match="level 1"):
        weak.bands(BASE, eyes=4, level=1)


def test_run_command_shows_the_band_of_a_population(tmp_path, capsys):
    from capsim.__main__ import main

    file = tmp_path / "eye.json"
    file.write_text(BASE.with_({"name": "invented eye"}).to_json(), encoding="utf-8")
    assert main(["run", str(file), "--population", "silicone_lens", "--typical", "--eyes", "5"]) == 0
    out = capsys.readouterr().out
    assert "8 of 10 eyes" in out
    for law in ("fibre_remodelling", "active_lock_in"):
        assert f"5 eyes of the population silicone_lens, edition 2026-11, under {law}" in out.replace("\n  ", " ")
    assert main(["run", str(file), "--population", "silicone", "--eyes", "5"]) == 2
    assert 'did you mean "silicone_lens"?' in capsys.readouterr().err
    assert main(["run", str(file), "--typical"]) == 2


def test_bands_never_show_a_day_with_events_from_its_other_side(weak):
    """Before a cut the band is that of the eyes before the cut, after it that of the eyes after."""
    cut = [{"day": 30, "relaxing_cuts": {"hours": [12, 4, 8], "length_mm": 0.8}}]
    base = BASE.with_({"eye": "right"}, events=cut)
    bands = weak.bands(base, "opening_area_mm2", 3, level=0.999)
    runs = [capsim.simulate(weak.draw(base, i)) for i in range(3)]
    before, after = (np.flatnonzero((bands.day == 30) & (bands.event_side == side))[0] for side in (-1, 1))
    for row in (before, after):
        areas = [run.opening_area_mm2[row] for run in runs]
        # The quantile at 1/2000 of three values lies within a thousandth of their range of the least.
        assert bands.low["opening_area_mm2"][row] == pytest.approx(min(areas), abs=2e-3 * (max(areas) - min(areas)))
        assert bands.median["opening_area_mm2"][row] == np.median(areas)
    assert bands.high["opening_area_mm2"][before] < bands.high["opening_area_mm2"][before - 1]
    assert bands.at("opening_area_mm2", 30)[1] == bands.median["opening_area_mm2"][after]
    just_before = bands.at("opening_area_mm2", 29.999)[1]
    assert just_before == pytest.approx(bands.median["opening_area_mm2"][before], rel=1e-4)
    with pytest.raises(ValueError, match="did you mean 'opening_area_mm2'"):
        bands.at("opening_area", 30)
    with pytest.raises(ValueError, match="from day 0 to 90"):
        bands.at("opening_area_mm2", 91)
