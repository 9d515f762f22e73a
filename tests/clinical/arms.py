# SPDX-License-Identifier: BSD-3-Clause
"""The arms of the trials: which population, what the trial did otherwise, and the model's runs of its eyes."""

from __future__ import annotations

from typing import Any

import capsim
import numpy as np
from capsim import population
from eyes import DIAMETER_MM, DIAMETER_SD_MM
from fitted_rows import MONTH
from numpy.typing import NDArray
from scipy.stats import norm

EYES = 64

Array = NDArray[np.float64]

ARMS: dict[str, tuple[str, dict[str, Any]]] = {
    "normal": ("age_related_cataract", {}),
    "silicone": ("silicone_lens", {}),
    "polished": ("polished_rim", {}),
    "pseudoexfoliation": ("pseudoexfoliation", {}),
    "pseudoexfoliation, ring": ("pseudoexfoliation", {"tension_ring": {}}),
    "weak zonule": ("pseudoexfoliation", {"contraction.chronic_signal": 0}),
    "weak zonule, ring": ("pseudoexfoliation", {"contraction.chronic_signal": 0, "tension_ring": {}}),
    "ring": ("age_related_cataract", {"tension_ring": {}}),
    "larger ring": ("age_related_cataract", {"tension_ring": {"free_diameter_mm": 13}}),
}
"""Arm: the population, and what the trial did otherwise."""

WHOLE_BAG = "_whole_bag"
"""End of the names of the populations whose bag contracts as a whole."""
VOICES: dict[str, tuple[str, bool]] = {
    "fibre_remodelling": ("fibre_remodelling", False),
    "active_lock_in": ("active_lock_in", False),
    "fibre_remodelling, whole bag": ("fibre_remodelling", True),
    "active_lock_in, whole bag": ("active_lock_in", True),
}
"""What speaks for the model: a contraction law, and whether the bag contracts as a whole."""


SERIES = (
    "opening_area_mm2",
    "opening_diameter_mm",
    "clear_circle_diameter_mm",
    "equator_diameter_mm",
    "zonule_load_total_mN",
)


def held(values: Array) -> Array:
    """An eye whose equilibrium was lost stays as it was last."""
    values = values.copy()
    for day in range(1, values.shape[1]):
        lost = np.isnan(values[:, day])
        values[:, day][lost] = values[:, day - 1][lost]
    return values


class Eyes:
    """The eyes of one arm, whoever speaks for them."""

    def at(self, series: str, months: float) -> Array:
        """A series of every eye at a time; 0.033 months is the first day."""
        raise NotImplementedError

    def loss(self, start: float, end: float) -> Array:
        """Area loss of every eye between two times [%], without measuring error."""
        return 100 * (1 - self.at("opening_area_mm2", end) / self.at("opening_area_mm2", start))

    def bag_loss(self, start: float, end: float) -> Array:
        """Loss of the bag's diameter [%]."""
        return 100 * (1 - self.at("equator_diameter_mm", end) / self.at("equator_diameter_mm", start))


def van_der_corput(count: int, base: int) -> Array:
    points = []
    for index in range(1, count + 1):
        value, digit = 0.0, 1 / base
        while index:
            index, rest = divmod(index, base)
            value += digit * rest
            digit /= base
        points.append(value)
    return np.array(points)


def diameters(eyes: int = EYES, base: int = 11) -> Array:
    """Of the openings of the eyes [mm], the same in every arm; a base that nothing else of the eyes has."""
    found: Array = DIAMETER_MM + DIAMETER_SD_MM * norm.ppf(van_der_corput(eyes, base))
    return found


class Arm(Eyes):
    """The model's runs of one arm."""

    def __init__(self, name: str, voice: str, eyes: int = EYES) -> None:
        population_name, changes = ARMS[name]
        law, whole_bag = VOICES[voice]
        if whole_bag:
            population_name += WHOLE_BAG
        base: dict[str, Any] = {"name": name, "duration_days": 365, "output_every_days": 7, "mesh": {"level": "coarse"}}
        base["opening"] = {"measured_under": "own_zonule"}  # as the populations were fitted
        if law != "fibre_remodelling":
            base["contraction"] = {"law": law}
        group = population(population_name)
        middle = group.typical(capsim.Scenario.from_dict({"format": "capsim-scenario", "version": 1, **base})).with_(
            changes
        )
        table = dict(group.samples(middle, eyes))
        # A base that no spread of the population has.
        table["opening.diameter_mm"] = diameters(eyes, 13 if whole_bag else 11)
        data = capsim.sweep(middle, table, layout="table", series=SERIES)
        self.failed = int((data.status != "completed").sum())
        if self.failed > 0.05 * eyes:
            raise RuntimeError(
                f"{name}: {self.failed} of {eyes} runs did not complete: {data.message.values[data.status.values != 'completed'][0]}"
            )
        self.day: Array = data.day.values
        answered = ~np.isnan(data[SERIES[0]].values[:, 0])  # an eye without a first day is left out
        self.series: dict[str, Array] = {name: held(data[name].values[answered]) for name in SERIES}

    def at(self, series: str, months: float) -> Array:
        day, values = months * MONTH, self.series[series]
        i = int(np.clip(np.searchsorted(self.day, day), 1, len(self.day) - 1))
        share = (day - self.day[i - 1]) / (self.day[i] - self.day[i - 1])
        found: Array = values[:, i - 1] + share * (values[:, i] - values[:, i - 1])
        return found
