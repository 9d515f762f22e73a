# SPDX-License-Identifier: BSD-3-Clause
"""What can be drawn as a curve or banded over the days: one value for each row of a run."""

from __future__ import annotations

import numpy as np

from .errors import ArgumentError
from .history import History
from .series_attribute import FloatArray


def quantity(history: History, name: str) -> FloatArray:
    """The values of a quantity over the rows: a series with one value per row, or one derived from such.

    Derived are ``area_loss_percent`` and, for each centre among the series, its distance from the pupil
    centre: ``opening_``, ``lens_`` and ``equator_decentration_mm``.
    """
    if name == "area_loss_percent":
        if len(history) == 0:
            return np.zeros(0)
        return np.asarray(100 * (1 - history.opening_area_mm2 / history.opening_area_mm2[0]))
    if name.endswith("_decentration_mm"):
        center = name.replace("_decentration_mm", "_center_mm")
        if center in history.names:
            return np.asarray(np.hypot(*history.array(center).T))
    values = history.array(name)
    if values.ndim != 1 and values.shape[1] != 1:
        raise ArgumentError(f"{name} has {values.shape[1]} values a day; a curve needs one")
    return values.reshape(len(history))


def series_behind(name: str) -> str:
    """The series that a quantity is made of."""
    if name == "area_loss_percent":
        return "opening_area_mm2"
    return name.replace("_decentration_mm", "_center_mm") if name.endswith("_decentration_mm") else name


def slope_of(history: History, name: str, of_series: FloatArray) -> FloatArray:
    """Derivatives of a quantity over the rows, [rows, parameters], from those of its series, [rows, columns, parameters]."""
    if name == "area_loss_percent":
        area, of_area = history.opening_area_mm2, of_series[:, 0, :]
        share = area / area[0]
        return np.asarray(-100 * (of_area - share[:, None] * of_area[0]) / area[0])
    if name.endswith("_decentration_mm"):
        center = history.array(series_behind(name))
        distance = np.hypot(*center.T)
        # At the centre a distance has no derivative: nothing moves to first order.
        away = np.divide(center, distance[:, None], out=np.zeros_like(center), where=distance[:, None] > 0)
        return np.asarray(np.einsum("rc,rcp->rp", away, of_series))
    if of_series.shape[1] != 1:
        raise ArgumentError(f"{name} has {of_series.shape[1]} values a day; a curve needs one")
    return np.asarray(of_series[:, 0, :])
