# SPDX-License-Identifier: BSD-3-Clause
"""``fit``: from the visits of an eye to its parameters, and on to a forecast."""

from __future__ import annotations

import argparse
import json
from typing import Any

import numpy as np

from .. import calibration
from ..calibration.fit import default_free
from ..errors import ScenarioError
from ..follow_up import VisitsError, read_visits
from ..population import Population, population
from ..scenario import Scenario
from .arguments import add_changes, must_be_writable, pair_of, scenario_of
from .exit_codes import OK, CommandError
from .report import wrapped

NAME, SUMMARY = "fit", "estimate parameters from follow-up visits, and forecast"
DESCRIPTION = """Fits a scenario to the visits in a text table or JSON file and shows each parameter with its band, what the
data can't tell, and a forecast.

  python -m capsim fit visits.csv eye.json --forecast 180,365 --threshold-diameter-mm 4 -o fit.json

With --population the eye is fitted and forecast once more under each other contraction law that the population was
fitted for: what differs is what the choice of the law decides.

Columns of the visits: day (or date and surgery_date), area_mm2 or diameter_mm or ...; see capsim.read_visits."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("visits", help="visits (a text table or JSON)")
    parser.add_argument("scenario", help="scenario file (JSON): all that is known of the eye; a coarse mesh will do")
    add_changes(parser)
    parser.add_argument(
        "--free",
        metavar="PATH",
        action="append",
        help="parameter to estimate, may be repeated (default: contraction strength and rate of the law, "
        f"{', '.join(calibration.DEFAULT_FREE['fibre_remodelling'])})",
    )
    parser.add_argument(
        "--prior",
        metavar="PATH=LOW,HIGH",
        action="append",
        default=[],
        help="95 %% of what is held likely before the data; may be repeated",
    )
    parser.add_argument(
        "--population", metavar="NAME", help="hold likely, before the data, what a population of the library spreads"
    )
    parser.add_argument(
        "--noise-percent",
        type=float,
        default=3.0,
        metavar="P",
        help="standard deviation of a measured area (default: %(default)s)",
    )
    parser.add_argument("--eye", metavar="SIDE", help="right or left (OD or OS), where the file does not say")
    parser.add_argument("--surgery-date", metavar="DATE", help="2024-03-12, where the file has dates but not this one")
    parser.add_argument("--optic-diameter-mm", type=float, metavar="MM", help="scale of outlines traced in pixels")
    parser.add_argument("--ruler", choices=["capsule", "outside_eye"], help="where a scale mm_per_px comes from")
    parser.add_argument("--forecast", metavar="DAY,DAY,...", help="forecast the opening on these days")
    parser.add_argument(
        "--threshold-diameter-mm", type=float, metavar="MM", help="with the chance that it gets smaller than this"
    )
    parser.add_argument(
        "--draws", type=int, default=64, metavar="N", help="samples of a forecast (default: %(default)s)"
    )
    parser.add_argument(
        "-o", "--output", metavar="FIT.json", help="write estimates, covariance, flags and forecasts to this file"
    )


def execute(options: argparse.Namespace) -> int:
    base = scenario_of(options.scenario, options.changes)
    must_be_writable(options.output, [options.visits, options.scenario])
    days = _days(options.forecast)
    if options.threshold_diameter_mm is not None and days is None:
        raise CommandError("--threshold-diameter-mm needs --forecast")
    try:
        visits = read_visits(
            options.visits,
            eye=options.eye,
            surgery_date=options.surgery_date,
            optic_diameter_mm=options.optic_diameter_mm,
            ruler=options.ruler,
        )
        given: dict[str, Any] = dict(pair_of(text, "--prior") for text in options.prior)
        group = None if options.population is None else population(options.population)
        free = options.free or list(default_free(base))
        priors = given if group is None else {**_known(group, base, free), **given}
        found = calibration.fit(visits, base, free, priors, noise_percent=options.noise_percent)
        others: dict[str, calibration.Fit] = {}
        if group is not None and days is not None:
            for law, scenario in list(group.under_every_law(base).items())[1:]:
                there = group.paths_under(free, base, law)
                priors = {
                    **_known(group, scenario, there),
                    **{path: prior for path, prior in given.items() if path in there},
                }
                others[law] = calibration.fit(visits, scenario, there, priors, noise_percent=options.noise_percent)
    except ScenarioError as error:
        raise CommandError(f"{options.scenario}: {error}") from None
    except (VisitsError, ValueError) as error:
        raise CommandError(str(error)) from None
    print(found)
    record: dict[str, Any] = {"format": "capsim-fit", "version": 1, "base": base.to_dict(), "eyes": {}}
    for name, eye in found.items():
        record["eyes"][name] = _plain(eye)
        if days is not None:
            record["eyes"][name]["forecast"] = _shown(
                f"{name}: forecast", eye.forecast(days, draws=options.draws), options.threshold_diameter_mm
            )
            for law, other in others.items():
                record["eyes"][name].setdefault("forecast_under", {})[law] = _shown(
                    f"{name}: forecast under the contraction law {law}",
                    other[name].forecast(days, draws=options.draws),
                    options.threshold_diameter_mm,
                )
    record["notices"] = found.notices
    record["cautions"] = found.cautions
    print()
    for caution in found.cautions:
        print(wrapped(caution))
    if options.output is not None:
        with open(options.output, "w", encoding="utf-8") as file:
            json.dump(record, file, indent=2)
            file.write("\n")
        print(f"\nwritten to {options.output}")
    return OK


def _days(text: str | None) -> list[float] | None:
    if text is None:
        return None
    try:
        days = [float(part) for part in text.split(",")]
    except ValueError:
        raise CommandError(f"--forecast {text}: give days, such as 90,180,365") from None
    if any(day < 0 or not np.isfinite(day) for day in days):
        raise CommandError(f"--forecast {text}: days are numbers from 0 on")
    return days


def _known(group: Population, base: Scenario, free: list[str]) -> dict[str, Any]:
    """What the population spreads, of what is free."""
    return {path: prior for path, prior in group.priors(base).items() if path in free}


def _shown(title: str, forecast: calibration.Forecast, threshold_diameter_mm: float | None) -> dict[str, Any]:
    """Prints a forecast; what the record keeps of it."""
    chance = None if threshold_diameter_mm is None else forecast.chance_below(diameter_mm=threshold_diameter_mm)
    print(f"\n{title}\n{forecast}")
    if chance is not None:
        print(
            f"chance of a diameter below {threshold_diameter_mm:g} mm: "
            + ", ".join(f"{100 * c:.0f} % by day {day:g}" for day, c in zip(forecast.day, chance))
        )
    return _forecast(forecast, chance)


def _plain(eye: calibration.EyeFit) -> dict[str, Any]:
    return {
        "estimates": {name: dict(estimate.__dict__) for name, estimate in eye.estimates.items()},
        "correlation": eye.correlation.tolist(),
        "flags": [dict(flag.__dict__) for flag in eye.flags],
        "visits": {
            "day": eye.visits.day.tolist(),
            "area_mm2": eye.visits.area_mm2.tolist(),
            "model_area_mm2": eye.predicted_mm2.tolist(),
        },
        "not_used": eye.not_used,
        "converged": eye.converged,
    }


def _forecast(forecast: calibration.Forecast, chance: Any | None) -> dict[str, Any]:
    low, high = forecast.band_mm2(0.9)
    record = {
        "day": forecast.day.tolist(),
        "median_mm2": forecast.median_mm2.tolist(),
        "low_mm2": low.tolist(),
        "high_mm2": high.tolist(),
        "level": 0.9,
        "samples": len(forecast.areas_mm2),
        "failed": forecast.failed,
    }
    return record if chance is None else {**record, "chance_below_threshold": chance.tolist()}
