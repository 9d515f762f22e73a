# SPDX-License-Identifier: BSD-3-Clause
"""What varies over a sweep: a grid of axes, or a table with one row per run."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..plain_values import plain

GRID, TABLE = "grid", "table"


@dataclass(frozen=True)
class Design:
    """The changes of every run: `columns` by dotted path, crossed (grid) or row by row (table).

    Runs are numbered in C order: the last axis of a grid varies fastest.
    """

    layout: str
    columns: dict[str, list[Any]]

    @property
    def dims(self) -> tuple[str, ...]:
        """Names of the dimensions of the result."""
        return tuple(self.columns) if self.layout == GRID else ("run",)

    @property
    def shape(self) -> tuple[int, ...]:
        """Lengths of the dimensions."""
        if self.layout == GRID:
            return tuple(len(values) for values in self.columns.values())
        return (len(next(iter(self.columns.values()))),)

    @property
    def size(self) -> int:
        """Number of runs."""
        return int(np.prod(self.shape, dtype=np.int64))

    def changes(self, run: int) -> dict[str, Any]:
        """What a run changes in the base scenario, by dotted path."""
        if self.layout == TABLE:
            return {path: values[run] for path, values in self.columns.items()}
        index = np.unravel_index(run, self.shape)
        return {path: values[int(i)] for (path, values), i in zip(self.columns.items(), index)}

    def coordinate(self, path: str) -> NDArray[Any]:
        """The values of a column as labels: numbers stay numbers, anything else becomes text."""
        values = self.columns[path]
        if all(isinstance(item, int) and not isinstance(item, bool) for item in values):
            return np.array(values, dtype=np.int64)
        if all(isinstance(item, (int, float)) and not isinstance(item, bool) for item in values):
            return np.array(values, dtype=np.float64)
        return np.array([item if isinstance(item, str) else json.dumps(item) for item in values], dtype=object)

    def to_plain(self) -> dict[str, Any]:
        """For the record in a file."""
        return {"layout": self.layout, "columns": self.columns}


def design_of(axes_or_samples: Any, layout: str | None = None, names: Any = None) -> Design:
    """The design in a dict of axes, or in a table: a DataFrame, a list of dicts, a dict of columns, or a matrix with a
    row for each run and `names` for its columns (a list, or SALib's problem).

    A dict is a grid unless `layout` says "table". Raises ValueError for a design without runs,
    columns of unequal length or a grid axis with the same value twice.
    """
    if layout not in (None, GRID, TABLE):
        raise ArgumentError(f'layout is {layout!r}; it must be "grid" or "table"')
    found, columns = _columns(axes_or_samples) if names is None else (TABLE, _columns_of_matrix(axes_or_samples, names))
    if layout == GRID and found == TABLE:
        raise ArgumentError("a table of samples can't be a grid; give a dict of axes")
    layout = layout or found
    if not columns or not all(isinstance(path, str) for path in columns):
        raise ArgumentError('a sweep needs at least one dotted path, such as {"opening.diameter_mm": [4.5, 5, 5.5]}')
    lengths = {path: len(values) for path, values in columns.items()}
    if 0 in lengths.values():
        raise ArgumentError(f"{next(path for path, n in lengths.items() if n == 0)} has no values")
    if layout == TABLE and len(set(lengths.values())) > 1:
        raise ArgumentError(f"the columns of a table must be of one length; they have {lengths}")
    if layout == GRID:
        for path, values in columns.items():
            labels = [json.dumps(item, sort_keys=True) for item in values]
            twice = next((label for label in labels if labels.count(label) > 1), None)
            if twice is not None:
                raise ArgumentError(f"{path} has the value {twice} twice; an axis of a grid must not")
    return Design(layout, columns)


def _columns_of_matrix(matrix: Any, names: Any) -> dict[str, list[Any]]:
    """The columns of a matrix by their names."""
    listed = list(names["names"] if isinstance(names, Mapping) else names)
    table = np.asarray(matrix)
    if table.ndim != 2 or table.shape[1] != len(listed):
        raise ArgumentError(
            f"{len(listed)} names need a matrix of as many columns and a row for each run, not one of shape {table.shape}"
        )
    return {str(name): plain(table[:, i]) for i, name in enumerate(listed)}


def _columns(given: Any) -> tuple[str, dict[str, list[Any]]]:
    if hasattr(given, "columns") and hasattr(given, "to_dict"):  # a DataFrame
        return TABLE, {str(name): _values(given[name], str(name)) for name in given.columns}
    if isinstance(given, Mapping):
        return str(getattr(given, "layout", GRID)), {path: _values(values, path) for path, values in given.items()}
    if isinstance(given, Sequence) and not isinstance(given, str) and all(isinstance(row, Mapping) for row in given):
        names = list(dict.fromkeys(name for row in given for name in row))
        for number, row in enumerate(given):
            missing = [name for name in names if name not in row]
            if missing:
                raise ArgumentError(f"row {number} of the samples has no value {missing[0]!r}")
        return TABLE, {name: [plain(row[name]) for row in given] for name in names}
    if getattr(given, "ndim", 0) == 2:
        raise ArgumentError("a matrix needs the names of its columns: sweep(base, matrix, names=problem)")
    raise TypeError(f"a sweep takes a dict, a DataFrame or a list of dicts, not {type(given).__name__}")


def _values(values: Any, path: str) -> list[Any]:
    if isinstance(values, (str, Mapping)) or not hasattr(values, "__iter__"):
        raise TypeError(f"{path} needs a list of values, not {values!r}")
    return [plain(item) for item in values]
