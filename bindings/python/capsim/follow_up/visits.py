# SPDX-License-Identifier: BSD-3-Clause
"""The measured openings of one or several eyes on the days of their visits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..optional import needed
from ..sides import side_of
from .events import LASER, RELAXING_CUTS, event_in
from .problems import VisitProblem

if TYPE_CHECKING:
    import pandas

FloatArray = NDArray[np.float64]


class Visits:
    """One row for each visit, sorted by eye and day.

    A visit at which nothing could be measured has the area NaN. Visits after a laser opened the
    capsule are kept and marked, and are not used in a fit: the law knows nothing of lasers. Those after relaxing cuts
    are used where the scenario of the fit has the cuts.
    Rows of two sides without an `eye_id` are two eyes, ``right`` and ``left``.

    >>> visits.eye_ids, visits.day.tolist()
    (['eye'], [0.0, 20.0, 40.0])
    """

    eye_id: list[str]
    """Which eye, [visits]."""
    eye: list[str | None]
    """right, left, or None where it was not said, [visits]."""
    day: FloatArray
    """Day after surgery, [visits]."""
    area_mm2: FloatArray
    """Area of the opening [mm2], NaN where it is missing, [visits]."""
    sd_percent: FloatArray
    """Standard deviation of the measurement, per cent of the area, NaN where it was not said, [visits]."""
    after_laser: NDArray[np.bool_]
    """Whether a laser had opened the capsule before, [visits]."""
    event: list[str]
    """What was done at or since the visit before: ``laser``, ``relaxing_cuts`` or nothing, [visits]."""
    after_cuts: NDArray[np.bool_]
    """Whether relaxing cuts had been made before or on that day, [visits]."""
    line: NDArray[np.int_]
    """Line in the file the visit was read from, 0 when it was not, [visits]."""
    outlines_mm: list[FloatArray | None]
    """Traced rim, [points, 2], y up [mm], or None, [visits]."""
    notices: list[VisitProblem]
    """What is odd in the file they were read from, but can be used."""

    def __init__(
        self,
        day: Iterable[float],
        area_mm2: Iterable[float],
        *,
        eye_id: None | str | Iterable[str] = None,
        eye: None | str | Iterable[str | None] = None,
        sd_percent: float | Iterable[float] = np.nan,
        after_laser: bool | Iterable[bool] = False,
        event: str | Iterable[str] = "",
        line: int | Iterable[int] = 0,
        outlines_mm: Sequence[FloatArray | None] | None = None,
        notices: Sequence[VisitProblem] = (),
    ) -> None:
        days = np.asarray(list(day), dtype=np.float64)
        count = len(days)
        sides: list[str | None] = [eye] * count if eye is None or isinstance(eye, str) else list(eye)
        if len(sides) != count:
            raise ArgumentError(f"{count} days need as many sides")
        sides = [None if side is None else side_of(side) or side for side in sides]
        ids = _names(eye_id, sides)
        if len(ids) != count:
            raise ArgumentError(f"{count} days need as many eyes")
        order = sorted(range(count), key=lambda i: (ids.index(ids[i]), days[i]))

        def column(given: Any, dtype: Any) -> Any:
            values = np.asarray(given if np.ndim(given) == 0 else list(given), dtype=dtype)
            if values.ndim and len(values) != count:
                raise ArgumentError(f"{count} days, but {len(values)} of something else")
            return np.broadcast_to(values, count)[order].copy()

        self.eye_id = [ids[i] for i in order]
        self.eye = [sides[i] for i in order]
        self.day = column(days, np.float64)
        self.area_mm2 = column(list(area_mm2), np.float64)
        self.sd_percent = column(sd_percent, np.float64)
        self.after_laser = column(after_laser, np.bool_)
        self.line = column(line, np.int_)
        outlines: list[FloatArray | None] = [None] * count if outlines_mm is None else list(outlines_mm)
        self.outlines_mm = [outlines[i] for i in order]
        self.notices = list(notices)
        happened = [event] * count if isinstance(event, str) else list(event)
        if len(happened) != count:
            raise ArgumentError(f"{count} days need as many events")
        self.event = [_known(happened[i]) for i in order]
        self._check()
        self.after_laser = self.after_laser | self._since(LASER)
        self.after_cuts = self._since(RELAXING_CUTS)

    def _check(self) -> None:
        if not np.isfinite(self.day).all() or (self.day < 0).any():
            raise ArgumentError("days must be numbers from 0 on")
        if (self.area_mm2 <= 0).any():
            raise ArgumentError("areas must be above 0; a missing one is NaN")
        if any(side not in (None, "right", "left") for side in self.eye):
            raise ArgumentError('an eye is "right" (OD), "left" (OS) or None')
        for name in self.eye_ids:
            if {"right", "left"} <= {side for side, own in zip(self.eye, self.eye_id) if own == name}:
                raise ArgumentError(f"{name} has right and left visits; give each eye an eye_id of its own")
        for i in range(1, len(self)):
            if self.eye_id[i] == self.eye_id[i - 1] and self.day[i] == self.day[i - 1]:
                raise ArgumentError(f"{self.eye_id[i]} has two visits on day {self.day[i]:g}")

    @property
    def eye_ids(self) -> list[str]:
        """The eyes, each once."""
        return list(dict.fromkeys(self.eye_id))

    def _since(self, event: str) -> NDArray[np.bool_]:
        """Which visits are on or after the first one of their eye with an event."""
        begun: set[str] = set()
        found = []
        for name, happened in zip(self.eye_id, self.event):
            if happened == event:
                begun.add(name)
            found.append(name in begun)
        return np.array(found, dtype=np.bool_)

    @property
    def usable(self) -> NDArray[np.bool_]:
        """Which visits a fit can use: measured, and not after a laser, [visits].

        Those after relaxing cuts count here; a fit leaves them out when its scenario has no such cuts.
        """
        return np.isfinite(self.area_mm2) & ~self.after_laser

    def usable_with(self, cut_days: Iterable[float]) -> tuple[NDArray[np.bool_], dict[str, int]]:
        """Which visits a fit can use whose scenario has relaxing cuts on the given days, [visits]; and how many it can't
        use, by the reason.

        >>> visits.usable_with([])[1]
        {}
        """
        first = min(cut_days, default=np.inf)
        missing = np.isnan(self.area_mm2)
        laser = ~missing & self.after_laser
        cuts = ~missing & ~laser & self.after_cuts & (self.day < first)
        reasons = {"missing": missing, "after a laser": laser, "after relaxing cuts that the scenario has not": cuts}
        counts = {reason: int(rows.sum()) for reason, rows in reasons.items() if rows.any()}
        return ~(missing | laser | cuts), counts

    @property
    def diameter_mm(self) -> FloatArray:
        """Diameter of the circle of the opening's area [mm], [visits]."""
        result: FloatArray = 2 * np.sqrt(self.area_mm2 / np.pi)
        return result

    def of(self, eye_id: str) -> Visits:
        """The visits of one eye; KeyError when there is none.

        >>> len(visits.of(visits.eye_ids[0]))
        3
        """
        if eye_id not in self.eye_id:
            raise KeyError(f"no visit of {eye_id!r}; there are {', '.join(self.eye_ids)}")
        return self._where(np.array([name == eye_id for name in self.eye_id]))

    def until(self, day: float) -> Visits:
        """The visits up to and including a day.

        >>> visits.until(20).day
        array([ 0., 20.])
        """
        return self._where(self.day <= day)

    def _where(self, chosen: NDArray[np.bool_]) -> Visits:
        rows = np.flatnonzero(chosen)
        part = Visits(
            self.day[rows],
            self.area_mm2[rows],
            eye_id=[self.eye_id[i] for i in rows],
            eye=[self.eye[i] for i in rows],
            sd_percent=self.sd_percent[rows],
            after_laser=self.after_laser[rows],
            event=[self.event[i] for i in rows],
            line=self.line[rows],
            notices=self.notices,
            outlines_mm=[self.outlines_mm[i] for i in rows],
        )
        part.after_cuts = self.after_cuts[rows]  # the visit with the event itself may not be among them
        return part

    def to_dataframe(self) -> pandas.DataFrame:
        """A pandas.DataFrame with one row for each visit.

        >>> len(visits.to_dataframe())
        3
        """
        frame: pandas.DataFrame = needed("pandas", "a data frame").DataFrame(
            {
                "eye_id": self.eye_id,
                "eye": self.eye,
                "day": self.day,
                "area_mm2": self.area_mm2,
                "diameter_mm": self.diameter_mm,
                "sd_percent": self.sd_percent,
                "after_laser": self.after_laser,
                "event": self.event,
            }
        )
        return frame

    def __len__(self) -> int:
        return len(self.day)

    def __repr__(self) -> str:
        count = len(self.eye_ids)
        eyes = f"{count} eyes" if count != 1 else f"{self.eye_ids[0]!r}"
        parts = [
            f"{int(self.usable.sum())} to use",
            f"{int(np.isnan(self.area_mm2).sum())} missing",
            f"{int(self.after_laser.sum())} after a laser",
        ]
        if self.after_cuts.any():
            parts.append(f"{int(self.after_cuts.sum())} after relaxing cuts")
        if self.notices:
            parts.append(f"{len(self.notices)} notices")
        return f"<capsim.Visits of {eyes}: {len(self)} visits, {', '.join(parts)}>"


def _names(eye_id: None | str | Iterable[str], sides: Sequence[str | None]) -> list[str]:
    """A name for the eye of each visit: the given one, else the side where there are two."""
    if eye_id is not None:
        return [eye_id] * len(sides) if isinstance(eye_id, str) else list(eye_id)
    if not {"right", "left"} <= set(sides):
        return ["eye"] * len(sides)
    if None in sides:
        raise ArgumentError("visits of two eyes need a side or an eye_id each")
    return [str(side) for side in sides]


def _known(event: str) -> str:
    found = event_in(event.replace("_", " "))
    if found is None:
        raise ArgumentError(f"{event!r} is not an event that is known: laser, relaxing_cuts or nothing")
    return found
