# SPDX-License-Identifier: BSD-3-Clause
"""Forecasts of a fitted eye have honest bands; events change the days after them only."""

import capsim
import numpy as np
import pytest
from capsim.calibration.prior import SIZE
from invented_fit import MODULUS, RATE, measured

pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no fits")


def test_forecast_covers_what_comes(base):
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.05}
    visits = measured(base, truth, rng=np.random.default_rng(7))
    fit = capsim.fit(visits.until(60), base)
    later = measured(base, truth, np.array([90.0, 180.0, 365.0]))
    forecast = fit.forecast([1, 60, 90, 180, 365], draws=40, seed=1)
    low, high = forecast.band_mm2(0.95)
    assert (low[2:] < later.area_mm2).all() and (later.area_mm2 < high[2:]).all()
    assert (low < forecast.median_mm2).all() and (forecast.median_mm2 < high).all()
    width = (high - low) / forecast.median_mm2
    assert width[-1] > width[0]  # the farther, the less certain
    wide_low, wide_high = forecast.band_mm2(0.95, measured=True)
    assert (wide_high - wide_low > high - low).all()
    assert "not for treating a patient" in forecast.cautions[0]
    assert forecast.failed == 0


def test_chance_of_crossing_grows_with_time_and_with_the_threshold(known_eye):
    fit, _ = known_eye
    forecast = fit.forecast([0, 30, 90, 180, 365], draws=40, seed=1)
    middle = float(forecast.median_mm2[-1])
    chance = forecast.chance_below(area_mm2=middle)
    assert (np.diff(chance) >= 0).all()
    assert chance[0] < 0.2 and 0.3 < chance[-1] < 0.7
    assert (forecast.chance_below(area_mm2=0.9 * middle) <= chance).all()
    assert (forecast.chance_below(diameter_mm=2 * np.sqrt(middle / np.pi)) == chance).all()
    assert forecast.chance_below(area_mm2=100).tolist() == [1] * 5
    assert forecast.chance_below(area_mm2=0.1).tolist() == [0] * 5


def test_chance_of_crossing_does_not_depend_on_the_days_asked_for(known_eye):
    """Relaxing cuts widen the opening again: that it was smaller before still counts."""
    fit, _ = known_eye
    cut = [{"day": 200, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": 0.75}}]
    many = fit.forecast([30, 90, 150, 199, 250], events=cut, draws=24, seed=1)
    one = fit.forecast([250], events=cut, draws=24, seed=1)
    threshold = float(np.median(many.areas_mm2[:, 3]))  # half of the eyes are below it just before the cuts
    assert one.chance_below(area_mm2=threshold)[0] == many.chance_below(area_mm2=threshold)[-1]
    assert 0.3 < one.chance_below(area_mm2=threshold)[0] < 0.7
    assert (one.areas_mm2[:, 0] > threshold).mean() > 0.7  # what the last day alone would have said


def test_relaxing_cut_changes_the_days_after_it_and_not_those_before(known_eye):
    fit, _ = known_eye

    def cut(day):
        return [{"day": day, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": 0.6}}]

    now = fit.effect_of(cut(200), [190, 210, 300], draws=6)
    later = fit.effect_of(cut(290), [190, 210, 300], draws=6)
    # On one mesh, with time steps that differ: a few times the tolerance of 1e-4 in time.
    assert np.abs(now.gain_samples_mm2[:, 0]).max() < 5e-4 * now.without.median_mm2[0]
    assert (now.gain_samples_mm2[:, 1:] > 0).all()
    assert np.abs(later.gain_samples_mm2[:, 1]).max() < 5e-4 * now.without.median_mm2[1]
    assert (later.gain_samples_mm2[:, 2] > 0).all()
    low, high = now.gain_band_mm2()
    assert (low <= now.gain_mm2).all() and (now.gain_mm2 <= high).all()
    assert any("retinal detachment" in caution for caution in now.cautions)
