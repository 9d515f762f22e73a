#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""11. Compare plans: a small or a larger opening, for many eyes like this one.

Two plans differ by less than two eyes do. So both are run for the same eyes and subtracted within each eye:

    eye 1   A o--------o B         difference of plans = B - A, eye by eye;
    eye 2       A o--------o B     what the eyes have in common drops out

under every contraction law, for nobody knows which one is right. A share k of n eyes is printed with
its 95 % interval (Wilson): few eyes say little, and the interval says so. The zonule is weak, so the whole
bag contracts: tissue on both leaves outside the optic, too, as in the populations named ..._whole_bag.

Run:  python 11_compare_plans.py [-o FOLDER] [--small]
"""

import argparse
from collections.abc import Sequence
from pathlib import Path

import capsim
from capsim.optional import exit_code_of


def main(arguments: Sequence[str] | None = None) -> capsim.Comparison:
    """Compares two openings over a crowd; prints the answer and returns the comparison."""
    parser = argparse.ArgumentParser(description="Two plans, the same eyes.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh and few eyes, for trying out")
    options = parser.parse_args(arguments)
    eyes = capsim.population("pseudoexfoliation_whole_bag")
    invented = capsim.Scenario(
        name="invented eye",
        eye="right",
        duration_days=60 if options.small else 365,
        mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"},
    )
    middle = eyes.typical(invented)
    plans = {f"{mm:g} mm": middle.with_({"opening.diameter_mm": mm}) for mm in (4.5, 5.5)}
    result = capsim.compare(plans, eyes, eyes=4 if options.small else 32)
    print(result)
    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        result.plot().savefig(options.output / "compare_plans.png", dpi=100)
    return result


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
