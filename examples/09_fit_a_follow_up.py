#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""9. Fit a follow-up: what do the visits of one eye tell, and what do they not?

    log(measured area) = log(model area) + noise         few parameters, each with a prior

    area |o  o                     three are free: how much (modulus of the fibres), how fast (rate at
         |      o                  which tissue is laid down), and the opening on day 0, which nobody
         |          o   o     o    measured exactly
         +-------------------- t

The eye has tissue under the rim alone, so that one modulus says how much. The last fit asks for something
that areas can't tell, and is told so.

Run:  python 09_fit_a_follow_up.py [VISITS.csv] [-o FOLDER] [--small]      (needs SciPy)
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
NOISE_PERCENT = 3.0


def main(arguments: Sequence[str] | None = None) -> dict[str, capsim.Fit]:
    """Fits the visits; prints estimates, flags and a profile; returns the fit, and the one that asks for too much."""
    parser = argparse.ArgumentParser(description="What do the visits of one eye tell?")
    parser.add_argument(
        "visits", nargs="?", type=Path, default=HERE / "follow_up.csv", help="visits (default: an invented eye)"
    )
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh and few samples, for trying out")
    options = parser.parse_args(arguments)
    visits = capsim.read_visits(options.visits)
    print(visits)
    # All that is known of the eye; the fit changes what is free.
    base = capsim.Scenario(
        name="Invented eye",
        opening={"diameter_mm": 4.7},
        zonule={"pull_mN": 30, "strength": 0.2},
        contraction={"band_width_mm": 0.6, "chronic_signal": 0.15},
        mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"},
    )

    fit = capsim.fit(visits, base, noise_percent=NOISE_PERCENT)
    print(fit)
    eye = fit.only
    print(f"\n{'day':>5}  {'measured mm2':>12}  {'model mm2':>9}  {'residual sd':>11}")
    for day, measured, model, residual in zip(eye.visits.day, eye.visits.area_mm2, eye.predicted_mm2, eye.residuals):
        print(f"{day:5.0f}  {measured:12.2f}  {model:9.2f}  {residual:11.1f}")

    profile = eye.profile("contraction.fibre_modulus_kPa", points=3 if options.small else 9)
    low, high = profile.interval()
    print(f"\nWith the other parameters free, the modulus lies between {low:.0f} and {high:.0f} kPa (2 sigma).")

    print("\nAnd how long does remodelling take?")
    too_much = capsim.fit(
        visits,
        base,
        free=["contraction.fibre_modulus_kPa", "contraction.remodelling_days"],
        noise_percent=NOISE_PERCENT,
    )
    print(f"{too_much}\n")
    for caution in fit.cautions:
        print(textwrap.fill(caution, 100))

    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        picture(eye, fit.cautions, 16 if options.small else 64).savefig(options.output / "fit.png", dpi=110)
    return {"fit": fit, "too much": too_much}


def picture(eye: capsim.EyeFit, cautions: Sequence[str], draws: int) -> Any:
    """The visits, and the fitted model with its band."""
    days = np.linspace(0, float(eye.visits.day.max()), 16)
    model = eye.forecast(days, draws=draws, seed=1)
    figure, (axes,) = capsim.plot.panels("Invented eye: six visits and the fitted model", cautions, width_in=6.4)
    axes.fill_between(days, *model.band_mm2(0.9), color="#56B4E9", alpha=0.4, label="model, 9 of 10 samples")
    axes.plot(days, model.median_mm2, color="#0072B2", label="model, middle")
    axes.errorbar(
        eye.visits.day,
        eye.visits.area_mm2,
        NOISE_PERCENT / 100 * eye.visits.area_mm2,
        fmt="o",
        color="#000000",
        label=f"visits, {NOISE_PERCENT:g} % error",
    )
    axes.set(xlabel="days after surgery", ylabel="area of the opening [mm²]", ylim=(0, 21))
    axes.legend(frameon=False)
    return figure


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
