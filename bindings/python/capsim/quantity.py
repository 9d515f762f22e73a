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
