# SPDX-License-Identifier: BSD-3-Clause
"""What is known about a parameter before the data: a normal distribution on a scale that fits it.

A fit works in scaled parameters z, which are standard normal before the data:
log scale x = median exp(sd z), share scale x = 1 / (1 + exp(-(logit(median) + sd z))), linear scale
x = median + sd z.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..scenario import Scenario

SIZE = "opening.size"
"""Factor on the stated opening, the one parameter that is not a path: the area on day 0 is never known exactly."""

_SHARES = ("contraction.cells_left", "contraction.chronic_signal", "zonule.strength")
_SD_LOG, _SD_SHARE, _SD_SIZE = 0.7, 1.5, 0.2


@dataclass(frozen=True)
class Prior:
    """A parameter before the data: its median, and the standard deviation on its scale.

    scale "log": for positive numbers, `sd` of the natural logarithm, 0.7 is a factor of two either
    way; "share": for numbers between 0 and 1, `sd` of the logit; "linear": `sd` in the parameter's unit.

    >>> capsim.Prior.between(100, 400).median
    200.0...
    """

    median: float
    sd: float
    scale: str = "log"

    def __post_init__(self) -> None:
        if self.scale not in ("log", "share", "linear"):
            raise ArgumentError(f'scale is {self.scale!r}; it must be "log", "share" or "linear"')
        if not (math.isfinite(self.median) and math.isfinite(self.sd) and self.sd > 0):
            raise ArgumentError(
                f"a prior needs a finite median and a standard deviation above 0, not {self.median}, {self.sd}"
            )
        if self.scale == "log" and self.median <= 0:
            raise ArgumentError(f"on a log scale the median must be above 0, not {self.median}")
        if self.scale == "share" and not 0 < self.median < 1:
            raise ArgumentError(f"on a share scale the median must be between 0 and 1, not {self.median}")

    @classmethod
    def between(cls, low: float, high: float, scale: str = "log") -> Prior:
        """The prior with 95 % between two values.

        >>> round(capsim.Prior.between(100, 400).median)
        200
        """
        if not low < high:
            raise ArgumentError(f"the lower value {low} must be below the upper one {high}")
        ends = [_forward(end, scale) for end in (low, high)]
        return cls(float(_backward((ends[0] + ends[1]) / 2, scale)), (ends[1] - ends[0]) / (2 * 1.959964), scale)

    def value(self, z: Any) -> Any:
        """The parameter at the scaled value z; arrays too.

        >>> round(float(capsim.Prior(200, 0.5).value(0)))
        200
        """
        return _backward(_forward(self.median, self.scale) + self.sd * np.asarray(z), self.scale)

    def slope(self, z: float) -> float:
        """Derivative of the parameter by the scaled value, at z.

        >>> round(capsim.Prior(200, 0.5).slope(0))
        100
        """
        value = float(self.value(z))
        return self.sd * {"log": value, "share": value * (1 - value), "linear": 1.0}[self.scale]

    def scaled(self, value: float) -> float:
        """The scaled value of a parameter.

        >>> capsim.Prior(200, 0.5).scaled(200)
        0.0
        """
        return (_forward(value, self.scale) - _forward(self.median, self.scale)) / self.sd

    def moved(self, mean: float, sd: float) -> Prior:
        """The prior whose scaled values have this mean and standard deviation on the present scale.

        >>> capsim.Prior(200, 0.5).moved(0, 0.5).sd
        0.25
        """
        return Prior(float(self.value(mean)), self.sd * sd, self.scale)


def priors_for(
    free: tuple[str, ...], base: Scenario, given: Mapping[str, Prior | tuple[float, float]]
) -> dict[str, Prior]:
    """A prior for each free parameter: the given one, or one about the base's value.

    A pair stands for `Prior.between`. Raises ValueError where none can be made.
    """
    unused = [path for path in given if path not in free]
    if unused:
        raise ArgumentError(f"there is a prior for {unused[0]}, which is not free; free are {', '.join(free)}")
    priors = {}
    for path in free:
        if path in given:
            known = given[path]
            priors[path] = known if isinstance(known, Prior) else Prior.between(*known)
        elif path == SIZE:
            priors[path] = Prior(1.0, _SD_SIZE)
        else:
            priors[path] = _about(path, base.value_at(path))
    return priors


def _about(path: str, value: Any) -> Prior:
    if isinstance(value, bool) or not isinstance(value, (int, float)):
        raise ArgumentError(f"{path} is {value!r} in the base, which is not a number that can be fitted")
    if path in _SHARES:
        return Prior(min(0.95, max(0.05, value)), _SD_SHARE, "share")
    if value <= 0:
        raise ArgumentError(f"{path} is {value} in the base; give a prior for it")
    return Prior(float(value), _SD_LOG, "log")


def _forward(value: float, scale: str) -> float:
    if scale == "log":
        return math.log(value)
    return math.log(value / (1 - value)) if scale == "share" else value


def _backward(x: Any, scale: str) -> NDArray[np.float64]:
    if scale == "log":
        return np.asarray(np.exp(x))
    return np.asarray(1 / (1 + np.exp(-np.asarray(x)))) if scale == "share" else np.asarray(x)
