#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""8. Sobol indices: which input drives the loss of area, the decentration, the load of the zonule?

Each input is drawn from a range, all at once, and the variance of an outcome y is split among them:

    S1_i = V(E(y | x_i)) / V(y)                    what x_i explains alone
    ST_i = 1 - V(E(y | all but x_i)) / V(y)        what it explains together with others

    x_1 ..... x_k  ->  N (k + 2) runs  ->  y  ->   S1 |####      |   ST - S1: by interaction
                                                   ST |######    |   bars: 95 % by bootstrap

Beside them stands what a few runs with exact derivatives bound, ST_i <= (b - a)^2 E(dy/dx_i)^2 / (pi^2 V(y)).
An input with a bound near 0 may be held fixed; a bound above 1 says nothing.

Estimators and samples are those of SALib. The ranges below are invented, wide but plausible; the ranking
is that of these ranges, and of this model: one with tissue under the rim alone, of which thousands
can be run in a quarter of the time that the whole bag takes.

Its picture with 3,072 runs: pictures/sobol.png.

Run:  python 08_sobol.py [-n N] [-o FOLDER] [--small]      (needs SALib, xarray, and h5py with -o)
"""

import argparse
import textwrap
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import capsim
import numpy as np
from capsim.optional import exit_code_of, needed

Study = tuple[Any, dict[str, Mapping[str, Any]]]

# What varies: the words, the range, and the values of the scenario that follow from it.
RANGES = {
    "opening diameter [mm]": (4.5, 5.6),
    "bag diameter [mm]": (9.8, 10.8),
    "capsule modulus [kPa]": (400.0, 1600.0),
    "front leaf thickness [µm]": (10.0, 18.0),
    "zonule strength": (0.2, 1.0),
    "zonule, hours 3 to 5": (0.0, 1.0),
    "fibre modulus [kPa]": (150.0, 600.0),
    "tissue laid down [1/day]": (0.03, 0.14),
    "chronic signal": (0.0, 0.3),
    "reach of cells [mm]": (0.1, 1.0),
}
OUTCOMES = {
    "area_loss_percent": "Loss of area",
    "opening_decentration_mm": "Decentration of the opening",
    "zonule_load_max_mN": "Largest load of a clock hour",
}


def changes(x: Sequence[float]) -> dict[str, Any]:
    """What one sample changes in the scenario, by path."""
    diameter, bag, modulus, thickness, strength, sector, fibres, rate, chronic, reach = (float(value) for value in x)
    return {
        "opening.diameter_mm": diameter,
        "bag.equator_diameter_mm": bag,
        "capsule.modulus_kPa": modulus,
        "capsule.anterior_thickness_um": thickness,
        "zonule.strength": strength,
        "zonule.strength_by_hour": {str(hour): strength * sector for hour in (3, 4, 5)},  # relative to the rest
        "contraction.fibre_modulus_kPa": fibres,
        "contraction.tissue_per_day": rate,
        "contraction.chronic_signal": chronic,
        "contraction.band_width_mm": reach,
    }


HOURS = [f"zonule.strength_by_hour.{hour}" for hour in (3, 4, 5)]


def slopes(x: Sequence[float]) -> list[dict[str, float]]:
    """For each input what it changes in the scenario, by path and to first order: the chain rule for `changes`."""
    strength, sector = float(x[4]), float(x[5])
    found: list[dict[str, float]] = [{path: 1.0} for path in changes(x) if path != "zonule.strength_by_hour"]
    found[4] |= dict.fromkeys(HOURS, sector)
    found.insert(5, dict.fromkeys(HOURS, strength))
    return found


def bounds(base: capsim.Scenario, table: Any) -> Any:
    """Upper bounds of the total indices from one run with derivatives for each row of the table of inputs."""
    paths = [path for path in changes(table[0]) if path != "zonule.strength_by_hour"] + HOURS
    runs = capsim.sweep(base, [changes(x) for x in table], outcomes=list(OUTCOMES), sensitivities=paths, progress=False)
    chain = np.array([[[of.get(path, 0.0) for path in paths] for of in slopes(x)] for x in table])
    by_input = runs.drop_dims("parameter").assign_coords(parameter=list(RANGES))
    for outcome in OUTCOMES:
        by_input[f"{outcome}_by"] = (
            ("run", "parameter"),
            np.einsum("rip,rp->ri", chain, runs[f"{outcome}_by"].values),
        )
    return capsim.derivative_measures(by_input, RANGES, list(OUTCOMES))["bound"]


def main(arguments: Sequence[str] | None = None) -> Study:
    """Runs the study and prints the indices of every outcome; returns the dataset and SALib's answers."""
    parser = argparse.ArgumentParser(description="Which input drives what?")
    parser.add_argument(
        "-n", "--samples", type=int, default=256, metavar="N", help="base samples, a power of two (default: 256)"
    )
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write the runs and a picture here")
    parser.add_argument("--small", action="store_true", help="16 base samples on a small mesh, for trying out")
    options = parser.parse_args(arguments)
    needed("SALib", "this study")
    from SALib.analyze import sobol as analysis
    from SALib.sample import latin
    from SALib.sample import sobol as sampling

    problem = {"num_vars": len(RANGES), "names": list(RANGES), "bounds": list(RANGES.values())}
    table = sampling.sample(problem, 16 if options.small else options.samples, calc_second_order=False, seed=1)
    base = capsim.Scenario(
        name="Invented eye",
        eye="right",
        duration_days=180,
        output_every_days=180,
        zonule={"pull_mN": 22},
        mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"},
    )
    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
    result = capsim.sweep(
        base,
        [changes(x) for x in table],
        outcomes=list(OUTCOMES),
        path=None if options.output is None else options.output / "sobol.nc",
    )

    failed = int((result["status"] != "completed").sum())
    if failed:
        print(f"! {failed} of {len(table)} runs did not complete; the mean of the others stands for them")
    few = latin.sample(problem, 16 if options.small else 64, seed=1)
    bound = bounds(base, few)
    answers: dict[str, Mapping[str, Any]] = {}
    for outcome, words in OUTCOMES.items():
        values = result[outcome].where(result["status"] == "completed")
        answer = answers[outcome] = analysis.analyze(
            problem, values.fillna(values.mean()).values, calc_second_order=False, seed=1
        )
        print(
            f"\n{words} [{values.attrs['units']}] over {len(table)} runs: mean {float(values.mean()):.3g}, sd {float(values.std()):.3g}"
        )
        print(f"  {'':26}{'S1':>6}  {'95 %':>6}{'ST':>8}  {'95 %':>6}   bound from {len(few)} runs with derivatives")
        for i in np.argsort(-answer["ST"]):
            print(
                f"  {list(RANGES)[i]:26}{answer['S1'][i]:6.2f} ±{answer['S1_conf'][i]:6.2f}{answer['ST'][i]:8.2f} ±{answer['ST_conf'][i]:6.2f}{float(bound.sel(outcome=outcome)[i]):9.2f}"
            )
    print(f"\n{textwrap.fill(result.attrs['caution'], 100)}")
    if options.output is not None:
        draw(answers, len(table), result.attrs["caution"]).savefig(options.output / "sobol.png", dpi=110)
    return result, answers


def draw(answers: Mapping[str, Mapping[str, Any]], runs: int, caution: str) -> Any:
    """Bars of both indices with their confidence, one panel for each outcome."""
    figure, panels = capsim.plot.panels(
        f"Invented eyes over six months: which input drives what ({runs} runs, bars 95 %)",
        [caution],
        list(OUTCOMES.values()),
        width_in=4.0,
        height_in=5.0,
        labels_in=2.1,
    )
    places = np.arange(len(RANGES))[::-1]
    right = max(1.05, max(float((answer["ST"] + answer["ST_conf"]).max()) + 0.05 for answer in answers.values()))
    for axes, answer in zip(panels, answers.values()):
        for index, words, shift, colour in (
            ("S1", "alone (S1)", 0.19, "#56B4E9"),
            ("ST", "with others (ST)", -0.19, "#D55E00"),
        ):
            axes.barh(
                places + shift,
                answer[index],
                0.36,
                xerr=answer[f"{index}_conf"],
                color=colour,
                label=words,
                error_kw={"elinewidth": 1.2, "capsize": 2},
            )
        axes.set(
            xlim=(-0.08, min(right, 1.6)), ylim=(-0.6, len(places) - 0.4), yticks=places, xlabel="share of the variance"
        )
        axes.set_yticklabels(RANGES if axes is panels[0] else [])
    panels[-1].legend(frameon=False, fontsize=9, loc="lower right")
    return figure


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
