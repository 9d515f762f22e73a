# SPDX-License-Identifier: BSD-3-Clause
"""Eyes without known risk whose bag contracts as a whole, and what they say to the fitted rows."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from bag_eyes import AREA_NOISE, EYES, Crowd, FusedLaw, bag_loss_percent
from capsim import Spread
from eyes import DIAMETER_MM, run
from fitted_rows import (
    MEANS,
    MONTH,
    fact,
    four_haptics_facts,
    mean_facts,
    published_bag,
    published_bag_month_six,
    published_shape,
)

BAG_ERROR = 0.4
"""Standard error of a published median loss of the bag's diameter, percentage points: some 30 eyes; assumed."""
SHARED = 0.7
"""Correlation of the strengths under the rim and outside the optic: one eye's cells; assumed."""
FUSED = {
    "contraction.cells_beyond_contact": (1.0, "anatomy: beyond the optic the rim's leaf lies on the posterior one"),
    "bag_tissue.hoop_weight": (0.6, "the unit of the radial weight"),
    "bag_tissue.bond_kPa_per_mm": (20.0, "assumed: see decisions/fused_leaves.md"),
    "bag_tissue.haptic_bond_mN_per_mm": (5.0, "assumed: the lens goes with the bag"),
}
"""What every population sets and nothing was fitted to."""

LAWS = {
    "fibre_remodelling": FusedLaw(
        "fibre_remodelling",
        "contraction.fibre_modulus_kPa",
        "bag_tissue.fibre_modulus_kPa",
        (150.0, 220.0),
        (100000.0, 100000.0),
        ("contraction.signal_days", "contraction.deactivation_per_day"),
        (20.0, 1 / 20),
    ),
    "active_lock_in": FusedLaw(
        "active_lock_in",
        "contraction.active_tension_mN_per_mm",
        "bag_tissue.active_tension_mN_per_mm",
        (1.8, 1.0),
        (1000.0, 1000.0),
        ("contraction.signal_days", "contraction.deactivation_per_day"),
        (60.0, 1 / 60),
        {"contraction.locked_modulus_kPa": 3000.0},
        "assumed: ten times softer than under the rim alone, for a year at half the cost; gives back some 2 % of what it holds",
    ),
}
"""The first one fits the band width for all."""


class Normal:
    """Eyes without known risk under one law: what is set, what differs, and what they say to the rows."""

    def __init__(
        self, law: FusedLaw, pull: tuple[float, Spread], band_mm: float, values: Mapping[str, float], eyes: int = EYES
    ) -> None:
        self.law, self.pull, self.values = law, pull, dict(values)
        self.common = {
            "zonule.pull_mN": pull[0],
            "contraction.band_width_mm": band_mm,
            "contraction.law": law.name,
            **{path: value for path, (value, _) in FUSED.items()},
            **law.chosen,
        }
        self.clear_zone_mm: float | None = None
        self.eyes = eyes
        self._crowd: Crowd | None = None

    @classmethod
    def as_in(cls, content: Mapping[str, Any], law: FusedLaw) -> Normal:
        """With the values of the file of `age_related_cataract`, nothing fitted."""
        of_law = content["laws"][law.name]
        values = {s["path"]: s["value"] for s in of_law["settings"]}
        sds = {s["path"]: s for s in of_law["spreads"]}
        pull = Spread(**{k: v for k, v in sds["zonule.pull_mN"].items()})
        normal = cls(
            law,
            (values["zonule.pull_mN"], pull),
            values["contraction.band_width_mm"],
            {
                "rim": values[law.rim],
                "bag": values[law.bag],
                "radial": values["bag_tissue.radial_weight"],
                "sd": sds[law.rim]["sd"],
                "radial_sd": sds["bag_tissue.radial_weight"]["sd"],
                "signal": values[law.rates[0]],
                "rest": values[law.rates[1]],
            },
        )
        normal.clear_zone_mm = values["bag_tissue.clear_zone_mm"]
        return normal

    def of(self, eyes: int) -> Normal:
        """The same with fewer eyes, or more."""
        band = self.common["contraction.band_width_mm"]
        other = Normal(self.law, self.pull, band, self.values, eyes)
        other.clear_zone_mm = self.clear_zone_mm
        return other

    @property
    def settings(self) -> dict[str, Any]:
        v = self.values
        found = {
            **self.common,
            self.law.rim: v["rim"],
            self.law.bag: v["bag"],
            "bag_tissue.radial_weight": v["radial"],
            self.law.rates[0]: v["signal"],
            self.law.rates[1]: v["rest"],
        }
        if self.clear_zone_mm is not None:
            found["bag_tissue.clear_zone_mm"] = self.clear_zone_mm
        return found

    def spreads(self, *more: Spread) -> list[Spread]:
        sd = self.values["sd"]
        return [
            Spread(self.law.rim, "log", sd, 0, self.law.most[0], MEANS),
            Spread(self.law.bag, "log", sd, 0, self.law.most[1], "assumed: as under the rim", self.law.rim, SHARED),
            Spread("bag_tissue.radial_weight", "linear", self.values["radial_sd"], 0, 10, MEANS),
            self.pull[1],
            *more,
        ]

    def crowd(self, changes: Mapping[str, Any] | None = None, *more: Spread) -> Crowd:
        if changes is None and not more:
            if self._crowd is None:
                self._crowd = Crowd(self.settings, self.spreads(), self.eyes)
            return self._crowd
        return Crowd({**self.settings, **(changes or {})}, self.spreads(*more), self.eyes)

    def shape(self) -> tuple[float, float]:
        """Shares of the bag's loss at 6 months that are reached at 1 and 3, in the middle eye."""
        history = run({"duration_days": 183, **self.settings, "opening.diameter_mm": DIAMETER_MM})
        loss = [bag_loss_percent(history, 1, d * MONTH) for d in (1, 3, 6)]
        return loss[0] / loss[2], loss[1] / loss[2]

    def rows(self) -> list[tuple[dict[str, Any], float]]:
        """Facts, each with its standard error."""
        crowd = self.crowd()

        def loss(start: float, end: float) -> tuple[float, float]:
            lost = crowd.loss(start, end)
            return float(lost.mean()), math.hypot(float(lost.std()), AREA_NOISE)

        result = mean_facts(loss, lambda start, end: float(crowd.loss_mm2(start, end).mean()))
        bag = crowd.median_bag_loss(0, 3 * MONTH)
        says = "median loss of the bag's diameter, day 0 to month 3 [%]"
        result.append((fact("MZ05-NONE", says, published_bag()[0], bag), BAG_ERROR))
        for says, goal, share in zip(
            ("share of the bag's loss at 6 months reached at 1 month", "the same at 3 months"),
            published_shape(),
            self.shape(),
        ):
            result.append((fact("TEH03", says, goal, share), 0.02))
        return result

    def facts(self) -> list[dict[str, Any]]:
        return [f for f, _ in self.rows()] + self._ring_facts() + self._left_out()

    def ringed_bag_loss(self, clear_zone_mm: float) -> float:
        ring = {"tension_ring.wire_diameter_mm": 0.2, "bag_tissue.clear_zone_mm": clear_zone_mm}
        return self.crowd(ring).median_bag_loss(0, 3 * MONTH)

    def _ring_facts(self) -> list[dict[str, Any]]:
        assert self.clear_zone_mm is not None
        says = "median loss of the bag's diameter with a ring, day 0 to month 3 [%]"
        return [fact("MZ05-CTR", says, published_bag()[1], self.ringed_bag_loss(self.clear_zone_mm))]

    def _left_out(self) -> list[dict[str, Any]]:
        """Rows marked `calibrate` that no parameter was fitted to, with what the model says all the same."""
        four = self.crowd({"lens.haptics": 4})
        says = "median loss of the bag's diameter, day 1 to month 6 [%]"
        loss = self.crowd().median_bag_loss(1, 6 * MONTH)
        return [
            fact("TEH03", says, published_bag_month_six(), loss, "not fitted"),
            *four_haptics_facts(float(four.loss(7, 2 * MONTH).mean())),
        ]
