# SPDX-License-Identifier: BSD-3-Clause
"""Dotted paths into the nested values of a scenario: ``events[0].relaxing_cuts.length_mm``."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import Any, Union

from .errors import ScenarioError, Violation
from .spelling import did_you_mean

Step = Union[str, int]

_STEP = re.compile(r"(?:^|\.)([^.\[\]]+)|(?<=.)\[(\d+)\]")


def steps_of(path: str) -> list[Step]:
    """The keys and indices along a path; ScenarioError when it can't be read."""
    steps: list[Step] = []
    at = 0
    while at < len(path):
        found = _STEP.match(path, at)
        if found is None:
            raise _error(path, "", "a dotted path such as opening.diameter_mm or events[0].day")
        steps.append(found.group(1) if found.group(1) is not None else int(found.group(2)))
        at = found.end()
    if not steps:
        raise _error(path, "", "a dotted path such as opening.diameter_mm or events[0].day")
    return steps


def get(values: Mapping[str, Any], path: str) -> Any:
    """The value at the path; ScenarioError, with a suggestion, when there is none."""
    where: Any = values
    for depth, step in enumerate(steps_of(path)):
        where = _inside(where, step, path, depth)
    return where


def put(values: dict[str, Any], path: str, value: Any) -> None:
    """Replaces the value at the path; ScenarioError when the path leads nowhere.

    Only the last key may be new, and only in values by clock hour. A section given as a dict changes the values that it
    names and no others; values by hour are replaced as a whole.
    """
    steps = steps_of(path)
    where: Any = values
    for depth, step in enumerate(steps[:-1]):
        where = _inside(where, step, path, depth)
    last = steps[-1]
    if isinstance(where, dict) and len(steps) > 1 and str(steps[-2]).endswith("_by_hour"):
        last = str(last)
    else:
        _inside(where, last, path, len(steps) - 1)
    where[last] = _merged(where.get(last), value, str(last)) if isinstance(where, dict) else value


def _merged(before: Any, after: Any, name: str) -> Any:
    replaced = not (isinstance(before, dict) and isinstance(after, dict))
    if replaced or name.endswith("_by_hour") or "level" in after:  # the level of a mesh stands for all its values
        return after
    return {**before, **{key: _merged(before.get(key), inner, str(key)) for key, inner in after.items()}}


def differences(before: Any, after: Any, path: str = "") -> dict[str, Any]:
    """The values of `after` that differ from `before`, by dotted path."""
    if isinstance(before, dict) and isinstance(after, dict) and not path.endswith("_by_hour"):
        found: dict[str, Any] = {}
        for name in after:
            where = f"{path}.{name}" if path else name
            found.update(differences(before.get(name), after[name], where))
        return found
    return {} if before == after else {path: after}


def _inside(where: Any, step: Step, path: str, depth: int) -> Any:
    steps = steps_of(path)
    here = "".join(_written(steps[:depth])) or "scenario"
    if where is None:
        raise _error(path, "", f"a value inside {here}, which is null", f"set {here} first, as a whole")
    if isinstance(where, list):
        if isinstance(step, int) and step < len(where):
            return where[step]
        raise _error(path, "", f"an item of {here}, which has {len(where)}", f"they count from 0: {here}[0]")
    if isinstance(where, dict):
        if str(step) in where:
            return where[str(step)]
        raise _error(path, "", f"a value of {here}", did_you_mean(str(step), where)[2:])
    raise _error(path, "", f"{here} has no values inside")


def _written(steps: list[Step]) -> Iterator[str]:
    for i, step in enumerate(steps):
        yield f"[{step}]" if isinstance(step, int) else f".{step}" if i else step


def _error(path: str, value: str, limit: str, hint: str = "") -> ScenarioError:
    text = f"{path}: must be {limit}" + (f"; {hint}" if hint else "")
    return ScenarioError([Violation(path, value, limit, hint, text)])
