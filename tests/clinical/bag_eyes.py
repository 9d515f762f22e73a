# SPDX-License-Identifier: BSD-3-Clause
"""Eyes of a population whose leaves fuse: the very eyes that the library draws, run on the coarse mesh.

Eye number i has the normal quantiles of the i-th points of van der Corput's sequences, one base for each thing that
differs (libcapsim/src/run/population.cpp draws the same), so that correlated spreads need no grid.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import capsim
import numpy as np
from arms import EYES, Array, diameters, van_der_corput
from capsim import Spread
from eyes import AREA_ERROR, loss_percent, scenario
from scipy.stats import norm

AREA_NOISE = 100 * AREA_ERROR * math.sqrt(2)
OPENINGS_BASE = 13
"""Of the diameters: the first five bases are taken by what else differs."""
MOST_WORK = 1500
"""Of one eye, in factorizations: one that closes altogether is given up after seconds."""
_POOL = ThreadPoolExecutor()
_BASES = (2, 3, 5, 7, 11)  # of what differs, in the order of the file


@dataclass(frozen=True)
class FusedLaw:
    """What has to be known of a contraction law to calibrate it."""

    name: str
    rim: str
    """Path of the field that is proportional to the pull under the rim ..."""
    bag: str
    """... and to that on the leaves outside the optic."""
    first: tuple[float, float]
    """Where the fit of the two starts."""
    most: tuple[float, float]
    """Largest values that a drawn eye may have."""
    rates: tuple[str, str]
    """The two fields that set the time course ..."""
    first_rates: tuple[float, float]
    """... and where their fit starts."""
    chosen: Mapping[str, float] = field(default_factory=dict)
    """Fields of this law that are set and not fitted ..."""
    why: str = ""
    """... and why."""


def moved(spread: Spread, middle: float, z: float) -> float:
    """The field of an eye whose normal number is z."""
    if spread.scale == "log":
        value = middle * math.exp(spread.sd * z)
    elif spread.scale == "share":
        value = 1 / (1 + (1 / middle - 1) * math.exp(-spread.sd * z))
    else:
        value = middle + spread.sd * z
    return min(max(value, spread.low), spread.high)


def in_file(spread: Spread) -> dict[str, Any]:
    """As a population's file has it."""
    entry = {k: getattr(spread, k) for k in ("path", "scale", "sd", "low", "high", "source")}
    return {**entry, "follows": spread.follows, "share": spread.share} if spread.follows else entry


def between(history: capsim.History, series: str, start: float, end: float) -> tuple[float, float]:
    """A series on two days; what an eye whose equilibrium was lost had last stays."""
    days, values = np.asarray(history.day), np.asarray(getattr(history, series))
    first, last = np.interp([start, end], days, values)
    return float(first), float(last)


def bag_loss_percent(history: capsim.History, start: float, end: float) -> float:
    """Loss of the bag's diameter between two days [%]."""
    first, last = between(history, "equator_diameter_mm", start, end)
    return 100 * (1 - last / first)


class Crowd:
    """The eyes of a population with what it sets and what differs."""

    LOST = 0.05
    """Share of the eyes whose equilibrium may be lost; they stay as they were last, or are left out without any day."""

    def __init__(self, settings: Mapping[str, Any], spreads: Iterable[Spread], eyes: int = EYES) -> None:
        spreads = list(spreads)
        quantiles = {s.path: norm.ppf(van_der_corput(eyes, base)) for s, base in zip(spreads, _BASES)}
        for s in spreads:
            if s.follows:
                quantiles[s.path] = s.share * quantiles[s.follows] + math.sqrt(1 - s.share**2) * quantiles[s.path]
        self.diameters = diameters(eyes, OPENINGS_BASE)
        jobs = []
        for i in range(eyes):
            own = {
                "duration_days": 183,
                "numerics.max_work": MOST_WORK,
                "opening.diameter_mm": float(self.diameters[i]),
                **settings,
            }
            own |= {s.path: moved(s, settings[s.path], float(quantiles[s.path][i])) for s in spreads}
            jobs.append(_POOL.submit(capsim.simulate, scenario(own)))
        histories = [job.result() for job in jobs]
        lost = sum(h.status != "completed" for h in histories)
        if lost > self.LOST * eyes:
            first = next(h for h in histories if h.status != "completed")
            raise RuntimeError(f"{lost} of {eyes} eyes did not complete; {first.message}; {settings}")
        self.histories = [h for h in histories if len(h.day)]
        self.diameters = self.diameters[[len(h.day) > 0 for h in histories]]

    def loss(self, start: float, end: float) -> Array:
        """Of the area [%], without measuring error."""
        return np.array([loss_percent(h, start, end) for h in self.histories])

    def loss_mm2(self, start: float, end: float) -> Array:
        pairs = [between(h, "opening_area_mm2", start, end) for h in self.histories]
        return np.array([first - last for first, last in pairs])

    def bag_loss(self, start: float, end: float) -> Array:
        return np.array([bag_loss_percent(h, start, end) for h in self.histories])

    def median_bag_loss(self, start: float, end: float) -> float:
        """Mean of the middle fifth: the median of eyes as few as these jumps."""
        ordered = np.sort(self.bag_loss(start, end))
        fifth = max(len(ordered) // 10, 1)
        middle = len(ordered) // 2
        return float(ordered[middle - fifth : middle + fifth].mean())

    def correlation_with_diameter(self, start: float, end: float) -> float:
        """Of the measured loss with the opening's diameter."""
        lost = self.loss(start, end)
        covariance = float(((lost - lost.mean()) * (self.diameters - self.diameters.mean())).mean())
        return covariance / (float(self.diameters.std()) * math.hypot(float(lost.std()), AREA_NOISE))

    def share_below(self, clear_mm: float, day: float) -> float:
        """Share of eyes [%] whose largest clear circle is below a diameter on a day, by a smooth count."""
        clear = np.sort([between(h, "clear_circle_diameter_mm", 0, day)[1] for h in self.histories])
        softness = 0.1  # mm: a count of few eyes jumps
        return 100 * float(norm.cdf((clear_mm - clear) / softness).mean())
