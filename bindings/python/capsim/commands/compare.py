# SPDX-License-Identifier: BSD-3-Clause
"""``compare``: several plans side by side."""

from __future__ import annotations

import argparse
from collections.abc import Sequence
from pathlib import Path

from ..history import History
from ..outcomes import outcomes
from ..scenario import Scenario
from ..studies import compare
from .arguments import add_changes, history_of, scenario_of
from .exit_codes import NOT_COMPLETED, OK, CommandError
from .report import columns, flags_of, wrapped
from .study_outputs import add_crowd, add_picture, check_outputs, crowd_of, run_study, write_study

NAME, SUMMARY = "compare", "show the outcomes of several scenarios or results side by side"
DESCRIPTION = """Runs scenario files (or reads result files, .h5) and shows their outcomes side by side.

  python -m capsim compare small.json large.json -o comparison.png

With --population the plans (scenario files of one eye) are run for the same crowd of eyes under every contraction
law and compared eye by eye: medians and bands, differences within an eye, in how many eyes each is better.

  python -m capsim compare small.json large.json --population pseudoexfoliation --eyes 64

Ctrl-C keeps the eyes that are done."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", metavar="FILE", help="scenario file (.json) or result file (.h5)")
    add_changes(parser)
    add_crowd(parser, 64, required=False)
    parser.add_argument("--outcome", action="append", metavar="NAME", help="outcome to compare; may be repeated")
    add_picture(parser)
    parser.add_argument("--all", action="store_true", help="show the outcomes that are the same for all, too")


def execute(options: argparse.Namespace) -> int:
    check_outputs(options, options.files)
    if options.population is not None:
        return _crowd(options)
    if options.csv or options.json or options.law or options.typical or options.outcome:
        raise CommandError("--csv, --json, --law, --typical and --outcome need --population")
    histories = [history_of(path, options.changes) for path in options.files]
    print(_table(histories, options.all))
    results = [outcomes(history) for history in histories]
    for path, result in zip(options.files, results):
        for flag in flags_of(result):
            print(f"{path}: {flag}")
    print()
    for caution in dict.fromkeys(caution for result in results for caution in result.cautions):
        print(wrapped(caution))
    if options.output is not None:
        from .. import plot

        plot.comparison(histories).savefig(options.output)
        print(f"\nwritten to {options.output}")
    return OK if all(history.status == "completed" for history in histories) else NOT_COMPLETED


def _crowd(options: argparse.Namespace) -> int:
    """The plans over a crowd, eye by eye."""
    plans: dict[str, Scenario] = {}
    for path in options.files:
        scenario = scenario_of(path, options.changes)
        name = scenario.name if scenario.name not in plans and scenario.name != "unnamed" else Path(path).stem
        plans[name if name not in plans else path] = scenario
    result = run_study(compare, plans, options.population, quantities=options.outcome, **crowd_of(options))
    return write_study(result, options)


def _table(histories: Sequence[History], everything: bool) -> str:
    results = [outcomes(history) for history in histories]
    names = list(dict.fromkeys(name for result in results for name in result))
    rows = [
        ["", *(history.scenario.name for history in histories), ""],
        ["status", *(history.status for history in histories), ""],
    ]
    for name in names:
        cells = [f"{result[name]:.5g}" if name in result else "-" for result in results]
        if everything or len(set(cells)) > 1 or len(results) == 1:
            unit = next(result.units[name] for result in results if name in result)
            rows.append([name, *cells, unit if unit != "1" else ""])
    return columns(rows)
