# SPDX-License-Identifier: BSD-3-Clause
"""What a run leaves behind: read-only arrays over the output days, and how it ended."""

from __future__ import annotations

import contextlib
import math
import os
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

from . import _core
from .errors import ArgumentError, Error
from .labelled import dataset_of
from .recorded import Diagnostics as Diagnostics
from .recorded import RecordedSeries
from .scenario import Scenario, of_native
from .series_attribute import FloatArray
from .spelling import did_you_mean

if TYPE_CHECKING:
    import xarray


@dataclass(frozen=True)
class CutRecord:
    """Where one relaxing cut lies and when it was made.

    >>> history.cuts[0].hour, history.cuts[0].day
    (12.0, 30.0)
    """

    hour: float
    """Clock hour."""
    length_mm: float
    """As asked: along the leaf at the end of surgery [mm]."""
    length_on_day_mm: float
    """Along the leaf as it lay just before the cut [mm]."""
    day: float
    """Day of the cut."""


class SolveError(Error, RuntimeError):
    """A run that did not complete; raised by `History.raise_if_failed` only.

    `status` and `message` say why; `history` is the part that was computed (None in a copy that
    came from another process).

    >>> history.raise_if_failed()  # nothing: it completed
    """

    status: str
    message: str
    history: History | None

    def __init__(self, status: str, message: str, history: History | None = None) -> None:
        self.status = status
        self.message = message
        self.history = history
        super().__init__(f"{status}: {message}")

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self.status, self.message)


class History(RecordedSeries):
    """The result of one run: one row per output day, two for each day with events.

    Every series is an attribute of its own name: a read-only float64 array of shape [rows] or
    [rows, columns] that stays valid for as long as it is used, also when the history is gone.
    `names` lists them all; `unit` and `description` tell what each one is. On a day with events
    the first of the two rows shows the state just before (`event_side` -1), the second the state
    just after (+1).

    >>> history.status, history.opening_area_mm2.shape == history.day.shape
    ('completed', True)
    >>> history.zonule_load_mN[history.row_at(30)].shape  # by clock hour, 12 first
    (12,)
    """

    def __init__(self, native: _core.History) -> None:
        self._native = native
        self._table = {name: rest for name, *rest in native.series_table()}
        self._arrays: dict[str, FloatArray] = {}

    @property
    def status(self) -> str:
        """How the run ended, one of `capsim.recorded.STATUSES`: "completed", or why it went no further."""
        return self._native.status

    @property
    def message(self) -> str:
        """One sentence: why the run ended, with the criterion that failed and where."""
        return self._native.message

    @property
    def version(self) -> str:
        """The version of capsim that ran it."""
        return self._native.version

    @property
    def scenario(self) -> Scenario:
        """The scenario that was run. It can't be changed; ``scenario.copy()`` and ``scenario.with_(...)`` can."""
        return of_native(self._native.scenario, frozen=True)

    @property
    def cuts(self) -> list[CutRecord]:
        """The relaxing cuts that were made."""
        return [CutRecord(**cut) for cut in self._native.cuts()]

    @property
    def diagnostics(self) -> Diagnostics:
        """How the run went, in numbers."""
        return Diagnostics(**self._native.diagnostics())

    @property
    def names(self) -> list[str]:
        """The names of all series."""
        return list(self._table)

    def array(self, name: str) -> FloatArray:
        """The series of that name, read-only, [rows] or [rows, columns]; AttributeError when there is none.

        >>> history.array("opening_area_mm2") is history.opening_area_mm2
        True
        """
        self._must_have(name)
        if name not in self._arrays:
            self._arrays[name] = self._native.array(name)
        return self._arrays[name]

    def unit(self, name: str) -> str:
        """The unit of a series, "mm2"; AttributeError when there is none of that name.

        >>> history.unit("opening_area_mm2")
        'mm2'
        """
        self._must_have(name)
        return self._table[name][0]

    def description(self, name: str) -> str:
        """What a series is, in one sentence; AttributeError when there is none of that name.

        >>> history.description("opening_area_mm2")
        '...'
        """
        self._must_have(name)
        return self._table[name][2]

    def axis(self, name: str) -> str:
        """What the values of one row of a series are: one, xy, clock_hour, pupil, cut, rim_point ...

        >>> history.axis("zonule_load_mN")
        'clock_hour'
        """
        self._must_have(name)
        return self._table[name][1]

    def _must_have(self, name: str) -> None:
        if name not in self._table:
            hint = did_you_mean(name, self._table)
            raise AttributeError(f"the history has no series {name!r}{hint}; it has: {', '.join(self._table)}")

    def outline_mm(self, row: int) -> FloatArray:
        """The rim of a row as a polygon [points, 2], counter-clockwise [mm]; negative rows count from the end.

        The polygon runs down one lip of an open cut and up the other.

        >>> history.outline_mm(-1).shape[1]
        2
        """
        polygon: FloatArray = self.array("rim_outline_mm")[row].reshape(-1, 2)
        return polygon

    def row_at(self, day: float) -> int:
        """The first row at or after `day`; on a day with events its last, just after; the last row beyond the end.

        Raises ValueError for a day that is not a number, and for a history without rows.

        >>> row = history.row_at(30)  # the cuts are made on that day: just after them
        >>> history.day[row], history.event_side[row]
        (30.0, 1.0)
        """
        if math.isnan(day):
            raise ArgumentError("day is not a number (nan)")
        if len(self) == 0:
            raise ArgumentError(f"the history has no rows: the run ended before day 0 ({self.status})")
        return self._native.row_at(day)

    def raise_if_failed(self) -> None:
        """Raises `SolveError` unless the run completed.

        >>> history.raise_if_failed()  # all is well
        """
        if self.status != "completed":
            raise SolveError(self.status, self.message, self)

    def save(self, path: str | os.PathLike[str]) -> None:
        """Writes the run to an HDF5 file, whole or not at all; raises `ResultsFileError`.

        >>> history.save(folder / "run.h5")
        >>> capsim.load(folder / "run.h5") == history
        True
        """
        with _hdf5_lock():
            self._native.save(os.fsencode(path))

    def to_xarray(self) -> xarray.Dataset:
        """Every series as a labelled variable; needs the package xarray.

        Dimension ``row`` has the coordinates ``day`` and ``event_side``: a day with events is there twice. Columns are
        labelled by clock ``hour`` (12 first), ``axis`` (x, y), ``pupil_mm``, and ``cut`` with its ``cut_hour``; points of
        an outline have a dimension of their own beside ``axis``. Units and sentences are attributes.

        ``history.to_xarray().zonule_load_mN.sel(hour=[4, 5]).plot(x="day", hue="hour")``

        >>> history.to_xarray().zonule_load_mN.sel(hour=[4, 5]).dims
        ('row', 'hour')
        """
        return dataset_of(self)

    def __eq__(self, other: object) -> bool:
        """Whether two runs are the same: scenario, how they ended, and every value of every series, bit for bit."""
        return isinstance(other, History) and (
            (self.status, self.message, self.names, self.scenario)
            == (other.status, other.message, other.names, other.scenario)
            and all(self.array(name).tobytes() == other.array(name).tobytes() for name in self.names)
        )

    def __hash__(self) -> int:
        return hash((self.status, self.message, len(self)))

    def __reduce__(self) -> tuple[Any, ...]:
        """A history travels to another process as the bytes of its file."""
        with tempfile.TemporaryDirectory(prefix="capsim-") as folder:
            path = os.path.join(folder, "history.h5")
            self.save(path)
            with open(path, "rb") as file:
                return _from_bytes, (file.read(),)

    if not TYPE_CHECKING:  # a checker sees the declared series only, and finds a misspelt one

        def __getattr__(self, name: str) -> FloatArray:
            if name.startswith("_"):
                raise AttributeError(name)
            return self.array(name)

    def __dir__(self) -> list[str]:
        return sorted({*object.__dir__(self), *self._table})

    def __len__(self) -> int:
        return self._native.rows()

    def __bool__(self) -> bool:
        return True

    def __repr__(self) -> str:
        text = f"<capsim.History {of_native(self._native.scenario).name!r}: {self.status}, {len(self)} rows"
        if len(self):
            text += f", day {self.day[0]:g} to {self.day[-1]:g}"
            if "opening_area_mm2" in self._table:
                text += f", opening {self.opening_area_mm2[0]:.2f} to {self.opening_area_mm2[-1]:.2f} mm2"
        return text + ">"


def load(path: str | os.PathLike[str], *, edited: bool = False) -> History:
    """Reads a file written by `History.save`.

    ``edited``: another program has added to the file, which thereby lost the seal of its bytes. They then go to the HDF5
    library unchecked, which may crash on damaged ones; changed numbers are refused all the same.

    Raises FileNotFoundError when there is none, and `ResultsFileError` for a file that is not a
    result, is damaged, has no seal, or is of a newer format.

    >>> history.save(folder / "run.h5")
    >>> capsim.load(folder / "run.h5") == history
    True
    """
    os.stat(path)
    with _hdf5_lock():
        return History(_core.load(os.fsencode(path), edited))


def _from_bytes(data: bytes) -> History:
    """Restores a pickled history."""
    with tempfile.TemporaryDirectory(prefix="capsim-") as folder:
        path = os.path.join(folder, "history.h5")
        with open(path, "wb") as file:
            file.write(data)
        return load(path)


@contextlib.contextmanager
def _hdf5_lock() -> Iterator[None]:
    """Keeps h5py out of the HDF5 library that it shares with us, while it is in use here."""
    with getattr(sys.modules.get("h5py._objects"), "phil", contextlib.nullcontext()):
        yield
