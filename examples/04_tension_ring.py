#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""4. Tension ring: what does an open ring change in an eye without part of its zonule?

Pressed to the bag's size, the ring pushes the equator outward all round, and holds the leaves apart along
it, so that no tissue grows there: in this eye, whose whole bag contracts, that is worth about as much to the
opening as the push. It resists bending, with E I = E pi d^4 / 64 for a wire of diameter d, so that what the
hours next to a gap carry is spread:

          _______
        /         \\
       |           x      x: zonule missing
       |           x      the ring bridges the gap, and opens at 12
        \\ ___ ___ /       a wire of 0.20 mm is 3.2 times as stiff as one of 0.15 mm

Run:  python 04_tension_ring.py [-o FOLDER] [--small]
"""

import argparse
import textwrap
from collections.abc import Sequence
from pathlib import Path

import capsim
from capsim.optional import exit_code_of

SHOWN = ("area_loss_percent", "opening_shift_mm", "equator_decentration_mm", "equator_loss_mm", "zonule_load_max_mN")


def main(arguments: Sequence[str] | None = None) -> dict[str, capsim.Outcomes]:
    """Runs the eye without a ring, with a thin and with a thick one; prints and returns the outcomes."""
    parser = argparse.ArgumentParser(description="An eye without part of its zonule, with and without a tension ring.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh and half a year, for trying out")
    options = parser.parse_args(arguments)
    # The middle eye of a population whose zonule is weak all round, without three hours of it.
    base = capsim.population("pseudoexfoliation_whole_bag").typical(
        capsim.Scenario(
            name="No ring",
            eye="right",
            opening={"diameter_mm": 5.0},
            zonule={"strength_by_hour": {3: 0.0, 4: 0.0, 5: 0.0}},
            duration_days=180 if options.small else 365,
            mesh={"around": 24, "radial": 2} if options.small else {"level": "coarse"},
        )
    )
    plans = {
        "no ring": base,
        "wire 0.15 mm": base.with_(name="Ring, wire 0.15 mm", tension_ring={"wire_diameter_mm": 0.15}),
        "wire 0.20 mm": base.with_(name="Ring, wire 0.20 mm", tension_ring={"wire_diameter_mm": 0.20}),
    }
    histories = {name: capsim.simulate(plan) for name, plan in plans.items()}
    results: dict[str, capsim.Outcomes] = {}
    for name, history in histories.items():
        history.raise_if_failed()
        results[name] = capsim.outcomes(history)

    print(f"{f'after {base.duration_days:g} days':32}" + "".join(f"{name:>14}" for name in results))
    for outcome in SHOWN:
        unit = results["no ring"].units[outcome]
        print(f"{f'{outcome} [{unit}]':32}" + "".join(f"{result[outcome]:14.2f}" for result in results.values()))
    print()
    for name, result in results.items():  # what must be known about a run
        for flag in result.flags:
            print(textwrap.fill(f"! {name}: {flag.text}", 100))
    for caution in results["no ring"].cautions:
        print(textwrap.fill(caution, 100))

    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        picture = capsim.plot.comparison(
            list(histories.values()),
            days=[0, base.duration_days],
            title="Invented eye without zonule from 3 to 5 o'clock",
        )
        picture.savefig(options.output / "tension_ring.png", dpi=110)
    return results


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
