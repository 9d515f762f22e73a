# SPDX-License-Identifier: BSD-3-Clause
"""The rows marked `calibrate` as facts: what is published, and what eyes of the model say to it.

Every calibration asks the same rows and only answers them from eyes of its own: with the rim alone
(calibrate.py), or with a bag that contracts as a whole (calibrate_bag.py).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Any

from cohorts import row

Fact = dict[str, Any]

MONTH = 30.4375
BETWEEN_STUDIES = 1.5
"""Spread of mean losses between studies beyond their standard errors, percentage points; assumed."""
LASER_CLEAR_MM = 3.0
"""An eye counts as lasered when its largest clear circle falls below this; common practice, no source."""
UNKNOWN_SD = 8.0
"""Between-eye spread taken where a paper gives none, percentage points: between CHO18's 6 and HAY98RP's 13.5."""
PERCENT = {"CHO18-C": (4.72, 6.1)}
"""Rows whose value is in mm2, in per cent and with its spread: the columns percent_reduction_mean and _SD."""
MEANS = "HAY98RP-CTL, HAY01-ACR, HAN06-CTL, CHO18-C, COC99-PMMA"
COC99_EYES = 62


def rounded(value: float) -> float:
    """Three digits: more would pretend."""
    return float(f"{value:.3g}")


def fact(id_: str, quantity: str, published: float, model: float, note: str = "") -> Fact:
    entry = {"row": id_, "quantity": quantity, "published": round(published, 3), "model": round(model, 3)}
    return {**entry, "note": note} if note else entry


def published_shape() -> tuple[float, float]:
    """Shares of TEH03's loss at 6 months that are reached at 1 and at 3."""
    at = {m: row("TEH03", "calibrate", "BAG", m).value for m in ("0.033", "1", "3", "6")}
    whole = at["0.033"] - at["6"]
    return (at["0.033"] - at["1"]) / whole, (at["0.033"] - at["3"]) / whole


def published_bag_month_six() -> float:
    """TEH03's loss of the bag's diameter from day 1 to month 6 [%]."""
    first, last = (row("TEH03", "calibrate", "BAG", m).value for m in ("0.033", "6"))
    return 100 * (1 - last / first)


def published_bag() -> tuple[float, float]:
    """Median loss of the bag's diameter at 3 months [%], without and with a ring: that within an eye over the first size."""
    none, ring = row("MZ05-NONE", "calibrate").value, row("MZ05-CTR", "calibrate").value
    return 100 * 0.38 / (none + 0.38), 100 * 0.23 / (ring + 0.23)


def mean_facts(
    loss: Callable[[float, float], tuple[float, float]], loss_mm2: Callable[[float, float], float]
) -> list[tuple[Fact, float]]:
    """The five means and two spreads of eyes without known risk, each with its standard error.

    `loss`: mean and measured spread of the area loss between two days [%]; `loss_mm2`: its mean in mm2.
    """
    found: list[tuple[Fact, float]] = []

    def mean(id_: str, start: float, months: float, eyes: int, spread: bool = False) -> None:
        published = row(id_, "calibrate", "area", f"{months:g}" if id_.startswith("HAY98RP") else "")
        given = (published.value, published.sd) if "reduction" in published.unit else PERCENT[id_]
        model, model_sd = loss(start, months * MONTH)
        error = math.hypot((given[1] or UNKNOWN_SD) / math.sqrt(eyes), BETWEEN_STUDIES)
        found.append((fact(id_, f"mean area loss, day {start:g} to month {months:g} [%]", given[0], model), error))
        if spread:
            error = math.hypot(given[1] / math.sqrt(2 * eyes), 1.0)
            found.append((fact(id_, "its standard deviation between eyes [%]", given[1], model_sd), error))

    mean("HAY98RP-CTL", 1, 6, 47, spread=True)
    mean("HAY01-ACR", 3, 6, 100)
    mean("HAN06-CTL", 7, 3, 50)
    mean("CHO18-C", 7, 2, 79, spread=True)
    published, area = row("COC99-PMMA", "calibrate").value, loss_mm2(1, 4.9 * MONTH)
    error = 0.22 * math.hypot(UNKNOWN_SD / math.sqrt(32), BETWEEN_STUDIES)
    found.append((fact("COC99-PMMA", "mean area loss, day 1 to month 4.9 [mm2]", published, area), error))
    return found


def shown_by(eyes: int) -> float:
    """The smallest correlation that so many eyes show (5 % level)."""
    t = 1.9996 / math.sqrt(eyes - 2)
    return t / math.sqrt(1 + t * t)


def size_facts(correlation: float, note: str) -> list[Fact]:
    """Of the loss with the initial diameter, over COC99's period."""
    says = "correlation of loss with the initial diameter, size at most"
    return [fact("COC99-PMMA", says, shown_by(COC99_EYES), correlation, note)]


def four_haptics_facts(loss: float) -> list[Fact]:
    says = "mean area loss with four haptics, day 7 to month 2 [%]"
    return [fact("CHO18-B", says, 2.87, loss, "not fitted; CHO18-C has two")]


def polish_facts(loss: float) -> list[Fact]:
    says = "mean area loss, day 7 to month 3 [%]"
    return [fact("HAN06-ASP", says, row("HAN06-ASP", "calibrate").value, loss)]


def silicone_facts(area: float, percent: float) -> list[Fact]:
    """Without a ring [mm2], and with one [%]."""
    ringed = "mean area loss with a tension ring, day 1 to month 6 [%]"
    return [
        fact("COC99-SIL", "mean area loss, day 1 to month 4.9 [mm2]", row("COC99-SIL", "calibrate").value, area),
        fact("GEO01-SIL", ringed, row("GEO01-SIL", "calibrate").value, percent),
    ]


def weak_facts(loss: float, lasered: float) -> list[Fact]:
    """Mean loss at 6 months [%], and lasered eyes at 12 [%]."""
    published = row("HAY98PE-PE", "calibrate")
    when, given = (
        "the abstract does not say at which visit",
        "published: laser opening by 12 months, 95 % interval 4.1 to 20.3",
    )
    clear = f"eyes with a clear circle below {LASER_CLEAR_MM:g} mm at 12 months [%]"
    return [
        fact("HAY98PE-PE", "mean area loss, day 1 to month 6 [%]", published.value, loss, when),
        fact("HAY98PE-PE", clear, published.laser_percent, lasered, given),
    ]
