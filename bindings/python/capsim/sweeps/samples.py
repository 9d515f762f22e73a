# SPDX-License-Identifier: BSD-3-Clause
"""Tables of samples: points spread over ranges or distributions of the parameters."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..optional import needed

METHODS = ("latin_hypercube", "sobol", "random")


class Samples(Mapping[str, NDArray[np.float64]]):
    """A table: one column of values for each path, one row for each run."""

    layout = "table"

    def __init__(self, columns: Mapping[str, NDArray[np.float64]]) -> None:
        self._columns = dict(columns)

    def __getitem__(self, path: str) -> NDArray[np.float64]:
        return self._columns[path]

    def __iter__(self) -> Iterator[str]:
        return iter(self._columns)

    def __len__(self) -> int:
        return len(self._columns)

    @property
    def rows(self) -> int:
        """Number of samples."""
        return len(next(iter(self._columns.values())))

    def __repr__(self) -> str:
        return f"<capsim samples: {self.rows} rows of {', '.join(self._columns)}>"


def samples(ranges: Mapping[str, Any], count: int, method: str = "latin_hypercube", *, seed: int) -> Samples:
    """A table of `count` samples for `capsim.sweep`, from SciPy's quasi-Monte Carlo generators.

    `ranges` gives for each dotted path the two ends of a uniform distribution, ``(4.5, 6)``, or a
    frozen distribution of `scipy.stats`, ``scipy.stats.lognorm(0.3, scale=300)``.
    `method`: latin_hypercube, sobol (best with a power of two) or random. The same seed gives the
    same table.

    >>> table = capsim.samples({"opening.diameter_mm": (4.5, 6), "zonule.strength": (0.2, 1)}, 8, seed=1)
    >>> len(table["zonule.strength"])
    8
    """
    if method not in METHODS:
        raise ArgumentError(f"method is {method!r}; it must be one of {', '.join(METHODS)}")
    if count < 1 or not ranges:
        raise ArgumentError("a table of samples needs at least one path and one row")
    unit = _unit_cube(len(ranges), count, method, seed)
    return Samples({path: _scaled(unit[:, i], given, path) for i, (path, given) in enumerate(ranges.items())})


def _unit_cube(dimensions: int, count: int, method: str, seed: int) -> NDArray[np.float64]:
    if method == "random":
        return np.random.default_rng(seed).random((count, dimensions))
    qmc = needed("scipy.stats", "a table of samples").qmc
    if method == "latin_hypercube":
        table: NDArray[np.float64] = qmc.LatinHypercube(dimensions, seed=seed).random(count)
        return table
    sobol = qmc.Sobol(dimensions, scramble=True, seed=seed)
    table = sobol.random_base2(int(np.ceil(np.log2(count))))[:count]  # asked in full: no warning, same points
    return table


def _scaled(unit: NDArray[np.float64], given: Any | tuple[float, float], path: str) -> NDArray[np.float64]:
    if hasattr(given, "ppf"):
        return np.asarray(given.ppf(unit), dtype=np.float64)
    low, high = (float(end) for end in given)
    if not low < high:
        raise ArgumentError(f"the range of {path} is ({low}, {high}); the first end must be below the second")
    return low + (high - low) * unit
