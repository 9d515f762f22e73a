# SPDX-License-Identifier: BSD-3-Clause
"""What is wrong with a file of visits, told all at once with line and column."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from ..errors import Error


@dataclass(frozen=True)
class VisitProblem:
    """One thing that is wrong in a file of visits.

    >>> try:
    ...     capsim.read_visits(table("day,area_mm2\\n0,21.5\\n30,wide\\n"))
    ... except capsim.VisitsError as error:
    ...     print(error.problems[0].line, error.problems[0].column)
    3 area_mm2
    """

    line: int
    """Line of the file, counted from 1; 0 when it is about the whole file."""
    column: str
    """Name of the column, or empty."""
    text: str
    """What is wrong, and what to do about it."""

    def __str__(self) -> str:
        where = ", ".join(
            ([f"line {self.line}"] if self.line else []) + ([f"column {self.column}"] if self.column else [])
        )
        return f"{where}: {self.text}" if where else self.text


class VisitsError(Error, ValueError):
    """A file of visits that can't be used as it is, with every problem at once in `problems`.

    >>> capsim.read_visits(table("day,area_mm2\\n0,-3\\n"))
    Traceback (most recent call last):
    capsim.follow_up.problems.VisitsError: ...
    """

    problems: list[VisitProblem]

    def __init__(self, problems: Iterable[VisitProblem], source: str = "") -> None:
        self.problems = list(problems)
        self.source = source
        lines = [f"{source}: {problem}" if source else str(problem) for problem in self.problems]
        super().__init__("\n".join(lines))

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.problems, self.source)
