# SPDX-License-Identifier: BSD-3-Clause
"""Global sensitivity from derivatives: what many runs with derivatives bound of a Sobol study."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..optional import needed

if TYPE_CHECKING:
    import xarray

_DRAWS = 200  # of the runs with replacement, for the spread of what they say


def derivative_measures(
    data: xarray.Dataset, ranges: Mapping[str, tuple[float, float]], outcomes: Sequence[str] | None = None
) -> xarray.Dataset:
    """Derivative-based global sensitivity measures of the outcomes of a sweep, and what they bound.

    `data` is a sweep over a table of samples, uniform in `ranges`, with ``sensitivities`` by the same paths. For each
    outcome (dimension ``outcome``) and path (``parameter``), over the runs that completed:

    ``mean_square``, E (df/dx)^2 in the square of its unit; ``mean_absolute``, E abs(df/dx); and ``bound``: no total Sobol
    index is larger than (b - a)^2 E (df/dx)^2 / (pi^2 Var f) (Sobol' and Kucherenko, Mathematics and Computers in
    Simulation 79, 2009). It is sharp to within a fifth where f is linear, and large where f is rough; a parameter whose
    bound is small can be held fixed. ``bound_low`` and ``bound_high`` hold 95 of 100 draws of the runs with replacement.

    Raises ArgumentError for outcomes without derivatives in `data`, for paths without a range, and for fewer than 8
    completed runs.

    >>> ranges = {"opening.diameter_mm": (4.6, 5.4), "contraction.cells_left": (0.5, 1.0)}
    >>> table = capsim.samples(ranges, 8, seed=1)
    >>> data = capsim.sweep(uncut, table, outcomes="opening_area_mm2", sensitivities=list(ranges), progress=False)
    >>> bound = capsim.derivative_measures(data, ranges).bound.sel(outcome="opening_area_mm2")
    >>> bool(bound.sel(parameter="opening.diameter_mm") > bound.sel(parameter="contraction.cells_left"))
    True
    """
    xarray_ = needed("xarray", "sensitivity measures")
    there = [str(name)[:-3] for name in data.data_vars if str(name).endswith("_by") and "day" not in data[name].dims]
    names = there if outcomes is None else list(outcomes)
    for name in names:
        if name not in there or data[f"{name}_by"].ndim != 2:
            raise ArgumentError(f"the sweep has no derivatives of {name!r} over a table of samples; it has: {there}")
    paths = [str(path) for path in data["parameter"].values] if "parameter" in data.coords else []
    without = [path for path in paths if path not in ranges]
    if not paths or without:
        raise ArgumentError(
            f"there is no range for {', '.join(without)}" if without else "the sweep has no derivatives"
        )
    completed = np.asarray(data["status"] == "completed")
    if completed.sum() < 8:
        raise ArgumentError(f"{int(completed.sum())} runs completed; measures need at least 8")
    width = np.array([ranges[path][1] - ranges[path][0] for path in paths])
    rows = np.random.default_rng(0).integers(int(completed.sum()), size=(_DRAWS, int(completed.sum())))
    found: dict[str, list[Any]] = {
        name: [] for name in ("mean_square", "mean_absolute", "bound", "bound_low", "bound_high")
    }
    for name in names:
        values = np.asarray(data[name], dtype=np.float64)[completed]
        derivatives = np.asarray(data[f"{name}_by"], dtype=np.float64)[completed]
        drawn = np.array([_bound(values[row], derivatives[row], width) for row in rows])
        found["mean_square"].append((derivatives**2).mean(axis=0))
        found["mean_absolute"].append(np.abs(derivatives).mean(axis=0))
        found["bound"].append(_bound(values, derivatives, width))
        low, high = np.nanquantile(drawn, [0.025, 0.975], axis=0)
        found["bound_low"].append(low)
        found["bound_high"].append(high)
    result: xarray.Dataset = xarray_.Dataset(
        {name: (("outcome", "parameter"), np.array(values)) for name, values in found.items()},
        {"outcome": names, "parameter": paths},
        {"runs": int(completed.sum()), "bound": "of the total Sobol index, for uniform and independent parameters"},
    )
    return result


def _bound(values: NDArray[np.float64], derivatives: NDArray[np.float64], width: NDArray[np.float64]) -> Any:
    """Upper bounds of the total Sobol indices, [parameters]; NaN where nothing varies."""
    variance = float(values.var(ddof=1))
    mean_square = (derivatives**2).mean(axis=0)
    return width**2 * mean_square / (np.pi**2 * variance) if variance > 0 else np.full(len(width), np.nan)
