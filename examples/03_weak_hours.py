#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""3. Weak hours: where the zonule is missing, which way do things drift, and who carries the load?

Each clock hour pulls the bag outward with T = k (l - l0) where taut, 0 where slack or absent. Without
some hours the pulls no longer balance, and the bag goes over to the side that still pulls, the more so the
more it contracts (the whole bag does: tissue under the rim, and on both leaves outside the optic):

           12
       .  - -  .
     .           .
   9  <--- bag       3      hours 3, 4 and 5 missing (dots: whole zonule)
     .            x
       .  - -   x
            6            the hours next to the gap, 2 and 6, carry the most

Run:  python 03_weak_hours.py [-o FOLDER] [--small]
"""

import argparse
import textwrap
from collections.abc import Sequence
from pathlib import Path

import capsim
from capsim.optional import exit_code_of

MISSING_HOURS = (3, 4, 5)


def main(arguments: Sequence[str] | None = None) -> dict[str, capsim.History]:
    """Runs the eye with a whole and with a partly missing zonule; prints drift and loads, returns both runs."""
    parser = argparse.ArgumentParser(description="An eye without some hours of its zonule.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write pictures here")
    parser.add_argument("--small", action="store_true", help="a small mesh, for trying out")
    options = parser.parse_args(arguments)
    # The haptics lie across the way that the bag goes, so that both sides of that way are alike.
    whole = capsim.population("age_related_cataract_whole_bag").typical(
        capsim.Scenario(
            name="Invented eye, whole zonule",
            eye="right",
            opening={"diameter_mm": 5.0},
            lens={"axis_hour": 1},
            mesh={"around": 24, "radial": 2} if options.small else {"level": "coarse"},
        )
    )
    weak = whole.with_(name="Invented eye, hours 3 to 5 missing")
    for hour in MISSING_HOURS:
        weak.zonule.strength_by_hour[hour] = 0.0
    histories = {"whole": capsim.simulate(whole), "weak": capsim.simulate(weak)}

    print(f"{'zonule':8}  {'opening lies off centre by':>28}  {'bag lies off centre by':>28}")
    for name, history in histories.items():
        history.raise_if_failed()
        result = capsim.outcomes(history)
        cells = []
        for what in ("opening", "equator"):
            distance, towards = result[f"{what}_decentration_mm"], result[f"{what}_decentration_hour"]
            cells.append(f"{distance:.2f} mm towards {towards:4.1f} h" if distance > 1e-6 else "nothing")
        print(f"{name:8}  {cells[0]:>28}  {cells[1]:>28}")

    print("\nload of each hour on the last day [mN]")
    print(f"{'hour':8}" + "".join(f"{hour:6d}" for hour in [12, *range(1, 12)]))
    for name, history in histories.items():
        print(f"{name:8}" + "".join(f"{load:6.2f}" for load in history.zonule_load_mN[-1]))
    print()
    for caution in capsim.outcomes(histories["weak"]).cautions:
        print(textwrap.fill(caution, 100))

    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)
        picture = capsim.plot.comparison(
            list(histories.values()),
            days=[0, 365],
            quantities=("opening_decentration_mm", "zonule_load_max_mN"),
            title="Whole zonule, and three hours missing",
        )
        picture.savefig(options.output / "weak_hours.png", dpi=110)
        capsim.plot.zonule_rose(histories["weak"]).savefig(options.output / "weak_hours_loads.png", dpi=110)
    return histories


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
