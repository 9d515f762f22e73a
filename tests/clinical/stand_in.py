# SPDX-License-Identifier: BSD-3-Clause
"""Eyes without mechanics: what someone says who has read the `calibrate` rows and nothing else.

    loss of eye i by day t = median exp(sd z_i) g(t)

z_i are the normal quantiles of the eyes, g the time course of TEH03 from day 1 (0) to month 6 (1), flat after. Median
and spread of normal eyes are those that fit the five means and two spreads to which the contraction laws
are fitted, with the same weights; silicone, polishing and pseudoexfoliation have medians of their own, the last one
a spread too, from the rows that fix them in the model. Size of the opening, zonule, ring, haptics and cuts change no
opening here. The bag loses MZ05-NONE's and TEH03's loss (their geometric mean), with a ring of any size MZ05-CTR's.

A model that is right where this is right has shown nothing about its mechanics: see scoreboard.py.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from functools import cache

import numpy as np
from arms import ARMS, EYES, Eyes, diameters, van_der_corput
from cohorts import row
from eyes import AREA_ERROR, DIAMETER_MM, DIAMETER_SD_MM
from fitted_rows import BETWEEN_STUDIES, LASER_CLEAR_MM, MONTH, PERCENT, UNKNOWN_SD, published_shape
from numpy.typing import NDArray
from scipy.interpolate import PchipInterpolator
from scipy.optimize import brentq, least_squares
from scipy.stats import norm

Array = NDArray[np.float64]

NAME = "no mechanics"
MOST = 0.95
"""An eye loses no more than this share of its opening."""
_QUANTILES = norm.ppf((np.arange(400) + 0.5) / 400)


@cache
def _course() -> PchipInterpolator:
    one, three = published_shape()
    return PchipInterpolator([1 / MONTH, 1, 3, 6], [0, one, three, 1])


def course(months: float) -> float:
    """Share of the loss at month 6 that is reached."""
    return float(_course()(min(max(months, 1 / MONTH), 6)))


def share_lost(amplitude: Array, months: float) -> Array:
    """Of the area on day 0."""
    lost: Array = np.minimum(amplitude * course(months), MOST)
    return lost


def loss(amplitude: Array, start: float, end: float) -> Array:
    """Area loss between two times [%]."""
    found: Array = 100 * (1 - (1 - share_lost(amplitude, end)) / (1 - share_lost(amplitude, start)))
    return found


def amplitudes(median: float, sd: float) -> Array:
    drawn: Array = median * np.exp(sd * _QUANTILES)
    return drawn


def _area_mm2() -> float:
    return math.pi / 4 * (DIAMETER_MM**2 + DIAMETER_SD_MM**2)


@cache
def normal() -> tuple[float, float]:
    """Median and spread: five means, two spreads."""
    noise = 100 * AREA_ERROR * math.sqrt(2)
    means = [
        ("HAY98RP-CTL", row("HAY98RP-CTL", "calibrate", "area", "6").value, 13.5, 1 / MONTH, 6.0, 47),
        ("HAY01-ACR", row("HAY01-ACR", "calibrate", "area").value, None, 3 / MONTH, 6.0, 100),
        ("HAN06-CTL", row("HAN06-CTL", "calibrate", "area").value, None, 7 / MONTH, 3.0, 50),
        ("CHO18-C", PERCENT["CHO18-C"][0], PERCENT["CHO18-C"][1], 7 / MONTH, 2.0, 79),
    ]
    area = row("COC99-PMMA", "calibrate").value

    def residuals(p: Array) -> list[float]:
        drawn = amplitudes(math.exp(p[0]), p[1])
        out = []
        for _, mean, spread, start, end, eyes in means:
            lost = loss(drawn, start, end)
            out.append((lost.mean() - mean) / math.hypot((spread or UNKNOWN_SD) / math.sqrt(eyes), BETWEEN_STUDIES))
            if spread:
                error = math.hypot(spread / math.sqrt(2 * eyes), 1.0)
                out.append((math.hypot(lost.std(), noise) - spread) / error)
        lost_mm2 = 0.01 * loss(drawn, 1 / MONTH, 4.9).mean() * _area_mm2()
        return [*out, (lost_mm2 - area) / (0.22 * math.hypot(UNKNOWN_SD / math.sqrt(32), BETWEEN_STUDIES))]

    found = least_squares(residuals, [math.log(0.05), 1.0], bounds=([-8, 0.2], [0, 2.5]))
    return math.exp(found.x[0]), float(found.x[1])


def _median_for(mean: Callable[[Array], float], sd: float) -> float:
    """The median with which a mean that grows with the amplitude is zero."""
    return math.exp(brentq(lambda p: mean(amplitudes(math.exp(p), sd)), math.log(1e-4), math.log(2), xtol=1e-4))


@cache
def polished() -> tuple[float, float]:
    wanted, sd = row("HAN06-ASP", "calibrate").value, normal()[1]
    return _median_for(lambda a: loss(a, 7 / MONTH, 3).mean() - wanted, sd), sd


@cache
def silicone() -> tuple[float, float]:
    sd = normal()[1]
    area, percent = row("COC99-SIL", "calibrate").value, row("GEO01-SIL", "calibrate").value

    def mismatch(a: Array) -> float:
        return float(
            loss(a, 1 / MONTH, 4.9).mean()
            - 100 * area / _area_mm2()
            + loss(a, 1 / MONTH, 6).mean()
            - percent  # of eyes with a ring
        )

    return _median_for(mismatch, sd), sd


@cache
def pseudoexfoliation() -> tuple[float, float]:
    """Mean loss at month 6, and the share of eyes below LASER_CLEAR_MM, which is fixed by the spread."""
    published = row("HAY98PE-PE", "calibrate")
    below = 1 - (LASER_CLEAR_MM / DIAMETER_MM) ** 2

    def median(sd: float) -> float:
        return _median_for(lambda a: loss(a, 1 / MONTH, 6).mean() - published.value, sd)

    def lasered(sd: float) -> float:
        return 100 * float(norm.sf((math.log(below) - math.log(median(sd))) / sd)) - published.laser_percent

    sds = np.linspace(0.2, 1.5, 27)
    at = int(np.argmin([abs(lasered(sd)) for sd in sds]))
    return median(sds[at]), float(sds[at])


@cache
def bag(ring: bool) -> float:
    """Median loss of the bag's diameter at month 6, as a share."""
    if ring:
        published = row("MZ05-CTR", "calibrate").value
        lost = 0.23  # median loss within an eye [mm]; see the row's notes
        return lost / (published + lost) / course(3)
    none, lost = row("MZ05-NONE", "calibrate").value, 0.38
    first, last = (row("TEH03", "calibrate", "BAG", m).value for m in ("0.033", "6"))
    return math.sqrt(lost / (none + lost) / course(3) * (1 - last / first))


KINDS: dict[str, Callable[[], tuple[float, float]]] = {
    "age_related_cataract": normal,
    "polished_rim": polished,
    "silicone_lens": silicone,
    "pseudoexfoliation": pseudoexfoliation,
}


class Silent(LookupError):
    """Nothing was read of this."""


class StandIn(Eyes):
    """The eyes of one arm without mechanics."""

    def __init__(self, arm: str) -> None:
        population, changes = ARMS[arm]
        median, sd = KINDS[population]()
        relative = np.exp(sd * norm.ppf(van_der_corput(EYES, 2)))
        self.amplitude = median * relative
        self.bag_amplitude = bag("tension_ring" in changes) * relative
        self.diameters = diameters()

    def at(self, series: str, months: float) -> Array:
        kept = 1 - share_lost(self.amplitude, months)
        values: dict[str, Array] = {
            "opening_area_mm2": math.pi / 4 * self.diameters**2 * kept,
            "opening_diameter_mm": self.diameters * np.sqrt(kept),
            "clear_circle_diameter_mm": self.diameters * np.sqrt(kept),
            "equator_diameter_mm": 10 * (1 - np.minimum(self.bag_amplitude * course(months), MOST)),
        }
        if series not in values:
            raise Silent(series)
        return values[series]
