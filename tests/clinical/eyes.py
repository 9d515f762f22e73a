# SPDX-License-Identifier: BSD-3-Clause
"""Runs of many eyes, and their averages over a spread of openings and contraction strengths.

The contraction strength (`amplitude`) is log-normal between eyes, so an average needs runs on a grid of
its logarithm only; median and spread can then change without a further run. The opening's
diameter differs between eyes with a standard deviation of 0.3 mm about 5.25 mm (assumed; cohorts give
initial areas between 21.6 and 23.1 mm2), taken at three Gauss-Hermite points.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field
from typing import Any

import capsim
import numpy as np
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.stats import norm

Array = NDArray[np.float64]

DIAMETER_MM, DIAMETER_SD_MM = 5.25, 0.3
AREA_ERROR = 0.03  # of one measurement, relative; assumed
_POOL = ThreadPoolExecutor()
_THREE = ((-math.sqrt(3), 1 / 6), (0.0, 2 / 3), (math.sqrt(3), 1 / 6))  # Gauss-Hermite, for a standard normal number
_Z, _W = np.polynomial.hermite_e.hermegauss(31)
_W = _W / _W.sum()


@dataclass(frozen=True)
class Law:
    """What has to be known of a contraction law to calibrate it."""

    name: str
    amplitude: str
    """Path of the field that is proportional to the pull."""
    amplitudes: tuple[float, float]
    """Range of the grid."""
    most: float
    """Largest value that a drawn eye may have."""
    rates: tuple[str, str]
    """The two fields that set the time course ..."""
    first_rates: tuple[float, float]
    """... and where the fit starts."""
    chosen: Mapping[str, float] = field(default_factory=dict)
    """Fields of this law that are set and not fitted ..."""
    why: str = ""
    """... and why."""


def scenario(settings: Mapping[str, Any]) -> capsim.Scenario:
    """The default eye on the coarse mesh with fields, given by path, set."""
    tree: dict[str, Any] = {
        "format": "capsim-scenario",
        "version": 1,
        "duration_days": 365,
        "output_every_days": 7,
        "mesh": {"level": "coarse"},
        "opening": {"measured_under": "own_zonule"},  # as the populations were fitted
    }
    for path, value in settings.items():
        section, _, key = path.partition(".")
        if not key:
            tree[section] = value
        else:
            tree.setdefault(section, {})[key] = value
    return capsim.Scenario.from_dict(tree)


def run(settings: Mapping[str, Any]) -> capsim.History:
    history = capsim.simulate(scenario(settings))
    history.raise_if_failed()
    return history


def loss_percent(history: capsim.History, start: float, end: float) -> float:
    """Area loss between two days [%]."""
    a, b = np.interp([start, end], history.day, history.opening_area_mm2)
    return float(100 * (1 - b / a))


class Cohort:
    """Eyes that differ in contraction strength, in the opening, and in the zonule if it has a spread."""

    def __init__(self, law: Law, settings: Mapping[str, Any], strength_sd: float = 0.0) -> None:
        self.log_amplitudes = np.linspace(*np.log(law.amplitudes), 10)
        jobs = []
        for at, weight in _THREE:
            diameter = DIAMETER_MM + at * DIAMETER_SD_MM
            for turn, share in _THREE if strength_sd else ((0.0, 1.0),):
                own: dict[str, Any] = {"opening.diameter_mm": diameter, **settings}
                if strength_sd:
                    logit = (
                        math.log(settings["zonule.strength"] / (1 - settings["zonule.strength"])) + turn * strength_sd
                    )
                    own["zonule.strength"] = 1 / (1 + math.exp(-logit))
                runs = [_POOL.submit(run, {**own, law.amplitude: float(a)}) for a in np.exp(self.log_amplitudes)]
                jobs.append((weight * share, own["opening.diameter_mm"], runs))
        self.columns = [(weight, diameter, [job.result() for job in runs]) for weight, diameter, runs in jobs]

    def _average(self, quantity: Any, median: float, sd: float) -> tuple[float, float, float]:
        """Mean, standard deviation and covariance with the diameter of a quantity of one run."""
        mean = square = with_diameter = 0.0
        at = np.clip(math.log(median) + sd * _Z, self.log_amplitudes[0], self.log_amplitudes[-1])
        for weight, diameter, runs in self.columns:
            values = PchipInterpolator(self.log_amplitudes, [quantity(h) for h in runs])(at)
            mean += weight * float(_W @ values)
            square += weight * float(_W @ values**2)
            with_diameter += weight * (diameter - DIAMETER_MM) * float(_W @ values)
        return mean, math.sqrt(max(square - mean**2, 0.0)), with_diameter

    def loss(self, start: float, end: float, median: float, sd: float) -> tuple[float, float]:
        """Mean and standard deviation of the measured area loss [%], its measuring error included."""
        mean, own, _ = self._average(lambda h: loss_percent(h, start, end), median, sd)
        return mean, math.hypot(own, 100 * AREA_ERROR * math.sqrt(2))

    def loss_mm2(self, start: float, end: float, median: float, sd: float) -> float:
        """Mean loss of area [mm2]."""
        return self._average(
            lambda h: -float(np.diff(np.interp([start, end], h.day, h.opening_area_mm2))[0]), median, sd
        )[0]

    def bag_loss(self, start: float, end: float, median: float, sd: float) -> float:
        """Mean loss of the bag's diameter [%]."""

        def loss(history: capsim.History) -> float:
            a, b = np.interp([start, end], history.day, history.equator_diameter_mm)
            return float(100 * (1 - b / a))

        return self._average(loss, median, sd)[0]

    def correlation_with_diameter(self, start: float, end: float, median: float, sd: float) -> float:
        """Of the measured loss with the opening's diameter."""
        _, own, covariance = self._average(lambda h: loss_percent(h, start, end), median, sd)
        return covariance / (DIAMETER_SD_MM * math.hypot(own, 100 * AREA_ERROR * math.sqrt(2)))

    def share_below(self, clear_mm: float, day: float, median: float, sd: float) -> float:
        """Share of eyes [%] whose largest clear circle is below a diameter on a day."""
        share = 0.0
        for weight, _, runs in self.columns:
            circles = np.array([np.interp(day, h.day, h.clear_circle_diameter_mm) for h in runs])
            below = circles < clear_mm
            if below.all():
                share += weight
            elif below.any():
                i = int(np.argmax(below))
                step = (circles[i - 1] - clear_mm) / (circles[i - 1] - circles[i]) if i else 0.0
                at = self.log_amplitudes[max(i - 1, 0)] + step * (self.log_amplitudes[1] - self.log_amplitudes[0])
                share += weight * float(norm.sf((at - math.log(median)) / sd))
        return 100 * share
