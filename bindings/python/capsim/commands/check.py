# SPDX-License-Identifier: BSD-3-Clause
"""``check``: is a scenario file valid?"""

from __future__ import annotations

import argparse
import sys

from .arguments import add_changes, scenario_of
from .exit_codes import OK, WRONG_INPUT, CommandError
from .report import counted

NAME, SUMMARY = "check", "check scenario files without running them"
DESCRIPTION = "Checks scenario files and tells every violation of each, with path, value, limit and a hint."


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("scenarios", nargs="+", metavar="SCENARIO", help="scenario file (JSON)")
    add_changes(parser)


def execute(options: argparse.Namespace) -> int:
    code = OK
    for path in options.scenarios:
        try:
            scenario = scenario_of(path, options.changes)
        except CommandError as error:
            print(error, file=sys.stderr)
            code = WRONG_INPUT
        else:
            print(
                f"{path}: valid ({scenario.name!r}, {scenario.duration_days:g} days, "
                f"{counted(len(scenario.events), 'event')})"
            )
    return code
