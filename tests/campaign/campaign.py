#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Runs random valid scenarios, counts how they end and what they take, and shrinks those that do not complete.

    python3 tests/campaign/campaign.py                                 one night: 20,000 clinical eyes, 2,000 of each other stratum
    python3 tests/campaign/campaign.py --stratum clinical --eyes 500   fewer; --first: from another seed on
    python3 tests/campaign/campaign.py --shrink build/failures         small scenarios of those that failed
    python3 tests/campaign/campaign.py --page                          the page anew, from the record that --record made

It needs the package (`PYTHONPATH=$PWD/build/python`). `--record` keeps what was counted in the record of the page,
libcapsim/doc/campaign.md.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import statistics
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import capsim
import numpy as np
from random_eyes import CLINICAL, STRATA, Tree, eye, quick, violated

ROOT = Path(__file__).parents[2]
RECORD = Path(__file__).with_name("record.json")
PAGE = ROOT / "libcapsim" / "doc" / "campaign.md"
NIGHT = {"clinical": 20000, "whole_bag": 2000, "whole_range": 2000, "corners": 2000}
REFUSED = "refused"  # before any work, with a reason
CHUNK = 64  # eyes handed to the workers at once; a crash loses no more than their order


@dataclass(frozen=True)
class End:
    """How a run ended, and what it took."""

    stratum: str
    number: int
    status: str
    message: str
    work: float
    seconds: float


def ended(tree: Tree) -> tuple[str, str, float, float]:
    """Status, message, work and seconds of a run. What `check` refuses, and a number that is not finite, are ends, too."""
    try:
        scenario = capsim.Scenario.from_dict(tree)
    except capsim.ScenarioError as error:
        return REFUSED, str(error), math.nan, math.nan
    history = capsim.simulate(scenario)
    status = str(history.status)
    if not all(np.isfinite(history.array(name)).all() for name in history.names):
        status = "not_a_number"
    return status, history.message, history.diagnostics.work, history.diagnostics.wall_seconds


def run(stratum: str, number: int, short: bool) -> End:
    """One eye, in this process; `short`: on the coarse mesh for sixty days."""
    tree = eye(stratum, number)
    return End(stratum, number, *ended(quick(tree) if short else tree))


def ends(stratum: str, numbers: Iterable[int], jobs: int, short: bool = False) -> Iterator[End]:
    """Runs eyes side by side. One that brings its process down ends as `crashed`; the others are run again."""
    numbers = list(numbers)
    pool = ProcessPoolExecutor(jobs)
    for at in range(0, len(numbers), CHUNK):
        chunk = numbers[at : at + CHUNK]
        try:
            yield from list(pool.map(run, [stratum] * len(chunk), chunk, [short] * len(chunk)))
        except BrokenProcessPool:
            for number in chunk:
                yield _alone(stratum, number, short)
            pool = ProcessPoolExecutor(jobs)
    pool.shutdown()


def _alone(stratum: str, number: int, short: bool) -> End:
    try:
        with ProcessPoolExecutor(1) as pool:
            return pool.submit(run, stratum, number, short).result()
    except BrokenProcessPool:
        return End(stratum, number, "crashed", "the process ended", math.nan, math.nan)


# ---- shrinking -------------------------------------------------------------------------------------------------------
def shrunk(tree: Tree, fails: Callable[[Tree], bool], most_runs: int = 150) -> Tree:
    """A smaller scenario that fails as well: sections, events and fields are taken out, numbers shortened, while it does."""
    runs = 0

    def still(smaller: Tree) -> bool:
        nonlocal runs
        runs += 1
        return runs <= most_runs and not violated(smaller) and fails(smaller)

    changed = True
    while changed and runs < most_runs:
        changed = False
        for smaller in _smaller(tree):
            if still(smaller):
                tree, changed = smaller, True
                break
    return tree


def _smaller(tree: Tree) -> Iterator[Tree]:
    """One thing less each time, the largest first."""
    fixed = ("format", "version", "name")
    for key in [key for key in tree if key not in fixed]:
        yield {k: v for k, v in tree.items() if k != key}
    for i in range(len(tree.get("events", []))):
        yield tree | {"events": tree["events"][:i] + tree["events"][i + 1 :]}
    for key, section in tree.items():
        if isinstance(section, dict):
            for field in section:
                yield tree | {key: {k: v for k, v in section.items() if k != field}}
    for key, section in tree.items():
        if isinstance(section, dict):
            for field, value in section.items():
                if isinstance(value, float) and float(f"{value:.2g}") != value:
                    yield tree | {key: section | {field: float(f"{value:.2g}")}}


# ---- what was counted ------------------------------------------------------------------------------------------------
def counted(all_ends: list[End], first: int) -> dict[str, Any]:
    """Shares and work of a stratum."""
    work = sorted(e.work for e in all_ends if math.isfinite(e.work))  # not of what was refused
    statuses = Counter(e.status for e in all_ends)
    middle = statistics.median(work)
    return {
        "eyes": len(all_ends),
        "first": first,
        "ends": dict(sorted(statuses.items(), key=lambda item: -item[1])),
        "work": {"median": middle, "p99": work[math.ceil(0.99 * len(work)) - 1], "most": work[-1]},
        "not_completed": [
            {"number": e.number, "status": e.status, "message": e.message}
            for e in all_ends
            if e.status not in ("completed", REFUSED)
        ][:200],
    }


def _row(stratum: str, counts: dict[str, Any]) -> str:
    eyes, done = counts["eyes"], counts["ends"].get("completed", 0)
    others = ", ".join(
        f"{status} {count} ({100 * count / eyes:.2g} %)"
        for status, count in counts["ends"].items()
        if status not in ("completed", REFUSED)
    )
    work = counts["work"]
    return (
        f"| {stratum} | {eyes} from number {counts['first']} | {100 * done / eyes:.2f} % "
        f"| {100 * counts['ends'].get(REFUSED, 0) / eyes:.2f} % | {others or 'none'} "
        f"| {work['median']:.0f} | {work['p99']:.0f} | {work['most']:.0f} |"
    )


def page(record: dict[str, Any]) -> str:
    """The page of the record."""
    lines = [
        "# Campaign: random eyes and how their runs end",
        "",
        "Written by `python3 tests/campaign/campaign.py --page` from `tests/campaign/record.json`. Each eye is a function of its stratum and",
        "number, so that any row can be run again. Invented eyes, for research and teaching, not for treating a patient; decisions belong to",
        "the licensed clinician and local protocols.",
        "",
        "- **clinical**: eyes as they come to an operating theatre, and worse, in the ranges below; both laws, coarse and standard mesh",
        "- **whole_bag**: such eyes with the tissue of eyes drawn from the populations of the whole bag, under the rim and outside the optic",
        "- **whole_range**: half of the fields anywhere between their limits, most of them far from any eye",
        "- **corners**: half of the fields at one of their limits",
        "",
        "| clinical eyes have | because |",
        "|---|---|",
        *(f"| {what} | {why} |" for what, why in CLINICAL),
        "",
        "What does not fit together is set back to the default before an eye is counted. Refused are eyes whose capsule can't carry the pull",
        "that is stated: `check` says so before any work, with the limit. Work is counted in factorizations, that of the search for the",
        "unloaded shape included. The aim is 99.7 % of clinical eyes completed, 97 % of the whole range completed or refused, and the 99th",
        "percentile of clinical work within 20 times the median. Of a stratum the latest run comes first, then the one before it: other eyes, an",
        "older build.",
        "",
        "| stratum | eyes | completed | refused | other ends | work: median | 99 of 100 | most |",
        "|---|---|---|---|---|---|---|---|",
    ]
    for stratum in STRATA:
        lines += [_row(stratum, counts) for counts in record["strata"].get(stratum, [])]
    unanswered = [
        f"- {stratum} {e['number']}, {e['status']}: {e['message']}"
        for stratum in ("clinical", "whole_bag")
        for counts in record["strata"].get(stratum, [])
        for e in counts["not_completed"][:30]
    ]
    if unanswered:
        lines += ["", "Clinical eyes that did not complete, with what their runs say:", "", *unanswered]
    return "\n".join(lines) + "\n"


def _keep(strata: dict[str, Any]) -> None:
    """What was counted, and of each stratum what was counted before it on other eyes: a run that met fewer does not hide it."""
    record = json.loads(RECORD.read_text())["strata"] if RECORD.exists() else {}
    for stratum, counts in strata.items():
        record[stratum] = [counts, *(c for c in record.get(stratum, []) if c["first"] != counts["first"])][:2]
    RECORD.write_text(json.dumps({"strata": {s: record[s] for s in STRATA if s in record}}, indent=1) + "\n")
    PAGE.write_text(page(json.loads(RECORD.read_text())))


def _shrink_into(folder: Path, failures: list[End]) -> None:
    folder.mkdir(parents=True, exist_ok=True)
    for end in failures:
        if end.status == "crashed":
            small = eye(end.stratum, end.number)
        else:
            small = shrunk(eye(end.stratum, end.number), lambda tree, end=end: ended(tree)[0] == end.status)
        target = folder / f"{end.stratum}-{end.number}-{end.status}.json"
        target.write_text(json.dumps(small, indent=1) + "\n")
        print(f"  {target}: {json.dumps(small)}")


def main(arguments: list[str]) -> int:
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--stratum", choices=STRATA, action="append", help="one or several; default: all")
    parser.add_argument("--eyes", type=int, help="how many of each stratum; default: a night's")
    parser.add_argument("--first", type=int, default=0, help="number of the first eye")
    parser.add_argument("--jobs", type=int, default=os.cpu_count() or 1)
    parser.add_argument("--shrink", type=Path, metavar="FOLDER", help="write small scenarios of what did not complete")
    parser.add_argument("--record", action="store_true", help="keep the counts for the page")
    parser.add_argument("--page", action="store_true", help="write the page from the record and run nothing")
    options = parser.parse_args(arguments)
    if options.page:
        PAGE.write_text(page(json.loads(RECORD.read_text())))
        return 0
    strata: dict[str, Any] = {}
    for stratum in options.stratum or STRATA:
        numbers = range(options.first, options.first + (options.eyes or NIGHT[stratum]))
        all_ends = []
        for end in ends(stratum, numbers, options.jobs):
            all_ends.append(end)
            if end.status not in ("completed", REFUSED):
                print(
                    f"{stratum}-{end.number}: {end.status}, work {end.work:.0f}, {end.seconds:.1f} s: {end.message}",
                    flush=True,
                )
        strata[stratum] = counted(all_ends, options.first)
        seconds = sorted(e.seconds for e in all_ends if math.isfinite(e.seconds))
        print(f"{stratum}: {json.dumps({k: v for k, v in strata[stratum].items() if k != 'not_completed'})}")
        print(
            f"  seconds: median {statistics.median(seconds):.2f}, most {seconds[-1]:.1f}, all {sum(seconds):.0f}",
            flush=True,
        )
        if options.shrink:
            _shrink_into(options.shrink, [e for e in all_ends if e.status not in ("completed", REFUSED)])
    if options.record:
        _keep(strata)
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
