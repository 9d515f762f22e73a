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
from ..errors import ArgumentError
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


def default_free(base: Scenario) -> tuple[str, ...]:
    """What is fitted when nobody says what; raises `ArgumentError` where nothing is chosen for the base's law."""
    if base.contraction.law not in DEFAULT_FREE:
        raise ArgumentError(f"say what is free: nothing is chosen for the contraction law {base.contraction.law!r}")
    return DEFAULT_FREE[base.contraction.law]


class Fit(Mapping[str, EyeFit]):
    """The fits of all eyes by their names, and what they share.

    >>> list(fitted)  # the eyes
    [...]
    """

    def __init__(
        self,
        eyes: dict[str, EyeFit],
        population: SharedLevel | None,
        left_out: dict[str, str],
        notices: Sequence[str] = (),
    ) -> None:
        self._eyes = eyes
        self.population = population
        """The shared level, None for a single eye."""
        self.left_out = left_out
        """Eyes without any visit to use, and why."""
        self.notices = list(notices)
        """What is odd about the visits or the base, but did not stop the fit."""
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
            raise ArgumentError(f"there are {len(self._eyes)} eyes; choose one: {', '.join(self._eyes)}")
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
        """The forecast of the only eye, see `EyeFit.forecast`.

        >>> fitted.forecast([60], draws=4).day
        array([60.])
        """
        return self.only.forecast(days, **options)

    def effect_of(self, events: Sequence[Mapping[str, Any]], days: Iterable[float], **options: Any) -> Effect:
        """The effect of events on the only eye, see `EyeFit.effect_of`.

        >>> cuts = {"hours": [12, 6], "length_mm": 0.5}
        >>> fitted.effect_of([{"day": 30, "relaxing_cuts": cuts}], [60], draws=4).gain_mm2.shape
        (1,)
        """
        return self.only.effect_of(events, days, **options)

    def __str__(self) -> str:
        lines = [str(eye) for eye in self._eyes.values()]
        if self.population is not None:
            lines += ["all eyes:", str(self.population)]
        lines += [f"{name}: left out, {why}" for name, why in self.left_out.items()]
        return "\n".join(lines + [f"! {notice}" for notice in self.notices])

    def __repr__(self) -> str:
        return f"<capsim.Fit\n{self}>"


def fit(
    visits: Visits,
    base: Scenario | Mapping[str, Any] | str | os.PathLike[str] | Mapping[str, Scenario],
    free: str | Sequence[str] | None = None,
    priors: Mapping[str, Prior | tuple[float, float]] | None = None,
    *,
    noise_percent: float = 3.0,
    start: str = "unknown",
    shared: bool = True,
    workers: int | None = None,
) -> Fit:
    """Estimates the free parameters of each eye from the areas at its visits.

    `base` holds all that is known of the eyes; a coarse mesh will do. One scenario stands for all eyes, or a dict has
    one for each, ``{"A right": capsim.Scenario(eye="right", ...), "A left": ...}``. `free` are dotted paths; None
    stands for those of `DEFAULT_FREE` under the base's contraction law. With
    `start` "unknown" the area on day 0 is estimated too, as the factor ``opening.size`` on the base's
    opening; with "base" the base's opening is taken as exact. `priors` give for a parameter what is
    known before the data, as a `Prior` or as a pair with 95 % between; the others lie about the
    base's value, within a factor of two either way (two thirds of the cases). `noise_percent` is
    the standard deviation of a measured area where the visit does not say.
    Several eyes are fitted with what they have in common, unless `shared` is False: each first
    alone, then once more with the level of all as its prior.

    Visits that are missing or after a laser are not used, nor are visits after relaxing cuts that the base has not;
    `EyeFit.not_used` counts them. Raises ValueError when no visit is left, when visits are of a right eye and the base
    of a left one, and when eyes that share a level have bases with different values of a free parameter without a
    prior; `ScenarioError` when a path does not exist. Results do not depend on `workers`.

    >>> fitted = capsim.fit(visits, uncut, "contraction.fibre_modulus_kPa")
    >>> fitted.estimates["contraction.fibre_modulus_kPa"].value > 0
    True
    """
    needed("scipy.optimize", "a fit")
    if start not in ("unknown", "base"):
        raise ArgumentError(f'start is {start!r}; it must be "unknown" or "base"')
    if not 0 < noise_percent < 100:
        raise ArgumentError(f"noise_percent is {noise_percent}; it must be above 0 and below 100")
    bases = _base_of_each(visits, base)
    eyes, not_used, left_out = _usable(visits, bases)
    if not eyes:
        raise ArgumentError(
            "there is no visit to use: " + "; ".join(f"{name}: {why}" for name, why in left_out.items())
        )
    shared = shared and len(eyes) > 1
    known = {name: _priors(bases[name], free, start, priors or {}) for name in eyes}
    if shared:
        _must_agree(known)
    with ThreadPoolExecutor(workers or cores(), thread_name_prefix="capsim-fit") as threads:
        inside = threads if len(eyes) == 1 else None  # of several eyes, each runs in a thread of its own

        def alone(name: str) -> EyeFit:
            response = Response(bases[name], known[name], inside)
            return fit_eye(name, eyes[name], response, _sigma(eyes[name], noise_percent))

        found = [alone(name) for name in eyes] if len(eyes) == 1 else list(threads.map(alone, eyes))
        population = shared_level_of(found, next(iter(known.values()))) if shared else None
        if population is not None:
            level = population.priors

            def again(first: EyeFit) -> EyeFit:
                common = {**known[first.eye_id], **level}
                begin = np.array([common[name].scaled(value) for name, value in first.values.items()])
                response = Response(bases[first.eye_id], common)
                return fit_eye(first.eye_id, first.visits, response, first.sigma, begin)

            found = list(threads.map(again, found))
    for eye in found:
        eye.response.threads = None  # that pool is gone
        eye.not_used = not_used[eye.eye_id]
    notices = [str(notice) for notice in visits.notices] + _side_notices(visits, bases)
    return Fit({eye.eye_id: eye for eye in found}, population, left_out, notices)


def _base_of_each(visits: Visits, base: Any) -> dict[str, Scenario]:
    """The checked scenario of each eye, which is of the same side as its visits."""
    if isinstance(base, Mapping) and base and all(isinstance(item, Scenario) for item in base.values()):
        without = [name for name in visits.eye_ids if name not in base]
        if without:
            raise ArgumentError(f"there is no base for {without[0]!r}; there are bases for {', '.join(base)}")
        bases = {name: base[name] for name in visits.eye_ids}
    else:
        one = any_scenario(base)
        bases = dict.fromkeys(visits.eye_ids, one)
    for scenario in {id(item): item for item in bases.values()}.values():
        scenario.validate()
    for name, side in _sides(visits).items():
        if side is not None and bases[name].eye not in (None, side):
            raise ArgumentError(
                f"the visits of {name!r} are of a {side} eye, but its scenario is of a {bases[name].eye} one; give the "
                f"scenario of that eye, {{{name!r}: scenario.with_(eye={side!r}), ...}}, with its own clock hours"
            )
    return bases


def _sides(visits: Visits) -> dict[str, str | None]:
    """Which side each eye is, None where no visit says."""
    found: dict[str, str | None] = dict.fromkeys(visits.eye_ids)
    for name, side in zip(visits.eye_id, visits.eye):
        found[name] = found[name] or side
    return found


def _side_notices(visits: Visits, bases: Mapping[str, Scenario]) -> list[str]:
    """Clock hours that may be on the wrong side, because nobody said which eye it is."""
    notices = []
    for name, side in _sides(visits).items():
        values = bases[name].to_dict()
        by_hour = [f"{part}.{field}" for part, field in _BY_HOUR if values[part].get(field)]
        if by_hour and bases[name].eye is None:
            known = f"its visits are of a {side} eye" if side else "nor do its visits say"
            notices.append(
                f"{name}: the scenario has clock hours ({', '.join(by_hour)}) but not which eye it is, {known}; "
                "hours are taken as the examiner sees them"
            )
    return notices


_BY_HOUR = (("zonule", "strength_by_hour"), ("contraction", "cells_left_by_hour"))


def _priors(
    base: Scenario, free: str | Sequence[str] | None, start: str, given: Mapping[str, Prior | tuple[float, float]]
) -> dict[str, Prior]:
    """What is held likely of each free parameter of an eye."""
    paths = [free] if isinstance(free, str) else default_free(base) if free is None else free
    names = tuple(dict.fromkeys([*paths, *([SIZE] if start == "unknown" else [])]))
    known = priors_for(names, base, given)
    if not known:
        raise ArgumentError("no parameter is free")
    return known


def _must_agree(known: Mapping[str, Mapping[str, Prior]]) -> None:
    """Refuses eyes that can't share a level: what is held likely before the data differs between them."""
    (first, of_first), *others = known.items()
    for name, of_eye in others:
        if list(of_eye) != list(of_first):
            raise ArgumentError(
                f"{first} and {name} have not the same free parameters, {', '.join(of_first)} and {', '.join(of_eye)}; "
                "fit them with shared=False"
            )
        for path, prior in of_eye.items():
            if prior != of_first[path]:
                raise ArgumentError(
                    f"{path} lies about {of_first[path].median:g} for {first} and about {prior.median:g} for {name}; "
                    "give one prior for it, or fit with shared=False"
                )


def _usable(
    visits: Visits, bases: Mapping[str, Scenario]
) -> tuple[dict[str, Visits], dict[str, dict[str, int]], dict[str, str]]:
    """The visits to use of each eye, how many of it are not used and why, and the eyes that are left without any."""
    eyes: dict[str, Visits] = {}
    not_used: dict[str, dict[str, int]] = {}
    left_out: dict[str, str] = {}
    for name in visits.eye_ids:
        of_eye = visits.of(name)
        cut_days = [event.day for event in bases[name].events if "relaxing_cuts" in event]
        chosen, not_used[name] = of_eye.usable_with(cut_days)
        if chosen.any():
            eyes[name] = of_eye._where(chosen)
        elif set(not_used[name]) <= {"missing"}:
            left_out[name] = "all its visits are missing"
        else:
            left_out[name] = "all its measured visits are " + " or ".join(r for r in not_used[name] if r != "missing")
    return eyes, not_used, left_out


def _sigma(visits: Visits, noise_percent: float) -> NDArray[np.float64]:
    """Standard deviation of the logarithm of each measured area, such that the area's own is what was said."""
    said = np.where(np.isfinite(visits.sd_percent), visits.sd_percent, noise_percent)
    return np.asarray(np.sqrt(np.log1p((said / 100) ** 2)), dtype=np.float64)
