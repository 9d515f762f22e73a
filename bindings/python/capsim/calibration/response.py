# SPDX-License-Identifier: BSD-3-Clause
"""The model's answer to parameters: the area of the opening on given days."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from concurrent.futures import Executor, ThreadPoolExecutor
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..days import SAME_DAY, rows_on
from ..errors import ScenarioError
from ..history import History
from ..scenario import Scenario, native
from ..simulation import simulate
from ..sweeps.pool import cores
from ..sweeps.run import on_days
from .prior import SIZE, Prior

FloatArray = NDArray[np.float64]

_FEW = 8  # a pool of threads for less is not worth it: these are steps of fits that themselves run side by side
_STEP = 0.02  # of the difference quotients, in prior standard deviations: far above the noise of the solver
_ROWS = 64  # rows over the follow-up: linear between them, the area is off by less than 0.1 %


class Response:
    """Areas [mm2] on the days of an eye's visits as a function of its scaled parameters.

    Runs are independent of one another, so `many` does them in threads; a run that fails or is not
    a valid scenario gives NaN.
    """

    def __init__(self, base: Scenario, priors: Mapping[str, Prior], threads: Executor | None = None) -> None:
        self.base = base
        self.priors = dict(priors)
        self.threads = threads
        self._library = _core.ModelLibrary()  # one mesh: what a run found of its equations serves the next
        self._differenced: set[str] = set()  # parameters that a run can't be differentiated by

    def scenario(self, z: Sequence[float], last_day: float, events: Sequence[Mapping[str, Any]] = ()) -> Scenario:
        """The checked scenario of scaled parameters; raises `ScenarioError`."""
        values = {path: float(prior.value(zi)) for (path, prior), zi in zip(self.priors.items(), z)}
        size = values.pop(SIZE, 1.0)
        changes: dict[str, Any] = {**values, **_resized(self.base, size)}
        changes["duration_days"] = last_day
        changes["output_every_days"] = min(7.0, max(0.5, last_day / _ROWS))
        kept = [event.to_dict() for event in self.base.events if event.day <= last_day]
        added = [dict(event) for event in events]
        changes["events"] = sorted([*kept, *added], key=lambda event: float(event["day"]))
        return self.base.with_(changes)

    def _run(self, scenario: Scenario, by: list[str], days: FloatArray) -> Any:
        """What the library finds of the areas on the days, and of their derivatives by some paths."""
        return _core.sensitivities(native(scenario), by, ["opening_area_mm2"], False, days.tolist(), self._library)

    def areas(self, z: Sequence[float], days: FloatArray, events: Sequence[Mapping[str, Any]] = ()) -> FloatArray:
        """Areas on the days [mm2], [days]; NaN from where the run failed. The run does not come to rest for rows that no
        day needs, which takes half the time of one that does."""
        last_day = max([1.0, float(days.max()), *(float(event["day"]) for event in events)])
        try:
            found = self._run(self.scenario(z, last_day, events), [], days)
        except ScenarioError:
            return np.full(len(days), np.nan, dtype=np.float64)
        return on_days(History(found[0]), "opening_area_mm2", days)

    def areas_and_smallest(
        self, z: Sequence[float], days: FloatArray, events: Sequence[Mapping[str, Any]] = ()
    ) -> FloatArray:
        """Areas on the days, and the smallest from surgery up to each, over all rows of the run [mm2], [2, days]."""
        last_day = max([1.0, float(days.max()), *(float(event["day"]) for event in events)])
        try:
            history = simulate(self.scenario(z, last_day, events))
        except ScenarioError:
            return np.full((2, len(days)), np.nan, dtype=np.float64)
        areas = on_days(history, "opening_area_mm2", days)
        if len(history) == 0:
            return np.array([areas, areas])
        so_far = np.minimum.accumulate(history.opening_area_mm2)
        row = np.searchsorted(history.day, days + SAME_DAY, side="right") - 1
        return np.array([areas, np.minimum(areas, so_far[row])])

    def areas_and_slopes(self, z: FloatArray, days: FloatArray) -> tuple[FloatArray, FloatArray]:
        """Areas on the days [mm2], [days], and their exact derivatives by the scaled parameters, [days, parameters], from
        one run. What can't be differentiated by, such as the size of a drawn outline, is differenced. NaN where a run
        failed."""
        last_day = max(1.0, float(days.max()))
        exact = [name for name in self.priors if name not in self._differenced]
        paths = {name: self._paths(name) for name in exact}
        try:
            scenario = self.scenario(z.tolist(), last_day)
        except ScenarioError:
            return np.full(len(days), np.nan), np.full((len(days), len(z)), np.nan)
        wanted = [path for name in exact for path, _ in paths[name]]
        try:
            found = self._run(scenario, wanted, days)
        except ScenarioError as error:
            refused = [name for name in exact if {path for path, _ in paths[name]} & {v.path for v in error.violations}]
            if not refused:
                raise
            self._differenced.update(refused)
            return self.areas_and_slopes(z, days)
        history, of_area = History(found[0]), found[4]["opening_area_mm2"][:, 0, :]
        areas = rows_on(history.day, history.opening_area_mm2, days)
        by_path = dict(zip(wanted, rows_on(history.day, of_area, days).T))
        slopes = np.empty((len(days), len(z)))
        for i, (name, prior) in enumerate(self.priors.items()):
            if name in self._differenced:
                slopes[:, i] = (self.areas((z + _STEP * np.eye(len(z))[i]).tolist(), days) - areas) / _STEP
            else:
                slopes[:, i] = prior.slope(float(z[i])) * sum(share * by_path[path] for path, share in paths[name])
        return areas, slopes

    def _paths(self, name: str) -> list[tuple[str, float]]:
        """The paths that a parameter stands for, each with its derivative by the parameter."""
        if name != SIZE:
            return [(name, 1.0)]
        opening = self.base.opening
        if opening.outline_mm:
            return [("opening.outline_mm", 1.0)]  # refused: no number
        if opening.diameters_mm:
            return [(f"opening.diameters_mm[{i}]", float(value)) for i, value in enumerate(opening.diameters_mm)]
        return [("opening.diameter_mm", float(opening.diameter_mm))]

    def many(self, table: FloatArray, days: FloatArray) -> FloatArray:
        """Areas for each row of scaled parameters, [rows, days]."""
        return self._each(lambda z: self.areas(z.tolist(), days), table)

    def many_with_smallest(
        self, table: FloatArray, days: FloatArray, events: Sequence[Mapping[str, Any]] = ()
    ) -> FloatArray:
        """`areas_and_smallest` for each row of scaled parameters, [rows, 2, days]."""
        return self._each(lambda z: self.areas_and_smallest(z.tolist(), days, events), table)

    def _each(self, one: Callable[[FloatArray], FloatArray], table: FloatArray) -> FloatArray:
        """One run for each row of scaled parameters, side by side."""
        if self.threads is not None:
            return np.array(list(self.threads.map(one, table)))
        if len(table) <= _FEW:
            return np.array([one(z) for z in table])
        with ThreadPoolExecutor(cores(), thread_name_prefix="capsim-fit") as threads:
            return np.array(list(threads.map(one, table)))


def _resized(base: Scenario, factor: float) -> dict[str, Any]:
    """The stated opening, in whichever form, made larger by a factor about its own centre."""
    if factor == 1:
        return {}
    opening = base.opening
    if opening.outline_mm:
        points = np.array(opening.outline_mm, dtype=np.float64)
        center = points.mean(axis=0)
        return {"opening.outline_mm": (center + factor * (points - center)).tolist()}
    if opening.diameters_mm:
        return {"opening.diameters_mm": [factor * diameter for diameter in opening.diameters_mm]}
    return {"opening.diameter_mm": factor * opening.diameter_mm}
