# SPDX-License-Identifier: BSD-3-Clause
"""Counts the tests of a JUnit XML report: prints "passed failed skipped".

Names the failed and the skipped ones on standard error. A test that could not be run (its executable was never built, say)
counts as failed; one that ctest says has skipped itself does not. No report, or a torn one: exits with 1.
"""

import sys
import xml.etree.ElementTree as ElementTree


def outcome(case: ElementTree.Element) -> str:
    if case.find("failure") is not None or case.find("error") is not None:
        return "failed"
    skipped = case.find("skipped")
    by_itself = skipped is not None and skipped.get("message", "").startswith("SKIP_")
    if case.get("status") == "fail" or (case.get("status") == "notrun" and not by_itself):
        return "failed"
    if skipped is not None or case.get("status") == "disabled":
        return "skipped"
    return "passed"


def main(path: str) -> int:
    try:
        cases = list(ElementTree.parse(path).iter("testcase"))
    except (OSError, ElementTree.ParseError) as error:
        print(f"no readable report: {error}", file=sys.stderr)
        return 1
    counts = {"passed": 0, "failed": 0, "skipped": 0}
    for case in cases:
        result = outcome(case)
        counts[result] += 1
        if result != "passed":
            print(f"   {result}: {case.get('classname', '')} {case.get('name', '')}", file=sys.stderr)
    print(*counts.values())
    return 0


if __name__ == "__main__":
    sys.exit(main(sys.argv[1]))
