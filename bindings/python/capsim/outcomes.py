# SPDX-License-Identifier: BSD-3-Clause
"""The answers a run was made for: named numbers with units, flags, and cautions in words."""

from __future__ import annotations

import os
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from . import _core
from .history import History
from .scenario import Scenario, native


@dataclass(frozen=True)
class Flag:
    """Something the reader must know about this run.

    >>> [flag.code for flag in capsim.outcomes(history).flags]
    [...]
    """

    code: str
    """Stable short name."""
    text: str
    """One or two sentences, with the numbers."""

    def __str__(self) -> str:
        return f"{self.code}: {self.text}"


class Outcomes(Mapping[str, float]):
    """Named numbers, ``outcomes["area_loss_percent"]``; the order is that of importance.

    >>> result = capsim.outcomes(history)
    >>> result["area_loss_percent"] > 0, result.units["area_loss_percent"]
    (True, '%')
    """

    units: dict[str, str]
    """Unit of each outcome."""
    descriptions: dict[str, str]
    """What each outcome is, in one sentence."""
    flags: list[Flag]
    """What the reader must know about this run."""
    cautions: list[str]
    """To be shown wherever the result is shown."""

    def __init__(
        self,
        values: dict[str, float],
        units: dict[str, str],
        descriptions: dict[str, str],
        flags: list[Flag],
        cautions: list[str],
    ) -> None:
        self._values = values
        self.units = units
        self.descriptions = descriptions
        self.flags = flags
        self.cautions = cautions

    def __getitem__(self, name: str) -> float:
        return self._values[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._values)

    def __len__(self) -> int:
        return len(self._values)

    def has_flag(self, code: str) -> bool:
        """Whether a flag of that code is raised.

        >>> capsim.outcomes(history).has_flag("no_such_flag")
        False
        """
        return any(flag.code == code for flag in self.flags)

    def __repr__(self) -> str:
        return "<capsim.Outcomes\n" + str(self) + ">"

    def __str__(self) -> str:
        width = max(map(len, self._values), default=0)
        lines = [f"  {name:<{width}}  {value:>10.5g} {self.units[name]}" for name, value in self._values.items()]
        lines += [f"  ! {flag}" for flag in self.flags]
        return "\n".join(lines + [f"  {caution}" for caution in self.cautions])


def outcomes(history: History) -> Outcomes:
    """The outcomes of a run; a partial history gives those of the days that it reached.

    Raises TypeError for anything but a `History`.

    >>> round(capsim.outcomes(history)["opening_area_start_mm2"], 1)
    19.6
    """
    if not isinstance(history, History):
        hint = "; run it first: capsim.simulate(scenario)" if isinstance(history, (Scenario, Mapping, str)) else ""
        raise TypeError(f"outcomes takes a capsim.History, not {type(history).__name__}{hint}")
    return _outcomes(_core.outcomes(history._native))


def outcomes_with_margin(
    scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str],
) -> tuple[History, Outcomes]:
    """Runs a scenario, and gives its history and its outcomes with the margin to runaway.

    `runaway_margin` [1] is how many times its present pull the tissue could sustain for good before the opening
    ran away, or had lost nine tenths of its first area; its description says which. Below 1.5 the
    flag ``near_runaway`` is raised. It costs 5 to 20 % of the run, which is why `outcomes` does without.
    A run without tissue that pulls has no such outcome. Raises `ScenarioError` for wrong input.

    >>> run, result = capsim.outcomes_with_margin(scenario)
    >>> result["runaway_margin"] > 1
    True
    """
    history, found = _core.run_with_margin(native(scenario))
    return History(history), _outcomes(found)


def _outcomes(found: tuple[list[tuple[str, str, float, str]], list[tuple[str, str]], list[str]]) -> Outcomes:
    values, flags, cautions = found
    return Outcomes(
        values={name: value for name, _, value, _ in values},
        units={name: unit for name, unit, _, _ in values},
        descriptions={name: description for name, _, _, description in values},
        flags=[Flag(code, text) for code, text in flags],
        cautions=cautions,
    )
