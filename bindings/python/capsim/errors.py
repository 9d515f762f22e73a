# SPDX-License-Identifier: BSD-3-Clause
"""What can go wrong, as exceptions.

Wrong input raises `ScenarioError` before any work is done. A run that ends badly raises nothing:
`History.status` says so, and `History.raise_if_failed()` turns it into a `SolveError` (`history`) when wanted.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True)
class Violation:
    """One violated constraint of a scenario.

    >>> try:
    ...     capsim.simulate({"format": "capsim-scenario", "version": 1, "duration_days": -1})
    ... except capsim.ScenarioError as error:
    ...     print(error.violations[0].limit)
    >= 0 and <= 10000
    """

    path: str
    """Where, as a dotted path: ``events[0].relaxing_cuts.length_mm``."""
    value: str
    """What was given, as text; empty when a value is missing."""
    limit: str
    """What is allowed: ``> 0 and <= 3``."""
    hint: str = ""
    """What to do about it, or empty: ``did you mean "diameter_mm"?``."""
    text: str = ""
    """All of it in one line."""

    def __str__(self) -> str:
        return self.text or " ".join(part for part in (self.path, self.value, self.limit, self.hint) if part)


class Error(Exception):
    """The root of what capsim itself raises: `except capsim.Error` catches it all.

    >>> try:
    ...     capsim.simulate(scenario.with_({"opening.diameter_mm": 50}))
    ... except capsim.Error as error:
    ...     print(type(error).__name__)
    ScenarioError
    """


class ArgumentError(Error, ValueError):
    """A call that asks for what is not there, or gives a number that can't be meant.

    >>> issubclass(capsim.ArgumentError, ValueError)  # a caller who knows nothing of capsim catches it, too
    True
    """


class CheckpointError(Error, ValueError):
    """Bytes that are no checkpoint, are damaged, or belong to another version, scenario or model.

    >>> try:
    ...     capsim.Simulation.restore(scenario, b"something else")
    ... except capsim.CheckpointError:
    ...     print("no checkpoint")
    no checkpoint
    """


class InternalError(Error, RuntimeError):
    """A broken invariant of the library: please report it.

    >>> issubclass(capsim.InternalError, RuntimeError)
    True
    """


class ScenarioError(Error, ValueError):
    """Wrong input, with every violation at once in `violations`.

    >>> try:
    ...     capsim.simulate(scenario.with_({"opening.diameter_mm": 50}))
    ... except capsim.ScenarioError as error:
    ...     print(error.violations[0].path)
    opening.diameter_mm
    """

    violations: list[Violation]

    def __init__(self, violations: Iterable[Violation], text: str | None = None) -> None:
        self.violations = list(violations)
        super().__init__(text if text is not None else "\n".join(map(str, self.violations)))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.violations, str(self))


class ResultsFileError(Error, OSError):
    """A result file that can't be written, or is not one, is damaged, or is of a newer format.

    >>> history.save("no such folder/run.h5")
    Traceback (most recent call last):
    capsim.errors.ResultsFileError: can't write no such folder/run.h5: ...
    """
