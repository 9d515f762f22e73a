# SPDX-License-Identifier: BSD-3-Clause
"""Which outcomes and time series a sweep can keep, with units, descriptions and columns.

Nothing is listed here: two tiny runs that have everything (a lens, a ring, a cut, one year) are asked.
"""

from __future__ import annotations

import functools
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from .. import _core
from ..errors import ArgumentError
from ..history import History
from ..labelled import COLUMNS
from ..scenario import Scenario
from ..simulation import simulate
from ..spelling import did_you_mean
from ..units import quotients

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


OUTLINE_POINTS = 96
"""Points of a rim outline that a sweep keeps, evenly along the rim from where it crosses 12 o'clock."""

OutcomeFunction = Callable[[History], float]
Labels = tuple[str, Sequence[Any]]


@dataclass(frozen=True)
class Quantity:
    """One outcome or time series: what it is and how many numbers it has per day."""

    name: str
    unit: str
    description: str
    columns: int = 1
    axis: str = "one"
    function: OutcomeFunction | None = None
    """Computes an outcome of the caller's own from a history; None for those of the library."""

    by: tuple[str, ...] = ()
    """Parameters of which it is the derivative; empty for the quantity itself."""
    daily: bool = True
    """Whether it has a value for each day: series have, derivatives of outcomes have not."""

    def shape_over(self, days: int) -> tuple[int, ...]:
        """How it is kept in the row of a run."""
        columns = () if self.columns == 1 else (self.columns,)
        return ((days,) if self.daily else ()) + columns + ((len(self.by),) if self.by else ())

    @property
    def labels(self) -> list[Labels]:
        """Dimensions and labels of the columns, and of the parameters of a derivative."""
        return self._column_labels + ([("parameter", list(self.by))] if self.by else [])

    @property
    def _column_labels(self) -> list[Labels]:
        if self.columns == 1:
            return []
        if self.axis == "rim_point":
            return [("rim_point", list(range(OUTLINE_POINTS))), ("axis", ["x", "y"])]
        if self.axis in COLUMNS:
            dim, labels, _ = COLUMNS[self.axis]
            return [(dim, labels)]
        return [(f"{self.name}_column", list(range(self.columns)))]


def outcomes_named(
    names: None | str | OutcomeFunction | Iterable[str | OutcomeFunction], series: Sequence[Quantity] = ()
) -> list[Quantity]:
    """The outcomes of those names (None: the usual ones); ValueError with a suggestion for an unknown one.

    A function of a history is an outcome too, by its own name; its attribute `unit` and the first line of its
    docstring describe it.

    A variable of the result is either an outcome or a series: what is kept as a series is not one of
    the usual outcomes.
    """
    kept = {quantity.name for quantity in series}
    wanted = [name for name in DEFAULT_OUTCOMES if name not in kept] if names is None else _listed(names)
    found = []
    for name in wanted:
        if callable(name):
            found.append(_own(name))
            continue
        if name in kept:
            raise ArgumentError(f"{name} is asked for as an outcome and as a time series; the series has it all")
        sample = _known()[0].get(name) or _known()[0].get(re.sub(r"_day_[0-9.]+(?=_)", "_day_{day}", name))
        if sample is None:
            raise ArgumentError(f"there is no outcome {name!r}{did_you_mean(name, _known()[0])}")
        found.append(Quantity(name, sample.unit, sample.description))
    return found


def series_named(names: Iterable[str]) -> list[Quantity]:
    """The time series of those names; ValueError with a suggestion for an unknown one."""
    found = []
    for name in _listed(names):
        if name not in _known()[1]:
            raise ArgumentError(f"there is no time series {name!r}{did_you_mean(name, _known()[1])}")
        if name == "rim_outline_mm":
            known = _known()[1][name]
            found.append(Quantity(name, known.unit, known.description, 2 * OUTLINE_POINTS, "rim_point"))
            continue
        if _known()[1][name].axis not in ("one", *COLUMNS) or name in ("day", "event_side"):
            raise ArgumentError(f"{name} has not the same columns or days in every run, so a sweep can't keep it")
        found.append(_known()[1][name])
    return found


def derivatives_of(
    outcomes: Sequence[Quantity], series: Sequence[Quantity], parameters: Sequence[str]
) -> list[Quantity]:
    """The derivatives of outcomes and series by parameters, ``<name>_by``; ArgumentError for what has none."""
    paths = tuple(parameters)
    found = []
    for quantity, daily in [*((o, False) for o in outcomes), *((s, True) for s in series)] if paths else []:
        if quantity.function is not None or quantity.axis == "rim_point":
            raise ArgumentError(f"{quantity.name} has no derivative: only outcomes and series of the library have")
        found.append(
            replace(
                quantity,
                name=f"{quantity.name}_by",
                unit=quotients(quantity.unit, list(paths)),
                description=f"Derivative: {quantity.description}",
                by=paths,
                daily=daily,
            )
        )
    return found


def known_outcomes() -> dict[str, Quantity]:
    """Every outcome that a run can have; ``{day}`` in a name stands for the day of cuts."""
    return _known()[0]


def _own(function: OutcomeFunction) -> Quantity:
    """An outcome of the caller's own."""
    name = getattr(function, "__name__", "")
    if not name.isidentifier():
        raise ArgumentError(f"an outcome of your own needs a name; give a function made by def, not {function!r}")
    if name in _known()[0]:
        raise ArgumentError(f"{name} is an outcome of the library already; give your function another name")
    description = (function.__doc__ or "An outcome of the caller's own.").strip().splitlines()[0]
    return Quantity(name, str(getattr(function, "unit", "1")), description, function=function)


def _listed(names: Any) -> list[Any]:
    listed = [names] if isinstance(names, str) or callable(names) else list(names)
    twice = next((name for name in listed if listed.count(name) > 1), None)
    if twice is not None:
        raise ArgumentError(f"{twice} is asked for twice")
    return listed


@functools.cache
def _known() -> tuple[dict[str, Quantity], dict[str, Quantity]]:
    common: dict[str, Any] = {"eye": "right", "mesh": {"around": 12, "radial": 2}}
    day_of_surgery = simulate(
        Scenario(tension_ring={}, duration_days=0, events=[{"day": 0, "relaxing_cuts": {"hours": [12]}}], **common)
    )
    year = simulate(Scenario(contraction={"cells_left": 0}, output_every_days=365, **common))
    scalars = {name: Quantity(name, unit, description) for name, unit, _, description in _core.known_outcomes()}
    series: dict[str, Quantity] = {}
    for history in (day_of_surgery, year):
        history.raise_if_failed()
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
