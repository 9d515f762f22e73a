# SPDX-License-Identifier: BSD-3-Clause
"""The measured openings of one or several eyes on the days of their visits."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..optional import needed

if TYPE_CHECKING:
    import pandas

FloatArray = NDArray[np.float64]


class Visits:
    """One row for each visit, sorted by eye and day.

    A visit at which nothing could be measured has the area NaN. Visits after a laser opened the
    capsule are kept and marked, and are not used in a fit: the law knows nothing of lasers.
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
    line: NDArray[np.int_]
    """Line in the file the visit was read from, 0 when it was not, [visits]."""
    outlines_mm: list[FloatArray | None]
    """Traced rim, [points, 2], y up [mm], or None, [visits]."""

    def __init__(
        self,
        day: Iterable[float],
        area_mm2: Iterable[float],
        *,
        eye_id: str | Iterable[str] = "eye",
        eye: None | str | Iterable[str | None] = None,
        sd_percent: float | Iterable[float] = np.nan,
        after_laser: bool | Iterable[bool] = False,
        line: int | Iterable[int] = 0,
        outlines_mm: Sequence[FloatArray | None] | None = None,
    ) -> None:
        days = np.asarray(list(day), dtype=np.float64)
        count = len(days)
        ids = [eye_id] * count if isinstance(eye_id, str) else list(eye_id)
        if len(ids) != count:
            raise ValueError(f"{count} days need as many eyes")
        order = sorted(range(count), key=lambda i: (ids.index(ids[i]), days[i]))

        def column(given: Any, dtype: Any) -> Any:
            values = np.asarray(given if np.ndim(given) == 0 else list(given), dtype=dtype)
            if values.ndim and len(values) != count:
                raise ValueError(f"{count} days, but {len(values)} of something else")
            return np.broadcast_to(values, count)[order].copy()

        sides: list[str | None] = [eye] * count if eye is None or isinstance(eye, str) else list(eye)
        if len(sides) != count:
            raise ValueError(f"{count} days need as many sides")
        self.eye_id = [ids[i] for i in order]
        self.eye = [sides[i] for i in order]
        self.day = column(days, np.float64)
        self.area_mm2 = column(list(area_mm2), np.float64)
        self.sd_percent = column(sd_percent, np.float64)
        self.after_laser = column(after_laser, np.bool_)
        self.line = column(line, np.int_)
        outlines: list[FloatArray | None] = [None] * count if outlines_mm is None else list(outlines_mm)
        self.outlines_mm = [outlines[i] for i in order]
        self._check()

    def _check(self) -> None:
        if not np.isfinite(self.day).all() or (self.day < 0).any():
            raise ValueError("days must be numbers from 0 on")
        if (self.area_mm2 <= 0).any():
            raise ValueError("areas must be above 0; a missing one is NaN")
        if any(side not in (None, "right", "left") for side in self.eye):
            raise ValueError('an eye is "right", "left" or None')
        for i in range(1, len(self)):
            if self.eye_id[i] == self.eye_id[i - 1] and self.day[i] == self.day[i - 1]:
                raise ValueError(f"{self.eye_id[i]} has two visits on day {self.day[i]:g}")

    @property
    def eye_ids(self) -> list[str]:
        """The eyes, each once."""
        return list(dict.fromkeys(self.eye_id))

    @property
    def usable(self) -> NDArray[np.bool_]:
        """Which visits a fit can use: measured, and not after a laser, [visits]."""
        return np.isfinite(self.area_mm2) & ~self.after_laser

    @property
    def diameter_mm(self) -> FloatArray:
        """Diameter of the circle of the opening's area [mm], [visits]."""
        result: FloatArray = 2 * np.sqrt(self.area_mm2 / np.pi)
        return result

    def of(self, eye_id: str) -> Visits:
        """The visits of one eye; KeyError when there is none."""
        if eye_id not in self.eye_id:
            raise KeyError(f"no visit of {eye_id!r}; there are {', '.join(self.eye_ids)}")
        return self._where(np.array([name == eye_id for name in self.eye_id]))

    def until(self, day: float) -> Visits:
        """The visits up to and including a day."""
        return self._where(self.day <= day)

    def _where(self, chosen: NDArray[np.bool_]) -> Visits:
        rows = np.flatnonzero(chosen)
        return Visits(
            self.day[rows],
            self.area_mm2[rows],
            eye_id=[self.eye_id[i] for i in rows],
            eye=[self.eye[i] for i in rows],
            sd_percent=self.sd_percent[rows],
            after_laser=self.after_laser[rows],
            line=self.line[rows],
            outlines_mm=[self.outlines_mm[i] for i in rows],
        )

    def to_dataframe(self) -> pandas.DataFrame:
        """A pandas.DataFrame with one row for each visit."""
        frame: pandas.DataFrame = needed("pandas", "a data frame").DataFrame(
            {
                "eye_id": self.eye_id,
                "eye": self.eye,
                "day": self.day,
                "area_mm2": self.area_mm2,
                "diameter_mm": self.diameter_mm,
                "sd_percent": self.sd_percent,
                "after_laser": self.after_laser,
            }
        )
        return frame

    def __len__(self) -> int:
        return len(self.day)

    def __repr__(self) -> str:
        count = len(self.eye_ids)
        eyes = f"{count} eyes" if count != 1 else f"{self.eye_ids[0]!r}"
        return (
            f"<capsim.Visits of {eyes}: {len(self)} visits, {int(self.usable.sum())} to use, "
            f"{int(np.isnan(self.area_mm2).sum())} missing, {int(self.after_laser.sum())} after a laser>"
        )
