# SPDX-License-Identifier: BSD-3-Clause
"""The files of the populations: what every calibration writes, reads, compares and prints in the same way."""

from __future__ import annotations

import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from eyes import AREA_ERROR
from fitted_rows import BETWEEN_STUDIES, LASER_CLEAR_MM, UNKNOWN_SD, Fact

FOLDER = Path(__file__).resolve().parent.parent.parent / "libcapsim" / "data" / "populations"

Content = dict[str, Any]
Fits = dict[str, tuple[list[Any], list[Any], list[Fact]]]
"""Settings, spreads and facts of each population, under one law."""


def setting(path: str, value: Any, source: str) -> dict[str, Any]:
    return {"path": path, "value": value, "source": source}


def content(
    name: str, edition: str, description: str, made_by: str, by_law: Mapping[str, Any], assumed: Mapping[str, Any]
) -> Content:
    """Of one file. `by_law`: settings, spreads and facts of this population under each law."""
    return {
        "format": "capsim-population",
        "version": 1,
        "name": name,
        "edition": edition,
        "description": description,
        "area_error": {"value": AREA_ERROR, "source": "assumed: two visits then differ by 4 % for no reason"},
        "laws": {law: {"settings": fit[0], "spreads": fit[1]} for law, fit in by_law.items()},
        "provenance": {
            "made_by": made_by,
            "rows": "tests/evidence/cohorts.csv, role calibrate",
            "assumed": {
                "between_studies_percent": BETWEEN_STUDIES,
                "sd_where_none_is_given_percent": UNKNOWN_SD,
                "laser_below_clear_circle_mm": LASER_CLEAR_MM,
                **assumed,
                "opening_diameter_mm": "5.25 +- 0.3",
            },
            "fitted_to": {law: fit[2] for law, fit in by_law.items()},
        },
    }


def read(name: str) -> Content:
    found: Content = json.loads((FOLDER / f"{name}.json").read_text(encoding="utf-8"))
    return found


def write(made: Content) -> None:
    (FOLDER / f"{made['name']}.json").write_text(json.dumps(made, indent=1) + "\n", encoding="utf-8")


def kept(contents: Mapping[str, Content], law: str) -> Fits:
    """What files say of a law, where they say anything of it."""
    return {
        name: (c["laws"][law]["settings"], c["laws"][law]["spreads"], c["provenance"]["fitted_to"][law])
        for name, c in contents.items()
        if law in c["laws"]
    }


def band_of(fits: Fits) -> float:
    """The band width that was fitted under a law."""
    base = fits["age_related_cataract"][0]
    return float(next(s["value"] for s in base if s["path"] == "contraction.band_width_mm"))


def moved(old: Content, new: Content) -> list[str]:
    """Numbers of a file that a new fit would move by more than 3 %."""
    found = []
    for law, fitted in new["laws"].items():
        known = {s["path"]: s["value"] for s in old["laws"].get(law, {"settings": []})["settings"]}
        for s in fitted["settings"]:
            before = known.get(s["path"])
            if before is None or not math.isclose(s["value"], before, rel_tol=0, abs_tol=0.03 * abs(before)):
                found.append(f"{new['name']}, {law}, {s['path']}: {before} in the file, {s['value']} fitted")
    return found


def say(made: Content) -> None:
    """Prints settings, spread and facts of every law."""
    for law, facts in made["provenance"]["fitted_to"].items():
        of_law = made["laws"][law]
        values = ", ".join(f"{s['path']} {s['value']:g}" for s in of_law["settings"])
        print(f"{made['name']} ({law}): {values}; spread {of_law['spreads'][0]['sd']:g}")
        for f in facts:
            print(f"  {f['row']:<12} {f['quantity']:<75} {f['published']:>8g} {f['model']:>8g}")


def settle(made: Mapping[str, Content], check: bool) -> int:
    """Writes the files, or with `check` only compares them; prints what is in them; 1 when a number has moved."""
    changes: list[str] = []
    for one in made.values():
        if check:
            changes += moved(read(one["name"]), one)
        else:
            write(one)
        say(one)
    for line in changes:
        print("moved: " + line)
    return 1 if changes else 0
