# SPDX-License-Identifier: BSD-3-Clause
"""Every function that capsim.h declares was entered while the tests ran, by the counters of the compiler.

    functions_entered.py <capsim.h> <folder of the C interface's object files> [gcov]

The objects have been compiled with `--coverage`, and the tests have been run. Names those that no test entered.
"""

import json
import re
import subprocess
import sys
from pathlib import Path

LEAST = 100  # functions of the header: fewer, and it was not read


def entered(folder: Path, gcov: str) -> dict[str, int]:
    """How often each function was entered, over all object files of the folder."""
    times: dict[str, int] = {}
    counters = sorted(folder.rglob("*.gcda"))
    if not counters:
        sys.exit(f"no counters in {folder}: compiled without --coverage, or nothing was run")
    for file in counters:
        done = subprocess.run(
            [gcov, "--json-format", "--stdout", file.name], cwd=file.parent, capture_output=True, text=True, check=True
        )
        for source in json.loads(done.stdout)["files"]:
            for function in source["functions"]:
                name = function["name"]
                times[name] = times.get(name, 0) + function["execution_count"]
    return times


def main(header: str, folder: str, gcov: str = "gcov") -> None:
    text = Path(header).read_text(encoding="utf-8")
    declared = re.findall(r"^CAPSIM_FUNCTION [^;(]*\b(capsim_\w+)\(", text, re.M)
    if len(declared) < LEAST:
        sys.exit(f"only {len(declared)} functions were found in {header}")
    times = entered(Path(folder), gcov)
    never = [name for name in declared if times.get(name, 0) == 0]
    if never:
        sys.exit(f"no test enters {', '.join(never)}")
    rarest = min(declared, key=lambda name: times[name])
    print(f"{len(declared)} functions entered, {rarest} the least often: {times[rarest]} times")


main(*sys.argv[1:])
