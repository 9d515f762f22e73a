#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""The evidence page: what libcapsim was compared with, how close it comes, and where it fails.

    python3 tests/evidence/evidence_page.py                 runs the comparisons, writes the records and libcapsim/doc/evidence.md
    python3 tests/evidence/evidence_page.py --check         writes nothing; fails when a committed number or verdict is not what comes out
    python3 tests/evidence/evidence_page.py --text          the page from the records as they are (after a new clinical.json, say)
    python3 tests/evidence/evidence_page.py --explore 250   tries the properties on so many more eyes and leaves, and says so on the page

The build folder is build/, or what CAPSIM_BUILD_DIR names. It holds the C++ tests and the Python package.

Nothing on the page is typed by hand. The tests report what they compare when CAPSIM_EVIDENCE_FOLDER names a folder:
comparisons.jsonl (tests/cpp/comparison.hpp) and properties.jsonl. The general-purpose solver's rows are those of
calculix.json (tests/oracle/compare.py), the clinical ones those of clinical.json (tests/clinical/scoreboard.py).
"""

import argparse
import json
import math
import os
import subprocess
import sys
import tempfile
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent
PAGE = ROOT / "libcapsim" / "doc" / "evidence.md"
COMPARISONS, PROPERTIES = HERE / "comparisons.json", HERE / "properties.json"
CAUTION = "For research and teaching, not for treating a patient; decisions belong to the licensed clinician and local protocols."

# A record keeps values to a hundredth of their tolerance. A fresh value within DRIFT of the tolerance is the same: compilers
# and machines differ by far less. One within KEPT does not even change the record, so that files don't change without need.
DRIFT, KEPT = 0.1, 0.02
ORDER_DRIFT = 0.1  # of an order of convergence

# Worked cases that no test compares, and why. Empty, and better so.
NOT_COMPARED = {}

# Closed forms that stand in a test only.
OWN_CASES = ["disc_and_annulus"]

# What a family of worked cases is about, by the beginning of its name.
TITLES = {
    "disc_and_annulus": "even contraction outside the optic on both leaves, bag on springs",
    "LAME-PULL-FREE": "linear annulus pulled at its edge",
    "LAME-PULL-SPRING": "the same, held by springs",
    "ACT-ISO": "isotropic active stress against springs",
    "ACT-HOOP": "hoop active stress against springs",
    "ACT-2ZONE": "active stress in an inner zone",
    "ACT-BAND": "active stress that fades from the rim",
    "NH-DISP": "neo-Hookean annulus, edge moved outward",
    "NH-GROW-ISO": "neo-Hookean annulus that shrinks, on springs",
    "NH-GROW-HOOP": "the same, shrinking along the hoop",
    "NH-GROW-BAND": "the same, a shrinking band at the rim",
    "CUT4-BAND": "four cuts in a contracted rim",
    "CUT4-NH-DISP": "four cuts in a stretched leaf",
    "CUT4-LIN-G": "four cuts in a linear leaf",
    "SIF-HOLE-bi": "cuts at a hole, pulled all round",
    "SIF-HOLE-uni": "cuts at a hole, single pull",
    "SIF-LIMIT": "a very short cut at a hole",
    "SIF-G-EXAMPLE": "energy release of cuts at a hole",
    "HOLE-SHEET": "hole in a wide sheet",
    "FOURIER-COMP": "waves of load on the edge",
    "FOURIER": "springs uneven around the edge",
    "RING-CLOSED": "springs of an open and a closed ring",
    "RING-LARGE": "ends of a ring brought together",
    "ELASTICA-CANTILEVER": "bent cantilever",
    "ELASTICA-ROLLUP": "wire rolled to a circle",
    "COOK": "Cook's membrane",
    "RATES-LAME": "order of convergence",
    "PATCH": "patch test on a distorted mesh",
    "LOGISTIC": "cells regrow (the tissue's equations are not the library's: they check its time stepper)",
    "BERNOULLI-LAW": "cells under a fading signal (not a law of the library: it checks its time stepper)",
    "CREEP-SPRING": "tissue that creeps beside a spring",
    "SLS": "haptic and ring relax",
}


def title(case):
    return TITLES[max((name for name in TITLES if case.startswith(name)), key=len)]


def read(path):
    return json.loads(Path(path).read_text(encoding="utf-8"))


def write(path, content):
    Path(path).write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def case_ids():
    return [case["id"] for case in read(HERE / "verification_cases.json")["cases"]] + OWN_CASES


# ---- records


def key(row):
    return row["table"], row["id"], row["quantity"]


def allowed(row):
    """The tolerance in the unit of the value; of an order, what it may drift."""
    if row["kind"] == "at_least":
        return ORDER_DRIFT / DRIFT
    return row["limit"] * (abs(row["expected"]) if row["kind"] == "relative" else 1)


def decimals(row):
    """Digits after the point that resolve a hundredth of the tolerance."""
    return 2 if row["kind"] == "at_least" else max(0, 2 - math.floor(math.log10(allowed(row))))


def rounded(row):
    return {
        **row,
        "value": round(row["value"], decimals(row)) + 0.0,
        "limit": float(f"{row['limit']:.3g}"),
        "expected": row["expected"] if row["table"] != "round_eye" else round(row["expected"], decimals(row)),
    }


def moved(old, new):
    """What fresh rows say otherwise than the committed ones: a row more or less, a verdict, a number."""
    before, after = {key(r): r for r in old}, {key(r): r for r in new}
    said = [f"{' / '.join(k)}: no longer compared" for k in before if k not in after]
    for k, row in after.items():
        name, was = " / ".join(k), before.get(k)
        if was is None:
            said.append(f"{name}: not on the page")
            continue
        said += [
            f"{name}: {field} is {row[field]!r}, {was[field]!r} is committed"
            for field in ("passed", "kind", "unit", "source", "miss")
            if row[field] != was[field]
        ]
        if not math.isclose(row["limit"], was["limit"], rel_tol=0.01):
            said.append(f"{name}: tolerance {row['limit']}, {was['limit']} is committed")
        said += [
            f"{name}: {field} {row[field]}, {was[field]} is committed"
            for field in ("value", "expected")
            if abs(row[field] - was[field]) > DRIFT * allowed(was)
        ]
    return said


def sorted_rows(rows):
    """In the order of the page; of a comparison made twice the one that is further off."""
    order = {name: k for k, name in enumerate(case_ids())}
    worst = {}
    for row in rows:
        if key(row) not in worst or off_share(row) > off_share(worst[key(row)]):
            worst[key(row)] = row
    tables = ("case", "order", "round_eye")
    return sorted(worst.values(), key=lambda r: (tables.index(r["table"]), order.get(r["id"], 0)))


def kept(old, new):
    """The fresh rows, with the committed value where nothing but noise is between them."""
    before = {key(r): r for r in old}

    def one(row):
        was = before.get(key(row))
        same = (
            was
            and row["passed"] == was["passed"]
            and all(abs(row[f] - was[f]) <= KEPT * allowed(row) for f in ("value", "expected"))
        )
        return {**row, "value": was["value"], "expected": was["expected"]} if same else row

    return [one(row) for row in new]


# ---- runs


def build_folder():
    return Path(os.environ.get("CAPSIM_BUILD_DIR", ROOT / "build"))


def lines(path):
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()] if path.exists() else []


def run(command, folder, **environment):
    done = subprocess.run(
        [str(word) for word in command],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env={**os.environ, "CAPSIM_EVIDENCE_FOLDER": str(folder), "PYTHONDONTWRITEBYTECODE": "1", **environment},
    )
    if done.returncode != 0:
        raise RuntimeError(
            f"{command[0]} failed: no page is made of failing tests\n{done.stdout[-4000:]}{done.stderr[-2000:]}"
        )


def fresh_comparisons(tests=None):
    """What the C++ tests compare, run now."""
    with tempfile.TemporaryDirectory() as folder:
        run([tests or build_folder() / "tests" / "capsim_tests", "[evidence]~[properties]"], Path(folder))
        return [rounded(row) for row in sorted_rows(lines(Path(folder) / "comparisons.jsonl"))]


def fresh_properties(**environment):
    """What the tests of properties note, run now."""
    with tempfile.TemporaryDirectory() as folder:
        run([build_folder() / "tests" / "capsim_tests", "[properties][evidence]"], Path(folder), **environment)
        paths = os.pathsep.join(filter(None, [str(build_folder() / "python"), os.environ.get("PYTHONPATH")]))
        run(
            [
                sys.executable,
                "-m",
                "pytest",
                ROOT / "tests" / "python" / "test_properties.py",
                "-q",
                "-p",
                "no:cacheprovider",
            ],
            Path(folder),
            PYTHONPATH=paths,
            **environment,
        )
        return lines(Path(folder) / "properties.jsonl")


# ---- the page


def cell(text):
    return str(text).replace("|", "\\|").replace("\n", " ")


def table(head, rows):
    return "\n".join(
        ["| " + " | ".join(head) + " |", "|" + "---|" * len(head)]
        + ["| " + " | ".join(cell(c) for c in row) + " |" for row in rows]
    )


def power(number, digits=1):
    """A small number as 3e-8, others as they are usually written."""
    if number == 0 or 1e-3 <= abs(number) < 1e4:
        return f"{number:.{max(digits, 1)}g}"
    mantissa, exponent = f"{number:.{digits - 1}e}".split("e")
    return f"{mantissa.removesuffix('.0')}e{int(exponent)}"


def size(number, row, digits=1):
    """A difference or a tolerance of a row in its unit, or in percent."""
    if row["kind"] == "relative":
        return f"{power(100 * number, digits)} %"
    return f"{power(number, digits)} {'points' if row['unit'] == '%' else row['unit']}".rstrip()


def off(row):
    difference = abs(row["value"] - row["expected"])
    return difference / abs(row["expected"]) if row["kind"] == "relative" and row["expected"] else difference


def off_share(row):
    """How much of its tolerance a row uses; an order none of it."""
    if row["kind"] == "at_least":
        return 0.0 if row["value"] >= row["expected"] else math.inf
    return abs(row["value"] - row["expected"]) / allowed(row)


def off_text(row):
    if row["kind"] == "at_least":
        return ""
    if off_share(row) < 0.01:
        return "< " + size(row["limit"] / 100, row)
    return size(off(row), row, 2 if off_share(row) > 1 else 1)


def tolerance_text(row):
    return "at least " + f"{row['expected']:g}" if row["kind"] == "at_least" else size(row["limit"], row, 2)


def figure(number, row):
    digits = max(0, decimals(row) - 1) if row["kind"] != "at_least" else 2
    small = abs(number) < 10**-digits
    return ("0" if small else f"{number:.{digits}f}") + (f" {row['unit']}" if row["unit"] else "")


def result(row):
    return "pass" if row["passed"] else "**miss**" + (f": {row['miss']}" if row.get("miss") else "")


def case_table(rows):
    """One line per worked case: its figure that uses most of its tolerance."""
    out = []
    for name in case_ids():
        own = [r for r in rows if r["table"] == "case" and r["id"] == name]
        if not own:
            out.append((f"{name}: {title(name)}", "", "", "", "", "", "", f"not compared: {NOT_COMPARED[name]}"))
            continue
        worst = max(own, key=off_share)
        missed = [r for r in own if not r["passed"]]
        reasons = "; ".join(dict.fromkeys(r["miss"] for r in missed))
        quantity = worst["quantity"] + (f" (worst of {len(own)})" if len(own) > 1 else "")
        out.append(
            (
                f"`{name}` {title(name)}",
                quantity,
                worst["source"],
                figure(worst["expected"], worst),
                figure(worst["value"], worst),
                off_text(worst),
                tolerance_text(worst),
                f"**miss** ({len(missed)} of {len(own)}): {reasons}" if missed else "pass",
            )
        )
    return table(("Case", "Figure", "Source", "Expected", "libcapsim", "Off by", "Tolerance", "Result"), out)


def order_table(rows):
    return table(
        ("Problem and mesh", "Figure", "Source", "Measured", "Wanted", "Result"),
        [
            (
                r["id"],
                r["quantity"],
                r["source"],
                f"{r['value']:.2f}",
                tolerance_text(r) if r["kind"] == "at_least" else f"{r['expected']:g} +- {r['limit']:g}",
                result(r),
            )
            for r in rows
            if r["table"] == "order"
        ],
    )


def eye_table(rows):
    """One line per eye, with the days side by side."""
    eyes = list(dict.fromkeys(r["id"] for r in rows if r["table"] == "round_eye"))
    out, days = [], None
    for eye in eyes:
        own = [r for r in rows if r["table"] == "round_eye" and r["id"] == eye]
        days = [r["quantity"].rsplit(" ", 1)[1] for r in own]
        missed = [day for day, r in zip(days, own) if not r["passed"]]
        limits = list(dict.fromkeys(tolerance_text(r).removesuffix(" points") for r in own))
        out.append(
            (
                eye,
                own[0]["source"],
                *(" / ".join(figure(r[side], {**r, "unit": ""}) for r in own) for side in ("expected", "value")),
                " / ".join(off_text(r).removesuffix(" points") for r in own),
                " / ".join(limits if len(limits) == 1 else [tolerance_text(r).removesuffix(" points") for r in own]),
                f"**miss** on day {', '.join(missed)}" if missed else "pass",
                "; ".join(dict.fromkeys(r["miss"] for r in own if r["miss"])),
            )
        )
    return table(
        (
            "Eye",
            "Source",
            f"Expected loss of area [%] on day {' / '.join(days)}",
            "libcapsim",
            "Off by [points]",
            "Tolerance",
            "Result",
            "Likely reason",
        ),
        out,
    )


def solver_table(record):
    def value(row, side):
        v = row[side]
        if v is None:
            return f"{power(row['distance_mm'])} mm apart" if side == "library" else ""
        return ", ".join(f"{x:.4f}" for x in v) if isinstance(v, list) else f"{v:.5f}"

    def row(r):
        relative = {"kind": "relative"}
        return (
            r["title"],
            f"{r['quantity']} [{r['unit']}]",
            value(r, "calculix"),
            value(r, "library"),
            size(r["difference"], relative),
            size(r["tolerance"], relative),
            r["relative_to"],
            result(r),
        )

    return table(
        ("Case", "Figure", "CalculiX", "libcapsim", "Off by", "Tolerance", "of", "Result"),
        [row(r) for r in record["rows"]],
    )


def clinical_table(claims):
    out = []
    for claim in claims:
        for law, answer in claim["answers"].items():
            verdict = f"**{answer['verdict']}**" if answer["verdict"] in ("miss", "sign") else answer["verdict"]
            who = f" ({law})" if len(claim["answers"]) > 1 else ""
            out.append(
                (
                    ", ".join(claim["rows"]),
                    claim["says"] + who,
                    claim["published"],
                    answer["text"],
                    verdict,
                    claim["likely"] if answer["verdict"] != "pass" else "",
                )
            )
    return table(("Source", "Says", "Published, with its size", "libcapsim", "Result", "Likely reason"), out)


def property_table(properties):
    def more(p):
        return (
            f"{p['explored']['scenarios']} ({', '.join(str(s) for s in p['explored']['seeds'])})"
            if "explored" in p
            else ""
        )

    return table(
        ("Property", "Random scenarios at each test run", "Seed", "Tried once beyond (seeds)", "Result"),
        [(p["statement"], p["scenarios"], p["seed"], more(p), "holds") for p in properties if "exception" not in p],
    )


def exceptions(properties):
    return "\n".join(
        f"- **Does not always hold:** {p['statement']}. {p['exception']}." for p in properties if "exception" in p
    )


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


def explored(old, new):
    """The committed properties, with a wider try of them added."""
    tried = {p["name"]: p for p in new}
    out = []
    for p in old:
        if "exception" not in p:
            before = p.get("explored", {"scenarios": 0, "seeds": []})
            more = tried[p["name"]]
            if more["seed"] not in before["seeds"]:
                p = {
                    **p,
                    "explored": {
                        "scenarios": before["scenarios"] + more["scenarios"],
                        "seeds": [*before["seeds"], more["seed"]],
                    },
                }
        out.append(p)
    return out


def with_explored(old, new):
    """Fresh properties; what was tried beyond stays with a statement that has not changed."""
    before = {(p["name"], p["statement"]): p for p in old}
    return [
        {**p, **{k: v for k, v in before.get((p["name"], p["statement"]), {}).items() if k == "explored"}} for p in new
    ]


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
