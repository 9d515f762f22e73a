# SPDX-License-Identifier: BSD-3-Clause
"""``run``: one scenario from the end of surgery to its last day."""

from __future__ import annotations

import argparse

from ..simulation import simulate
from .arguments import add_scenario, must_be_writable, scenario_of
from .ending import NOT_COMPLETED, OK
from .report import report_of

NAME, SUMMARY = "run", "run a scenario and show how the opening changes"
DESCRIPTION = "Runs a scenario and shows the opening on a few days, with flags and cautions."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_scenario(parser)
    parser.add_argument("-o", "--output", metavar="RESULT.h5", help="write the whole result to this file (HDF5)")


def execute(options: argparse.Namespace) -> int:
    scenario = scenario_of(options.scenario, options.changes)
    must_be_writable(options.output, [options.scenario])
    history = simulate(scenario)
    print(report_of(history))
    if options.output is not None:
        history.save(options.output)
        print(f"\nwritten to {options.output}")
    return OK if history.status == "completed" else NOT_COMPLETED
