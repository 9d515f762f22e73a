#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""6. When to cut: four radial relaxing cuts, early or late?

A cut gives back at once what the rim holds in tension (recoil); what grows afterwards pulls on.

       |            gain at once = area just after - area just before
    -- O --         Early there is little tension to give back, and the tissue goes on growing;
       |            late there is more, but the opening has been small for long.

The eye is the middle one of a population whose zonule is weak and whose whole bag contracts: of what the
opening loses, cuts in its rim give back a part. Both sides of the day are kept: two rows of the same day,
event_side -1 (before) and +1 (after).

Run:  python 06_when_to_cut.py [-o FOLDER] [--small]
"""

import argparse
import textwrap
from collections.abc import Sequence
from pathlib import Path

import capsim
from capsim.optional import exit_code_of

DAYS = (30, 180)


def main(arguments: Sequence[str] | None = None) -> dict[int | None, capsim.History]:
    """Cuts a contracting eye on different days; prints what was gained, and returns the runs by day of the cut."""
    parser = argparse.ArgumentParser(description="Relaxing cuts, early or late.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh, for trying out")
    options = parser.parse_args(arguments)
    base = capsim.population("pseudoexfoliation_whole_bag").typical(
        capsim.Scenario(
            name="Not cut",
            eye="right",
            opening={"diameter_mm": 4.5},
            output_every_days=10,
            mesh={"around": 24, "radial": 2} if options.small else {"level": "coarse"},
        )
    )
    uncut = capsim.simulate(base)
    uncut.raise_if_failed()
    histories: dict[int | None, capsim.History] = {None: uncut}
    cautions: list[str] = []

    print(
        f"{'[mm2]':12}  {'just before':>11}  {'just after':>10}  {'at once':>8}  {'day 365':>8}  {'over the uncut eye':>18}"
    )
    for day in DAYS:
        plan = base.with_(
            name=f"Cut on day {day}",
            events=[{"day": day, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": 0.75}}],
        )
        history = histories[day] = capsim.simulate(plan)
        history.raise_if_failed()
        after = history.row_at(day)
        before = after - 1
        gained = history.opening_area_mm2[after] - history.opening_area_mm2[before]
        last = history.opening_area_mm2[-1]
        print(
            f"cut day {day:<4d}  {history.opening_area_mm2[before]:11.2f}  {history.opening_area_mm2[after]:10.2f}  {gained:8.2f}"
            f"  {last:8.2f}  {last - uncut.opening_area_mm2[-1]:18.2f}"
        )
        result = capsim.outcomes(history)
        for flag in result.flags:
            print(textwrap.fill(f"! cut on day {day}: {flag.text}", 100))
        cautions = result.cautions
    print(f"not cut       {'':11}  {'':10}  {'':8}  {uncut.opening_area_mm2[-1]:8.2f}\n")
    for caution in cautions:  # the second one is about relaxing cuts
        print(textwrap.fill(caution, 100))

    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        picture = capsim.plot.comparison(
            list(histories.values()),
            days=[30, 180, 365],
            quantities=("opening_area_mm2", "clear_circle_diameter_mm", "zonule_load_max_mN"),
            title="One invented eye, cut early, late and not at all",
        )
        picture.savefig(options.output / "when_to_cut.png", dpi=100)
    return histories


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
