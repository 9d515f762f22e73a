# SPDX-License-Identifier: BSD-3-Clause
"""One run of a sweep: changed values in, a row of results out. Works in any process."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..days import rows_on
from ..errors import ScenarioError
from ..history import History
from ..outcomes import outcomes
from ..scenario import Scenario, changed, native
from ..simulation import Progress, simulate
from .quantities import OUTLINE_POINTS, Quantity
from .template import Template

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
    derivatives: Sequence[Quantity] = ()
    """Of outcomes, then of series, in their order."""

    @property
    def parameters(self) -> list[str]:
        """What derivatives are by."""
        return list(self.derivatives[0].by) if self.derivatives else []

    @property
    def arrays(self) -> list[Quantity]:
        """What a row keeps beside its outcomes."""
        return [*self.series, *self.derivatives]

    @property
    def compiled(self) -> bool:
        """Whether the library can make whole rows by itself: nothing of the caller's own is to be computed."""
        own = any(q.function is not None for q in self.outcomes) or any(q.axis == "rim_point" for q in self.series)
        return self.vary is None and not own and not self.derivatives

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


def run_batch(
    plan: Plan,
    batch: Sequence[tuple[int, dict[str, Any]]],
    template: Template | None = None,
    stop: _core.StopFlag | None = None,
    go_on: Callable[[Progress], bool] | None = None,
    library: _core.ModelLibrary | None = None,
) -> list[Row]:
    """The rows of several runs, one after the other: the work of one task. What eyes of the same shape share is searched
    for once in a `library` (None: one for these runs), which changes no digit."""
    if not plan.compiled:
        return [run_one(plan, run, changes, go_on) for run, changes in batch]
    template = template or Template(plan.base)
    rows: list[Row] = []
    texts: list[str] = []
    runs: list[int] = []
    for run, changes in batch:
        try:
            texts.append(template.text(changes))
            runs.append(run)
        except ScenarioError as error:
            rows.append(_empty(plan, run, INVALID, str(error), ""))
    found = _core.run_rows(
        texts,
        [q.name for q in plan.outcomes],
        [q.name for q in plan.series],
        [q.columns for q in plan.series],
        plan.days,
        stop,
        library or _core.ModelLibrary(),
    )
    return rows + [Row(run, *values) for run, values in zip(runs, found)]


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
        if plan.derivatives:
            history, derivatives, missing = _differentiated(plan, scenario)
        else:
            history, derivatives, missing = simulate(scenario, go_on), [], ""
    except ScenarioError as error:
        return _empty(plan, run, INVALID, str(error), "" if plan.vary is None else drawn or _digest_of_text(str(error)))
    except RuntimeError as error:
        return _empty(plan, run, INTERNAL_ERROR, str(error), drawn)
    result = outcomes(history)
    return Row(
        run,
        history.status,
        f"{history.message}; {missing}" if missing else history.message,
        "; ".join(flag.code for flag in result.flags),
        np.array([_outcome(quantity, history, result) for quantity in plan.outcomes], dtype=np.float64),
        [_series_on(history, quantity, plan.days) for quantity in plan.series] + derivatives,
        drawn,
    )


def _differentiated(plan: Plan, scenario: Scenario | dict[str, Any]) -> tuple[History, list[FloatArray], str]:
    """A run, the derivatives that are kept of it, and why some are missing."""
    names = [quantity.name for quantity in plan.series]
    found = _core.sensitivities(native(scenario), plan.parameters, names, True, plan.days.tolist())
    history, of_outcomes, of_series = History(found[0]), found[3], found[4]
    rows = {name: row for (name, *_), row in zip(found[2], of_outcomes)}
    nothing = np.full(len(plan.parameters), np.nan)
    kept = [rows.get(quantity.name, nothing) for quantity in plan.outcomes]
    for name, quantity in zip(names, plan.derivatives[len(plan.outcomes) :]):
        kept.append(rows_on(history.day, of_series[name], plan.days).reshape(quantity.shape_over(len(plan.days))))
    return history, kept, found[5]


def _outcome(quantity: Quantity, history: History, result: Mapping[str, float]) -> float:
    if quantity.function is None:
        return result.get(quantity.name, np.nan)
    return float(quantity.function(history)) if len(history) else np.nan


def _series_on(history: History, quantity: Quantity, days: FloatArray) -> FloatArray:
    if quantity.axis != "rim_point":
        return on_days(history, quantity.name, days)
    rims = [evenly_along(history.outline_mm(row), OUTLINE_POINTS).ravel() for row in range(len(history))]
    return rows_on(history.day, np.array(rims).reshape(len(history), quantity.columns), days)


def evenly_along(outline: FloatArray, count: int) -> FloatArray:
    """So many points evenly along a closed outline [points, 2], counter-clockwise from where it first crosses the ray
    to 12 o'clock from its centre, [count, 2]."""
    x, y = (outline - outline.mean(axis=0)).T
    crossing = np.flatnonzero((x >= 0) & (np.roll(x, -1) < 0) & (y + np.roll(y, -1) > 0))
    first = int(crossing[0]) if len(crossing) else int(np.argmax(y))
    share = x[first] / (x[first] - np.roll(x, -1)[first]) if len(crossing) else 0.0
    nodes = np.roll(outline, -first - 1, axis=0)
    start = outline[first] + share * (nodes[0] - outline[first])
    way = np.vstack([start, nodes, start])
    along = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(way, axis=0).T))])
    at = np.arange(count) / count * along[-1]
    return np.stack([np.interp(at, along, way[:, 0]), np.interp(at, along, way[:, 1])], axis=1)


def _digest(scenario: Scenario) -> str:
    return _digest_of_text(json.dumps(scenario.to_dict(), sort_keys=True))


def _digest_of_text(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def on_days(history: History, name: str, days: FloatArray) -> FloatArray:
    """A series on given days, [days] or [days, columns]: linear between rows, just after the events of a
    day, NaN beyond the last day reached."""
    return rows_on(history.day, history.array(name), days)


def _empty(plan: Plan, run: int, status: str, message: str, drawn: str) -> Row:
    nothing = [np.full(quantity.shape_over(len(plan.days)), np.nan) for quantity in plan.arrays]
    return Row(run, status, message, "", np.full(len(plan.outcomes), np.nan), nothing, drawn)


def cautions(plan: Plan) -> list[str]:
    """What must be shown with the results."""
    cuts = any("relaxing_cuts" in event for event in plan.base["events"])
    return [_core.research_caution, *([_core.relaxing_cut_caution] if cuts else [])]
