# SPDX-License-Identifier: BSD-3-Clause
"""How far an answer about relaxing cuts can be off: the same cuts shorter and longer, under every law.

    print(capsim.relief_range(scenario))

The cautions stand beside the result.
"""

from __future__ import annotations

import os
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..errors import ArgumentError
from ..outcomes import Flag
from ..population import Population
from ..scenario import Scenario, native
from .crowd_run import native_population
from .reading import law_in_words, table


@dataclass(frozen=True)
class ReliefRange:
    """What cuts give back and keep, at half, once and one and a half times their length, under every law.

    >>> low, high = relief.range("relief_day_30_percent")
    >>> low < high
    True
    """

    population: str
    """Name and edition of the population whose laws were used."""
    laws: list[str]
    """Contraction laws, the first dimension of `values`."""
    factors: NDArray[np.float64]
    """Shares of the length as stated, the second dimension of `values` [1]."""
    status: NDArray[np.str_]
    """Status of each run [law, length], or why the cuts can't be so long."""
    values: dict[str, NDArray[np.float64]]
    """Of each outcome [law, length]; NaN where a run gave none."""
    units: dict[str, str]
    """Unit of each outcome."""
    descriptions: dict[str, str]
    """What each outcome is, in one sentence."""
    flag: Flag
    """The range in words, in place of the flag ``relief_range`` without numbers of the outcomes."""
    cautions: tuple[str, ...]
    """To be shown wherever the result is shown."""

    def range(self, name: str) -> tuple[float, float]:
        """Smallest and largest value; NaN where no run gave one. Raises `ArgumentError` for an unknown name.

        >>> relief.range("area_loss_percent")[0] < relief.range("area_loss_percent")[1]
        True
        """
        if name not in self.values:
            raise ArgumentError(f"no quantity {name!r} of relief; there are: {', '.join(self.values)}")
        found = self.values[name][np.isfinite(self.values[name])]
        return (float(found.min()), float(found.max())) if found.size else (np.nan, np.nan)

    def __str__(self) -> str:
        rows = [["", *(f"{law_in_words(law)}, {factor:g} x" for law in self.laws for factor in self.factors)]]
        for name, values in self.values.items():
            cells = (f"{v:.2f}" if np.isfinite(v) else "-" for v in values.ravel())
            rows.append([f"{name} [{self.units[name]}]", *cells])
        return "\n".join([table(rows), "", self.flag.text, "", *self.cautions])


def relief_range(
    scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str], population: str | Population | None = None
) -> ReliefRange:
    """Makes the run of a scenario with relaxing cuts anew for each law and length: six runs for two laws.

    ``population`` says what the eye would be under the other law; without one it is that of age-related
    cataract, of the whole bag where the eye has tissue outside the optic. Raises `ArgumentError` for a scenario
    without relaxing cuts, and `ScenarioError` for wrong input.

    >>> capsim.relief_range(scenario).values["relief_day_30_percent"].shape  # two laws, three lengths
    (2, 3)
    """
    group = None if population is None else native_population(population)
    name, laws, factors, status, quantities, text = _core.relief_range(native(scenario), group)
    shape = (len(laws), len(factors))
    return ReliefRange(
        population=name,
        laws=laws,
        factors=np.asarray(factors),
        status=np.asarray(status).reshape(shape),
        values={name: np.asarray(values).reshape(shape) for name, _, _, values in quantities},
        units={name: unit for name, unit, _, _ in quantities},
        descriptions={name: sentence for name, _, sentence, _ in quantities},
        flag=Flag("relief_range", text),
        cautions=(_core.research_caution, _core.relaxing_cut_caution),
    )
