# SPDX-License-Identifier: BSD-3-Clause
"""The search for the most probable parameters of one eye.

Method.  Least squares over residuals (log y - log m(z)) / sigma and z itself. The derivatives of the model are exact
         (`capsim.sensitivities`) where a round begins and ends; between, each step corrects them by what it saw
         (Broyden, Mathematics of Computation 19, 1965), so that it costs one plain run. A round is the last when a
         whole Newton step from its end, with exact derivatives, would be small beside the posterior's width.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from ..follow_up import Visits
from ..optional import needed
from .response import Response

FloatArray = NDArray[np.float64]

_REACH = 5.0  # prior standard deviations within which the estimate is looked for
_FAILED = 30.0  # residual of a day that a failed run did not reach, in standard deviations
_ROUNDS = 5
_BESIDE = 0.1  # posterior standard deviations within which exact derivatives, corrected, are as good as new ones
_NEAR = 0.02  # posterior standard deviations that the estimate may be off by: a 2500th of a unit of log posterior


@dataclass(frozen=True)
class Found:
    """The end of a search."""

    z: FloatArray
    """Scaled parameters, [parameters]."""
    converged: bool
    cost: float
    """Squared residuals of data and prior together."""
    jacobian: FloatArray
    """Derivative of the data's residuals by all scaled parameters, exact, [visits, parameters]."""
    predicted_mm2: FloatArray
    """Model areas at the visits [mm2], [visits]."""


def most_probable(
    response: Response, visits: Visits, sigma: FloatArray, start: FloatArray, held: Mapping[int, float] | None = None
) -> Found:
    """The most probable scaled parameters from `start` on; those `held`, by their number, stay where they are."""
    optimize = needed("scipy.optimize", "a fit")
    data = _DataResiduals(response, visits, sigma)
    at = np.array(start, dtype=np.float64)
    for i, value in (held or {}).items():
        at[i] = value
    free = [i for i in range(len(at)) if i not in (held or {})]
    prior = np.eye(len(at))[:, free]

    def full(x: FloatArray) -> FloatArray:
        z = at.copy()
        z[free] = x
        return z

    def values(x: FloatArray) -> FloatArray:
        return np.concatenate([data.values(full(x)), full(x)])

    def jacobian(x: FloatArray) -> FloatArray:
        return np.vstack([data.jacobian(full(x))[:, free], prior])

    x, converged = np.clip(at[free], -_REACH + 1e-6, _REACH - 1e-6), not free
    data.look(full(x))
    for _ in range(_ROUNDS if free else 0):
        looked = x
        done = optimize.least_squares(
            values, x, jac=jacobian, bounds=(-_REACH, _REACH), xtol=1e-2, ftol=3e-3, gtol=1e-2, max_nfev=40
        )  # of a standard deviation, a unit of log posterior
        x = np.asarray(done.x, dtype=np.float64)
        if _longest(x - looked, jacobian(x)) > _BESIDE:
            data.look(full(x))
        converged = bool(done.success) and _longest(_newton_step(x, values(x), jacobian(x)), jacobian(x)) < _NEAR
        if converged:
            break
    z = full(x)
    residuals = data.values(z)
    areas = np.exp(np.log(visits.area_mm2) + residuals * sigma)
    return Found(z, converged, float((residuals**2).sum() + (z**2).sum()), data.jacobian(z), areas)


def cost_at(response: Response, visits: Visits, sigma: FloatArray, z: FloatArray) -> float:
    """Squared residuals of data and prior together."""
    return float((_DataResiduals(response, visits, sigma).values(z) ** 2).sum() + (z**2).sum())


def _newton_step(x: FloatArray, values: FloatArray, jacobian: FloatArray) -> FloatArray:
    """The step to the least squares of the linear problem, within reach."""
    step = np.linalg.solve(jacobian.T @ jacobian, jacobian.T @ values)
    return np.asarray(np.clip(x - step, -_REACH, _REACH) - x, dtype=np.float64)


def _longest(step: FloatArray, jacobian: FloatArray) -> float:
    """The longest part of a step, in posterior standard deviations."""
    return float(np.max(np.abs(step) / np.sqrt(np.diag(np.linalg.inv(jacobian.T @ jacobian)))))


class _DataResiduals:
    """(log model - log measured) / sigma of one eye, and its derivatives: exact where `look` was called, else corrected."""

    def __init__(self, response: Response, visits: Visits, sigma: FloatArray) -> None:
        self.response, self.visits, self.sigma = response, visits, sigma
        self._z: FloatArray = np.empty(0)  # where derivatives are known
        self._exact = False
        self._jacobian: FloatArray = np.empty((0, 0))
        self._values: dict[bytes, FloatArray] = {}

    def values(self, z: FloatArray) -> FloatArray:
        """The residuals, [visits]; one run, unless they are known."""
        key = z.tobytes()
        if key not in self._values:
            self._values[key] = self._of(self.response.areas(z.tolist(), self.visits.day))
        return self._values[key]

    def look(self, z: FloatArray) -> None:
        """Takes the exact derivatives at z, and the residuals of the same run."""
        if self._exact and np.array_equal(z, self._z):
            return
        areas, slopes = self.response.areas_and_slopes(z, self.visits.day)
        self._values[z.tobytes()] = self._of(areas)
        self._jacobian = np.nan_to_num(slopes / areas[:, None] / self.sigma[:, None])  # a failed run has no slope
        self._z, self._exact = z.copy(), True

    def jacobian(self, z: FloatArray) -> FloatArray:
        """Derivatives of the residuals, [visits, parameters]: known ones, corrected by the way from there."""
        way = z - self._z
        if way.any():
            change = self.values(z) - self.values(self._z)
            self._jacobian = self._jacobian + np.outer(change - self._jacobian @ way, way) / (way @ way)
            self._z, self._exact = z.copy(), False
        return self._jacobian

    def _of(self, areas: FloatArray) -> FloatArray:
        residuals = (np.log(areas) - np.log(self.visits.area_mm2)) / self.sigma
        return np.asarray(np.where(np.isfinite(residuals), residuals, _FAILED), dtype=np.float64)
