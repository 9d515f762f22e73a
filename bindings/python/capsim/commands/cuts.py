# SPDX-License-Identifier: BSD-3-Clause
"""``cuts``: layouts of relaxing cuts side by side."""

from __future__ import annotations

import argparse

from ..studies import CutLayout, cut_layouts, cuts
from ..studies.cut_study import at_each
from .arguments import add_scenario, scenario_of
from .exit_codes import CommandError
from .study_outputs import add_crowd, add_picture, check_outputs, crowd_of, run_study, write_study

NAME, SUMMARY = "cuts", "what layouts of relaxing cuts give back, keep and risk"
DESCRIPTION = """Cuts every eye of a crowd in every layout, from one past each, at half, once and one and a half times the
length, under every contraction law. Layouts lie side by side with their cautions; nothing here recommends one.

  python -m capsim cuts plan.json --population pseudoexfoliation --day 30 --day 90 --length 0.75
  python -m capsim cuts plan.json --population pseudoexfoliation --layout 12,6 --layout 12,3,6,9

Ctrl-C keeps the eyes that are done."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    add_scenario(parser)
    add_crowd(parser, 16, required=True)
    parser.add_argument(
        "--layout", metavar="HOURS", action="append", default=[], help="clock hours of cuts, 12,3,6,9; may be repeated"
    )
    parser.add_argument(
        "--length", type=float, action="append", metavar="MM", help="length; may be repeated (default: 0.75)"
    )
    parser.add_argument(
        "--day", type=float, action="append", metavar="DAY", help="day of the cuts; may be repeated (default: 90)"
    )
    add_picture(parser)


def execute(options: argparse.Namespace) -> int:
    plan = scenario_of(options.scenario, options.changes)
    check_outputs(options, [options.scenario])
    lengths, days = options.length or [0.75], options.day or [90.0]
    given = [_layout(text) for text in options.layout]
    layouts = at_each(given, lengths, days) if given else cut_layouts(plan, lengths, days)
    return write_study(run_study(cuts, plan, options.population, layouts, **crowd_of(options)), options)


def _layout(text: str) -> CutLayout:
    try:
        hours = tuple(float(hour) for hour in text.split(","))
    except ValueError:
        raise CommandError(f"--layout {text}: give clock hours with commas between, such as 12,3,6,9") from None
    noun = "cut" if len(hours) == 1 else "cuts"
    return CutLayout(f"{len(hours)} {noun} at {text}", hours)
