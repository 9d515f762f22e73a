#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""13. Where to cut: layouts of relaxing cuts side by side, with what they risk.

       |          |  |           Each eye has one past; every layout is a fork of it. A layout is not
    -- O --       O              better or worse by itself: more area kept against tips nearer to the
       |                         equator, more cuts, and a larger load.
    evenly     gathered

The eyes are those of a population with a weak zonule whose whole bag contracts. Lengths are not known to
better than half, so each is made at half, once and one and a half times.

Run:  python 13_where_to_cut.py [-o FOLDER] [--small]
"""

import argparse
from collections.abc import Sequence
from pathlib import Path

import capsim
from capsim.optional import exit_code_of


def main(arguments: Sequence[str] | None = None) -> capsim.CutStudy:
    """Cuts a crowd in several layouts; prints them side by side and returns the study."""
    parser = argparse.ArgumentParser(description="Where to cut.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh and few eyes, for trying out")
    options = parser.parse_args(arguments)
    eyes = capsim.population("pseudoexfoliation_whole_bag")
    plan = eyes.typical(
        capsim.Scenario(
            name="invented eye, weak below",
            eye="right",
            opening={"diameter_mm": 4.5},
            zonule={"strength_by_hour": {6: 0.05}},
            duration_days=60 if options.small else 365,
            mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"},
        )
    )
    layouts = capsim.cut_layouts(plan, length_mm=0.5, day=30 if options.small else 90)
    if options.small:
        layouts = layouts[:2]
    result = capsim.cuts(plan, eyes, layouts, eyes=1 if options.small else 8)
    print(result)
    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        result.plot().savefig(options.output / "where_to_cut.png", dpi=100)
    return result


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
