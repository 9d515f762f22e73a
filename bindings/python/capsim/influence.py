# SPDX-License-Identifier: BSD-3-Clause
"""What each clock hour of the zonule and of the cells does to an outcome, from one differentiated run."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import _core
from .errors import ArgumentError
from .history import History
from .scenario import Scenario, native
from .spelling import did_you_mean

DEFAULT_OUTCOMES = ("opening_area_mm2", "lens_decentration_mm", "zonule_load_max_mN")
PLACES = {"zonule": "zonule.strength_by_hour", "cells": "contraction.cells_left_by_hour"}
SHARE = 0.1
"""Change in an hour that sentences and pictures speak of: a tenth of a full zonule, of all cells."""

# A change that a picture would call none, and more than rounding leaves of a derivative: hours that differ by less
# are said to be alike.
_ALIKE = 1e-5


class Influence(Mapping[str, Mapping[str, NDArray[np.float64]]]):
    """Derivatives by clock hour: ``influence["opening_area_mm2"]["zonule"][4]`` for 4 o'clock, index 0 is 12 o'clock.

    They are per unit: from none to a full zonule, from no cells to all. An hour without zonule or cells has them
    towards more. See `sensitivities`.

    >>> found = capsim.influence(uncut, ["opening_area_mm2"])
    >>> list(found), list(found["opening_area_mm2"]), found["opening_area_mm2"]["zonule"].shape
    (['opening_area_mm2'], ['zonule', 'cells'], (12,))
    """

    def __init__(
        self,
        history: History,
        outcome_values: dict[str, float],
        units: dict[str, str],
        derivatives: dict[str, dict[str, NDArray[np.float64]]],
    ) -> None:
        self.history = history
        """The run that was differentiated."""
        self.outcome_values = outcome_values
        """The outcomes themselves."""
        self.units = units
        self._derivatives = derivatives

    def __getitem__(self, outcome: str) -> Mapping[str, NDArray[np.float64]]:
        return self._derivatives[outcome]

    def __iter__(self) -> Iterator[str]:
        return iter(self._derivatives)

    def __len__(self) -> int:
        return len(self._derivatives)

    def sentence(self, outcome: str, place: str = "zonule") -> str:
        """What matters most, in words: for the zonule or for the cells.

        >>> print(capsim.influence(uncut, ["opening_area_mm2"]).sentence("opening_area_mm2", "cells"))
        opening_area_mm2 ...
        """
        by_hour = self._derivatives[outcome][place]
        what, noun = ("the fibres", "were stronger") if place == "zonule" else ("the cells", "were more")
        scale = max(abs(self.outcome_values[outcome]), 1.0)
        if not (np.ptp(by_hour) > _ALIKE * scale):
            return f"{outcome} depends on {what} at all hours alike, or not at all."
        lower = outcome.endswith("decentration_mm")  # what one would want less of
        hour = int(np.argmin(by_hour) if lower else np.argmax(np.abs(by_hour)))
        change = f"{SHARE * by_hour[hour]:+.3g} {self.units[outcome]} for a tenth more"
        if lower:
            mover = outcome.removesuffix("_decentration_mm")
            if not by_hour[hour] < 0:  # it lies in the middle: whatever makes hours differ moves it off
                return f"The {mover} would not move back if {what} at any hour {noun}."
            return f"The {mover} would move back most if {what} at {hour or 12} o'clock {noun}: {change}."
        way = "grow" if by_hour[hour] > 0 else "fall"
        return f"{outcome} would {way} most if {what} at {hour or 12} o'clock {noun}: {change}."


def influence(
    scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str],
    outcomes: Sequence[str] = DEFAULT_OUTCOMES,
) -> Influence:
    """Runs a scenario once, and gives the derivative of outcomes by the strength of the zonule and by the cells in each
    clock hour.

    Raises `ScenarioError` for a wrong scenario, `ArgumentError` for outcomes that this run has not.

    >>> weak_below = uncut.with_({"zonule.strength_by_hour": {"6": 0.2}})
    >>> print(capsim.influence(weak_below, ["opening_area_mm2"]).sentence("opening_area_mm2", "cells"))
    opening_area_mm2 would fall most if the cells at ... o'clock were more: ...
    """
    paths = [f"{path}.{hour or 12}" for path in PLACES.values() for hour in range(12)]
    native_history, _, names, of_outcomes, _, message, _ = _core.sensitivities(native(scenario), paths, [])
    history = History(native_history)
    history.raise_if_failed()
    if message:
        raise ArgumentError(f"influence: {message}")
    found = {name: (index, unit) for index, (name, unit, _) in enumerate(names)}
    for name in outcomes:
        if name not in found:
            raise ArgumentError(f'influence: this run has no outcome "{name}"{did_you_mean(name, found)}')
    table = of_outcomes.reshape(len(names), len(PLACES), 12)
    values = {name: value for name, _, value, _ in _core.outcomes(native_history)[0]}
    return Influence(
        history,
        {name: values[name] for name in outcomes},
        {name: found[name][1] for name in outcomes},
        {name: dict(zip(PLACES, table[found[name][0]])) for name in outcomes},
    )
