# SPDX-License-Identifier: BSD-3-Clause
"""Samples of the posterior of a fitted eye agree with its estimates, keep to the runs they may take, and say when they are short."""

import capsim
import numpy as np
import pytest
from capsim.calibration.chains import effective_size, split_r_hat
from invented_fit import MODULUS

pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no fits")


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
    sd = np.sqrt(np.diag(normal_eye.covariance))
    means, spreads = [], []
    for seed in (3, 4, 5, 6):  # one alone strays by a quarter of a sigma now and then
        samples = normal_eye.sample(400, seed=seed, method="emcee", most_runs=200_000)
        assert samples.z.shape == (400, 3)
        assert samples.flags == [] and samples.chains.shape[1] >= 50 * samples.autocorrelation_time
        assert all(0.99 < r < 1.05 for r in samples.r_hat.values()) and min(samples.effective_size.values()) > 300
        assert samples.runs == samples.chains.shape[0] * (samples.runs // samples.chains.shape[0])
        means.append((samples.z.mean(axis=0) - normal_eye.z) / sd)
        spreads.append(samples.z.std(axis=0) / sd)
    # Some 1,600 effective samples, of which those of a chain depend on each other more than it can tell.
    assert (np.abs(np.mean(means, axis=0)) < 0.2).all()
    assert (np.abs(np.mean(spreads, axis=0) - 1) < 0.1).all()


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
    # A draw is met again only where the one after it was refused; chains that repeat a block of theirs know less than they say.
    draws = samples.chains.reshape(-1, 3)
    stays = (np.diff(samples.chains, axis=1) == 0).all(axis=2).sum()
    assert len(np.unique(draws, axis=0)) == len(draws) - stays
    sd = np.sqrt(np.diag(fit.covariance))
    # Some 400 effective samples: four standard errors of a mean and of a standard deviation.
    assert (np.abs(samples.z.mean(axis=0) - fit.z) < 0.2 * sd).all()
    assert (np.abs(samples.z.std(axis=0) / sd - 1) < 0.15).all()


@pytest.mark.parametrize("most_runs", [104, 150, 1000])
@pytest.mark.parametrize("stiff", [1, 40], ids=["normal", "steps made shorter"])
def test_chains_along_the_gradient_take_no_more_runs_than_they_may(known_eye, monkeypatch, most_runs, stiff):
    """Where the posterior is forty times as narrow as its approximation says, steps are halved: that costs runs, too."""
    pytest.importorskip("mici", reason="mici is not installed: sampling by gradients was not tried")
    fit, _ = known_eye
    precision = stiff**2 * np.linalg.inv(fit.covariance)
    runs = []

    def with_gradient(z):
        runs.append(z)
        return -0.5 * float((z - fit.z) @ precision @ (z - fit.z)), -precision @ (z - fit.z)

    monkeypatch.setattr(fit, "log_posterior_and_gradient", with_gradient)
    samples = fit.sample(100_000, seed=3, method="hamiltonian", most_runs=most_runs)
    assert samples.runs == len(runs) <= most_runs and len(samples.chains[0]) >= 4
    assert any(flag.startswith("few_effective_samples") for flag in samples.flags) or most_runs == 1000
    runs.clear()
    with pytest.raises(
        capsim.ArgumentError, match="most_runs is 103; the shortest chains along the gradient take 104 runs"
    ):
        fit.sample(10, seed=3, method="hamiltonian", most_runs=103)
    assert runs == []


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


def test_emcee_is_asked_for_in_words_when_it_is_missing(known_eye, monkeypatch):
    monkeypatch.setitem(__import__("sys").modules, "emcee", None)
    with pytest.raises(ImportError, match="needs the package emcee"):
        known_eye[0].sample(10, seed=1, method="emcee")
