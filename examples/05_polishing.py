#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""5. Polishing: how many cells must go, and what if part of the rim was missed?

Cells that are left under the rim grow back while the stimulus s lasts, and lay down the tissue that pulls:

    dc/dt = r s c (1 - c)          c: cells, 1 = as many as if nothing was polished

    c 1 |------------------        half of them left: nearly back before the stimulus is gone
        |        . - '             a tenth left: too late to do as much
      0 +--------------- t         none left: nothing to grow from

What is still lost then, the tissue on both leaves outside the optic does, where polishing does not reach:
the whole bag of this eye contracts, and its zonule is weak. A part that was missed pulls on one side
only: the opening moves away from it.

Run:  python 05_polishing.py [-o FOLDER] [--small]
"""

import argparse
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import capsim
from capsim.optional import exit_code_of

DAYS = (30, 90, 365)
MISSED = "10 to 2 o'clock missed"


def main(arguments: Sequence[str] | None = None) -> dict[str, capsim.History]:
    """Runs the eye with more and fewer cells left; prints the loss of area, and returns the runs."""
    parser = argparse.ArgumentParser(description="Fewer cells under the rim.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write pictures here")
    parser.add_argument("--small", action="store_true", help="a small mesh, for trying out")
    options = parser.parse_args(arguments)
    base = capsim.population("pseudoexfoliation_whole_bag").typical(
        capsim.Scenario(
            eye="right",
            opening={"diameter_mm": 4.8},
            output_every_days=5,
            mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"},
        )
    )
    plans: dict[str, dict[str, Any]] = {
        "not polished": {"contraction.cells_left": 1.0},
        "half of them left": {"contraction.cells_left": 0.5},
        "a tenth left": {"contraction.cells_left": 0.1},
        "none left": {"contraction.cells_left": 0.0},
        MISSED: {
            "contraction.cells_left": 0.0,
            "contraction.cells_left_by_hour": {hour: 1.0 for hour in (10, 11, 12, 1, 2)},
        },
    }
    histories = {
        name: capsim.simulate(base.with_(cells, name=f"Invented eye, {name}")) for name, cells in plans.items()
    }

    print("loss of area [%], and how far the opening drifts [mm]")
    print(f"{'':24}" + "".join(f"{f'day {day}':>9}" for day in DAYS) + f"{'drift':>9}  towards")
    for name, history in histories.items():
        history.raise_if_failed()
        result = capsim.outcomes(history)
        losses = "".join(f"{result[f'area_loss_{day}d_percent']:9.2f}" for day in DAYS)
        shift = result["opening_shift_mm"]
        towards = f"{result['opening_decentration_hour']:4.1f} h" if shift > 1e-6 else ""
        print(f"{name:24}{losses}{shift:9.3f}  {towards}")
    print()
    for caution in capsim.outcomes(histories["not polished"]).cautions:
        print(textwrap.fill(caution, 100))

    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        picture = capsim.plot.curves(list(histories.values()), ["area_loss_percent", "fibrous_tissue"])
        picture.savefig(options.output / "polishing.png", dpi=110)
        capsim.plot.front_view(histories[MISSED]).savefig(options.output / "polishing_missed.png", dpi=110)
    return histories


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
