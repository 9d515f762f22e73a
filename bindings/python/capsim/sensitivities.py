# SPDX-License-Identifier: BSD-3-Clause
"""Derivatives of a run by the numbers of its scenario, as labelled arrays."""

from __future__ import annotations

import os
from collections.abc import Callable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from . import _core
from .errors import ArgumentError
from .history import History
from .host_parts import ContractionLaw, FloatArray, Part
from .labelled import attributes_of, shaped
from .optional import needed
from .scenario import Scenario, native, of_native
from .spelling import did_you_mean
from .units import quotients

if TYPE_CHECKING:
    import xarray

KINKS = {
    "slack": "a bundle of the zonule goes slack or taut",
    "wrinkle": "a point of a leaf or of tissue goes slack, wrinkles or gets taut",
    "contact": "a haptic or a tension ring begins or ends to press",
    "jump": "another meridian, place or hour has the smallest or the largest of a row",
}


def sensitivities(
    scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str],
    parameters: Sequence[str],
    outcomes: Sequence[str] | None = None,
    series: Sequence[str] = (),
    *,
    extras: Callable[[Scenario, FloatArray], tuple[Sequence[Part], ContractionLaw | None]] | None = None,
    force_rate: Callable[[str, int, Part, FloatArray], FloatArray | None] | None = None,
) -> xarray.Dataset:
    """Runs a scenario once and differentiates the run by real numbers of the scenario.

    `parameters` are dotted paths; an hour is one parameter: ``zonule.strength_by_hour.4``. The Dataset holds, under its
    own name, the derivative of each outcome (all, or those asked for) with the dimension ``parameter``, and of each
    series in `series` with its own dimensions and ``parameter``; of two that share a name and are both asked for, the
    series is called ``<name>_by_row``. Their units are quotients. Derivatives are those of the branch that the run has
    taken. By how much a parameter would have to change for another branch on day 0, beside an event or on the last day
    is told for each kind of kink: ``nearest_slack`` (a bundle of the zonule goes slack or taut), ``nearest_wrinkle`` (a
    point of a leaf or of tissue goes slack, wrinkles or gets taut), ``nearest_contact`` (a haptic or a tension ring
    begins or ends to press) and ``nearest_jump`` (another meridian, place or hour has the smallest or the largest of a
    row). ``kinks_passed`` (dimension ``kink``) is how many the run went through on its way. ``one_sided`` marks
    parameters at the low end of what they may be.

    Parts and a law written in Python go along: `extras` is called with a scenario and the coordinates of its eye as
    stated (as `Part` has them), for the run and for the eye beside it by each parameter, a hair elsewhere, and gives the
    parts and the law, or None, of that eye; as many parts each time. They are differenced. ``force_rate(path, number,
    part, x)`` may tell the derivative of the gradient of part `number` by a parameter itself, [coordinates], and give
    None where it does not.

    Raises `ScenarioError` for a wrong scenario, and for parameters that are not there or by which a run can't be
    differentiated, all at once; `ArgumentError` for unknown outcomes and series.

    >>> data = capsim.sensitivities(uncut, ["contraction.fibre_modulus_kPa"], outcomes=["opening_area_mm2"])
    >>> data["opening_area_mm2"].dims, bool(data["opening_area_mm2"][0] < 0)
    (('parameter',), True)
    """
    if isinstance(parameters, str):
        raise ArgumentError("sensitivities: parameters must be a list of paths, not one text")
    xarray_ = needed("xarray", "derivatives as labelled arrays")
    native_history, by, names, of_outcomes, of_series, message, passed = _core.sensitivities(
        native(scenario),
        list(parameters),
        list(series),
        extras=None if extras is None else _made_by(extras),
        force_rate=force_rate,
    )
    history = History(native_history)
    paths = [path for path, *_ in by]
    coordinates: dict[str, Any] = {
        "parameter": ("parameter", np.array(paths, dtype=object), {"long_name": "Dotted path of the scenario."}),
        "parameter_value": ("parameter", [value for _, value, *_ in by], {"long_name": "Value it was taken at."}),
    }
    variables: dict[str, Any] = {}
    for index in _asked_for([name for name, *_ in names], outcomes):
        name, unit, description = names[index]
        if outcomes is None and (name in of_series or name == "day"):
            continue  # the last row of the series, or of the coordinate
        attrs = {"units": quotients(unit, paths), "long_name": f"Derivative: {description}"}
        variables[name] = ("parameter", of_outcomes[index], attrs)
    for name, values in of_series.items():
        attrs = {
            "units": quotients(history.unit(name), paths),
            "long_name": f"Derivative: {history.description(name)}",
        }
        flat = np.moveaxis(values, -1, 0)
        one = flat[..., 0] if flat.shape[-1] == 1 else flat
        shapes = [shaped(name, history.axis(name), row, coordinates, history) for row in one]
        dims = shapes[0][0] if shapes else ("row",)
        stacked = np.stack([array for _, array in shapes], axis=-1) if shapes else values[:, 0, :]
        # Where an outcome of the same name was asked for as well.
        variables[name if name not in variables else f"{name}_by_row"] = ((*dims, "parameter"), stacked, attrs)
    if of_series:
        for name in ("day", "event_side"):
            coordinates[name] = ("row", np.array(history.array(name)), {"units": history.unit(name)})
    for index, (kink, what) in enumerate(KINKS.items()):
        attrs = {"long_name": f"Change of the parameter, to first order, at which {what}."}
        variables[f"nearest_{kink}"] = ("parameter", [one[3 + index] for one in by], attrs)
    coordinates["kink"] = ("kink", np.array(list(KINKS)[: len(passed)], dtype=object), {"long_name": "Kind of kink."})
    variables["kinks_passed"] = ("kink", list(passed), {"long_name": "Kinks that the run went through on its way."})
    variables["one_sided"] = (
        "parameter",
        [one[2] for one in by],
        {"long_name": "Whether the derivative is towards larger values only."},
    )
    attributes = attributes_of(history)
    if message:
        attributes["derivatives"] = message
    return xarray_.Dataset(variables, coordinates, attributes)  # type: ignore[no-any-return]


def _made_by(
    extras: Callable[[Scenario, FloatArray], tuple[Sequence[Part], ContractionLaw | None]],
) -> Callable[[_core.Scenario, FloatArray], tuple[list[Part], ContractionLaw | None]]:
    """The same for scenarios of the core."""

    def made(scenario: _core.Scenario, x: FloatArray) -> tuple[list[Part], ContractionLaw | None]:
        parts, law = extras(of_native(scenario, frozen=True), x)
        return list(parts), law

    return made


def _asked_for(names: list[str], asked: Sequence[str] | None) -> list[int]:
    if asked is None:
        return list(range(len(names)))
    for name in asked:
        if name not in names:
            raise ArgumentError(f'sensitivities: this run has no outcome "{name}"{did_you_mean(name, names)}')
    return [names.index(name) for name in asked]
