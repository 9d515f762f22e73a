#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Prints how rough outcomes are in each parameter, and what step a difference quotient needs.

A run is a smooth function of its parameters but for the tolerances of its solver (noise between neighbours) and for its
adaptive time steps (small jumps where a step more is taken). Two numbers tell them apart, both relative to the outcome:

    noise      nine runs a millionth of the parameter apart; where the level of their differences no longer falls with the order
               it is noise [more2011]: sigma_k^2 = (k!)^2 / (2k)! mean((D^k f)^2)
    roughness  25 runs within 3 % of the parameter: what is left of them beside a polynomial of fourth order, root mean square

The central difference that errs least has the step h = (3 roughness / |third derivative|)^(1/3); that of the polynomial.

Run:  PYTHONPATH=build/python python benchmarks/outcome_noise.py [--coarse]
Prints the table of libcapsim/doc/noise.md.
"""

from __future__ import annotations

import argparse
import math
from collections.abc import Sequence

import capsim
import numpy as np

BASE = {
    "name": "invented eye with weak hours",
    "eye": "right",
    "opening": {"diameter_mm": 5.0},
    "zonule": {"strength": 0.6, "strength_by_hour": {"4": 0.3, "5": 0.2, "6": 0.3}},
    "contraction": {"chronic_signal": 0.05, "cells_left": 0.8, "edge_width_mm": 0.2},
}
PARAMETERS = (
    "opening.diameter_mm",
    "zonule.strength",
    "contraction.cells_left",
    "contraction.tissue_per_day",
    "contraction.fibre_modulus_kPa",
    "contraction.remodelling_days",
    "contraction.chronic_signal",
    "contraction.edge_width_mm",
    "capsule.modulus_kPa",
)
OUTCOMES = ("opening_area_mm2", "clear_circle_diameter_mm", "opening_decentration_mm", "zonule_load_max_mN")
NEAR = 1e-6 * np.arange(-4, 5)  # of the parameter: the function itself falls out of the differences
WIDE = 0.03 * np.linspace(-1, 1, 25)  # of the parameter
DEGREE = 4


def noise_of(values: np.ndarray) -> float:
    """The standard deviation of the noise in equally spaced values; NaN where no level is reached."""
    levels, signs = [], []
    table = values.copy()
    for order in range(1, len(values) - 1):
        table = np.diff(table)
        factor = math.factorial(order) ** 2 / math.factorial(2 * order)
        levels.append(math.sqrt(factor * float(np.mean(table**2))))
        signs.append(bool((table > 0).any() and (table < 0).any()))
    for k in range(len(levels) - 2):  # three levels alike within a factor of four, and differences of both signs
        part = levels[k : k + 3]
        if max(part) <= 4 * min(part) and signs[k]:
            return levels[k]
    return float("nan")


def cell(values: np.ndarray) -> str:
    """Noise, roughness and step of one outcome in one parameter."""
    relative = values / abs(values[len(NEAR) // 2])
    near, wide = relative[: len(NEAR)], relative[len(NEAR) :]
    fitted = np.polynomial.Polynomial.fit(WIDE, wide, DEGREE)
    rough = math.sqrt(float(np.sum((wide - fitted(WIDE)) ** 2)) / (len(WIDE) - DEGREE - 1))
    third = abs(float(fitted.deriv(3)(0.0)))
    step = min((3 * rough / third) ** (1 / 3), float(WIDE[-1]))
    noise = noise_of(near)
    said = f"{noise:.0e}" if math.isfinite(noise) else "not reached"
    return f"{said}, {rough:.0e}, {100 * step:.1g} %"


def main(arguments: Sequence[str] | None = None) -> int:
    """Measures and prints."""
    parser = argparse.ArgumentParser(description="Noise of outcomes in each parameter.")
    parser.add_argument("--coarse", action="store_true", help="a coarse mesh: a quick look")
    options = parser.parse_args(arguments)
    mesh = {"around": 24, "radial": 4} if options.coarse else {}
    base = capsim.Scenario(**BASE, mesh=mesh)
    print("| parameter | " + " | ".join(f"`{name}`: noise, roughness, step" for name in OUTCOMES) + " |")
    print("|---|" + "---|" * len(OUTCOMES))
    for path in PARAMETERS:
        middle = _value(base, path)
        samples = [float(middle * (1 + offset)) for offset in (*NEAR, *WIDE)]
        runs = capsim.sweep(base, {path: samples}, outcomes=OUTCOMES, layout="table", progress=False)
        print(f"| `{path}` | " + " | ".join(cell(runs[name].values) for name in OUTCOMES) + " |", flush=True)
    return 0


def _value(scenario: capsim.Scenario, path: str) -> float:
    found = scenario.to_dict()
    for name in path.split("."):
        found = found[name]
    return float(found)


if __name__ == "__main__":
    raise SystemExit(main())
