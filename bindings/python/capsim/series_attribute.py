# SPDX-License-Identifier: BSD-3-Clause
"""An attribute of a history that is the series of the attribute's own name."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


class SeriesAttribute:
    """Reads `history.array(name)`; a result can't be set."""

    def __init__(self, description: str) -> None:
        self.__doc__ = description

    def __set_name__(self, owner: type, name: str) -> None:
        self._name = name

    def __get__(self, history: Any, owner: Any = None) -> Any:
        return self if history is None else history.array(self._name)

    def __set__(self, history: Any, value: Any) -> None:
        raise AttributeError(f"{self._name} is a result and can't be set")


def series(description: str) -> Any:
    """A series attribute with that docstring."""
    return SeriesAttribute(description)
