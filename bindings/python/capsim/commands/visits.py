# SPDX-License-Identifier: BSD-3-Clause
"""``visits``: when to look at eyes like this one."""

from __future__ import annotations

import argparse
from typing import Any

from ..studies import visits
from .arguments import add_scenario, pair_of_name_and_number, scenario_of
from .exit_codes import CommandError
from .study_outputs import add_crowd, add_picture, check_outputs, crowd_of, run_study, write_study

NAME, SUMMARY = "visits", "when eyes like this one cross a threshold, and what visits find"
DESCRIPTION = """Runs a plan for a crowd of eyes under every contraction law and shows on which day they cross a threshold,
how many of those each visit of a schedule finds, how late, and which early sign tells best who will cross.

  python -m capsim visits plan.json --population pseudoexfoliation --below clear_circle_diameter_mm=3

Ctrl-C keeps the eyes that are done."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_scenario(parser)
    add_crowd(parser, 64, required=True)
    parser.add_argument("--below", metavar="NAME=LIMIT", help="crossed below this value")
    parser.add_argument("--above", metavar="NAME=LIMIT", help="crossed above this value")
    parser.add_argument(
        "--schedule",
        metavar="DAYS",
        action="append",
        default=[],
        help="days of visits, such as 1,7,30,90,180,365 (the default); may be repeated",
    )
    parser.add_argument("--variants", action="store_true", help="also with one visit less, and one more, of the first")
    add_picture(parser)


def execute(options: argparse.Namespace) -> int:
    plan = scenario_of(options.scenario, options.changes)
    check_outputs(options, [options.scenario])
    limits: dict[str, Any] = {}
    for side in ("below", "above"):
        text = getattr(options, side)
        limits[side] = dict([pair_of_name_and_number(text, f"--{side}")]) if text else None
    result = run_study(
        visits,
        plan,
        options.population,
        **limits,
        schedules={f"days {text}": _days(text) for text in options.schedule},
        variants=options.variants,
        **crowd_of(options),
    )
    return write_study(result, options)


def _days(text: str) -> list[float]:
    try:
        return [float(day) for day in text.split(",")]
    except ValueError:
        raise CommandError(f"--schedule {text}: give days with commas between, such as 1,7,30") from None
