# SPDX-License-Identifier: BSD-3-Clause
"""Solves every case with the library and with CalculiX and tabulates the differences.

  python3 compare.py <capsim_bench_leaf> <work folder> [record.json]

The record (tests/evidence/calculix.json) keeps CalculiX's answers and one row per case and quantity: both values,
their difference and what it is relative to, the tolerance, the verdict.
"""

import json
import math
import subprocess
import sys
from pathlib import Path

import calculix
import deck as decks
import measure as measures

HERE = Path(__file__).resolve().parent
RECORD = HERE.parent / "evidence" / "calculix.json"

# Largest share by which the areas may differ. Linear cases: of the change of area, where only the two
# meshes' own errors count. Large strain: CalculiX's material is compressible in the ratio
# deck.BULK_RATIO, which alone makes 2e-4 at a stretch of 1.1.
AREA_LINEAR, AREA_LARGE = 1e-4, 1e-3
# Of the total pull. It is a sum of differences of nearly equal lengths.
PULL_LINEAR, PULL_LARGE = 2e-4, 2e-3
# Outline and centroid: of the largest displacement of the rim.
PLACE_LINEAR, PLACE_LARGE = 2e-4, 2e-3


def cases():
    return json.loads((HERE / "cases.json").read_text(encoding="utf-8"))["cases"]


def library(tool, ids=()):
    """The library's answers by case."""
    done = subprocess.run(
        [str(tool), str(HERE / "cases.json"), *ids], capture_output=True, text=True, timeout=300, check=False
    )
    if done.returncode != 0:
        raise RuntimeError(f"{tool}: {done.stderr}")
    return {answer["id"]: answer for answer in json.loads(done.stdout)}


def start_area(case):
    return math.pi * case["leaf"]["rim_radius_mm"] ** 2


def rows(case, ours, theirs):
    """The comparison of one case: a list of rows."""
    linear = case["law"]["kind"] == "linear"
    out = []

    def row(quantity, unit, a, b, scale, tolerance, of):
        difference = abs(a - b) / scale
        out.append(
            {
                "case": case["id"],
                "title": case["title"],
                "quantity": quantity,
                "unit": unit,
                "library": a,
                "calculix": b,
                "difference": difference,
                "relative_to": of,
                "difference_unit": scale,
                "tolerance": tolerance,
                "passed": bool(difference <= tolerance),
            }
        )

    leaf = case["leaf"]
    a, (cx, cy) = leaf["rim_radius_mm"], leaf["rim_center_mm"]
    cut_angles = [math.radians(c["angle_deg"]) for c in case.get("cuts", [])]
    angles = [t for t in (math.radians(15 * k) for k in range(24)) if not any(abs(t - c) < 1e-9 for c in cut_angles)]
    unloaded = [(cx + a * math.cos(t), cy + a * math.sin(t)) for t in angles]
    most = max(math.dist(unloaded[k], p) for k, p in theirs["rim_mm"].items())

    start = start_area(case)
    if linear:
        row(
            "change of area",
            "mm2",
            ours["area_mm2"] - start,
            theirs["area_mm2"] - start,
            abs(theirs["area_mm2"] - start),
            AREA_LINEAR,
            "the change",
        )
    else:
        row("area", "mm2", ours["area_mm2"], theirs["area_mm2"], theirs["area_mm2"], AREA_LARGE, "the area")
    place = PLACE_LINEAR if linear else PLACE_LARGE
    if "center_mm" in theirs:
        row("centroid", "mm", ours["center_mm"][0], theirs["center_mm"], most, place, "the rim's largest displacement")
    apart = max(math.dist(ours["rim_mm"][k], p) for k, p in theirs["rim_mm"].items())
    out.append(
        {
            "case": case["id"],
            "title": case["title"],
            "quantity": "outline, largest distance",
            "unit": "mm",
            "library": None,
            "calculix": None,
            "difference": apart / most,
            "relative_to": "the rim's largest displacement",
            "difference_unit": most,
            "distance_mm": apart,
            "tolerance": place,
            "passed": bool(apart / most <= place),
        }
    )
    for n, cut in enumerate(case.get("cuts", [])):
        if float(cut["angle_deg"]) not in theirs["lips_mm"]:
            continue
        lip = theirs["lips_mm"][float(cut["angle_deg"])]
        # The sector holds the counter-clockwise lip of the cut on its first ray, the clockwise one on its last.
        our = ours["lips_mm"][2 * n + (1 if cut["angle_deg"] == 0 else 0)]
        d = math.dist(our, lip)
        out.append(
            {
                "case": case["id"],
                "title": case["title"],
                "quantity": f"lip of the cut at {cut['angle_deg']} degrees",
                "unit": "mm",
                "library": our,
                "calculix": list(lip),
                "difference": d / most,
                "relative_to": "the rim's largest displacement",
                "difference_unit": most,
                "distance_mm": d,
                "tolerance": 2 * place,
                "passed": bool(d / most <= 2 * place),
            }
        )
    pull = PULL_LINEAR if linear else PULL_LARGE
    for key, name in (
        ("pull_mN", "pull of the support"),
        ("pull_cos_mN", "its first harmonic"),
        ("pull_cos2_mN", "its second harmonic"),
    ):
        if key in theirs:
            row(name, "mN", ours[key], theirs[key], abs(theirs["pull_mN"]), pull, "the pull")
    return out


def solve(case, folder):
    """CalculiX's answer to a case."""
    deck = decks.write(case)
    return measures.measure(case, deck, calculix.run(deck, case["id"], folder))


def table(answers, ours):
    """All rows; `answers` and `ours` by case."""
    return [
        row for case in cases() if case["id"] in answers for row in rows(case, ours[case["id"]], answers[case["id"]])
    ]


def recorded(path=RECORD):
    """The record: {"solver", "answers" by case, "rows"}."""
    record = json.loads(Path(path).read_text(encoding="utf-8"))
    for answer in record["answers"].values():  # JSON knows text keys only
        answer["rim_mm"] = {int(k): p for k, p in answer["rim_mm"].items()}
        answer["lips_mm"] = {float(a): p for a, p in answer["lips_mm"].items()}
    return record


def show(found):
    return "\n".join(
        f"{'pass' if r['passed'] else 'MISS'}  {r['case']:26} {r['quantity']:32} {r['difference']:.1e} of "
        f"{r['relative_to']} (limit {r['tolerance']:.0e})"
        for r in found
    )


def main(tool, folder, target=None):
    ours = library(tool)
    answers = {case["id"]: solve(case, folder) for case in cases()}
    found = table(answers, ours)
    print(show(found))
    if target:
        record = {
            "solver": "CalculiX " + calculix.version(),
            "bulk_over_shear_modulus": decks.BULK_RATIO,
            "answers": answers,
            "rows": found,
        }
        Path(target).write_text(json.dumps(record, indent=1) + "\n", encoding="utf-8")
    return 0 if all(r["passed"] for r in found) else 1


if __name__ == "__main__":
    if len(sys.argv) not in (3, 4):
        sys.exit(__doc__)
    sys.exit(main(*sys.argv[1:]))
