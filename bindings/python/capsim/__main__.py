# SPDX-License-Identifier: BSD-3-Clause
"""The command line: ``python -m capsim run scenario.json -o result.h5``, ``... check scenario.json``.

Exit codes: 0 all is well, 2 wrong input, 3 the run ended with a status other than completed,
130 interrupted.
"""

from __future__ import annotations

import argparse
import os
import sys
import textwrap
from typing import Optional, Sequence

import capsim
from capsim import _core

OK, WRONG_INPUT, NOT_COMPLETED, INTERRUPTED = 0, 2, 3, 130

MILESTONE_DAYS = (0, 7, 30, 90, 180, 365)


def main(arguments: Optional[Sequence[str]] = None) -> int:
    """Runs one command and returns its exit code."""
    options = _parser().parse_args(arguments)
    try:
        return options.command(options)
    except capsim.ScenarioError as error:
        print(f"{options.scenario}: {error}", file=sys.stderr)
    except OSError as error:  # ResultsFileError included
        reason = f"{error.filename}: {error.strerror}" if error.filename else error
        print(f"capsim: {reason}", file=sys.stderr)
    except KeyboardInterrupt:
        print("capsim: interrupted, nothing was written", file=sys.stderr)
        return INTERRUPTED
    return WRONG_INPUT


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m capsim",
        description="Contraction of the lens capsule's front opening after cataract surgery.",
        epilog=_core.research_caution,
    )
    parser.add_argument("--version", action="version", version=f"capsim {capsim.__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    run = commands.add_parser("run", help="run a scenario and show how the opening changes")
    run.add_argument("scenario", help="scenario file (JSON)")
    run.add_argument("-o", "--output", metavar="RESULT.h5", help="write the whole result to this file (HDF5)")
    run.set_defaults(command=_run)
    check = commands.add_parser("check", help="check a scenario file without running it")
    check.add_argument("scenario", help="scenario file (JSON)")
    check.set_defaults(command=_check)
    return parser


def _check(options: argparse.Namespace) -> int:
    scenario = capsim.Scenario.from_json(_existing(options.scenario))
    print(f"{options.scenario}: valid ({scenario.name!r}, {scenario.duration_days:g} days, "
          f"{_counted(len(scenario.events), 'event')})")
    return OK


def _run(options: argparse.Namespace) -> int:
    scenario = capsim.Scenario.from_json(_existing(options.scenario))
    if options.output is not None:
        _must_be_writable(options.output, options.scenario)
    history = capsim.simulate(scenario)
    print(_report(history))
    if options.output is not None:
        history.save(options.output)
        print(f"\nwritten to {options.output}")
    return OK if history.status == "completed" else NOT_COMPLETED


def _existing(path: str) -> str:
    """The path, so that a file name that looks like JSON text is still a file name."""
    return path if os.path.isabs(path) else os.path.join(os.curdir, path)


def _must_be_writable(path: str, scenario_path: str) -> None:
    """Says so before the run, not after it, when the result could not be written."""
    folder = os.path.dirname(path) or os.curdir
    if not os.path.isdir(folder):
        raise capsim.ResultsFileError(f"can't write {path}: there is no folder {folder}")
    if os.path.exists(path) and os.path.samefile(path, scenario_path):
        raise capsim.ResultsFileError(f"can't write {path}: it is the scenario")
    if os.path.isdir(path):
        raise capsim.ResultsFileError(f"can't write {path}: it is a folder")
    if not os.access(folder, os.W_OK):
        raise capsim.ResultsFileError(f"can't write {path}: the folder {folder} is not writable")


def _counted(count: int, noun: str) -> str:
    return f"{count} {noun}" if count == 1 else f"{count} {noun}s"


def _report(history: capsim.History) -> str:
    result = capsim.outcomes(history)
    lines = [f"{history.scenario.name}: {history.status} ({history.message})", ""]
    lines += _table(history)
    lines += ["", *(_wrapped(f"! {flag}") for flag in result.flags)] if result.flags else []
    lines += ["", *(_wrapped(caution) for caution in result.cautions)]
    return "\n".join(lines)


def _table(history: capsim.History) -> list[str]:
    """The opening on a few days: milestones, both sides of each event, and the last day reached."""
    lines = [f"{'day':>7}  {'area mm2':>9}  {'diameter mm':>11}  {'area loss %':>11}"]
    names = {-1.0: "  just before event", 1.0: "  just after event"}
    for row in _rows_to_show(history):
        area = history.opening_area_mm2[row]
        loss = 100 * (1 - area / history.opening_area_mm2[0])
        lines.append(f"{history.day[row]:7.1f}  {area:9.2f}  {history.opening_diameter_mm[row]:11.2f}  {loss:11.1f}"
                     + names.get(float(history.event_side[row]), ""))
    return lines


def _rows_to_show(history: capsim.History) -> list[int]:
    if len(history) == 0:
        return []
    last = float(history.day[-1])
    rows = {history.row_at(day) for day in MILESTONE_DAYS if day <= last}
    rows |= {row for row, side in enumerate(history.event_side) if side != 0}
    return sorted(rows | {len(history) - 1})


def _wrapped(text: str) -> str:
    return textwrap.fill(text, width=100, subsequent_indent="  ")


if __name__ == "__main__":
    sys.exit(main())
