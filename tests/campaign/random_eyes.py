# SPDX-License-Identifier: BSD-3-Clause
"""Random valid scenarios in four strata.

clinical     eyes as they come to an operating theatre, and worse: soft and stiff capsules, weak and torn zonules, lens,
             ring, cuts, damage, both laws; the ranges and their reasons stand in CLINICAL
whole_bag    such eyes with the tissue of eyes drawn from the populations of the whole bag: under the rim and on both
             leaves outside the optic
whole_range  any field anywhere between its limits, large ranges by their logarithm
corners      any field at one of its limits

Eye `number` of a stratum is a function of the two and of nothing else. What does not fit together is set back to the default,
path by path, as the library's violations name it, so that every eye is valid. Only a capsule that can't carry its pull is left as
it was drawn: that is no slip of whoever states an eye, and such eyes are counted as refused.
"""

from __future__ import annotations

import json
import math
import random
from pathlib import Path
from typing import Any

import capsim

STRATA = ("clinical", "whole_bag", "whole_range", "corners")
Tree = dict[str, Any]

_SCHEMA = json.loads((Path(__file__).parents[2] / "libcapsim" / "doc" / "scenario.schema.json").read_text())
CLINICAL = (
    ("bag 9.3 to 10.9 mm", "emptied bags of adults with two standard deviations on either side"),
    (
        "opening 4 to 6.3 mm, round or an ellipse down to 0.8, up to 0.7 mm off centre",
        "usual aim 5 to 5.5 mm, and what goes wrong",
    ),
    ("capsule 350 to 2300 kPa or the exponential law, 8 to 21 um in front", "plausible ranges of the parameter table"),
    (
        "pull 10 to 70 mN, and no more than stretches the front leaf by a fifth (pull / (2 pi R E t))",
        "range of the parameter table; moduli are measured at a tenth, and a leaf of this law carries a third at most",
    ),
    ("zonule of a tenth to full strength, up to five hours missing in one gap", "pseudoexfoliation and dialysis"),
    (
        "haptics of 0 to 4 mN, rings of 12.3 to 14.5 mm in every fourth eye",
        "what is implanted, with or against the need",
    ),
    (
        "up to four cuts of 0.3 to 1.2 mm, damage, failing bundles",
        "what a plan tries; longer ones pass the middle of the leaf",
    ),
)
"""Ranges of the clinical stratum, and why these."""
_WHOLE_BAG = tuple(name for name in capsim.population_names() if name.endswith("_whole_bag"))
_CARRIED = "what the capsule can carry"
_MOST_STRAIN = 0.2
_DECADES = 2  # a range of positive numbers wider than this is drawn by its logarithm
_KEEP = 0.5  # of the fields of the two wide strata keep their default
_SECTIONS = ("bag", "opening", "lens", "tension_ring", "capsule", "zonule", "contraction", "bag_tissue", "events")
_DAYS = 60.0  # of a run, unless something happens later


def eye(stratum: str, number: int) -> Tree:
    """Eye `number` of a stratum, as the tree of its scenario."""
    draw = random.Random(f"{stratum} {number}")
    if stratum == "clinical":
        tree = _clinical(draw)
    elif stratum == "whole_bag":
        tree = _with_tissue_outside(draw, _clinical(draw))
    else:
        tree = _anywhere(draw, corners=stratum == "corners")
    return repaired({"format": "capsim-scenario", "version": 1, "name": f"{stratum}-{number}", **tree})


def violated(tree: Tree) -> list[str]:
    """Paths of what does not fit together in a scenario; none when it is valid but for a pull that nothing carries."""
    try:
        capsim.Scenario.from_dict(tree)
    except capsim.ScenarioError as error:
        return [violation.path for violation in error.violations if _CARRIED not in violation.limit]
    return []


def repaired(tree: Tree) -> Tree:
    """The scenario without what is wrong with it."""
    for _ in range(60):
        paths = violated(tree)
        if not paths:
            return tree
        before = json.dumps(tree)
        for path in paths:
            _remove(tree, path)
        if json.dumps(tree) == before:  # a default that does not fit what is set elsewhere
            tree.pop(next(section for section in _SECTIONS if section in tree))
    raise AssertionError(f"a scenario that can't be made valid: {json.dumps(tree)}")


def _remove(tree: Tree, path: str) -> None:
    """Takes the field at `path` out, or the event that holds it; what is not there takes its section along."""
    keys = path.replace("]", "").replace("[", ".").split(".")
    if keys[0] == "events" and len(keys) > 1:
        if int(keys[1]) < len(tree["events"]):
            tree["events"].pop(int(keys[1]))
        return
    holder: Any = tree
    for key in keys[:-1]:
        if not isinstance(holder, dict) or key not in holder:
            break
        if not isinstance(holder[key], dict):
            del holder[key]
            return
        holder = holder[key]
    if keys[-1] in holder:
        del holder[keys[-1]]
    else:
        tree.pop(keys[0], None)


def quick(tree: Tree) -> Tree:
    """The same eye on the coarse mesh for sixty days, its events in the same order."""
    days = min(_DAYS, tree.get("duration_days", 365))
    share = days / max(tree.get("duration_days", 365), 1e-9)
    events = [event | {"day": event["day"] * share} for event in tree.get("events", [])]
    return tree | {"mesh": {"level": "coarse"}, "duration_days": days, "output_every_days": 10, "events": events}


def turned(tree: Tree, hours: int) -> Tree:
    """The eye turned clockwise by whole clock hours."""
    angle = -hours * math.pi / 6

    def hour(value: float) -> float:
        return (value + hours) % 12 or 12

    def walk(value: Any, key: str = "") -> Any:
        if isinstance(value, dict) and key.endswith("_by_hour"):
            return {f"{hour(float(at)):g}": number for at, number in value.items()}
        if isinstance(value, dict):
            return {name: walk(item, name) for name, item in value.items()}
        if key == "hours":
            return [hour(item) for item in value]
        if key == "center_mm":
            x, y = value
            return [x * math.cos(angle) - y * math.sin(angle), x * math.sin(angle) + y * math.cos(angle)]
        if isinstance(value, list):
            return [walk(item) for item in value]
        return hour(value) if key.endswith("_hour") and value is not None else value

    whole: Tree = walk(capsim.Scenario.from_dict(tree).to_dict())  # defaults have hours, too
    return whole


# ---- clinical ------------------------------------------------------------------------------------------------------
def _clinical(draw: random.Random) -> Tree:
    bag = draw.uniform(9.3, 10.9)
    tree: Tree = {
        "eye": draw.choice(["right", "left"]),
        "duration_days": draw.choice([60, 180, 365]),
        "output_every_days": draw.choice([7, 14, 30]),
        "bag": {"equator_diameter_mm": bag},
        "opening": _clinical_opening(draw),
        "capsule": _clinical_capsule(draw),
        "zonule": {},
        "contraction": _clinical_contraction(draw),
        "mesh": {"level": draw.choice(["coarse", "coarse", "standard"])},
    }
    tree["zonule"] = _clinical_zonule(draw, bag, _most_pull_mN(tree))
    if draw.random() < 0.15:
        tree["lens"] = None
    elif draw.random() < 0.7:
        tree["lens"] = {
            "optic_diameter_mm": draw.choice([5.5, 6, 6.5, 7]),
            "haptics": draw.choice([2, 2, 3, 4]),
            "axis_hour": draw.uniform(0.01, 12),
            "haptic_force_mN": draw.choice([0, draw.uniform(0.3, 4)]),
            "overall_diameter_mm": draw.uniform(11.5, 13.5),
            "haptic_arc_degrees": draw.uniform(15, 60),
        }
    if draw.random() < 0.25:
        tree["tension_ring"] = _ring(draw)
    tree["events"] = _clinical_events(draw, tree["duration_days"], ring="tension_ring" not in tree)
    return tree


def _with_tissue_outside(draw: random.Random, tree: Tree) -> Tree:
    """The eye with the tissue of one drawn from a population of the whole bag, under one of its laws."""
    crowd = capsim.population(draw.choice(_WHOLE_BAG))
    middle = crowd.under(crowd.typical(capsim.Scenario()), draw.choice(crowd.laws))
    drawn = crowd.around(middle, draw.randrange(1_000_000)).to_dict()
    cells = {k: v for k, v in tree["contraction"].items() if k == "cells_left_by_hour"}
    return tree | {"contraction": drawn["contraction"] | cells, "bag_tissue": drawn["bag_tissue"]}


def _clinical_opening(draw: random.Random) -> Tree:
    under = ["end_of_surgery", "own_zonule", "full_strength_zonule"]
    opening: Tree = {"measured_under": draw.choices(under, [4, 1, 1])[0]}
    if draw.random() < 0.2:
        across = draw.uniform(4, 6)
        opening |= {"diameters_mm": [across, across * draw.uniform(0.8, 1)], "axis_hour": draw.uniform(0.01, 12)}
    else:
        opening["diameter_mm"] = draw.uniform(4, 6.3)
    off, angle = draw.choice([0, abs(draw.gauss(0, 0.3))]), draw.uniform(0, 2 * math.pi)
    opening["center_mm"] = [min(off, 0.7) * math.cos(angle), min(off, 0.7) * math.sin(angle)]
    return opening


def _clinical_capsule(draw: random.Random) -> Tree:
    capsule: Tree = {
        "modulus_kPa": math.exp(draw.uniform(math.log(350), math.log(2300))),
        "anterior_thickness_um": draw.uniform(8, 21),
        "posterior_thickness_um": draw.uniform(3, 9),
        "compression_fraction": draw.choice([0.01, 0.02, 0.05, 0.05, 0.1, 0.2]),
    }
    if draw.random() < 0.25:
        capsule |= {"law": "fung", "fung_c_kPa": draw.uniform(150, 530)}
    return capsule


def _most_pull_mN(tree: Tree) -> float:
    """What stretches the front leaf by the most of a clinical eye."""
    capsule = tree["capsule"]
    # 315 kPa of the exponential law are as stiff as 830 kPa at a tenth of stretch.
    modulus = 830 / 315 * capsule["fung_c_kPa"] if "fung_c_kPa" in capsule else capsule["modulus_kPa"]
    around = math.pi * tree["bag"]["equator_diameter_mm"]
    return _MOST_STRAIN * around * modulus * 1e-3 * capsule["anterior_thickness_um"]


def _clinical_zonule(draw: random.Random, bag: float, most_pull_mN: float) -> Tree:
    strength = draw.choice([1, 1, draw.uniform(0.3, 1), draw.uniform(0.1, 0.3)])
    zonule: Tree = {
        "stiffness_mN_per_mm": draw.uniform(60, 250),
        "ciliary_ring_diameter_mm": bag + draw.uniform(1.5, 3),
        "pull_mN": min(draw.choice([22.1, draw.uniform(10, 70)]), most_pull_mN),
        "strength": strength,
        "interpolation": draw.choice(["stepwise", "smooth"]),
    }
    if draw.random() < 0.3:
        first, missing = draw.randrange(12), draw.choice([1, 2, 3, 3, 4, 5])
        hours = [(first + k) % 12 + 1 for k in range(missing)]
        zonule["strength_by_hour"] = {str(hour): 0 for hour in hours} | {
            str((first + missing) % 12 + 1): 0.5 * strength
        }
    if draw.random() < 0.25:
        zonule |= {
            "attachment": "split",
            "anterior_share": draw.uniform(0.3, 0.8),
            "anterior_inset_mm": draw.uniform(0.5, 1.75),
        }
    if draw.random() < 0.1:
        zonule["failure_elongation_mm"] = draw.uniform(1.5, 3.5)
    return zonule


def _clinical_contraction(draw: random.Random) -> Tree:
    contraction: Tree = {
        "cells_left": draw.choice([1, 1, draw.uniform(0.2, 1)]),
        "chronic_signal": draw.choice([0, 0, 0.2, draw.uniform(0, 0.4)]),
    }
    if draw.random() < 0.2:
        contraction["cells_left_by_hour"] = {str(draw.randint(1, 12)): draw.random() for _ in range(3)}
    if draw.random() < 0.5:
        contraction |= {"law": "fibre_remodelling", "fibre_modulus_kPa": draw.uniform(100, 900)}
    else:
        contraction |= {
            "law": "active_lock_in",
            "active_tension_mN_per_mm": draw.uniform(3, 18),
            "lock_in_per_day": draw.uniform(0.02, 0.2),
        }
    if draw.random() < 0.2:
        contraction["band_width_mm"] = draw.uniform(0.15, 0.6)
    if draw.random() < 0.1:
        contraction["edge_width_mm"] = draw.uniform(0.02, 0.2)
    return contraction


def _clinical_events(draw: random.Random, days: float, ring: bool) -> list[Tree]:
    events: list[Tree] = []
    if draw.random() < 0.3:
        first, count = draw.randrange(12), draw.choice([1, 2, 3, 4])
        hours = (
            [(first + k) % 12 + 1 for k in range(count)]
            if draw.random() < 0.5
            else sorted(draw.sample(range(1, 13), count))
        )
        cuts = {"hours": hours, "length_mm": draw.choice([0.5, 0.75, 1, draw.uniform(0.3, 1.2)])}
        events.append({"day": draw.choice([14, 30, 0.5 * days]), "relaxing_cuts": cuts})
    if draw.random() < 0.1:
        weaker = {str(draw.randint(1, 12)): draw.choice([0, 0.5]) for _ in range(draw.randint(1, 3))}
        events.append({"day": draw.uniform(1, days), "zonule_damage": {"strength_by_hour": weaker}})
    if ring and draw.random() < 0.07:
        events.append({"day": draw.uniform(1, days), "tension_ring": _ring(draw)})
    return sorted(events, key=lambda event: event["day"])


def _ring(draw: random.Random) -> Tree:
    gap = draw.uniform(0.01, 12)
    ring: Tree = {
        "free_diameter_mm": draw.choice([12.3, 13, 14.5]),
        "gap_hour": gap,
        "wire_diameter_mm": draw.uniform(0.14, 0.24),
    }
    if draw.random() < 0.3:
        ring["eyelet_hour"] = (gap + 6) % 12 or 12
    if draw.random() < 0.1:
        ring["arc_degrees"] = 120
    return ring


# ---- between the limits and at them ----------------------------------------------------------------------------------
def _anywhere(draw: random.Random, corners: bool) -> Tree:
    tree: Tree = {}
    for key in ("bag", "opening", "capsule", "zonule", "contraction", "bag_tissue"):
        if key == "bag_tissue" and draw.random() < 0.7:
            continue
        tree[key] = _section(draw, _SCHEMA["properties"][key], corners)
    tree["opening"].pop("outline_mm", None)
    for key in ("lens", "tension_ring"):
        kind = draw.random()
        if kind < 0.3:
            tree[key] = None
        elif kind < (0.8 if key == "lens" else 0.5):
            tree[key] = _section(draw, _SCHEMA["$defs"][key], corners)
    tree["events"] = [_event(draw, corners) for _ in range(draw.choice([0, 0, 1, 1, 2, 3]))]
    if sum("tension_ring" in event for event in tree["events"]) + (tree.get("tension_ring") is not None) > 1:
        tree["events"] = [event for event in tree["events"] if "tension_ring" not in event]
    tree |= {"duration_days": _DAYS, "output_every_days": 10, "mesh": draw.choice([{"level": "coarse"}, _LEAST_MESH])}
    return tree


_LEAST_MESH = {"around": 12, "radial": 2}


def _event(draw: random.Random, corners: bool) -> Tree:
    kind = draw.choice(["relaxing_cuts", "relaxing_cuts", "zonule_damage", "tension_ring"])
    day = 0 if corners and draw.random() < 0.5 else draw.uniform(0, _DAYS)
    if kind == "relaxing_cuts":
        hours = [draw.uniform(0.01, 12) for _ in range(draw.randint(1, 4))]
        return {"day": day, kind: {"hours": hours, "length_mm": math.exp(draw.uniform(math.log(0.1), math.log(4)))}}
    if kind == "zonule_damage":
        return {"day": day, kind: {"strength_by_hour": {str(draw.randint(1, 12)): draw.random() for _ in range(4)}}}
    return {"day": day, kind: _section(draw, _SCHEMA["$defs"]["tension_ring"], corners)}


def _section(draw: random.Random, schema: Tree, corners: bool) -> Tree:
    section: Tree = {}
    for key, field in schema["properties"].items():
        if draw.random() < _KEEP:
            continue
        value = _value(draw, field, corners)
        if value is not None:
            section[key] = value
    return section


def _value(draw: random.Random, field: Tree, corners: bool) -> Any:
    """A value of a field between its limits or at one of them; None where the default stays."""
    if "enum" in field:
        return draw.choice(field["enum"])
    if "patternProperties" in field:
        return {str(draw.randint(1, 12)): float(draw.randint(0, 1)) if corners else draw.random() for _ in range(3)}
    if field.get("items", {}).get("type") == "number" and field.get("maxItems") == 2:
        return [_number(draw, field["items"], corners) for _ in range(2)]
    limits = next((f for f in (field, *field.get("anyOf", [])) if "maximum" in f), None)
    if limits is None:
        return None
    if field["type"] == "integer":
        return draw.randint(limits["minimum"], limits["maximum"])
    return _number(draw, limits, corners)


def _number(draw: random.Random, limits: Tree, corners: bool) -> float:
    low, high = float(limits.get("minimum", limits.get("exclusiveMinimum", 0))), float(limits["maximum"])
    if corners:
        return draw.choice([low if "minimum" in limits else high, high])
    if low >= 0 and high > 10**_DECADES * max(low, 1e-3):
        return math.exp(draw.uniform(math.log(max(low, 1e-4 * high)), math.log(high)))
    return draw.uniform(low, high)
