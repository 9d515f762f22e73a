# SPDX-License-Identifier: BSD-3-Clause
"""Running a scenario."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

from . import _core
from .history import History
from .scenario import Scenario, native


@dataclass(frozen=True)
class Progress:
    """What a progress callback is told after every time step.

    >>> half = capsim.simulate(scenario, progress=lambda progress: progress.fraction < 0.5)
    >>> half.status
    'cancelled'
    """

    day: float
    """Day after surgery reached."""
    duration_days: float
    """Day at which the run will end."""
    opening_area_mm2: float
    """Area of the opening on that day [mm2]."""

    @property
    def fraction(self) -> float:
        """Share of the days that is done, 0..1."""
        return self.day / self.duration_days if self.duration_days > 0 else 1.0


def simulate(
    scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str],
    progress: Callable[[Progress], bool | None] | None = None,
) -> History:
    """Runs a scenario from the end of surgery to its last day.

    `scenario` is a Scenario, a dict, or the path of a JSON file. `progress` is called with a
    `Progress` after every time step; when it returns False the run ends with the status
    ``cancelled``, what it raises ends the run and is raised here, and so does Ctrl-C.
    Other Python threads run meanwhile: runs in several threads use several cores.

    Raises `ScenarioError` for wrong input, before any work. A run that fails numerically raises
    nothing: look at `History.status`, or call `History.raise_if_failed`.

    >>> run = capsim.simulate(scenario)
    >>> run.status, run.day[-1]
    ('completed', 60.0)
    """
    return History(_core.simulate(native(scenario), None if progress is None else told(progress)))


def told(progress: Callable[[Progress], bool | None]) -> Callable[[float, float, float], bool]:
    """A callback for the compiled part: plain numbers in, a Progress to the caller's function, its answer out; no answer means go on."""

    def callback(day: float, duration_days: float, opening_area_mm2: float) -> bool:
        answer = progress(Progress(day, duration_days, opening_area_mm2))
        return answer is None or bool(answer)

    return callback
