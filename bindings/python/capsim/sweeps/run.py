# SPDX-License-Identifier: BSD-3-Clause
"""One run of a sweep: changed values in, a row of results out. Works in any process."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..days import rows_on
from ..errors import ScenarioError
from ..history import History
from ..outcomes import outcomes
from ..scenario import Scenario, changed
from ..simulation import Progress, simulate
from .quantities import Quantity

FloatArray = NDArray[np.float64]
Vary = Callable[[Scenario, np.random.Generator], Scenario]

INVALID, INTERNAL_ERROR = "invalid_scenario", "internal_error"


@dataclass(frozen=True)
class Plan:
    """What is the same for all runs."""

    base: dict[str, Any]
    outcomes: Sequence[Quantity]
    series: Sequence[Quantity]
    days: FloatArray
    seed: int | None
    vary: Vary | None

    def seed_of(self, run: int) -> int:
        """The seed of one run: it depends on the root seed and the run's number, on nothing else."""
        return int(np.random.SeedSequence(self.seed, spawn_key=(run,)).generate_state(1, np.uint64)[0])

    def drawn(self, run: int, changes: dict[str, Any]) -> str:
        """What `vary` draws for a run, as a short text that is different for every scenario; "" without `vary`."""
        if self.vary is None:
            return ""
        try:
            return _digest(self.scenario(run, changes))
        except ScenarioError as error:
            return _digest_of_text(str(error))

    def scenario(self, run: int, changes: dict[str, Any]) -> Scenario:
        """The checked scenario of a run; raises `ScenarioError`."""
        scenario = Scenario.from_dict(changed(self.base, changes))
        if self.vary is None:
            return scenario
        varied = self.vary(scenario, np.random.default_rng(self.seed_of(run)))
        if not isinstance(varied, Scenario):
            raise TypeError(f"vary must return a Scenario, not {type(varied).__name__}")
        varied.validate()
        return varied


@dataclass(frozen=True)
class Row:
    """What is kept of one run. NaN stands for what it did not reach."""

    run: int
    status: str
    message: str
    flags: str
    outcomes: FloatArray  # [outcomes]
    series: list[FloatArray]  # each [days] or [days, columns]
    drawn: str = ""  # fingerprint of the scenario that `vary` made


def run_batch(plan: Plan, batch: Iterable[tuple[int, dict[str, Any]]]) -> list[Row]:
    """The rows of several runs, one after the other: the work of one task."""
    return [run_one(plan, run, changes) for run, changes in batch]


def run_one(plan: Plan, run: int, changes: dict[str, Any], go_on: Callable[[Progress], bool] | None = None) -> Row:
    """The row of one run. Wrong input and broken invariants are kept as a status, like numerical failures."""
    drawn = ""
    try:
        # The compiled part checks what it is given: without `vary`, once is enough.
        scenario: Scenario | dict[str, Any] = (
            changed(plan.base, changes) if plan.vary is None else plan.scenario(run, changes)
        )
        if isinstance(scenario, Scenario):
            drawn = _digest(scenario)
        history = simulate(scenario, go_on)
    except ScenarioError as error:
        return _empty(plan, run, INVALID, str(error), "" if plan.vary is None else drawn or _digest_of_text(str(error)))
    except RuntimeError as error:
        return _empty(plan, run, INTERNAL_ERROR, str(error), drawn)
    result = outcomes(history)
    return Row(
        run,
        history.status,
        history.message,
        "; ".join(flag.code for flag in result.flags),
        np.array([result.get(quantity.name, np.nan) for quantity in plan.outcomes], dtype=np.float64),
        [on_days(history, quantity.name, plan.days) for quantity in plan.series],
        drawn,
    )


def _digest(scenario: Scenario) -> str:
    return _digest_of_text(json.dumps(scenario.to_dict(), sort_keys=True))


def _digest_of_text(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def on_days(history: History, name: str, days: FloatArray) -> FloatArray:
    """A series on given days, [days] or [days, columns]: linear between rows, just after the events of a
    day, NaN beyond the last day reached."""
    return rows_on(history.day, history.array(name), days)


def _empty(plan: Plan, run: int, status: str, message: str, drawn: str) -> Row:
    nothing = [
        np.full((len(plan.days),) if q.columns == 1 else (len(plan.days), q.columns), np.nan) for q in plan.series
    ]
    return Row(run, status, message, "", np.full(len(plan.outcomes), np.nan), nothing, drawn)


def cautions(plan: Plan) -> list[str]:
    """What must be shown with the results."""
    cuts = any("relaxing_cuts" in event for event in plan.base["events"])
    return [_core.research_caution, *([_core.relaxing_cut_caution] if cuts else [])]
