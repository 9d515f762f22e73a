# SPDX-License-Identifier: BSD-3-Clause
"""Fitting the few parameters that follow-ups of the opening can tell."""

from __future__ import annotations

import os
from collections.abc import Iterable, Iterator, Mapping, Sequence
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..follow_up import Visits
from ..optional import needed
from ..scenario import Scenario, any_scenario
from ..sweeps.pool import cores
from .eye_fit import Estimate, EyeFit, FitFlag, fit_eye
from .forecast import Effect, Forecast
from .prior import SIZE, Prior, priors_for
from .response import Response
from .shared_level import SharedLevel, shared_level_of

DEFAULT_FREE = {
    "fibre_remodelling": ("contraction.fibre_modulus_kPa", "contraction.tissue_per_day"),
    "active_lock_in": ("contraction.active_tension_mN_per_mm", "contraction.tissue_per_day"),
}
"""For each contraction law how much, and how fast: what areas over time can tell. `contraction.remodelling_days` and
`contraction.chronic_signal` may be asked for, but change areas less than they are measured to."""


class Fit(Mapping[str, EyeFit]):
    """The fits of all eyes by their names, and what they share."""

    def __init__(self, eyes: dict[str, EyeFit], population: SharedLevel | None, left_out: dict[str, str]) -> None:
        self._eyes = eyes
        self.population = population
        """The shared level, None for a single eye."""
        self.left_out = left_out
        """Eyes without any visit to use, and why."""
        self.cautions = [_core.research_caution]
        """To be shown wherever the fit is shown."""

    def __getitem__(self, eye_id: str) -> EyeFit:
        return self._eyes[eye_id]

    def __iter__(self) -> Iterator[str]:
        return iter(self._eyes)

    def __len__(self) -> int:
        return len(self._eyes)

    @property
    def only(self) -> EyeFit:
        """The fit of the only eye; ValueError when there are several."""
        if len(self._eyes) != 1:
            raise ValueError(f"there are {len(self._eyes)} eyes; choose one: {', '.join(self._eyes)}")
        return next(iter(self._eyes.values()))

    @property
    def estimates(self) -> dict[str, Estimate]:
        """The estimates of the only eye."""
        return self.only.estimates

    @property
    def flags(self) -> list[FitFlag]:
        """The flags of the only eye."""
        return self.only.flags

    def forecast(self, days: Iterable[float], **options: Any) -> Forecast:
        """The forecast of the only eye, see `EyeFit.forecast`."""
        return self.only.forecast(days, **options)

    def effect_of(self, events: Sequence[Mapping[str, Any]], days: Iterable[float], **options: Any) -> Effect:
        """The effect of events on the only eye, see `EyeFit.effect_of`."""
        return self.only.effect_of(events, days, **options)

    def __str__(self) -> str:
        lines = [str(eye) for eye in self._eyes.values()]
        if self.population is not None:
            lines += ["all eyes:", str(self.population)]
        return "\n".join(lines + [f"{name}: left out, {why}" for name, why in self.left_out.items()])

    def __repr__(self) -> str:
        return f"<capsim.Fit\n{self}>"


def fit(
    visits: Visits,
    base: Scenario | Mapping[str, Any] | str | os.PathLike[str],
    free: Sequence[str] | None = None,
    priors: Mapping[str, Prior | tuple[float, float]] | None = None,
    *,
    noise_percent: float = 3.0,
    start: str = "unknown",
    shared: bool = True,
    workers: int | None = None,
) -> Fit:
    """Estimates the free parameters of each eye from the areas at its visits.

    `base` holds all that is known of the eyes; a coarse mesh will do. `free` are dotted paths; None
    stands for those of `DEFAULT_FREE` under the base's contraction law. With
    `start` "unknown" the area on day 0 is estimated too, as the factor ``opening.size`` on the base's
    opening; with "base" the base's opening is taken as exact. `priors` give for a parameter what is
    known before the data, as a `Prior` or as a pair with 95 % between; the others lie about the
    base's value, within a factor of two either way (two thirds of the cases). `noise_percent` is
    the standard deviation of a measured area where the visit does not say.
    Several eyes are fitted with what they have in common, unless `shared` is False: each first
    alone, then once more with the level of all as its prior.

    Visits that are missing or after a laser are not used. Raises ValueError when no visit is left,
    `ScenarioError` when a path does not exist. Results do not depend on `workers`.
    """
    needed("scipy.optimize", "a fit")
    scenario = any_scenario(base)
    scenario.validate()
    if start not in ("unknown", "base"):
        raise ValueError(f'start is {start!r}; it must be "unknown" or "base"')
    if not 0 < noise_percent < 100:
        raise ValueError(f"noise_percent is {noise_percent}; it must be above 0 and below 100")
    if free is None:
        free = DEFAULT_FREE[scenario.contraction.law]
    names = tuple(dict.fromkeys([*free, *([SIZE] if start == "unknown" else [])]))
    known = priors_for(names, scenario, priors or {})
    if not known:
        raise ValueError("no parameter is free")
    eyes, left_out = _usable(visits)
    if not eyes:
        raise ValueError("there is no visit to use: " + "; ".join(f"{name}: {why}" for name, why in left_out.items()))
    with ThreadPoolExecutor(workers or cores(), thread_name_prefix="capsim-fit") as threads:

        def alone(name: str) -> EyeFit:
            return fit_eye(name, eyes[name], Response(scenario, known), _sigma(eyes[name], noise_percent))

        if len(eyes) == 1:
            name, of_eye = next(iter(eyes.items()))
            found = [fit_eye(name, of_eye, Response(scenario, known, threads), _sigma(of_eye, noise_percent))]
        else:
            found = list(threads.map(alone, eyes))
        population = shared_level_of(found, known) if shared and len(found) > 1 else None
        if population is not None:
            common = {**known, **population.priors}

            def again(first: EyeFit) -> EyeFit:
                begin = np.array([common[name].scaled(value) for name, value in first.values.items()])
                return fit_eye(first.eye_id, first.visits, Response(scenario, common), first.sigma, begin)

            found = list(threads.map(again, found))
    for eye in found:
        eye.response.threads = None  # that pool is gone
    return Fit({eye.eye_id: eye for eye in found}, population, left_out)


def _usable(visits: Visits) -> tuple[dict[str, Visits], dict[str, str]]:
    eyes: dict[str, Visits] = {}
    left_out: dict[str, str] = {}
    for name in visits.eye_ids:
        of_eye = visits.of(name)
        used = of_eye._where(of_eye.usable)
        if len(used):
            eyes[name] = used
        elif of_eye.after_laser.any():
            left_out[name] = "all its measured visits are after a laser"
        else:
            left_out[name] = "all its visits are missing"
    return eyes, left_out


def _sigma(visits: Visits, noise_percent: float) -> NDArray[np.float64]:
    said = np.where(np.isfinite(visits.sd_percent), visits.sd_percent, noise_percent)
    return np.asarray(np.log1p(said / 100), dtype=np.float64)
