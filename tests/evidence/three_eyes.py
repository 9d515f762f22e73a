#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Do fits of three eyes, of both sides and with cuts in between, find the truth? Twenty synthetic sets.

    python3 tests/evidence/three_eyes.py     # with build/python on PYTHONPATH: a minute or two, writes three_eyes.json

Each set has two eyes of one invented patient, mirror images but for the opening, both cut on day 45, and the left eye of
another without cuts. Parameters are drawn from what a fit holds likely beforehand, areas have 3 % of noise, and every
eye has a scenario of its own side. A set is found when all nine parameters together lie in the joint 2-sigma band of
its fit (`EyeFit.excess`, summed over the eyes): nearly a chi-squared variable with nine degrees of freedom, which 95.45 %
of sets should pass, 19 of 20.

Beside it stands the distance of the truth in the metric of the normal approximation. Visits tell some of these eyes
little, their posteriors are bent, and the ellipsoid leaves out truths that the posterior holds likely: it
finds 17. That is no accident of the noise: of the first 51 sets it finds 41, at a mean squared distance of 10.9 instead of 9,
where the joint band finds 50, at 8.9. Nor is it the search, which ends within 0.02 standard deviations.
"""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import capsim
import numpy as np
from capsim.days import rows_on

RECORD = Path(__file__).with_suffix(".json")
SETS = 20
MODULUS, RATE, SIZE = "contraction.fibre_modulus_kPa", "contraction.tissue_per_day", "opening.size"
DAYS = np.array([1.0, 14.0, 30.0, 44.0, 46.0, 60.0, 90.0])
NOISE = 0.03
LARGEST = 17.21  # 95.45 % of a chi-squared variable with 9 degrees of freedom lie below

BASE = capsim.Scenario(
    name="invented eye",
    eye="right",
    mesh={"around": 12, "radial": 2},
    zonule={"strength": 0.3, "pull_mN": 60, "strength_by_hour": {3: 0.1}},
    opening={"diameter_mm": 4.8},
    contraction={"fibre_modulus_kPa": 300, "band_width_mm": 0.6, "signal_days": 45, "deactivation_per_day": 1 / 60},
)
CUTS = {"day": 45, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}
EYES = {
    "first, right": BASE.with_(events=[CUTS]),
    "first, left": BASE.mirrored().with_({"opening.diameter_mm": 5.0, "events": [CUTS]}),
    "second, left": BASE.mirrored().with_({"opening.center_mm": [0.2, 0.0]}),
}


def truth_of(rng: np.random.Generator) -> dict[str, float]:
    """Parameters drawn from what is held likely beforehand."""
    z = rng.standard_normal(3)
    return {MODULUS: 300 * np.exp(0.7 * z[0]), RATE: np.exp(0.7 * z[1]) / 15, SIZE: np.exp(0.1 * z[2])}


def areas_of(eye: capsim.Scenario, truth: dict[str, float], rng: np.random.Generator) -> Any:
    """What is measured on the days of the visits."""
    changes = {MODULUS: truth[MODULUS], RATE: truth[RATE], "duration_days": float(DAYS[-1]), "output_every_days": 1}
    history = capsim.simulate(eye.with_({**changes, "opening.diameter_mm": eye.opening.diameter_mm * truth[SIZE]}))
    history.raise_if_failed()
    noise = np.exp(NOISE * rng.standard_normal(len(DAYS)))
    return rows_on(history.day, history.opening_area_mm2, DAYS) * noise


def fits_of(number: int) -> tuple[capsim.Fit, dict[str, dict[str, float]]]:
    """The fits of one set, and the truth."""
    rng = np.random.default_rng([2026, number])
    truths = {name: truth_of(rng) for name in EYES}
    areas = {name: areas_of(eye, truths[name], rng) for name, eye in EYES.items()}
    cut = ["relaxing cuts" if day == 46 else "" for day in DAYS]
    visits = capsim.Visits(
        np.tile(DAYS, len(EYES)),
        np.concatenate(list(areas.values())),
        eye_id=[name for name in EYES for _ in DAYS],
        eye=["OD" if eye.eye == "right" else "OS" for eye in EYES.values() for _ in DAYS],
        event=[what for eye in EYES.values() for what in (cut if len(eye.events) else [""] * len(DAYS))],
    )
    fits = capsim.fit(visits, EYES, shared=False, workers=1)
    assert all(fit.not_used == {} and len(fit.visits) == len(DAYS) for fit in fits.values())
    return fits, truths


def distances_of(number: int) -> tuple[float, float, int]:
    """How far the truth of one set lies from its fits, by the posterior and by its normal approximation; and how many of
    the nine parameters lie in their own bands."""
    fits, truths = fits_of(number)
    excess, squared, inside = 0.0, 0.0, 0
    for name, fit in fits.items():
        excess += fit.excess(truths[name])
        away = np.array([fit.response.priors[path].scaled(truths[name][path]) for path in fit.names]) - fit.z
        squared += float(away @ np.linalg.solve(fit.covariance, away))
        inside += sum(bool(fit.estimates[path].contains(truths[name][path])) for path in fit.names)
    return excess, squared, inside


def main() -> None:
    """Runs all sets and writes the record."""
    excess, squared, inside = zip(*map(distances_of, range(SETS)))
    record = {
        "largest": LARGEST,
        "found": sum(value <= LARGEST for value in excess),
        "found_by_ellipsoid": sum(value <= LARGEST for value in squared),
        "parameters_in_their_bands": sum(inside),
        "excess": excess,
        "squared_distance": squared,
    }
    RECORD.write_text(json.dumps(record, indent=2) + "\n")
    print(f"the truth of {record['found']} of {SETS} sets was found")


if __name__ == "__main__":
    main()
