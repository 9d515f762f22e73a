# SPDX-License-Identifier: BSD-3-Clause
"""What all studies take: plans, a population, how many eyes, and how the runs go on."""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Mapping, Sequence
from typing import Any, Union

from .. import _core
from ..population import Population
from ..population import population as known_population
from ..scenario import Scenario

Plan = Union[Scenario, Mapping[str, Any], str, "os.PathLike[str]"]
Progress = Union[bool, Callable[[int, int], bool], None]


def native_plan(plan: Plan, name: str | None = None) -> _core.Scenario:
    """A plan for the library, named anew."""
    if isinstance(plan, Mapping):
        plan = Scenario.from_dict(dict(plan))
    elif not isinstance(plan, Scenario):
        plan = Scenario.from_json(plan)
    if name is not None:
        plan = plan.with_(name=name)
    return _core.Scenario.from_json(plan.to_json())


def native_plans(plans: Mapping[str, Plan] | Sequence[Plan]) -> list[_core.Scenario]:
    """Plans by name, or by the names they have."""
    if isinstance(plans, Mapping):
        return [native_plan(plan, name) for name, plan in plans.items()]
    if isinstance(plans, (str, os.PathLike, Scenario)):
        raise TypeError("plans is one plan; give a list of plans, or a dict of names and plans")
    return [native_plan(plan) for plan in plans]


def native_population(population: Population | str | os.PathLike[str]) -> _core.Population:
    """A population by its name, from a file, or as it is."""
    if isinstance(population, Population):
        return population._native
    if isinstance(population, os.PathLike) or str(population).endswith(".json"):
        return Population(population)._native
    return known_population(str(population))._native


def told(progress: Progress, noun: str = "runs") -> Callable[[int, int], bool] | None:
    """The caller's own progress, a line on a terminal (True, or None and a terminal), or nothing."""
    if callable(progress):
        return progress
    if not (progress or (progress is None and sys.stderr.isatty())):
        return None

    def line(done: int, total: int) -> bool:
        print(f"\r{done} of {total} {noun}", end="" if done < total else "\n", file=sys.stderr, flush=True)
        return True

    return line
