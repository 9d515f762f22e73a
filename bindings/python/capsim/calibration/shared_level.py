# SPDX-License-Identifier: BSD-3-Clause
"""What several eyes have in common: a mean and a spread for each shared parameter.

Model.      z_eye ~ N(mu, tau^2) for each shared parameter, mu ~ N(0, 1). Each eye's data are taken as
            normal in z, with the information of its own fit; mu and tau follow by expectation and
            maximisation, tau^2 with a weak prior that keeps a few eyes from having no spread at all.
Assumes.    Eyes are exchangeable; two eyes of one person count as two.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from .eye_fit import EyeFit
from .prior import SIZE, Prior

FloatArray = NDArray[np.float64]

_PRIOR_EYES, _PRIOR_SPREAD = 2.0, 0.5  # as if two eyes with half the prior's spread had been seen before


@dataclass(frozen=True)
class SharedLevel:
    """The level that several eyes share.

    >>> fitted.population is None  # one eye shares its level with nobody
    True
    """

    names: list[str]
    """Shared parameters."""
    mean: dict[str, float]
    """Value of the middle eye."""
    mean_low: dict[str, float]
    """Lower end of the 2-sigma band of the middle eye."""
    mean_high: dict[str, float]
    """Upper end of the 2-sigma band of the middle eye."""
    eye_low: dict[str, float]
    """19 eyes of 20 are expected above about this."""
    eye_high: dict[str, float]
    """19 eyes of 20 are expected below about this."""
    priors: dict[str, Prior]
    """What is to be expected of the next eye, as a prior for its own fit."""

    def __str__(self) -> str:
        return "\n".join(
            f"  {name}: middle eye {self.mean[name]:.4g} ({self.mean_low[name]:.4g} to {self.mean_high[name]:.4g}), "
            f"eyes from {self.eye_low[name]:.4g} to {self.eye_high[name]:.4g}"
            for name in self.names
        )


def shared_level_of(fits: Sequence[EyeFit], priors: Mapping[str, Prior], rounds: int = 200) -> SharedLevel:
    """The level that fits with the same priors share."""
    names = [name for name in priors if name != SIZE]
    shared = [i for i, name in enumerate(priors) if name in names]
    size, count = len(shared), len(fits)
    mu, tau2 = np.zeros(size), np.full(size, 1.0)
    for _ in range(rounds):
        means, variances = [], []
        for fit in fits:
            # The data alone: J'J with its maximum at z; the prior of that fit was standard normal.
            info = fit.information
            total = info.copy()
            right = (info + np.eye(len(info))) @ fit.z
            for k, i in enumerate(shared):
                total[i, i] += 1 / tau2[k]
                right[i] += mu[k] / tau2[k]
            rest = [i for i in range(len(info)) if i not in shared]
            total[rest, rest] += 1.0
            posterior = np.linalg.inv(total)
            means.append((posterior @ right)[shared])
            variances.append(np.diag(posterior)[shared])
        z, v = np.array(means), np.array(variances)
        new_mu = z.sum(axis=0) / (tau2 + count)  # its prior is standard normal
        new_tau2 = (((z - new_mu) ** 2 + v).sum(axis=0) + _PRIOR_EYES * _PRIOR_SPREAD**2) / (count + _PRIOR_EYES)
        done = np.abs(new_mu - mu).max() < 1e-6 and np.abs(new_tau2 - tau2).max() < 1e-6
        mu, tau2 = new_mu, new_tau2
        if done:
            break
    # How well the data alone tell each eye; what they leave open widens the band of the mean.
    of_data = 1 / np.maximum(1 / v - 1 / tau2, 1e-9)
    sd_mu = np.sqrt(1 / (1 + (1 / (tau2 + of_data)).sum(axis=0)))
    tau = np.sqrt(tau2)
    own = {name: priors[name] for name in names}

    def at(z: FloatArray) -> dict[str, float]:
        return {name: float(own[name].value(z[k])) for k, name in enumerate(names)}

    return SharedLevel(
        names,
        at(mu),
        at(mu - 2 * sd_mu),
        at(mu + 2 * sd_mu),
        at(mu - 2 * tau),
        at(mu + 2 * tau),
        {name: own[name].moved(float(mu[k]), float(np.sqrt(tau2[k] + sd_mu[k] ** 2))) for k, name in enumerate(names)},
    )
