# SPDX-License-Identifier: BSD-3-Clause
"""Values of a run on days of one's own: between rows, and on either side of a day with events."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]

SAME_DAY = 1e-9
"""Days closer than this are one day, as in the library [day]."""


def rows_on(day: FloatArray, values: FloatArray, wanted: FloatArray, *, after_events: bool = True) -> FloatArray:
    """The values [rows] or [rows, columns] of a run with rows on `day`, on the `wanted` days.

    Linear between rows. A day with events has two rows: the last counts, or the first without `after_events`; no value
    is ever taken between the two. NaN before the first day and beyond the last.
    """
    result = np.full((len(wanted), *values.shape[1:]), np.nan)
    if len(day) == 0:
        return result
    if after_events:
        row = np.searchsorted(day, wanted + SAME_DAY, side="right") - 1  # the last row at or before the day
        hit = (row >= 0) & (np.abs(day[row] - wanted) <= SAME_DAY)
    else:
        at = np.searchsorted(day, wanted - SAME_DAY, side="left")  # the first row at or after the day
        hit = (at < len(day)) & (np.abs(day[np.minimum(at, len(day) - 1)] - wanted) <= SAME_DAY)
        row = np.where(hit, at, at - 1)
    result[hit] = values[row[hit]]
    between = ~hit & (row >= 0) & (row + 1 < len(day))
    low = row[between]
    share = ((wanted[between] - day[low]) / (day[low + 1] - day[low])).reshape(-1, *[1] * (values.ndim - 1))
    result[between] = values[low] + share * (values[low + 1] - values[low])
    return result
