#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""1. First run: how does the opening of one invented eye change in a year?

Everything that is said about eye and operation is a scenario; running it gives a history, an array for
each quantity with one value a day; a few named numbers are drawn from it.

    Scenario  ->  simulate  ->  History  ->  outcomes
    values         one year      arrays       loss of area = 100 (1 - A(365 d) / A(0 d)) %

Nothing is said here of tissue outside the optic, so that there is none; in populations named
..._whole_bag, as in example 2, the whole bag contracts.

Run:  python 01_first_run.py [-o FOLDER] [--small]

With -o the whole result (HDF5) and two pictures are written to FOLDER.
"""

import argparse
import textwrap
from collections.abc import Sequence
from pathlib import Path

import capsim
from capsim.optional import exit_code_of


def main(arguments: Sequence[str] | None = None) -> capsim.History:
    """Runs the eye, prints how its opening changes, and returns the history."""
    parser = argparse.ArgumentParser(description="One invented eye, one year.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write the result and pictures here")
    parser.add_argument("--small", action="store_true", help="a small mesh, for trying out")
    options = parser.parse_args(arguments)

    # Whatever is not said keeps its default; every name carries its unit.
    scenario = capsim.Scenario(
        name="Invented eye, opening 5.0 mm",
        eye="right",
        opening={"diameter_mm": 5.0},
        zonule={"strength": 0.8},
        output_every_days=5,
    )
    if options.small:
        scenario = scenario.with_(mesh={"around": 12, "radial": 2})

    history = capsim.simulate(scenario)
    history.raise_if_failed()

    print(f"{'day':>5}  {'area mm2':>8}  {'diameter mm':>11}  {'largest load of an hour mN':>26}")
    for day in (0, 10, 30, 90, 180, 365):
        row = history.row_at(day)  # the first row on or after that day
        print(
            f"{history.day[row]:5.0f}  {history.opening_area_mm2[row]:8.2f}  {history.opening_diameter_mm[row]:11.2f}"
            f"  {history.zonule_load_mN[row].max():26.2f}"
        )  # a column for each clock hour, 12 first

    result = capsim.outcomes(history)
    print(
        f"\n{result['area_loss_percent']:.1f} {result.units['area_loss_percent']} of the area is lost; "
        f"the rim still overlaps the optic by {result['rim_overlap_min_mm']:.2f} mm or more."
    )
    print(f"There are {len(result)} outcomes; print(capsim.outcomes(history)) shows them all.\n")
    for caution in result.cautions:  # belongs wherever a result is shown
        print(textwrap.fill(caution, 100))

    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        history.save(options.output / "first_run.h5")  # capsim.load reads it
        capsim.plot.front_view(history, day=365).savefig(options.output / "first_run.png", dpi=110)
        capsim.plot.curves(
            history, ["opening_area_mm2", "opening_diameter_mm", "zonule_load_max_mN", "fibrous_tissue"]
        ).savefig(options.output / "first_run_curves.png", dpi=110)
    return history


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
