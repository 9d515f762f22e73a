#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""12. When to look: on which day does the clear circle become too small, and which visit finds it?

    clear circle |o
                 |  o . .              crossing: first day below the limit
       limit ----|------x- - - -       late: day of the visit that finds it, less that day
                 |________|________ visits
                     1 week   1 month ...

An early sign is a measurement at an early visit that tells who will cross; it is judged on eyes that did
not help to choose it. The eyes are those of a population with a weak zonule whose whole bag contracts.

Run:  python 12_when_to_look.py [-o FOLDER] [--small]
"""

import argparse
from collections.abc import Sequence
from pathlib import Path

import capsim
from capsim.optional import exit_code_of


def main(arguments: Sequence[str] | None = None) -> capsim.VisitStudy:
    """Follows a crowd to the day its clear circle is lost; prints the answer and returns the study."""
    parser = argparse.ArgumentParser(description="When to look.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh and few eyes, for trying out")
    options = parser.parse_args(arguments)
    eyes = capsim.population("pseudoexfoliation_whole_bag")
    invented = capsim.Scenario(
        name="invented eye, 4.5 mm",
        eye="right",
        opening={"diameter_mm": 4.5},
        duration_days=60 if options.small else 365,
        mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"},
    )
    result = capsim.visits(
        eyes.typical(invented),
        eyes,
        below={"clear_circle_diameter_mm": 4.0},
        schedules={"1 week, 1 month, 2 months": [7, 30, 60]} if options.small else None,
        eyes=4 if options.small else 32,
    )
    print(result)
    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        result.plot().savefig(options.output / "when_to_look.png", dpi=100)
    return result


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
