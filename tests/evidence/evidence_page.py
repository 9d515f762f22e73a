#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""The evidence page: what libcapsim was compared with, how close it comes, and where it fails.

    python3 tests/evidence/evidence_page.py                 runs the comparisons, writes the records and libcapsim/doc/evidence.md
    python3 tests/evidence/evidence_page.py --check         writes nothing; fails when a committed number or verdict is not what comes out
    python3 tests/evidence/evidence_page.py --text          the page from the records as they are (after a new clinical.json, say)
    python3 tests/evidence/evidence_page.py --explore 250   tries the properties on so many more eyes and leaves, and says so on the page

The build folder is build/, or what CAPSIM_BUILD_DIR names. It holds the C++ tests and the Python package.

Nothing on the page is typed by hand. The tests report what they compare (fresh_evidence.py), and what they reported last is
kept in records (evidence_records.py). The general-purpose solver's rows are those of
calculix.json (tests/oracle/compare.py), the clinical ones those of clinical.json (tests/clinical/scoreboard.py).
"""

import argparse
import sys

from evidence_records import HERE, ROOT, explored, kept, moved, read, with_explored, write
from evidence_tables import (
    case_table,
    clinical_table,
    exceptions,
    eye_table,
    order_table,
    property_table,
    solver_table,
)
from fresh_evidence import fresh_comparisons, fresh_properties

PAGE = ROOT / "libcapsim" / "doc" / "evidence.md"
COMPARISONS, PROPERTIES = HERE / "comparisons.json", HERE / "properties.json"
CAUTION = "For research and teaching, not for treating a patient; decisions belong to the licensed clinician and local protocols."


def counts(rows):
    return len(rows), sum(r["passed"] for r in rows)


STAND_IN = "no mechanics"  # of the scoreboard: no contraction law, shown on the clinical page


def laws(claims):
    return [voice for voice in claims[0]["answers"] if voice != STAND_IN]


def text(comparisons, solver, claims, properties):
    """The page."""
    cases = [r for r in comparisons if r["table"] == "case"]
    eyes = [r for r in comparisons if r["table"] == "round_eye"]
    orders = [r for r in comparisons if r["table"] == "order"]
    summary = []
    for name, rows in (
        ("Closed forms and worked cases", cases),
        ("Orders of convergence", orders),
        ("Round eyes over a year", eyes),
        (f"General-purpose solver ({solver['solver']})", solver["rows"]),
    ):
        total, good = counts(rows)
        summary.append((name, total, good, total - good, ""))
    for law in laws(claims):
        verdicts = [claim["answers"][law]["verdict"] for claim in claims]
        summary.append(
            (
                f"Clinical, rows never fitted to ({law})",
                len(verdicts),
                verdicts.count("pass"),
                verdicts.count("miss"),
                f"{verdicts.count('sign')} of the right sign but too small; {verdicts.count('not modelled')} not modelled",
            )
        )
    held = [p for p in properties if "exception" not in p]
    summary.append(("Properties of random eyes", len(properties), len(held), len(properties) - len(held), ""))
    return f"""# Evidence: what libcapsim was checked against, how close it comes, where it fails

{CAUTION}

| Compared with | Figures | Within tolerance | Missed | |
|---|---|---|---|---|
{chr(10).join("| " + " | ".join(str(c) for c in row) + " |" for row in summary)}

Tables 1 and 2 ask whether the equations are solved well. Only table 3 asks whether they describe a patient. Written by
`python3 tests/evidence/evidence_page.py` from what the tests report; the tests fail when a fresh run says otherwise than this page.

## 1. Closed forms

Worked cases of [verification_cases.json](../../tests/evidence/verification_cases.json), each solved with the library's own mesh, parts and
equilibrium. Inputs, expected values, tolerances and cross-checks stand there; "here" in a source means worked out for that file. A line shows
the figure of its case that uses most of its tolerance; all {len(cases)} are in
[comparisons.json](../../tests/evidence/comparisons.json).

{case_table(comparisons)}

### Orders of convergence

What the error does when elements get half as wide, on the last meshes whose error lies above the expected value's digits.
Without cuts, elements of 8 nodes give the opening's area with order 4. At the tip of a cut displacements go with the square root of the
distance, and that allows order 1 on even meshes, whatever the elements' degree. Elements that shrink towards the tip, the smallest
with the square of the others, restore order 2: with 340 elements such a mesh is as good as an even one with 3500. The library grades its
meshes towards planned tips.

{order_table(comparisons)}

### Round eyes over a year

The whole library against a separate solution of the same equations along one radius, and against the table of an earlier, separate
program.

{eye_table(comparisons)}

## 2. A general-purpose solver

{solver["solver"]}: solids of 20 nodes, one layer, its own mesh made without the library, bulk modulus {solver["bulk_over_shear_modulus"]:g} times the
shear modulus (which alone makes 0.02 % at a stretch of 1.1). Cases in [cases.json](../../tests/oracle/cases.json), its answers in
[calculix.json](../../tests/evidence/calculix.json). `bash tests/run.sh oracle` runs it again.

{solver_table(solver)}

## 3. Clinical

Rows of [cohorts.csv](../../tests/evidence/cohorts.csv) that were never fitted to; each has its publication there. How a verdict comes about, what
was fitted, and a picture: [clinical.md](clinical.md). "sign": the right direction, but too small for such a trial to see. Numbers in brackets
are the 10th and 90th percentiles of 64 eyes.

{clinical_table(claims)}

## 4. Properties

Random eyes on the coarse mesh for three or four months, random leaves, and random bags at rest
([test_properties.py](../../tests/python/test_properties.py), [test_properties.cpp](../../tests/cpp/test_properties.cpp)).

{property_table(properties)}

{exceptions(properties)}
"""


def records():
    return read(COMPARISONS), read(HERE / "calculix.json"), read(HERE / "clinical.json"), read(PROPERTIES)


def main():
    parser = argparse.ArgumentParser(description="The evidence page.")
    choice = parser.add_mutually_exclusive_group()
    choice.add_argument(
        "--check", action="store_true", help="write nothing; fail when what is committed is not what comes out"
    )
    choice.add_argument("--text", action="store_true", help="the page from the records as they are")
    choice.add_argument("--explore", type=int, metavar="N", help="try the properties on N more scenarios each")
    parser.add_argument("--seed", type=int, default=7, help="of --explore (default 7)")
    asked = parser.parse_args()
    if asked.explore:
        write(
            PROPERTIES,
            explored(
                read(PROPERTIES), fresh_properties(CAPSIM_EXAMPLES=str(asked.explore), CAPSIM_SEED=str(asked.seed))
            ),
        )
    elif not asked.text:
        old = read(COMPARISONS) if COMPARISONS.exists() else []
        new = fresh_comparisons()
        if asked.check:
            said = moved(old, new)
            if PAGE.read_text(encoding="utf-8") != text(*records()):
                said.append(f"{PAGE.name} is not what the records give: run tests/evidence/evidence_page.py --text")
            print("\n".join(said) or "the page is what comes out")
            return 1 if said else 0
        write(COMPARISONS, kept(old, new))
        write(PROPERTIES, with_explored(read(PROPERTIES) if PROPERTIES.exists() else [], fresh_properties()))
    PAGE.write_text(text(*records()), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
