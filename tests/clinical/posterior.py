# SPDX-License-Identifier: BSD-3-Clause
"""Least squares with what is needed to say how well each parameter is known.

The residuals hold the rows, over their standard errors, and the priors. The posterior is normal about the best fit with
the inverse of J^T J as covariance; the profile of a parameter is the sum of squares with that one held at one and two
standard deviations either way and the others moved where the linear fit wants them, then run, so that a
parameter that nothing but its prior holds, or one that is far from quadratic, shows.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import least_squares

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Parameter:
    """One fitted number, on the scale on which it is fitted."""

    name: str
    first: float
    step: float
    """Of the differences."""
    low: float
    high: float
    log: bool
    """The number itself is the exponential of this."""
    prior: tuple[float, float] | None = None
    """Mean and standard deviation on the scale of the fit."""


@dataclass(frozen=True)
class Posterior:
    parameters: tuple[Parameter, ...]
    best: Array
    covariance: Array
    squares: float
    """Sum of squares at the best fit, priors included."""

    @property
    def sd(self) -> Array:
        found: Array = np.sqrt(np.diag(self.covariance))
        return found

    @property
    def correlation(self) -> Array:
        found: Array = self.covariance / np.outer(self.sd, self.sd)
        return found


def with_priors(parameters: Sequence[Parameter], rows: Callable[[Array], list[float]]) -> Callable[[Array], Array]:
    def residuals(p: Array) -> Array:
        priors = [(v - q.prior[0]) / q.prior[1] for v, q in zip(p, parameters) if q.prior]
        return np.array([*rows(p), *priors])

    return residuals


def fit(parameters: Sequence[Parameter], rows: Callable[[Array], list[float]], evaluations: int = 8) -> Posterior:
    residuals = with_priors(parameters, rows)
    steps = np.array([q.step for q in parameters])

    def slopes(p: Array, *_: Any) -> Array:
        middle = residuals(p)
        columns = []
        for k, step in enumerate(steps):
            shifted = p.copy()
            shifted[k] += step if p[k] + step <= parameters[k].high else -step
            columns.append((residuals(shifted) - middle) / (shifted[k] - p[k]))
        return np.array(columns).T

    found = least_squares(
        residuals,
        [q.first for q in parameters],
        jac=slopes,
        bounds=([q.low for q in parameters], [q.high for q in parameters]),
        x_scale=10 * steps,
        xtol=3e-3,
        ftol=3e-3,
        max_nfev=evaluations,
        verbose=2,
    )
    jacobian = np.asarray(found.jac)
    covariance = np.linalg.inv(jacobian.T @ jacobian + 1e-9 * np.eye(len(parameters)))
    return Posterior(tuple(parameters), np.asarray(found.x), covariance, float(2 * found.cost))


def profile(posterior: Posterior, rows: Callable[[Array], list[float]]) -> dict[str, list[tuple[float, float]]]:
    """Of each parameter: pairs of its value, on its scale, and how much the sum of squares is above the best."""
    residuals = with_priors(posterior.parameters, rows)
    found = {}
    for k, q in enumerate(posterior.parameters):
        direction = posterior.covariance[:, k] / posterior.covariance[k, k]
        points = []
        for turns in (-2, -1, 1, 2):
            p = posterior.best + turns * posterior.sd[k] * direction
            p = np.clip(p, [r.low for r in posterior.parameters], [r.high for r in posterior.parameters])
            points.append((float(p[k]), float((residuals(p) ** 2).sum() - posterior.squares)))
        found[q.name] = points
    return found
