# SPDX-License-Identifier: BSD-3-Clause
"""``compare``: several plans side by side."""

from __future__ import annotations

import argparse
from collections.abc import Sequence

from ..history import History
from ..outcomes import outcomes
from .arguments import add_changes, history_of, must_be_writable
from .exit_codes import NOT_COMPLETED, OK
from .report import columns, flags_of, wrapped

NAME, SUMMARY = "compare", "show the outcomes of several scenarios or results side by side"
DESCRIPTION = """Runs scenario files (or reads result files, .h5) and shows their outcomes side by side.

  python -m capsim compare small.json large.json -o comparison.png"""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", metavar="FILE", help="scenario file (.json) or result file (.h5)")
    add_changes(parser)
    parser.add_argument("-o", "--output", metavar="PICTURE", help="write a picture as well: .png, .svg or .pdf")
    parser.add_argument("--all", action="store_true", help="show the outcomes that are the same for all, too")


def execute(options: argparse.Namespace) -> int:
    must_be_writable(options.output, options.files)
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
