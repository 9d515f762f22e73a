#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""10. Forecast: where is this eye going, how surely, and what would relaxing cuts change?

The fitted parameters are uncertain, so that a forecast is a band: samples of them, each run to the end.

    area |o  o                         P(below a threshold by day t)
         |      o                        = share of the samples that have been below it by then
         |          o   o    o ======
         |                    ========= band
         +------------------------------ t

How cells shorten the rim is not known, so the eye is fitted and forecast under a second contraction law, too.
Both are fitted to the same visits and agree on them; where they part later, nobody knows. Neither does
anyone know from six areas where tissue lies: this eye has it under the rim alone, as in example 9.

Cuts are judged on the same samples without and with them, so that only the cuts differ.

Run:  python 10_forecast.py [VISITS.csv] [-o FOLDER] [--small]      (needs SciPy)
"""

import argparse
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import capsim
import numpy as np
from capsim.optional import exit_code_of

HERE = Path(__file__).resolve().parent
THRESHOLD_MM = 4.0
OTHER_LAW = "active_lock_in"
DAYS = (150, 180, 225, 270, 365, 450, 540)


def main(arguments: Sequence[str] | None = None) -> tuple[capsim.Forecast, dict[int, capsim.Effect]]:
    """Forecasts one eye and the effect of cuts; prints and returns both."""
    parser = argparse.ArgumentParser(description="Where is this eye going?")
    parser.add_argument(
        "visits", nargs="?", type=Path, default=HERE / "follow_up.csv", help="visits (default: an invented eye)"
    )
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh and few samples, for trying out")
    options = parser.parse_args(arguments)
    base = capsim.Scenario(
        name="Invented eye",
        opening={"diameter_mm": 4.7},
        zonule={"pull_mN": 30, "strength": 0.2},
        contraction={"band_width_mm": 0.6, "chronic_signal": 0.15},
        mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"},
    )
    visits = capsim.read_visits(options.visits)
    fit = capsim.fit(visits, base, noise_percent=3)

    draws = 16 if options.small else 128
    forecast = fit.forecast(DAYS, draws=draws, seed=1)
    print(forecast)
    under = capsim.population("age_related_cataract").under(
        base, OTHER_LAW
    )  # only the law differs: what is stated of the eye stays
    other = capsim.fit(visits, under, noise_percent=3).forecast(DAYS, draws=draws, seed=1)
    print(f"\nunder the other contraction law, {OTHER_LAW}:\n{other}")
    chance = forecast.chance_below(diameter_mm=THRESHOLD_MM)
    print(
        f"\nchance that the opening has been below {THRESHOLD_MM} mm, counted over {len(forecast.areas_mm2)} samples:"
    )
    for day, share in zip(forecast.day, chance):
        print(f"  by day {day:4.0f}: {100 * share:4.0f} %")

    effects: dict[int, capsim.Effect] = {}
    for cut_day in (160, 360):
        cuts = {"day": cut_day, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": 0.75}}
        effects[cut_day] = fit.effect_of([cuts], [180, 365, 540], draws=3 if options.small else 12, seed=1)
        print(f"\nfour cuts of 0.75 mm on day {cut_day}:\n{effects[cut_day]}")
    print()
    for caution in effects[160].cautions:  # the second one is about relaxing cuts
        print(textwrap.fill(caution, 100))

    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        picture(fit.only.visits, forecast, other, effects).savefig(options.output / "forecast.png", dpi=110)
    return forecast, effects


def picture(
    visits: capsim.Visits, forecast: capsim.Forecast, other: capsim.Forecast, effects: dict[int, capsim.Effect]
) -> Any:
    """The forecast, the chance of a small opening, and what cuts give back."""
    chance = forecast.chance_below(diameter_mm=THRESHOLD_MM)
    figure, (left, middle, right) = capsim.plot.panels(
        "Invented eye: forecast from six visits",
        effects[160].cautions,  # those of cuts, too
        ["Area of the opening [mm²]", f"Chance of having been below {THRESHOLD_MM} mm", "Gain by four cuts [mm²]"],
        width_in=4.3,
    )
    for level, shade in ((0.9, 0.2), (0.5, 0.35)):
        left.fill_between(
            forecast.day,
            *forecast.band_mm2(level),
            color="#0072B2",
            alpha=shade,
            label=f"{100 * level:.0f} % of the samples",
        )
    left.plot(forecast.day, forecast.median_mm2, color="#0072B2", label="middle")
    left.plot(other.day, other.median_mm2, color="#000000", linestyle=":", linewidth=2, label="middle, other law")
    left.plot(visits.day, visits.area_mm2, "ko", label="visits")
    left.axhline(np.pi / 4 * THRESHOLD_MM**2, color="#D55E00", linestyle="--", label=f"{THRESHOLD_MM} mm")
    left.set(ylim=(0, 21))
    left.legend(frameon=False, fontsize=8, loc="lower left")
    middle.plot(forecast.day, chance, "o-", color="#D55E00")
    middle.set(ylim=(0, 1.02), xlim=(0, None))
    for (cut_day, effect), marker, colour, shift in zip(effects.items(), "os", ("#0072B2", "#D55E00"), (-6, 6)):
        low, high = effect.gain_band_mm2()
        right.errorbar(
            effect.day + shift,
            effect.gain_mm2,
            (effect.gain_mm2 - low, high - effect.gain_mm2),
            fmt=marker,
            capsize=4,
            color=colour,
            label=f"cut on day {cut_day}",
        )
    right.set(ylim=(-0.3, None), xlim=(0, None))
    right.legend(frameon=False)
    for axes in (left, middle, right):
        axes.set_xlabel("days after surgery")
    return figure


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
