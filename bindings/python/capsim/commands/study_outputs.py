# SPDX-License-Identifier: BSD-3-Clause
"""What the commands of studies share: the crowd's arguments, and files they write."""

from __future__ import annotations

import argparse
from typing import Any

from ..errors import ScenarioError
from .arguments import must_be_writable
from .exit_codes import INTERRUPTED, NOT_COMPLETED, OK, CommandError


def add_crowd(parser: argparse.ArgumentParser, eyes: int, required: bool) -> None:
    """Population, eyes and how they are run."""
    parser.add_argument(
        "--population", metavar="NAME", required=required, help="a population of the library, or a file (.json)"
    )
    parser.add_argument("--eyes", type=int, default=eyes, metavar="N", help="eyes to run (default: %(default)s)")
    parser.add_argument("--law", action="append", metavar="LAW", help="this contraction law only; may be repeated")
    parser.add_argument("--typical", action="store_true", help="give the plan the population's own settings first")
    parser.add_argument("--workers", metavar="N", type=int, help="threads (default: one for each core)")
    parser.add_argument("--quiet", action="store_true", help="no progress line")
    parser.add_argument("--csv", metavar="TABLE.csv", help="write every eye as a table")
    parser.add_argument("--json", metavar="RESULT.json", help="write all of the result as JSON")


def add_picture(parser: argparse.ArgumentParser) -> None:
    """``-o picture.png``"""
    parser.add_argument("-o", "--output", metavar="PICTURE", help="write a picture as well: .png, .svg or .pdf")


def check_outputs(options: argparse.Namespace, inputs: list[str]) -> None:
    """Says before the work when a file can't be written."""
    for path in (options.csv, options.json, options.output):
        must_be_writable(path, inputs)


def crowd_of(options: argparse.Namespace) -> dict[str, Any]:
    """Arguments for the functions of the library."""
    return {
        "eyes": options.eyes,
        "laws": options.law,
        "typical": options.typical,
        "workers": options.workers,
        "progress": False if options.quiet else None,
    }


def run_study(study: Any, *arguments: Any, **named: Any) -> Any:
    """Runs a study; wrong input in words."""
    try:
        return study(*arguments, **named)
    except (ScenarioError, ValueError) as error:
        raise CommandError(str(error)) from None


def write_study(result: Any, options: argparse.Namespace) -> int:
    """Prints the result, writes what was asked for, and gives the exit code; a study that was ended keeps what is done."""
    print(result)
    if options.csv is not None:
        result.save_csv(options.csv)
    if options.json is not None:
        with open(options.json, "w", encoding="utf-8") as file:
            file.write(result.to_json())
    if options.output is not None:
        result.plot().savefig(options.output, dpi=100)
    written = [path for path in (options.csv, options.json, options.output) if path is not None]
    if written:
        print(f"\nwritten to {', '.join(written)}")
    if result.cancelled:
        return INTERRUPTED
    return OK if (result.status == "completed").all() else NOT_COMPLETED
