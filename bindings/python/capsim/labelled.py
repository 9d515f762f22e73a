# SPDX-License-Identifier: BSD-3-Clause
"""A run as labelled arrays: dimensions, coordinates and attributes of every series."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from . import _core
from .optional import needed

if TYPE_CHECKING:
    import xarray

COLUMNS: dict[str, tuple[str, Sequence[Any], str]] = {
    "clock_hour": ("hour", [12, *range(1, 12)], "Clock hour."),
    "xy": ("axis", ["x", "y"], "x to the viewer's right, y up."),
    "pupil": ("pupil_mm", list(_core.pupil_diameters_mm), "Diameter of a pupil about the pupil centre [mm]."),
}
"""For each axis of a series that is the same in every run: dimension, labels, and what they are."""


def dataset_of(history: Any) -> xarray.Dataset:
    """Every series of a run as a variable over ``row``; see `History.to_xarray`."""
    xarray_ = needed("xarray", "a run as labelled arrays")
    coordinates: dict[str, Any] = {}
    variables: dict[str, Any] = {}
    for name in history.names:
        values = np.array(history.array(name))
        attrs = {"units": history.unit(name), "long_name": history.description(name)}
        dims, values = shaped(name, history.axis(name), values, coordinates, history)
        (coordinates if name in ("day", "event_side") else variables)[name] = (dims, values, attrs)
    return xarray_.Dataset(variables, coordinates, attributes_of(history))  # type: ignore[no-any-return]


def has_cuts(history: Any) -> bool:
    """Whether relaxing cuts are planned in a run's scenario, or were made on the way by `Simulation.apply`."""
    return bool(history.cuts) or any("relaxing_cuts" in event for event in history.scenario.events)


def attributes_of(history: Any) -> dict[str, str]:
    """What stands over a run: its name, how it ended, which version ran it, the scenario, cautions."""
    return {
        "title": str(history.scenario.name),
        "status": history.status,
        "message": history.message,
        "capsim_version": history.version,
        "scenario": history.scenario.to_json(-1),
        "caution": " ".join([_core.research_caution, *([_core.relaxing_cut_caution] if has_cuts(history) else [])]),
    }


def shaped(
    name: str, axis: str, values: np.ndarray[Any, Any], coordinates: dict[str, Any], history: Any
) -> tuple[tuple[str, ...], np.ndarray[Any, Any]]:
    """Dimensions of a series, and its values in that shape; adds the labels of its columns to the coordinates."""
    if values.ndim == 1:
        return ("row",), values
    if axis in COLUMNS:
        dim, labels, meaning = COLUMNS[axis]
        coordinates[dim] = ((dim,), list(labels), {"long_name": meaning})
        return ("row", dim), values
    if axis == "cut":
        planned = [
            hour for event in history.scenario.events if "relaxing_cuts" in event for hour in event.relaxing_cuts.hours
        ]
        hours = list(dict.fromkeys(planned))  # one mesh line for each hour, in the order in which they are planned
        if len(hours) == values.shape[1]:
            coordinates["cut_hour"] = (("cut",), hours, {"long_name": "Clock hour of the cut line."})
        return ("row", "cut"), values
    dim, labels, meaning = COLUMNS["xy"]
    coordinates[dim] = ((dim,), list(labels), {"long_name": meaning})
    return ("row", axis, dim), values.reshape(len(values), -1, 2)
