# SPDX-License-Identifier: BSD-3-Clause
"""The labelled arrays of a sweep: which variables there are, with dimensions and attributes.

The dataset in memory and the file are both made from this one description.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..labelled import COLUMNS
from ..optional import needed
from ..units import description_of, unit_of
from .design import GRID, TABLE, Design
from .run import Plan, Row, cautions

if TYPE_CHECKING:
    import xarray

TEXT = np.dtype(object)

_MEANINGS = {
    **{dim: meaning for dim, _, meaning in COLUMNS.values()},
    "parameter": "Dotted path of the scenario that the derivative is by.",
    "rim_point": "Points of the rim, evenly along it, counter-clockwise from 12 o'clock.",
}


@dataclass(frozen=True)
class Variable:
    """One variable or coordinate, without its values."""

    name: str
    dims: tuple[str, ...]
    dtype: np.dtype[Any]
    attrs: dict[str, Any] = field(default_factory=dict)


class Layout:
    """Dimensions, coordinates and variables of the result of a sweep."""

    def __init__(self, design: Design, plan: Plan) -> None:
        self.design = design
        self.plan = plan
        self.coordinates: list[tuple[Variable, NDArray[Any]]] = []
        self.variables: list[Variable] = []
        self._add_design()
        self._add_runs()
        self._add_series()

    @property
    def sizes(self) -> dict[str, int]:
        """Length of each dimension."""
        return {
            variable.name: len(values) for variable, values in self.coordinates if variable.dims == (variable.name,)
        }

    @property
    def attrs(self) -> dict[str, Any]:
        """Attributes of the whole."""
        found: dict[str, Any] = {
            "title": f"Sweep of {self.plan.base['name']}",
            "capsim_version": _core.version,
            "capsim_build": _core.build,
            "capsim_commit": _core.commit,
            "base_scenario": json.dumps(self.plan.base, ensure_ascii=False),
            "caution": " ".join(cautions(self.plan)),
        }
        if self.plan.seed is not None:
            found["seed"] = str(self.plan.seed)
        return found

    def values_of(self, row: Row) -> list[Any]:
        """What a row has for each of the variables, in their order."""
        seed = [np.uint64(self.plan.seed_of(row.run))] if self.plan.seed is not None else []
        series = [values.reshape(shape) for values, shape in zip(row.series, self._series_shapes)]
        return [row.status, row.message, row.flags, *seed, *row.outcomes, *series]

    def _add_design(self) -> None:
        if self.design.layout == TABLE:
            runs = Variable("run", ("run",), np.dtype(np.int64), {"units": "1", "long_name": "Number of the run."})
            self.coordinates.append((runs, np.arange(self.design.size)))
        for path in self.design.columns:
            values = self.design.coordinate(path)
            attrs = {"long_name": description_of(path)}
            if values.dtype != TEXT:
                attrs["units"] = unit_of(path)
            dims = (path,) if self.design.layout == GRID else ("run",)
            self.coordinates.append((Variable(path, dims, values.dtype, attrs), values))

    def _add_runs(self) -> None:
        dims = self.design.dims
        self.variables += [
            Variable("status", dims, TEXT, {"long_name": "How the run ended; completed, or why not."}),
            Variable("message", dims, TEXT, {"long_name": "Why the run ended, in one sentence."}),
            Variable("flags", dims, TEXT, {"long_name": "What the reader must know about the run."}),
        ]
        if self.plan.seed is not None:
            attrs = {"long_name": "Seed of the run's own random numbers."}
            self.variables.append(Variable("run_seed", dims, np.dtype(np.uint64), attrs))
        for quantity in self.plan.outcomes:
            attrs = {"units": quantity.unit, "long_name": quantity.description}
            self.variables.append(Variable(quantity.name, dims, np.dtype(np.float64), attrs))

    def _add_series(self) -> None:
        days = len(self.plan.days)
        self._series_shapes = [
            ((days,) if q.daily else ()) + tuple(len(labels) for _, labels in q.labels) for q in self.plan.arrays
        ]
        number = np.dtype(np.float64)
        if self.plan.series:
            attrs = {"units": "d", "long_name": "Day after surgery."}
            self.coordinates.append((Variable("day", ("day",), number, attrs), self.plan.days))
        known = set()
        for quantity in self.plan.arrays:
            dims = (*self.design.dims, "day") if quantity.daily else tuple(self.design.dims)
            for name, labels in quantity.labels:
                dims += (name,)
                if name not in known:
                    values = np.array(labels, dtype=object if isinstance(labels[0], str) else None)
                    attrs = {"long_name": _MEANINGS.get(name, name)}
                    self.coordinates.append((Variable(name, (name,), values.dtype, attrs), values))
                    known.add(name)
            attrs = {"units": quantity.unit, "long_name": quantity.description}
            self.variables.append(Variable(quantity.name, dims, number, attrs))


class Arrays:
    """Arrays of all variables, to be filled run by run, in any order."""

    def __init__(self, layout: Layout) -> None:
        self.layout = layout
        self.flat: list[NDArray[Any]] = []
        outer = len(layout.design.dims)
        for variable in layout.variables:
            inner = [layout.sizes[dim] for dim in variable.dims[outer:]]
            empty: Any = "" if variable.dtype == TEXT else 0 if variable.dtype.kind == "u" else np.nan
            self.flat.append(np.full((layout.design.size, *inner), empty, dtype=variable.dtype))

    def put(self, row: Row) -> None:
        """Puts the results of one run in their place."""
        for array, value in zip(self.flat, self.layout.values_of(row)):
            array[row.run] = value

    def to_dataset(self) -> xarray.Dataset:
        """The labelled dataset."""
        shape = self.layout.design.shape
        shaped = [array.reshape(*shape, *array.shape[1:]) for array in self.flat]
        return dataset(zip(self.layout.variables, shaped), self.layout.coordinates, self.layout.attrs)


def dataset(
    variables: Iterable[tuple[Variable, NDArray[Any]]],
    coordinates: Sequence[tuple[Variable, NDArray[Any]]],
    attrs: Mapping[str, Any],
) -> xarray.Dataset:
    """An xarray.Dataset from described arrays."""
    xarray_ = needed("xarray", "the result of a sweep")
    result: xarray.Dataset = xarray_.Dataset(
        {variable.name: (variable.dims, values, variable.attrs) for variable, values in variables},
        {variable.name: (variable.dims, values, variable.attrs) for variable, values in coordinates},
        dict(attrs),
    )
    return result
