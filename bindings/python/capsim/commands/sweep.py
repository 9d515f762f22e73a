# SPDX-License-Identifier: BSD-3-Clause
"""``sweep``: one scenario many times with changed values."""

from __future__ import annotations

import argparse
import csv
import json
from collections import Counter
from pathlib import Path
from typing import Any

from .. import sweeps
from ..errors import ScenarioError
from ..sweeps.quantities import DEFAULT_OUTCOMES
from .arguments import add_scenario, must_be_writable, scenario_of, values_of
from .exit_codes import NOT_COMPLETED, OK, CommandError
from .report import columns, counted, wrapped

NAME, SUMMARY = "sweep", "run a scenario many times with changed values"
DESCRIPTION = """Runs every combination of the values given by --vary, or every row of the table given by --samples.

  python -m capsim sweep eye.json --vary opening.diameter_mm=4:6:9 --vary zonule.strength=0.2,0.5,1 -o sweep.nc

Finished runs are kept while the sweep runs: the same command goes on after an interruption.
Runs that fail, and combinations that are not valid, stay in the result with their status."""

MOST_LINES = 30


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_scenario(parser)
    what = parser.add_mutually_exclusive_group(required=True)
    what.add_argument(
        "--vary",
        metavar="PATH=VALUES",
        action="append",
        help="values for a dotted path: 4.5,5,5.5 or FROM:TO:COUNT; may be repeated",
    )
    what.add_argument(
        "--samples", metavar="TABLE.csv", help="table with dotted paths as header and one run in each row"
    )
    parser.add_argument(
        "-o",
        "--output",
        metavar="RESULT.nc",
        help="write the result to this file (netCDF-4/HDF5), and keep finished runs beside it meanwhile",
    )
    parser.add_argument("--csv", metavar="TABLE.csv", help="write the outcomes as a table, one row for each run")
    parser.add_argument(
        "--outcome",
        metavar="NAME",
        action="append",
        help=f"outcome to keep, may be repeated (default: {', '.join(DEFAULT_OUTCOMES)})",
    )
    parser.add_argument(
        "--series", metavar="NAME", action="append", default=[], help="time series to keep, may be repeated"
    )
    parser.add_argument("--workers", metavar="N", type=int, help="threads (default: one for each core)")
    parser.add_argument("--quiet", action="store_true", help="no progress bar")


def execute(options: argparse.Namespace) -> int:
    scenario = scenario_of(options.scenario, options.changes)
    for path in (options.output, options.csv):
        must_be_writable(path, [options.scenario, *([options.samples] if options.samples else [])])
    design = dict(values_of(text, "--vary") for text in options.vary) if options.vary else _table(options.samples)
    try:
        result = sweeps.sweep(
            scenario,
            design,
            outcomes=options.outcome,
            series=options.series,
            workers=options.workers,
            path=options.output,
            progress=False if options.quiet else None,
        )
    except ScenarioError as error:
        raise CommandError(f"{options.scenario}: {error}") from None
    except ValueError as error:
        raise CommandError(str(error)) from None
    rows = _rows(result)
    statuses = Counter(row[-1] for row in rows[1:])
    print(columns(rows if len(rows) <= MOST_LINES + 1 else [*rows[: MOST_LINES + 1]]))
    if len(rows) > MOST_LINES + 1:
        print(f"... and {len(rows) - 1 - MOST_LINES} more")
    print(
        f"\n{counted(len(rows) - 1, 'run')}: "
        + ", ".join(f"{count} {status}" for status, count in statuses.most_common())
    )
    if options.csv:
        with open(options.csv, "w", newline="", encoding="utf-8") as file:
            csv.writer(file).writerows(_rows(result, digits=None))
        print(f"written to {options.csv}")
    if options.output:
        print(f"written to {options.output}")
    print(wrapped(str(result.attrs["caution"])))
    return OK if set(statuses) == {"completed"} else NOT_COMPLETED


def _table(path: str) -> list[dict[str, Any]]:
    """The rows of a table with dotted paths as header."""
    with open(path, newline="", encoding="utf-8-sig") as file:
        rows = [row for row in csv.reader(file) if any(cell.strip() for cell in row)]
    if len(rows) < 2:
        raise CommandError(f"{path}: a table of samples has a header with dotted paths and at least one row")
    header = [name.strip() for name in rows[0]]
    for number, row in enumerate(rows[1:], 2):
        if len(row) != len(header):
            raise CommandError(f"{path}: line {number} has {counted(len(row), 'cell')}, the header has {len(header)}")
    return [{name: _value(cell) for name, cell in zip(header, row)} for row in rows[1:]]


def _value(cell: str) -> Any:
    try:
        return json.loads(cell)
    except ValueError:
        return cell.strip()


def _rows(result: Any, digits: int | None = 5) -> list[list[str]]:
    """Header and one row for each run: what was changed, its outcomes, its status."""
    dims = result["status"].dims
    flat = result.stack(one_run=dims) if len(dims) > 1 else result.rename({dims[0]: "one_run"})
    coordinates = [str(name) for name in result.coords if set(result[name].dims) <= set(dims) and name != "run"]
    scalars = [str(name) for name in result.data_vars if result[name].dims == dims and result[name].dtype.kind == "f"]

    def column(name: str) -> list[str]:
        values = flat["one_run"].values if len(dims) == 1 and name == dims[0] else flat[name].values
        return [
            value if isinstance(value, str) else f"{value:.{digits}g}" if digits else repr(float(value))
            for value in values
        ]

    table = [*map(column, coordinates), *map(column, scalars), [str(status) for status in flat["status"].values]]
    return [[*coordinates, *scalars, "status"], *(list(row) for row in zip(*table))]


def interrupted(options: argparse.Namespace) -> str:
    """What is left when Ctrl-C ends it."""
    if options.output is None:
        return "interrupted; without --output nothing is kept"
    return f"interrupted; finished runs are in {Path(options.output).name}.partial, the same command goes on from there"
