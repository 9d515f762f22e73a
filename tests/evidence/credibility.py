# SPDX-License-Identifier: BSD-3-Clause
"""The page of credibility: what an answer may be used for, and how far off mesh and model can be.

    python3 tests/evidence/credibility.py          runs the eyes and writes libcapsim/doc/credibility.md
    python3 tests/evidence/credibility.py --text   writes the page from the record as it is

The record is tests/evidence/credibility.json. Mesh: each eye on the three meshes, whose elements halve twice (24, 48, 96
round; 4, 6, 12 between rim and equator, plus those of tips); order from the three and Richardson's limit, or, where
they do not approach steadily, their range. Model: the same eyes on the coarse mesh with one assumption changed.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from pathlib import Path

import capsim
import meridian

ROOT = Path(__file__).resolve().parent.parent.parent
RECORD = ROOT / "tests" / "evidence" / "credibility.json"
PAGE = ROOT / "libcapsim" / "doc" / "credibility.md"

CUTS = {"day": 90, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": 0.5}}
EYES = {
    "middle eye": {},
    "weak zonule, lasting signal": {"zonule.strength": 0.05, "contraction.chronic_signal": 0.1},
    "the weak eye with a ring": {"zonule.strength": 0.05, "contraction.chronic_signal": 0.1, "tension_ring": {}},
    "the weak eye with four cuts": {"zonule.strength": 0.05, "contraction.chronic_signal": 0.1, "events": [CUTS]},
    "three hours of zonule missing": {"zonule.strength_by_hour": {"5": 0, "6": 0, "7": 0}},
    "middle eye, whole bag": {},
    "weak zonule, whole bag": {"zonule.strength": 0.2},
}
WHOLE_BAG = "whole bag"
"""Eyes with these words have tissue on both leaves outside the optic: middle values of the population that was fitted with it."""
QUANTITIES = {
    "area_loss_percent": "loss of the opening [%]",
    "opening_shift_mm": "shift of the opening [mm]",
    "equator_loss_mm": "loss of the bag's diameter [mm]",
    "zonule_load_max_mN": "largest load of a clock hour [mN]",
    "relief_day_90_percent": "relief by the cuts [%]",
    "cut_tip_release_max_mN": "energy release at a tip [mN]",
}
SMALL = {"opening_shift_mm": 0.01, "equator_loss_mm": 0.01}
"""Below these a quantity is not told: an even eye shifts by rounding."""
CHANGES = {
    "law of active lock-in": {"contraction.law": "active_lock_in"},
    "exponential capsule": {"capsule.law": "fung"},
    "no compressive stiffness of the capsule (5 % as a rule)": {"capsule.compression_fraction": 0.005},
    "10 % of it": {"capsule.compression_fraction": 0.1},
    "matrix of 10 kPa (20 as a rule)": {"contraction.matrix_modulus_kPa": 10},
    "matrix of 40 kPa": {"contraction.matrix_modulus_kPa": 40},
    "no posterior leaf": {"capsule.posterior_thickness_um": 0},
}


LAWS = {"fibre_remodelling": {}, "active_lock_in": {"contraction.law": "active_lock_in"}}
CUT_DAYS = (3, 30, 90)
CUT_LENGTHS = (0.25, 0.5, 0.75)


def eye(name, changes, level):
    law = {"contraction": {"law": "active_lock_in"}} if "contraction.law" in changes else {}
    group = "age_related_cataract_whole_bag" if WHOLE_BAG in name else "age_related_cataract"
    tree = {"format": "capsim-scenario", "version": 1, "duration_days": 183, "mesh": {"level": level}, **law}
    base = capsim.Scenario.from_dict(tree)
    if law or WHOLE_BAG in name:  # each law with the values that were fitted to it
        base = capsim.population(group).typical(base)
    rest = {path: value for path, value in changes.items() if path != "contraction.law"}
    return base.with_({**EYES[name], **rest})


def answers(name, changes, level):
    history = capsim.simulate(eye(name, changes, level))
    history.raise_if_failed()
    found = capsim.outcomes(history)
    return {q: float(found[q]) for q in QUANTITIES if q in found and abs(found[q]) > SMALL.get(q, 0)}


def cut_answers(law, day, length):
    """Relief at once [%], share of the lost area that it returns [%], and area after 30 days over that just before."""
    event = {"day": day, "relaxing_cuts": {"hours": [12, 3, 6, 9], "length_mm": length}}
    changes = {"events": [event], "duration_days": day + 30, "output_every_days": 1, **LAWS[law]}
    history = capsim.simulate(eye("weak zonule, lasting signal", changes, "coarse"))
    history.raise_if_failed()
    area, side = history.opening_area_mm2, history.event_side
    before, after = (area[list(side).index(s)] for s in (-1, 1))
    lost = area[0] - before
    return [
        100 * (after / before - 1),
        100 * (after - before) / lost if lost > 0.01 * area[0] else None,
        100 * (area[-1] / before - 1),
    ]


def limit(coarse, standard, fine):
    """Order, Richardson's limit and whether the three approach it steadily."""
    first, second = standard - coarse, fine - standard
    if first * second <= 0 or abs(second) >= abs(first):
        return None, fine
    order = math.log2(first / second)
    return order, fine + second / (first / second - 1)


def measured():
    mesh = {name: {level: answers(name, {}, level) for level in ("coarse", "standard", "fine")} for name in EYES}
    model = {name: {what: answers(name, changes, "coarse") for what, changes in CHANGES.items()} for name in EYES}
    cuts = [
        [law, day, length, cut_answers(law, day, length)] for law in LAWS for day in CUT_DAYS for length in CUT_LENGTHS
    ]
    return {"mesh": mesh, "model": model, "cuts": cuts, "plane": meridian.table()}


def mesh_table(mesh):
    lines = [
        "| eye | quantity | coarse | standard | fine | order | limit | coarse off by | standard off by |",
        "|---" * 9 + "|",
    ]
    for name, levels in mesh.items():
        for quantity, label in QUANTITIES.items():
            three = [levels[level].get(quantity) for level in ("coarse", "standard", "fine")]
            if None in three:
                continue
            order, at = limit(*three)
            off = [f"{100 * abs(v / at - 1):.1f} %" for v in three[:2]]
            told = f"{order:.1f}" if order else "not steady"
            lines.append(
                f"| {name} | {label} | "
                + " | ".join(f"{v:.4g}" for v in three)
                + f" | {told} | {at:.4g} | {off[0]} | {off[1]} |"
            )
    return "\n".join(lines)


def model_table(mesh, model):
    lines = ["| eye | quantity | as a rule | " + " | ".join(CHANGES) + " |", "|---" * (3 + len(CHANGES)) + "|"]
    for name, changes in model.items():
        for quantity, label in QUANTITIES.items():
            rule = mesh[name]["coarse"].get(quantity)
            if rule is None:
                continue
            cells = [f"{a[quantity]:.3g}" if quantity in a else "-" for a in changes.values()]
            lines.append(f"| {name} | {label} | {rule:.3g} | " + " | ".join(cells) + " |")
    return "\n".join(lines)


def cuts_table(cuts):
    lines = [
        "| law | day | length [mm] | area given back at once [%] | share of what was lost [%] | area 30 days later [%] |",
        "|---" * 6 + "|",
    ]
    for law, day, length, (at_once, share, later) in cuts:
        told = "-" if share is None else f"{share:.0f}"
        lines.append(f"| {law} | {day} | {length:g} | {at_once:.1f} | {told} | {later:+.1f} |")
    return "\n".join(lines)


def text(record):
    plane = "\n".join(record["plane"])
    return f"""# Credibility: what an answer may be used for, and how far off it can be

For research and teaching, not for treating a patient; decisions belong to the licensed clinician and local protocols. Relaxing cuts carry
risks of their own: pressure rise, inflammation, pits in the lens, macular oedema, retinal detachment, cuts that run to the equator, load
on the zonule and dislocation of the lens; the published rates are those of posterior laser openings.

Written by `python3 tests/evidence/credibility.py` from its record. What was compared with patients is on the [clinical page](clinical.md),
what with closed forms and another solver on the [evidence page](evidence.md).

## Use, and what a wrong answer costs

| output | may be used for | rests on | a wrong answer costs |
|---|---|---|---|
| loss of the opening, untreated, as a difference between plans in the same eye | teaching, choice of what to study | cohorts, within 2 points for the means that were fitted | a trial that asks the wrong question |
| loss of one eye, in numbers | nothing alone: the spread between eyes is wider than any difference between plans | cohorts for the spread | false certainty about one patient |
| loss of the bag's diameter | of eyes with tissue on the leaves outside the optic (the populations of the whole bag): 4.2 % at three months, 3.7 published; of the rim alone its sign only, it is a fifth of what was measured | two cohorts that differ fourfold | a ring judged by the wrong effect |
| shift of opening and lens | direction, and which hour is weak | mechanics; no cohort | a lens type chosen for centring that it does not give |
| load of the zonule by hour | comparison of hours and plans | one tissue experiment for the pull; fixed anchors, against MOD11 | an unsafe plan called safe: do not use for safety |
| relief by cuts | order of layouts; the amount halves or doubles with the length of the cuts and the law | mechanics; no cohort | harm, if it were used on a patient: it may not be |
| energy release at a tip | comparison of tips; no toughness of this capsule at a cut's tip is known | mechanics | a cut that runs to the equator |
| day of the first crossing of a threshold | teaching when to look | the course of one cohort | a late visit |

## Where it applies

Openings of 4 to 6.5 mm that lie on the optic or end within 1 mm of it; strength of the zonule from 0.05 to 1; cuts up to 1.5 mm; stretch up
to 50 %; two years. Beyond, the checks of the scenario let more through than was ever compared with anything. The tissue lies under the rim
on the optic, and in eyes of the whole bag where the leaves lie on each other outside it. Under the first law it is a homogenised constrained mixture [humphrey2002], [cyron2016]: families of fibres laid down, and exchanged, at a stretch
of their own, here with one mean natural stretch for each family in place of one for each day of birth. Haptics, edges and materials of lenses are not told apart.

## Mesh

Half a year, first law. "Limit" is Richardson's; where the three do not approach steadily it is the fine value, and the error is the distance
to that.

{mesh_table(record["mesh"])}

## Model

One assumption changed at a time, coarse mesh, half a year. The other law has the middle values that were fitted to it, and the changes of the eye.

{model_table(record["mesh"], record["model"])}

## Cuts: length and law

The weak eye with a lasting signal, four cuts, lengths within half of 0.5 mm either way, both laws with the values that were fitted to each. Per cent of
the area just before the cuts. An answer about relief that is told without this range says too much.

{cuts_table(record["cuts"])}

Three observations would tell the laws apart: the course of untreated weak eyes from month 2 to 12, the area a month after cuts on day 30, and
the share of the lost area that cuts give back on day 30 and on day 365. None is published.

## The plane

Both leaves as plane sheets, against axisymmetric membranes that are caps of spheres when unloaded and may leave the plane
(`tests/evidence/meridian.py`, which shares no code with the library): loss of the opening's area / of the bag's diameter [%] under a line
tension T round the rim. Every bag has the stated opening and equator at rest.

{plane}

Without an optic the leaves come to lie flat, whatever they were: a leaf that nothing loads sideways and whose rim is free has no tension
across the plane. What is left of the difference comes from the caps' being no plane sheets when unloaded. On an optic the leaf between it and the equator is a cone.
"""


def main():
    parser = argparse.ArgumentParser(description="The page of credibility.")
    parser.add_argument("--text", action="store_true", help="run nothing; write the page from the record")
    if not parser.parse_args().text:
        RECORD.write_text(json.dumps(measured(), indent=1) + "\n", encoding="utf-8")
    PAGE.write_text(text(json.loads(RECORD.read_text(encoding="utf-8"))), encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
