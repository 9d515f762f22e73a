# SPDX-License-Identifier: BSD-3-Clause
"""``influence``: what each clock hour of the zonule and of the cells does to an outcome."""

from __future__ import annotations

import argparse

from ..errors import ArgumentError
from ..history import SolveError
from ..influence import DEFAULT_OUTCOMES, SHARE, influence
from ..outcomes import outcomes
from .arguments import add_scenario, must_be_writable, scenario_of
from .exit_codes import NOT_COMPLETED, OK, CommandError
from .report import columns, wrapped

NAME, SUMMARY = "influence", "show what each clock hour of the zonule and of the cells does to an outcome"
DESCRIPTION = """Runs a scenario once and differentiates it by the strength of the zonule and by the cells in each clock hour.

  python -m capsim influence eye.json --outcome lens_decentration_mm -o rose.png

The numbers are the change of the outcome for a tenth more zonule, or a tenth more cells, in that hour."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_scenario(parser)
    parser.add_argument("--outcome", action="append", metavar="NAME", help="outcome; may be repeated")
    parser.add_argument("-o", "--output", metavar="PICTURE", help="picture of the first outcome to write (.png, .pdf)")


def execute(options: argparse.Namespace) -> int:
    if options.output is not None:
        must_be_writable(options.output, [options.scenario])
    try:
        found = influence(scenario_of(options.scenario, options.changes), options.outcome or DEFAULT_OUTCOMES)
    except ArgumentError as error:
        raise CommandError(str(error)) from None
    except SolveError as error:
        print(f"{options.scenario}: {error}")
        return NOT_COMPLETED
    for name in found:
        rows = [["hour", *(str(hour or 12) for hour in range(12))]]
        for place, by_hour in found[name].items():
            rows.append([place, *(f"{SHARE * value:+.2g}" for value in by_hour)])
        print(f"{name} [{found.units[name]}] = {found.outcome_values[name]:.4g}, change for a tenth more:")
        print(columns(rows))
        for place in found[name]:
            print(wrapped(found.sentence(name, place)))
        print()
    for caution in outcomes(found.history).cautions:
        print(wrapped(caution))
    if options.output is not None:
        from .. import plot

        plot.influence_rose(found).savefig(options.output)
        print(f"\nwritten to {options.output}")
    return OK
