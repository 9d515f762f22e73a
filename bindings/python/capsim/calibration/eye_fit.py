# SPDX-License-Identifier: BSD-3-Clause
"""The fit of one eye.

Model.      log(measured area) = log(model area) + sigma e, with e standard normal, and scaled
            parameters z that are standard normal before the data. The most probable z minimises
            sum ((log y - log m(z)) / sigma)^2 + sum z^2, by SciPy's least squares.
            Near it the posterior is taken as normal with covariance (J'J + I)^-1.
Assumes.    Independent errors, and that the model can describe the eye: its own error is not in
            the bands. `sample(method="metropolis")`, `profile`, `excess` and `contains` do without the
            normal shape, which is off where the data tell little (flag data_do_not_tell).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..follow_up import Visits
from ..optional import needed
from ..scenario import Scenario
from .chains import ensemble_chains, independence_chain, thinned
from .forecast import Effect, Forecast
from .hamiltonian import hamiltonian_chains
from .posterior import PosteriorSamples
from .prior import SIZE
from .response import Response
from .search import cost_at, most_probable

FloatArray = NDArray[np.float64]

_TOLD_LITTLE = 0.8  # posterior over prior standard deviation
_ALIKE = 0.95  # correlation


@dataclass(frozen=True)
class FitFlag:
    """Something the reader must know about a fit.

    >>> [flag.code for flag in fitted.flags]
    [...]
    """

    code: str
    """Stable short name: data_do_not_tell, strong_correlation, few_visits, short_follow_up, start_unknown,
    poor_fit, far_from_prior, not_converged."""
    parameter: str
    """The parameter it is about, or empty."""
    text: str
    """One or two sentences, with the numbers."""

    def __str__(self) -> str:
        return f"{self.code}: {self.text}"


@dataclass(frozen=True)
class Estimate:
    """One parameter after the data.

    >>> estimate = fitted.estimates["opening.size"]
    >>> estimate.low < estimate.value < estimate.high
    True
    """

    value: float
    """Most probable value."""
    low: float
    """Lower end of the 2-sigma band."""
    high: float
    """Upper end of the 2-sigma band."""
    prior_low: float
    """Lower end of the band before the data."""
    prior_high: float
    """Upper end of the band before the data."""
    sd_ratio: float
    """Standard deviation after over before the data: near 1, the data tell nothing."""

    def contains(self, value: float) -> bool:
        """Whether a value lies in the band.

        >>> estimate = fitted.estimates["opening.size"]
        >>> estimate.contains(estimate.value)
        True
        """
        return bool(self.low <= value <= self.high)


@dataclass(frozen=True)
class Profile:
    """How badly the data fit when one parameter is held and the others are free.

    >>> profile = fitted.only.profile("contraction.fibre_modulus_kPa", points=3)
    >>> len(profile.values)
    3
    """

    name: str
    values: FloatArray
    """Values at which the parameter was held, [points]."""
    excess: FloatArray
    """Twice the loss of log posterior there, [points]: 0 at the best, 1 at one sigma, 4 at two."""

    def interval(self, level: float = 4.0) -> tuple[float, float]:
        """Where the excess passes `level` on either side; the end of the range where it does not.

        >>> low, high = fitted.only.profile("contraction.fibre_modulus_kPa", points=3).interval()
        >>> low < high
        True
        """
        best = int(np.argmin(self.excess))
        return self._crossing(range(best, -1, -1), level), self._crossing(range(best, len(self.values)), level)

    def _crossing(self, way: Iterable[int], level: float) -> float:
        before: int | None = None
        for i in way:
            if self.excess[i] >= level:
                if before is None:
                    return float(self.values[i])
                share = (level - self.excess[before]) / (self.excess[i] - self.excess[before])
                return float(self.values[before] + share * (self.values[i] - self.values[before]))
            before = i
        return float(self.values[before if before is not None else 0])


class EyeFit:
    """Estimates of one eye with their covariance, flags, samples, profiles and forecasts.

    >>> eye = fitted.only
    >>> eye.names
    ['contraction.fibre_modulus_kPa', 'opening.size']
    >>> eye.log_posterior(eye.z) >= eye.log_posterior(eye.z + 0.5)
    True
    """

    def __init__(
        self,
        eye_id: str,
        visits: Visits,
        response: Response,
        sigma: FloatArray,
        z: FloatArray,
        converged: bool,
        jacobian: FloatArray,
        predicted: FloatArray,
    ) -> None:
        self.eye_id = eye_id
        self.visits = visits
        """The visits that were used."""
        self.not_used: dict[str, int] = {}
        """How many visits of the eye were not used, by the reason."""
        self.response = response
        self.sigma = sigma
        """Standard deviation of the logarithm of each measured area, [visits]."""
        self.z = z
        """Scaled parameters, [parameters]."""
        self.converged = converged
        self.information = jacobian.T @ jacobian
        """What the data alone tell about the scaled parameters, [parameters, parameters]."""
        self.covariance: FloatArray = np.linalg.inv(self.information + np.eye(len(z)))
        """Covariance of the scaled parameters, [parameters, parameters]."""
        self.predicted_mm2 = predicted
        """Model areas at the visits [mm2], [visits]."""
        self.flags = self._flags()
        """What the reader must know."""

    @property
    def names(self) -> list[str]:
        """The free parameters."""
        return list(self.response.priors)

    @property
    def correlation(self) -> FloatArray:
        """Correlation of the scaled parameters, [parameters, parameters]."""
        sd = np.sqrt(np.diag(self.covariance))
        result: FloatArray = self.covariance / np.outer(sd, sd)
        return result

    @property
    def estimates(self) -> dict[str, Estimate]:
        """Every parameter with its band, before and after the data."""
        found = {}
        for i, (name, prior) in enumerate(self.response.priors.items()):
            sd = float(np.sqrt(self.covariance[i, i]))
            value, low, high, before, after = (
                float(prior.value(z)) for z in (self.z[i], self.z[i] - 2 * sd, self.z[i] + 2 * sd, -2, 2)
            )
            found[name] = Estimate(value, low, high, before, after, sd)
        return found

    @property
    def values(self) -> dict[str, float]:
        """The most probable value of every parameter."""
        return {name: estimate.value for name, estimate in self.estimates.items()}

    @property
    def residuals(self) -> FloatArray:
        """log(measured / model) over its standard deviation, [visits]."""
        result: FloatArray = np.log(self.visits.area_mm2 / self.predicted_mm2) / self.sigma
        return result

    def contains(self, truth: Mapping[str, float], sigmas: float = 2.0) -> bool:
        """Whether a point lies in the joint band with the probability of so many sigmas, see `excess`. One run.

        >>> fitted.only.contains(fitted.only.values)
        True
        """
        stats = needed("scipy.stats", "a joint band")
        inside = 2 * stats.norm.cdf(sigmas) - 1
        return bool(self.excess(truth) <= stats.chi2.ppf(inside, len(self.names)))

    def excess(self, values: Mapping[str, float]) -> float:
        """How much less probable a point is than the most probable one: twice the fall of the logarithm of the posterior.

        For the truth it follows nearly a chi-squared distribution with as many degrees of freedom as there are
        parameters, whose posterior may be bent; that of a sum over independent eyes adds the degrees. One run;
        infinity where it fails.

        >>> abs(fitted.only.excess(fitted.only.values)) < 1e-6
        True
        """
        z = np.array([self.response.priors[name].scaled(values[name]) for name in self.names])
        best = -0.5 * float(self.residuals @ self.residuals + self.z @ self.z)
        return 2 * (best - float(self.log_posterior(z)))

    def scenario(self, duration_days: float = 365.0, events: Sequence[Mapping[str, Any]] = ()) -> Scenario:
        """The base with the most probable values.

        >>> fitted.only.scenario(90).duration_days
        90
        """
        return self.response.scenario(self.z.tolist(), duration_days, events)

    def sample(self, count: int, *, seed: int, method: str = "laplace", most_runs: int = 5000) -> PosteriorSamples:
        """Samples of the posterior with what tells how far they can be trusted: ``samples.z`` [count, parameters].

        "laplace": from the normal approximation, no runs. "metropolis": from the posterior itself, by
        independent proposals about it (count + 50 runs). "emcee": by the package emcee, until the chains are 50
        autocorrelation times long or `most_runs` runs are done; `count` samples are taken evenly from them.
        "hamiltonian": along exact gradients, by the package mici, until there are `count` effective samples of every
        parameter or another draw might take more than `most_runs` runs with derivatives.
        ArgumentError for a method that there is not, and where chains may take fewer runs than the shortest ones need.
        `samples.flags` says when they should not be trusted, and ``samples.values`` has the parameters.

        >>> samples = fitted.only.sample(50, seed=1)
        >>> samples.values["opening.size"].shape
        (50,)
        """
        rng = np.random.default_rng(seed)
        if method == "laplace":
            z = rng.multivariate_normal(self.z, self.covariance, size=count, method="cholesky")
            return PosteriorSamples(self.response.priors, z, method)
        if method == "metropolis":
            chain, accepted, runs = independence_chain(self.log_posterior, self.z, self.covariance, count, rng)
            return PosteriorSamples(self.response.priors, chain, method, chain[None], accepted, runs)
        if method == "emcee":
            chains, accepted, runs, time = ensemble_chains(
                self.log_posterior, self.z, self.covariance, rng, most_runs=most_runs
            )
            z = thinned(chains, count)
            return PosteriorSamples(self.response.priors, z, method, chains, accepted, runs, time)
        if method == "hamiltonian":
            chains, accepted, runs = hamiltonian_chains(
                self.log_posterior_and_gradient, self.z, self.covariance, rng, wanted=count, most_runs=most_runs
            )
            return PosteriorSamples(self.response.priors, thinned(chains, count), method, chains, accepted, runs)
        raise ArgumentError(f'method is {method!r}; it must be "laplace", "metropolis", "emcee" or "hamiltonian"')

    def parameters_of(self, samples: FloatArray | PosteriorSamples) -> dict[str, FloatArray]:
        """The parameters of scaled samples, each [count].

        >>> fitted.only.parameters_of(np.zeros((1, 2)))["opening.size"]
        array([1.])
        """
        table = np.asarray(samples)
        return {
            name: np.asarray(prior.value(table[:, i])) for i, (name, prior) in enumerate(self.response.priors.items())
        }

    def profile(self, name: str, points: int = 9, sigmas: float = 3.0) -> Profile:
        """The profile of one parameter over so many sigmas about its estimate; the others are free.

        >>> fitted.only.profile("opening.size", points=3).excess.min() >= 0
        True
        """
        if name not in self.names:
            raise ArgumentError(f"{name} is not free; free are {', '.join(self.names)}")
        i = self.names.index(name)
        sd = float(np.sqrt(self.covariance[i, i]))
        held = self.z[i] + np.linspace(-sigmas, sigmas, points) * sd
        costs = []
        for value in held:
            start = self.z + self.covariance[:, i] / self.covariance[i, i] * (value - self.z[i])
            costs.append(most_probable(self.response, self.visits, self.sigma, start, {i: float(value)}).cost)
        best = min(*costs, cost_at(self.response, self.visits, self.sigma, self.z))
        values = np.asarray(self.response.priors[name].value(held))
        return Profile(name, values, np.array(costs) - best)

    def forecast(
        self,
        days: Iterable[float],
        *,
        events: Sequence[Mapping[str, Any]] = (),
        draws: int = 64,
        seed: int = 0,
        method: str = "laplace",
    ) -> Forecast:
        """The opening on the given days, as a band over posterior samples; `events` come on top of the base's.

        >>> fitted.only.forecast([30, 60], draws=4).median_mm2.shape
        (2,)
        """
        at = np.array(sorted({float(day) for day in days}))
        if len(at) == 0 or not np.isfinite(at).all() or at[0] < 0:
            raise ArgumentError("a forecast needs days, finite and from 0 on")
        samples = self.sample(draws, seed=seed, method=method)
        found = self.response.many_with_smallest(samples.z, at, events)
        cuts = any("relaxing_cuts" in event for event in [*events, *self.response.base.to_dict()["events"]])
        return Forecast(at, found[:, 0], float(np.median(self.sigma)), cuts, smallest_mm2=found[:, 1])

    def effect_of(
        self,
        events: Sequence[Mapping[str, Any]],
        days: Iterable[float],
        *,
        draws: int = 32,
        seed: int = 0,
        method: str = "laplace",
    ) -> Effect:
        """What events would change, ``[{"day": 200, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": 0.75}}]``:
        the same samples with and without them. Without means after the last day: the mesh, which has lines
        where cuts will be, is the same, and nothing but the events differs.

        >>> cuts = {"hours": [12, 6], "length_mm": 0.5}
        >>> fitted.only.effect_of([{"day": 30, "relaxing_cuts": cuts}], [60], draws=4).gain_mm2.shape
        (1,)
        """
        wanted = list(days)
        return Effect(
            self.forecast(
                wanted, events=_after(events, max(wanted, default=0.0)), draws=draws, seed=seed, method=method
            ),
            self.forecast(wanted, events=events, draws=draws, seed=seed, method=method),
        )

    def log_posterior(self, z: FloatArray) -> Any:
        """Logarithm of the posterior, up to a constant, at scaled parameters: a number for [parameters], an array for
        [rows, parameters]; -inf where a run fails. One run for each row.

        log p(z) = -1/2 sum ((log measured - log model(z)) / sigma)^2 - 1/2 sum z^2

        >>> best = fitted.only.z
        >>> fitted.only.log_posterior(best) > fitted.only.log_posterior(best + 1)
        True
        """
        table = np.atleast_2d(np.asarray(z, dtype=np.float64))
        areas = self.response.many(table, self.visits.day)
        with np.errstate(invalid="ignore"):
            misfit = (((np.log(self.visits.area_mm2) - np.log(areas)) / self.sigma) ** 2).sum(axis=1)
        found: FloatArray = np.where(np.isfinite(misfit), -0.5 * (misfit + (table**2).sum(axis=1)), -np.inf)
        return float(found[0]) if np.ndim(z) == 1 else found

    def log_posterior_and_gradient(self, z: FloatArray) -> tuple[float, FloatArray]:
        """`log_posterior` and its derivative by each scaled parameter, [parameters], exact, from one run with its
        derivatives; -inf and zeros where the run fails.

        >>> value, gradient = fitted.only.log_posterior_and_gradient(fitted.only.z)
        >>> bool(abs(gradient).max() < 0.5), gradient.shape
        (True, (2,))
        """
        at = np.asarray(z, dtype=np.float64)
        areas, slopes = self.response.areas_and_slopes(at, self.visits.day)
        if not (np.isfinite(areas).all() and np.isfinite(slopes).all()):
            return -np.inf, np.zeros(len(at))
        residual = (np.log(self.visits.area_mm2) - np.log(areas)) / self.sigma
        gradient: FloatArray = (slopes / areas[:, None] / self.sigma[:, None]).T @ residual - at
        return -0.5 * float(residual @ residual + at @ at), gradient

    def log_posterior_gradient(self, z: FloatArray) -> FloatArray:
        """The derivative alone, see `log_posterior_and_gradient`.

        >>> fitted.only.log_posterior_gradient(fitted.only.z).shape
        (2,)
        """
        return self.log_posterior_and_gradient(z)[1]

    def _flags(self) -> list[FitFlag]:
        flags = []
        sd = np.sqrt(np.diag(self.covariance))
        for i, name in enumerate(self.names):
            if sd[i] > _TOLD_LITTLE:
                flags.append(
                    FitFlag(
                        "data_do_not_tell",
                        name,
                        f"the data hardly tell {name}: its uncertainty is {100 * sd[i]:.0f} % "
                        "of what it was before; the value is that of the prior",
                    )
                )
            if abs(self.z[i]) > 3:
                flags.append(
                    FitFlag(
                        "far_from_prior",
                        name,
                        f"{name} is {abs(self.z[i]):.1f} standard deviations from what was held likely before the data",
                    )
                )
            for j in range(i):
                if abs(self.correlation[i, j]) > _ALIKE:
                    flags.append(
                        FitFlag(
                            "strong_correlation",
                            name,
                            f"the data tell {name} and {self.names[j]} together only "
                            f"(correlation {self.correlation[i, j]:.2f})",
                        )
                    )
        count, last, first = len(self.visits), float(self.visits.day[-1]), float(self.visits.day[0])
        if count < len(self.names) + 1:
            flags.append(
                FitFlag("few_visits", "", f"{count} visits for {len(self.names)} parameters: the priors decide")
            )
        if last < 60:
            flags.append(
                FitFlag(
                    "short_follow_up",
                    "",
                    f"the last visit is on day {last:g}: most of the contraction is still to come",
                )
            )
        if first > 7:
            flags.append(
                FitFlag("start_unknown", SIZE, f"the first visit is on day {first:g}: the opening on day 0 is a guess")
            )
        misfit = float((self.residuals**2).sum())
        if not np.isfinite(misfit) or misfit > count + 4 * np.sqrt(2 * count):  # four sigmas of a chi-square
            flags.append(
                FitFlag(
                    "poor_fit",
                    "",
                    f"the model does not describe this eye: squared residuals sum to {misfit:.3g} for {count} visits",
                )
            )
        if not self.converged:
            flags.append(FitFlag("not_converged", "", "the search for the most probable values did not converge"))
        return flags

    def __str__(self) -> str:
        width = max(map(len, self.names))
        lines = [f"{self.eye_id}: {len(self.visits)} visits, day {self.visits.day[0]:g} to {self.visits.day[-1]:g}"]
        if self.not_used:
            reasons = ", ".join(f"{count} {reason}" for reason, count in self.not_used.items())
            lines[0] += f" ({len(self.visits) + sum(self.not_used.values())} in all; not used: {reasons})"
        for name, e in self.estimates.items():
            lines.append(
                f"  {name:<{width}}  {e.value:>9.4g}  ({e.low:.4g} to {e.high:.4g}; before the data {e.prior_low:.4g} "
                f"to {e.prior_high:.4g})"
            )
        return "\n".join(lines + [f"  ! {flag}" for flag in self.flags])

    def __repr__(self) -> str:
        return f"<capsim.EyeFit\n{self}>"


def fit_eye(
    eye_id: str, visits: Visits, response: Response, sigma: FloatArray, start: FloatArray | None = None
) -> EyeFit:
    """The most probable parameters of one eye."""
    first = np.zeros(len(response.priors)) if start is None else start
    found = most_probable(response, visits, sigma, first)
    return EyeFit(eye_id, visits, response, sigma, found.z, found.converged, found.jacobian, found.predicted_mm2)


def _after(events: Sequence[Mapping[str, Any]], last_day: float) -> list[dict[str, Any]]:
    """The same events, as far from one another, none before the day after `last_day`."""
    delay = max(0.0, last_day + 1 - min((float(event["day"]) for event in events), default=0.0))
    return [{**event, "day": float(event["day"]) + delay} for event in events]
