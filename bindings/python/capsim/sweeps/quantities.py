# SPDX-License-Identifier: BSD-3-Clause
"""Which outcomes and time series a sweep can keep, with units, descriptions and columns.

Nothing is listed here: two tiny runs that have everything (a lens, a ring, a cut, one year) are asked.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from .. import _core
from ..outcomes import outcomes
from ..scenario import Scenario
from ..simulation import simulate
from ..spelling import did_you_mean

DEFAULT_OUTCOMES = (
    "opening_area_mm2",
    "opening_diameter_mm",
    "area_loss_percent",
    "clear_circle_diameter_mm",
    "opening_decentration_mm",
    "lens_decentration_mm",
    "equator_diameter_mm",
    "zonule_load_total_mN",
    "zonule_load_max_mN",
    "rim_tension_mN_per_mm",
    "fibrous_tissue",
)


AXES: dict[str, tuple[str, Sequence[Any]]] = {
    "clock_hour": ("hour", [12, *range(1, 12)]),
    "xy": ("axis", ["x", "y"]),
    "pupil": ("pupil_mm", list(_core.pupil_diameters_mm)),
}
"""Dimension and labels of the columns of a series that has the same ones in every run."""


@dataclass(frozen=True)
class Quantity:
    """One outcome or time series: what it is and how many numbers it has per day."""

    name: str
    unit: str
    description: str
    columns: int = 1
    axis: str = "one"

    @property
    def labels(self) -> tuple[str, Sequence[Any]] | None:
        """Dimension and labels of the columns, None for a single one."""
        if self.columns == 1:
            return None
        if self.axis in AXES:
            return AXES[self.axis]
        return f"{self.name}_column", list(range(self.columns))


def outcomes_named(names: Iterable[str] | None, series: Sequence[Quantity] = ()) -> list[Quantity]:
    """The outcomes of those names (None: the usual ones); ValueError with a suggestion for an unknown one.

    A variable of the result is either an outcome or a series: what is kept as a series is not one of
    the usual outcomes.
    """
    kept = {quantity.name for quantity in series}
    wanted = [name for name in DEFAULT_OUTCOMES if name not in kept] if names is None else _listed(names)
    found = []
    for name in wanted:
        if name in kept:
            raise ValueError(f"{name} is asked for as an outcome and as a time series; the series has it all")
        sample = _known()[0].get(re.sub(r"_day_[0-9.]+(?=_)", "_day_0", name))
        if sample is None:
            raise ValueError(f"there is no outcome {name!r}{did_you_mean(name, _known()[0])}")
        found.append(Quantity(name, sample.unit, sample.description))
    return found


def series_named(names: Iterable[str]) -> list[Quantity]:
    """The time series of those names; ValueError with a suggestion for an unknown one."""
    found = []
    for name in _listed(names):
        if name not in _known()[1]:
            raise ValueError(f"there is no time series {name!r}{did_you_mean(name, _known()[1])}")
        if _known()[1][name].axis not in ("one", *AXES) or name in ("day", "event_side"):
            raise ValueError(f"{name} has not the same columns or days in every run, so a sweep can't keep it")
        found.append(_known()[1][name])
    return found


def _listed(names: Iterable[str]) -> list[str]:
    listed = [names] if isinstance(names, str) else list(names)
    twice = next((name for name in listed if listed.count(name) > 1), None)
    if twice is not None:
        raise ValueError(f"{twice} is asked for twice")
    return listed


@functools.cache
def _known() -> tuple[dict[str, Quantity], dict[str, Quantity]]:
    common: dict[str, Any] = {"eye": "right", "mesh": {"around": 12, "radial": 2}}
    day_of_surgery = simulate(
        Scenario(tension_ring={}, duration_days=0, events=[{"day": 0, "relaxing_cuts": {"hours": [12]}}], **common)
    )
    year = simulate(Scenario(contraction={"cells_left": 0}, output_every_days=365, **common))
    scalars: dict[str, Quantity] = {}
    series: dict[str, Quantity] = {}
    for history in (day_of_surgery, year):
        history.raise_if_failed()
        result = outcomes(history)
        scalars.update({name: Quantity(name, result.units[name], result.descriptions[name]) for name in result})
        series.update(
            {
                name: Quantity(
                    name,
                    history.unit(name),
                    history.description(name),
                    history.array(name)[:1].size,
                    history.axis(name),
                )
                for name in history.names
            }
        )
    return scalars, series
