# SPDX-License-Identifier: BSD-3-Clause
"""``run``: one scenario from the end of surgery to its last day."""

from __future__ import annotations

import argparse

from ..history import History
from ..outcomes import Outcomes, outcomes, outcomes_with_margin
from ..population import Bands, population
from ..scenario import Scenario
from ..simulation import simulate
from ..studies import relief_range
from .arguments import add_scenario, must_be_writable, scenario_of
from .exit_codes import NOT_COMPLETED, OK, CommandError
from .report import MILESTONE_DAYS, columns, report_of, wrapped

NAME, SUMMARY = "run", "run a scenario and show how the opening changes"
DESCRIPTION = """Runs a scenario and shows the opening on a few days, with flags and cautions.

One eye is not a forecast: eyes differ by as much as they lose. With --population the eye is one of many,

  python -m capsim run eye.json --population pseudoexfoliation

and the table is followed by the band in which 8 of 10 such eyes lie, under each contraction law that the
population was fitted for: what differs between them is what the choice of the law decides."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_scenario(parser)
    parser.add_argument(
        "--population", metavar="NAME", help="show how eyes about this one differ, as in a population of the library"
    )
    parser.add_argument(
        "--eyes", type=int, default=32, metavar="N", help="eyes of the population to run (default: %(default)s)"
    )
    parser.add_argument("--typical", action="store_true", help="give the eye the population's own settings first")
    parser.add_argument("--margin", action="store_true", help="show how far the eye is from runaway on its last day")
    parser.add_argument(
        "--no-relief-range",
        action="store_true",
        help="leave out the six runs that tell how far what cuts give back hangs on their length and on the law",
    )
    parser.add_argument("-o", "--output", metavar="RESULT.h5", help="write the whole result to this file (HDF5)")


def execute(options: argparse.Namespace) -> int:
    scenario = scenario_of(options.scenario, options.changes)
    must_be_writable(options.output, [options.scenario])
    bands: list[Bands] = []
    if options.population is not None:
        scenario, bands = _with_bands(scenario, options)
    elif options.typical:
        raise CommandError("--typical needs --population")
    if options.margin:
        history, found = outcomes_with_margin(scenario)
        _save(history, options)
        print(report_of(history, _with_relief_range(found, history, options)))
        if "runaway_margin" in found:
            print(
                "\n"
                + wrapped(f"margin to runaway: {found['runaway_margin']:.2f}. {found.descriptions['runaway_margin']}")
            )
        else:
            print("\nmargin to runaway: none, no tissue pulls")
    else:
        history = simulate(scenario)
        _save(history, options)
        print(report_of(history, _with_relief_range(outcomes(history), history, options)))
    for of_law in bands:
        print(f"\n{_table(of_law)}")
    if options.output is not None:
        print(f"\nwritten to {options.output}")
    return OK if history.status == "completed" else NOT_COMPLETED


def _save(history: History, options: argparse.Namespace) -> None:
    """Before anything else is computed that might be interrupted."""
    if options.output is not None:
        history.save(options.output)


def _with_relief_range(found: Outcomes, history: History, options: argparse.Namespace) -> Outcomes:
    """The flag about relief with its numbers, for a run with cuts."""
    if history.status == "completed" and found.has_flag("relief_range") and not options.no_relief_range:
        flag = relief_range(history.scenario, options.population).flag
        found.flags = [flag if other.code == flag.code else other for other in found.flags]
    return found


def _with_bands(scenario: Scenario, options: argparse.Namespace) -> tuple[Scenario, list[Bands]]:
    try:
        group = population(options.population)
        middle = group.typical(scenario) if options.typical else scenario
        return middle, [
            group.bands(eye, ["area_loss_percent", "opening_diameter_mm"], options.eyes, about=True)
            for eye in group.under_every_law(middle).values()
        ]
    except ValueError as error:
        raise CommandError(str(error)) from None


def _table(bands: Bands) -> str:
    """Where most eyes lie on the milestone days."""
    last = float(bands.day[-1])
    rows = [["day", "area loss %", "8 of 10 eyes", "diameter mm", "8 of 10 eyes"]]
    for day in sorted({float(d) for d in MILESTONE_DAYS if 0 < d <= last} | {last}):
        loss, width = bands.at("area_loss_percent", day), bands.at("opening_diameter_mm", day)
        rows.append(
            [
                f"{day:g}",
                f"{loss[1]:.1f}",
                f"{loss[0]:.1f} to {loss[2]:.1f}",
                f"{width[1]:.2f}",
                f"{width[0]:.2f} to {width[2]:.2f}",
            ]
        )
    return f"{wrapped(f'{bands}; medians and bands:')}\n{columns(rows)}"
