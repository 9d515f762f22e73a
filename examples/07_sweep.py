#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""7. Sweep: opening size against strength of the zonule, as labelled arrays.

`capsim.sweep` runs every combination on all cores, and returns an xarray.Dataset: values by the name of
an axis, not by position, with units.

                     zonule.strength
                     0.1   0.3   1.0
    opening     4.2  run   run   run       dims (opening.diameter_mm, zonule.strength), and day for series
    .diameter   4.9  run   run   run       result["area_loss_percent"].sel({"zonule.strength": 0.3})
    _mm         5.6  run   run   run

Everything else is as in the middle eye of a population whose whole bag contracts. With a path every
finished run is kept at once: after Ctrl-C or a crash the same command goes on.

Run:  python 07_sweep.py [-o FOLDER] [--small]      (needs xarray, and h5py with -o)
"""

import argparse
import textwrap
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

import capsim
import numpy as np
from capsim.optional import exit_code_of

if TYPE_CHECKING:
    import xarray

STRENGTHS = (0.1, 0.3, 1.0)


def main(arguments: Sequence[str] | None = None) -> "xarray.Dataset":
    """Runs the sweep, prints the loss of area as a table, and returns the dataset."""
    parser = argparse.ArgumentParser(description="Opening size against strength of the zonule.")
    parser.add_argument("-o", "--output", type=Path, metavar="FOLDER", help="write the dataset and a picture here")
    parser.add_argument("--small", action="store_true", help="a small mesh and few runs, for trying out")
    options = parser.parse_args(arguments)
    if options.output is not None:
        options.output.mkdir(parents=True, exist_ok=True)

    base = capsim.population("age_related_cataract_whole_bag").typical(
        capsim.Scenario(name="Invented eye", mesh={"around": 12, "radial": 2} if options.small else {"level": "coarse"})
    )
    result = capsim.sweep(
        base,
        {"opening.diameter_mm": np.linspace(4.2, 5.6, 3 if options.small else 8), "zonule.strength": list(STRENGTHS)},
        outcomes=["area_loss_percent", "zonule_load_max_mN"],
        series=["opening_area_mm2"],
        path=None if options.output is None else options.output / "sweep.nc",
    )

    loss = result["area_loss_percent"].where(result["status"] == "completed")  # runs that failed are kept, too
    print(f"{loss.attrs['long_name']} [{loss.attrs['units']}]")
    print(f"{'opening mm':>10}" + "".join(f"{f'zonule {strength:g}':>12}" for strength in STRENGTHS))
    for diameter in result["opening.diameter_mm"].values:
        row = loss.sel({"opening.diameter_mm": diameter}).values
        print(f"{diameter:10.2f}" + "".join(f"{value:12.1f}" for value in row))
    area = result["opening_area_mm2"]
    rate = -area.differentiate("day").min("day")  # labels know how long a day is
    worst = {name: float(rate.isel(place)[name]) for place in [rate.argmax(...)] for name in rate.dims}
    print(
        f"\nfastest loss: {float(rate.max()):.3f} mm2 a day, where "
        + ", ".join(f"{name} is {value:g}" for name, value in worst.items())
        + "\n"
    )
    print(textwrap.fill(result.attrs["caution"], 100))

    if options.output is not None:
        figure, (axes,) = capsim.plot.panels(
            "Invented eye: smaller openings and weaker zonules lose more", [result.attrs["caution"]], width_in=6.4
        )
        for strength, marker in zip(STRENGTHS, "o^s"):
            line = loss.sel({"zonule.strength": strength})
            axes.plot(line["opening.diameter_mm"], line, marker=marker, label=f"zonule {strength:g}")
        axes.set(xlabel="diameter of the opening [mm]", ylabel="loss of area in one year [%]", ylim=(0, None))
        axes.legend(frameon=False)
        figure.savefig(options.output / "sweep.png", dpi=110)
    return result


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
