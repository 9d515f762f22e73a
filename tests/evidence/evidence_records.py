# SPDX-License-Identifier: BSD-3-Clause
"""Records of what tests compare: how they are rounded, ordered, kept, and when a fresh one says otherwise."""

import json
import math
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parent.parent

# A record keeps values to a hundredth of their tolerance. A fresh value within DRIFT of the tolerance is the same: compilers
# and machines differ by far less. One within KEPT does not even change the record, so that files don't change without need.
DRIFT, KEPT = 0.1, 0.02
ORDER_DRIFT = 0.1  # of an order of convergence

# Closed forms that stand in a test only.
OWN_CASES = ["disc_and_annulus"]


def read(path):
    return json.loads(Path(path).read_text(encoding="utf-8"))


def write(path, content):
    Path(path).write_text(json.dumps(content, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


def case_ids():
    return [case["id"] for case in read(HERE / "verification_cases.json")["cases"]] + OWN_CASES


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


def off_share(row):
    """How much of its tolerance a row uses; an order none of it."""
    if row["kind"] == "at_least":
        return 0.0 if row["value"] >= row["expected"] else math.inf
    return abs(row["value"] - row["expected"]) / allowed(row)


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
