# SPDX-License-Identifier: BSD-3-Clause
"""Fits recover the truth of synthetic eyes, say what the data can't tell, and forecast with honest bands.

All eyes are invented; the same coarse model makes them and fits them, so only the noise is between.
"""

import importlib.util
import json
from pathlib import Path

import capsim
import numpy as np
import pytest
from capsim.calibration.chains import effective_size, split_r_hat
from capsim.calibration.prior import SIZE, priors_for
from capsim.calibration.response import Response

pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no fits")

MODULUS, RATE = "contraction.fibre_modulus_kPa", "contraction.tissue_per_day"
NOISE = 0.03
BENT = 7  # a set of three eyes that the normal approximation does not find
DAYS = np.array([1.0, 14.0, 30.0, 60.0, 90.0, 180.0])


@pytest.fixture(scope="module")
def base():
    return capsim.Scenario(
        name="invented eye",
        eye="right",
        mesh={"around": 12, "radial": 2},
        zonule={"strength": 0.3, "pull_mN": 60},
        opening={"diameter_mm": 4.8},
        # An eye that contracts enough for a few visits to tell its parameters; the default eye may not.
        contraction={"fibre_modulus_kPa": 300, "band_width_mm": 0.6, "signal_days": 45, "deactivation_per_day": 1 / 60},
    )


def measured(base, truth, days=DAYS, noise=NOISE, rng=None, eye_id="eye"):
    """Visits of an eye with these parameters."""
    values = {path: value for path, value in truth.items() if path != SIZE}
    scenario = base.with_(
        {
            **values,
            "opening.diameter_mm": base.opening.diameter_mm * truth.get(SIZE, 1.0),
            "duration_days": float(max(days)),
            "output_every_days": 1,
        }
    )
    history = capsim.simulate(scenario)
    history.raise_if_failed()
    areas = np.interp(days, history.day, history.opening_area_mm2)
    if rng is not None:
        areas = areas * np.exp(noise * rng.standard_normal(len(areas)))
    return capsim.Visits(days, areas, eye_id=eye_id)


def eye_from_prior(rng):
    """Parameters drawn from what a fit holds likely beforehand, the opening within a tenth."""
    z = rng.standard_normal(3)
    return {MODULUS: 300 * np.exp(0.7 * z[0]), RATE: np.exp(0.7 * z[1]) / 15, SIZE: np.exp(0.1 * z[2])}


@pytest.fixture(scope="module")
def three_eyes():
    """The synthetic sets of three eyes, and their record."""
    path = Path(__file__).resolve().parents[1] / "evidence" / "three_eyes.py"
    spec = importlib.util.spec_from_file_location("three_eyes", path)
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def known_eye(base):
    """A fit, and the truth behind its data."""
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.05}
    return capsim.fit(measured(base, truth, rng=np.random.default_rng(4)), base).only, truth


def test_truth_lies_in_the_band_of_at_least_18_of_20_eyes(base):
    rng = np.random.default_rng(1)
    hits = dict.fromkeys([MODULUS, RATE, SIZE, "all together"], 0)
    for _ in range(20):
        truth = eye_from_prior(rng)
        fit = capsim.fit(measured(base, truth, rng=rng), base).only
        for name in truth:
            hits[name] += fit.estimates[name].contains(truth[name])
        hits["all together"] += fit.contains(truth)
    assert all(count >= 18 for count in hits.values()), hits


def test_three_eyes_whose_posteriors_are_bent_are_found(three_eyes):
    """Visits tell little of one of these eyes: the truth lies outside of the ellipsoid of the normal approximation, and
    inside of the posterior's joint band."""
    recorded = json.loads(three_eyes.RECORD.read_text(encoding="utf-8"))
    excess, squared, _ = three_eyes.distances_of(BENT)
    assert excess <= three_eyes.LARGEST < squared
    # The fit's search ends within 0.02 standard deviations of the most probable values, which the excess does not feel.
    assert excess == pytest.approx(recorded["excess"][BENT], abs=0.05)


def test_three_eyes_with_cuts_in_between_are_found_in_18_of_20_sets(three_eyes):
    recorded = json.loads(three_eyes.RECORD.read_text(encoding="utf-8"))
    assert len(recorded["excess"]) == three_eyes.SETS
    assert sum(value <= three_eyes.LARGEST for value in recorded["excess"]) == recorded["found"] >= 18


def test_noise_of_an_area_is_the_standard_deviation_that_was_said(base):
    visits = capsim.Visits([0, 30], [20.0, 18.0], sd_percent=[3, 30])
    sigma = capsim.fit(visits, base, free=MODULUS, start="base").only.sigma
    # Of a log-normal variable whose logarithm has this standard deviation.
    assert np.sqrt(np.expm1(sigma**2)) == pytest.approx([0.03, 0.3], rel=1e-12)


def test_without_noise_the_truth_is_found(base):
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.05}
    days = np.array([0.0, 7.0, 20.0, 40.0, 70.0, 120.0])
    fit = capsim.fit(measured(base, truth, days), base, noise_percent=0.1).only
    for name, value in truth.items():
        # The prior pulls by a share of the band, which is narrow at 0.1 % noise; linear in time adds its error.
        assert fit.estimates[name].value == pytest.approx(value, rel=0.02), name
    assert np.abs(np.log(fit.predicted_mm2 / fit.visits.area_mm2)).max() < 1e-3


def test_residual_derivatives_are_those_of_central_differences(base, known_eye):
    fit, _ = known_eye
    step = 0.05
    columns = [
        (
            np.log(fit.response.areas((fit.z + step * e).tolist(), fit.visits.day))
            - np.log(fit.response.areas((fit.z - step * e).tolist(), fit.visits.day))
        )
        / (2 * step)
        / fit.sigma
        for e in np.eye(len(fit.z))
    ]
    information = np.array(columns) @ np.array(columns).T
    # Of the differences here, and of derivatives a tenth of a standard deviation beside the estimate.
    assert np.allclose(fit.information, information, rtol=0.1, atol=0.02 * np.abs(information).max())


def test_more_visits_make_narrower_bands(base):
    truth = {MODULUS: 400.0, RATE: 0.06, SIZE: 1.0}
    few = capsim.fit(measured(base, truth, DAYS[:3]), base).only
    many = capsim.fit(measured(base, truth, np.array([*DAYS, 45.0, 75.0, 120.0, 150.0])), base).only
    for name in truth:
        assert many.estimates[name].sd_ratio < few.estimates[name].sd_ratio, name


def test_what_the_data_can_not_tell_is_flagged(base):
    truth = {MODULUS: 300.0, SIZE: 1.0}
    visits = measured(base, truth, np.array([30.0, 50.0]))
    fit = capsim.fit(visits, base, free=[MODULUS, "contraction.remodelling_days", "contraction.chronic_signal"]).only
    flags = {(flag.code, flag.parameter) for flag in fit.flags}
    assert ("data_do_not_tell", "contraction.remodelling_days") in flags
    assert ("data_do_not_tell", "contraction.chronic_signal") in flags
    assert {("few_visits", ""), ("short_follow_up", ""), ("start_unknown", SIZE)} <= flags
    remodelling = fit.estimates["contraction.remodelling_days"]
    assert remodelling.value == pytest.approx(base.contraction.remodelling_days, rel=0.1)  # the prior's
    assert "the value is that of the prior" in str(fit)


def test_good_data_raise_no_flag(known_eye):
    fit, _ = known_eye
    assert fit.converged
    assert [flag.code for flag in fit.flags] == []


def test_eye_that_the_model_does_not_describe_is_flagged(base):
    growing = capsim.Visits([1, 30, 60, 90], [15.0, 19.0, 23.0, 28.0])
    assert "poor_fit" in {flag.code for flag in capsim.fit(growing, base).flags}


def test_priors_decide_where_they_are_narrow(base):
    visits = measured(base, {MODULUS: 600.0, RATE: 1 / 15, SIZE: 1.0})
    narrow = capsim.fit(visits, base, priors={MODULUS: (195.0, 205.0)}).only
    assert 195 < narrow.estimates[MODULUS].value < 215
    wrong = capsim.fit(visits, base, start="base", priors={MODULUS: (180.0, 220.0)}).only
    assert "far_from_prior" in {flag.code for flag in wrong.flags}
    wide = capsim.fit(visits, base, priors={MODULUS: capsim.Prior(300, 2.0)}).only
    assert 450 < wide.estimates[MODULUS].value < 800


@pytest.mark.parametrize("scale", ["log", "share", "linear"])
def test_prior_has_95_percent_between_its_ends(scale):
    prior = capsim.Prior.between(0.1, 0.6, scale)
    samples = prior.value(np.random.default_rng(1).standard_normal(20_000))
    assert ((samples > 0.1) & (samples < 0.6)).mean() == pytest.approx(0.95, abs=0.005)  # three sigmas of the count
    assert prior.scaled(float(prior.value(1.3))) == pytest.approx(1.3)


def test_known_start_is_not_estimated(base):
    fit = capsim.fit(measured(base, {MODULUS: 400.0, RATE: 0.06, SIZE: 1.0}), base, start="base").only
    assert fit.names == [MODULUS, RATE]
    unknown = capsim.fit(measured(base, {MODULUS: 400.0, RATE: 0.06, SIZE: 1.0}), base).only
    assert fit.estimates[MODULUS].sd_ratio < unknown.estimates[MODULUS].sd_ratio


def test_every_form_of_opening_is_resized(base):
    angle = np.linspace(0, 2 * np.pi, 40, endpoint=False)
    outline = (2.4 * np.c_[np.cos(angle), np.sin(angle)] + [0.2, 0]).tolist()
    for opening in ({"diameter_mm": 4.8}, {"diameters_mm": [5, 4.5], "axis_hour": 2}, {"outline_mm": outline}):
        response = Response(base.with_(opening=opening), {SIZE: capsim.Prior(1.0, 0.2)})
        small, large = (response.areas([z], np.array([0.0]))[0] for z in (0.0, 1.0))
        # A stated opening is met to the mesh's own error, some hundredths on this coarse one.
        assert large / small == pytest.approx(np.exp(0.4), rel=0.03), opening


def test_fit_frees_the_strength_of_the_law_of_its_base(base):
    active = base.with_(
        {
            "contraction.law": "active_lock_in",
            "contraction.active_tension_mN_per_mm": 5,
            "contraction.locked_modulus_kPa": 30000,
        }
    )
    strength = "contraction.active_tension_mN_per_mm"
    fitted = capsim.fit(measured(active, {strength: 8.0, RATE: 0.05}), active)
    assert set(fitted.estimates) == {strength, RATE, SIZE}
    found = fitted.estimates[strength]
    assert found.low < 8 < found.high and abs(found.value - 8) < 1  # the prior lies about 5


def test_profile_agrees_with_the_band_where_the_data_tell_much(known_eye):
    fit, _ = known_eye
    profile = fit.profile(MODULUS, points=7)
    estimate = fit.estimates[MODULUS]
    low, high = profile.interval()
    assert (profile.excess >= -0.05).all()  # what is left to gain when the search stops
    assert profile.values[0] < low < estimate.value < high < profile.values[-1]
    # The posterior is nearly normal here: the bands agree within a third of a sigma.
    third = np.log(estimate.high / estimate.low) / 12
    assert abs(np.log(low / estimate.low)) < third and abs(np.log(high / estimate.high)) < third


def test_samples_of_the_posterior_agree_with_the_normal_approximation(known_eye):
    fit, _ = known_eye
    drawn = fit.sample(150, seed=3, method="metropolis")
    assert len(drawn) == 150 and drawn.runs == 200 and 0.2 < drawn.acceptance <= 1
    samples = drawn.z
    assert samples.shape == (150, 3)
    sd = np.sqrt(np.diag(fit.covariance))
    # 150 dependent samples of a slightly skewed posterior: half a sigma in the mean, 40 % in the spread.
    assert (np.abs(samples.mean(axis=0) - fit.z) < 0.5 * sd).all()
    assert (np.abs(samples.std(axis=0) / sd - 1) < 0.4).all()
    assert (fit.sample(20, seed=3).z == fit.sample(20, seed=3).z).all()
    assert fit.sample(20, seed=3).flags == []
    values = fit.parameters_of(fit.sample(400, seed=3))
    assert np.median(values[MODULUS]) == pytest.approx(fit.estimates[MODULUS].value, rel=0.05)


@pytest.fixture
def normal_eye(known_eye, monkeypatch):
    """The same fit with the normal approximation as its posterior: chains of any length cost nothing."""
    pytest.importorskip("emcee", reason="emcee is not installed: sampling by it was not tried")
    fit, _ = known_eye
    precision = np.linalg.inv(fit.covariance)

    def log_posterior(table):
        away = np.atleast_2d(table) - fit.z
        return -0.5 * np.einsum("ri,ij,rj->r", away, precision, away)

    monkeypatch.setattr(fit, "log_posterior", log_posterior)
    return fit


def test_chains_of_emcee_are_as_long_as_their_autocorrelation_asks_for(normal_eye):
    samples = normal_eye.sample(400, seed=3, method="emcee", most_runs=200_000)
    assert samples.z.shape == (400, 3)
    assert samples.flags == [] and samples.chains.shape[1] >= 50 * samples.autocorrelation_time
    assert all(0.99 < r < 1.05 for r in samples.r_hat.values()) and min(samples.effective_size.values()) > 300
    sd = np.sqrt(np.diag(normal_eye.covariance))
    # Some 400 effective samples: four standard errors of a mean and of a standard deviation.
    assert (np.abs(samples.z.mean(axis=0) - normal_eye.z) < 0.2 * sd).all()
    assert (np.abs(samples.z.std(axis=0) / sd - 1) < 0.15).all()
    assert samples.runs == samples.chains.shape[0] * (samples.runs // samples.chains.shape[0])


def test_chains_along_the_gradient_find_the_posterior_with_few_runs(known_eye, monkeypatch):
    """On the normal approximation itself: what they cost beside the ensemble is in decisions/gradient_sampler.md."""
    pytest.importorskip("mici", reason="mici is not installed: sampling by gradients was not tried")
    fit, _ = known_eye
    precision = np.linalg.inv(fit.covariance)

    runs = []

    def with_gradient(z):
        runs.append(z)
        return -0.5 * float((z - fit.z) @ precision @ (z - fit.z)), -precision @ (z - fit.z)

    monkeypatch.setattr(fit, "log_posterior_and_gradient", with_gradient)
    samples = fit.sample(400, seed=3, method="hamiltonian")
    assert samples.runs == len(runs)
    assert samples.z.shape == (400, 3) and samples.flags == []
    assert min(samples.effective_size.values()) >= 400 and samples.runs < 2000 and samples.acceptance > 0.6
    assert (fit.sample(400, seed=3, method="hamiltonian").z == samples.z).all()
    sd = np.sqrt(np.diag(fit.covariance))
    # Some 400 effective samples: four standard errors of a mean and of a standard deviation.
    assert (np.abs(samples.z.mean(axis=0) - fit.z) < 0.2 * sd).all()
    assert (np.abs(samples.z.std(axis=0) / sd - 1) < 0.15).all()
    monkeypatch.setattr(
        "capsim.calibration.hamiltonian._BLOCK", 10
    )  # draws of each chain between two looks at the size
    short = fit.sample(400, seed=3, method="hamiltonian", most_runs=1)
    assert any(flag.startswith("few_effective_samples") for flag in short.flags)


def test_chains_that_are_too_short_are_flagged(normal_eye):
    samples = normal_eye.sample(100, seed=3, method="emcee", most_runs=700)
    assert samples.runs <= 700 and any(flag.startswith("short_chain") for flag in samples.flags)
    assert "! short_chain" in repr(samples)


def test_chains_take_no_more_runs_than_they_may(normal_eye, monkeypatch):
    asked = []
    real = normal_eye.log_posterior
    monkeypatch.setattr(normal_eye, "log_posterior", lambda z: asked.append(len(np.atleast_2d(z))) or real(z))
    samples = normal_eye.sample(50, seed=3, method="emcee", most_runs=1300)
    assert sum(asked) == samples.runs <= 1300
    asked.clear()
    with pytest.raises(
        capsim.ArgumentError, match=r"most_runs is 300; the shortest chains of 3 parameters take 612 runs"
    ):
        normal_eye.sample(50, seed=3, method="emcee", most_runs=300)
    assert asked == []


def test_effective_size_and_r_hat_of_an_autoregressive_chain():
    """x_t = rho x_(t-1) + e_t has an integrated autocorrelation time of (1 + rho) / (1 - rho)."""
    rng = np.random.default_rng(1)
    chains = np.zeros((4, 20_000, 1))
    for t in range(1, chains.shape[1]):
        chains[:, t] = 0.8 * chains[:, t - 1] + rng.standard_normal((4, 1))
    assert effective_size(chains)[0] == pytest.approx(chains[..., 0].size / 9, rel=0.1)
    assert split_r_hat(chains)[0] == pytest.approx(1, abs=0.01)
    apart = chains + np.arange(4)[:, None, None] * 3
    assert split_r_hat(apart)[0] > 1.5 and effective_size(apart)[0] < 20


def test_gradient_of_the_log_posterior_is_that_of_its_differences(known_eye):
    fit, _ = known_eye
    at = fit.z + np.array([0.3, -0.2, 0.1])
    step = 0.05
    moved = np.concatenate([at + step * np.eye(3), at - step * np.eye(3)])
    values = fit.log_posterior(moved)
    differences = (values[:3] - values[3:]) / (2 * step)
    value, gradient = fit.log_posterior_and_gradient(at)
    # That run does not come to rest for the rows between the visits: a thousandth of a unit of log posterior is nothing.
    assert value == pytest.approx(fit.log_posterior(at), abs=1e-3)
    assert (gradient == fit.log_posterior_gradient(at)).all()
    # Third derivatives of the posterior times the step's square, and jumps of time steps.
    assert np.allclose(gradient, differences, rtol=0.02, atol=0.02 * np.abs(differences).max())
    assert fit.log_posterior(fit.z) == max(fit.log_posterior(np.vstack([fit.z, moved])))


FREE = (MODULUS, RATE, SIZE)


@pytest.mark.parametrize(
    "opening",
    [
        {"diameter_mm": 4.8},
        {"diameters_mm": [5.0, 4.6], "axis_hour": 2},
        {"outline_mm": [[2.4 * np.cos(a), 2.4 * np.sin(a)] for a in np.linspace(0, 2 * np.pi, 40, endpoint=False)]},
    ],
    ids=["circle", "ellipse", "outline"],
)
def test_slopes_of_the_areas_are_those_of_differences_for_every_form_of_the_opening(base, opening):
    """An outline has no derivative by its size, which is differenced over a single side."""
    values = base.to_dict()
    eye = capsim.Scenario.from_dict({**values, "opening": {**capsim.Scenario().to_dict()["opening"], **opening}})
    response = Response(eye, priors_for(FREE, eye, {}))
    at, step = np.array([0.4, -0.3, 0.2]), 0.05
    areas, slopes = response.areas_and_slopes(at, DAYS)
    # That run does not come to rest for the rows between: a tenth of the time tolerance.
    assert np.allclose(areas, response.areas(at.tolist(), DAYS), rtol=1e-5, atol=0)
    moved = response.many(np.vstack([at + step * np.eye(3), at - step * np.eye(3)]), DAYS)
    differences = ((moved[:3] - moved[3:]) / (2 * step)).T
    assert np.allclose(slopes, differences, rtol=0.02, atol=0.01 * np.abs(differences).max(axis=0))


def test_fit_of_three_parameters_takes_few_runs(base, monkeypatch):
    """Derivatives of three parameters cost some two runs more; differences took 16 to 28 runs for such fits."""
    runs = {"areas": 0, "areas_and_slopes": 0}

    def counting(name, real):
        def counted(self, *arguments):
            runs[name] += 1
            return real(self, *arguments)

        return counted

    for name in runs:
        monkeypatch.setattr(Response, name, counting(name, getattr(Response, name)))
    fit = capsim.fit(measured(base, {MODULUS: 500.0, RATE: 0.05, SIZE: 1.05}, rng=np.random.default_rng(4)), base).only
    assert fit.converged
    assert 1 <= runs["areas_and_slopes"] <= 3 and 1 <= runs["areas"] <= 14, runs


def test_emcee_is_asked_for_in_words_when_it_is_missing(known_eye, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "emcee", None)
    with pytest.raises(ImportError, match="needs the package emcee"):
        known_eye[0].sample(10, seed=1, method="emcee")


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


def test_several_eyes_share_a_level(base):
    rng = np.random.default_rng(11)
    level, eyes = 700.0, []
    for k in range(6):
        truth = {MODULUS: level * np.exp(0.25 * rng.standard_normal()), RATE: 1 / 15, SIZE: 1.0}
        eyes.append((truth, measured(base, truth, np.array([1.0, 30.0, 120.0]), rng=rng, eye_id=f"eye {k}")))
    together = capsim.Visits(
        np.concatenate([v.day for _, v in eyes]),
        np.concatenate([v.area_mm2 for _, v in eyes]),
        eye_id=[name for _, v in eyes for name in v.eye_id],
    )
    shared = capsim.fit(together, base)
    population = shared.population
    assert population.mean_low[MODULUS] < level < population.mean_high[MODULUS]
    alone = capsim.fit(together, base, shared=False)
    assert alone.population is None and list(alone) == [f"eye {k}" for k in range(6)]

    def error(fits):
        return np.sqrt(np.mean([np.log(fits[v.eye_id[0]].values[MODULUS] / truth[MODULUS]) ** 2 for truth, v in eyes]))

    assert error(shared) < error(alone)
    # A new eye of the same population starts from what is known of it.
    assert population.priors[MODULUS].sd < 0.7
    with pytest.raises(ValueError, match="there are 6 eyes; choose one"):
        shared.forecast([30])


def test_visits_that_do_not_count_change_nothing(base):
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.05}
    plain = measured(base, truth, rng=np.random.default_rng(4))
    more = capsim.Visits([*plain.day, 45, 200], [*plain.area_mm2, np.nan, 30.0], after_laser=[False] * 7 + [True])
    one, other = capsim.fit(plain, base, workers=1).only, capsim.fit(more, base, workers=2).only
    assert (one.z == other.z).all() and (one.covariance == other.covariance).all()


def test_visits_after_cuts_are_used_where_the_base_has_them(base):
    cut = [{"day": 50, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": 0.6}}]
    with_cuts = base.with_(events=cut)
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.05}
    areas = measured(with_cuts, truth).area_mm2
    visits = capsim.Visits(DAYS, areas, event=["", "", "", "relaxing cuts", "", ""])
    with_them, without = capsim.fit(visits, with_cuts).only, capsim.fit(visits, base).only
    assert with_them.not_used == {} and len(with_them.visits) == 6
    assert without.not_used == {"after relaxing cuts that the scenario has not": 3} and len(without.visits) == 3
    assert "(6 in all; not used: 3 after relaxing cuts" in str(without)
    assert all(with_them.estimates[name].contains(value) for name, value in truth.items())


def test_each_eye_may_have_a_base_of_its_own_side(base):
    left = base.with_({"eye": "left", "opening.diameter_mm": 5.2})
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.0}
    eyes = {"A right": (base, "right"), "A left": (left, "OS")}
    parts = [measured(scenario, truth, eye_id=name) for name, (scenario, _) in eyes.items()]
    together = capsim.Visits(
        np.concatenate([part.day for part in parts]),
        np.concatenate([part.area_mm2 for part in parts]),
        eye_id=[name for part in parts for name in part.eye_id],
        eye=[eyes[name][1] for part in parts for name in part.eye_id],
    )
    found = capsim.fit(together, {name: scenario for name, (scenario, _) in eyes.items()}, start="base")
    assert found["A left"].response.base.opening.diameter_mm == 5.2
    assert all(eye.estimates[MODULUS].contains(500) for eye in found.values())
    with pytest.raises(
        ValueError, match="the visits of 'A left' are of a left eye, but its scenario is of a right one"
    ):
        capsim.fit(together, base)
    with pytest.raises(ValueError, match="there is no base for 'A left'"):
        capsim.fit(together, {"A right": base})
    other = left.with_({MODULUS: 200})
    with pytest.raises(ValueError, match="lies about 300 for A right and about 200 for A left; give one prior"):
        capsim.fit(together, {"A right": base, "A left": other})


def test_clock_hours_of_an_unknown_eye_give_a_notice(base):
    unknown = base.with_({"eye": None, "zonule.strength_by_hour": {3: 0.1}})
    visits = capsim.Visits([1, 30, 60], [18.0, 17.0, 16.5], eye="left")
    found = capsim.fit(visits, unknown, free=MODULUS, start="base")
    assert found.only.names == [MODULUS]  # one path is not taken for its letters
    assert len(found.notices) == 1 and "zonule.strength_by_hour" in found.notices[0]
    assert found.notices[0] in str(found)


def test_uncertain_visits_count_less(base):
    truth = {MODULUS: 500.0, RATE: 0.05, SIZE: 1.0}
    plain = measured(base, truth)
    wrong = plain.area_mm2.copy()
    wrong[-1] *= 1.3
    trusted = capsim.fit(capsim.Visits(plain.day, wrong), base).only
    doubted = capsim.fit(capsim.Visits(plain.day, wrong, sd_percent=[3, 3, 3, 3, 3, 40]), base).only
    assert abs(np.log(doubted.values[MODULUS] / 500)) < abs(np.log(trusted.values[MODULUS] / 500))


def test_eyes_without_a_usable_visit_are_left_out_by_name(base):
    visits = capsim.Visits(
        [1, 30, 60, 5, 9],
        [20, 18, 17.5, np.nan, 25],
        eye_id=["a", "a", "a", "b", "c"],
        after_laser=[False, False, False, False, True],
    )
    fit = capsim.fit(visits, base, start="base", free=[MODULUS])
    assert list(fit) == ["a"]
    assert fit.left_out == {"b": "all its visits are missing", "c": "all its measured visits are after a laser"}
    with pytest.raises(ValueError, match="no visit to use: b: all its visits are missing"):
        capsim.fit(visits.of("b"), base)


@pytest.mark.parametrize(
    ("arguments", "error", "words"),
    [
        ({"free": ["contraction.fibre_modulus_kpa"]}, capsim.ScenarioError, "did you mean 'fibre_modulus_kPa'"),
        (
            {"free": ["contraction.radial_weight"]},
            ValueError,
            "contraction.radial_weight is 0 in the base; give a prior",
        ),
        ({"free": ["lens"]}, ValueError, "not a number that can be fitted"),
        ({"free": [], "start": "base"}, ValueError, "no parameter is free"),
        ({"priors": {"bag.equator_diameter_mm": (9, 11)}}, ValueError, "bag.equator_diameter_mm, which is not free"),
        ({"priors": {MODULUS: (400, 200)}}, ValueError, "must be below the upper one"),
        ({"noise_percent": 0}, ValueError, "noise_percent is 0"),
        ({"start": "known"}, ValueError, "start is 'known'"),
    ],
)
def test_fit_that_can_not_be_done_is_refused(base, arguments, error, words):
    with pytest.raises(error, match=words):
        capsim.fit(capsim.Visits([1, 30], [18.0, 17.0]), base, **arguments)


@pytest.mark.parametrize(("median", "sd", "scale"), [(0, 1, "log"), (1, 1, "share"), (1, 0, "log"), (1, 1, "cube")])
def test_prior_that_is_none_is_refused(median, sd, scale):
    with pytest.raises(ValueError):
        capsim.Prior(median, sd, scale)
