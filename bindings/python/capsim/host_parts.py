# SPDX-License-Identifier: BSD-3-Clause
"""Parts of the eye and contraction laws written in Python, for trying out.

Slow: every evaluation enters Python, and all runs of one process share its lock. What proves itself belongs in C++
(DEVELOPERS.md), where the same contract holds.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

FloatArray = NDArray[np.float64]


class Part:
    """One more term of the eye's energy: derive from it, and give it to `Simulation`.

    The coordinates ``x`` [coordinates] are the positions of the bag's nodes x0 y0 x1 y1 ... [mm], the optic's x, y and
    rotation [rad] (index ``2 * nodes`` on), and a ring's; energies are in mN mm. The energy must be smooth where it is
    finite, its derivatives exact, and a rigid motion of the eye with its anchors must change nothing; `Simulation.check_part` tries
    all of this. Forks copy the object with `copy.deepcopy`.

    A strand of 2 mN/mm from node 10 to a point on the wall of the eye:

    >>> class Strand(capsim.Part):
    ...     name = "strand"
    ...     anchor = np.array([7.5, 0.0])
    ...     def couplings(self, x): return [[20, 21]]
    ...     def energy(self, x): return float(((x[20:22] - self.anchor) ** 2).sum())
    ...     def gradient(self, x):
    ...         g = np.zeros_like(x); g[20:22] = 2 * (x[20:22] - self.anchor); return g
    ...     def hessian(self, x): return [2 * np.eye(2)]
    ...     def move_anchors(self, angle, shift): self.anchor = capsim.moved(self.anchor, angle, shift)
    >>> pulled = capsim.Simulation(scenario, parts=[Strand()])
    >>> pulled.advance_to(10)
    Advance.reached
    """

    name = "a part from Python"
    """Shown in messages."""

    def couplings(self, x: FloatArray) -> Sequence[Sequence[int]]:
        """Sets of coordinates that are coupled all with all; every entry of the Hessian lies in one."""
        raise NotImplementedError

    def energy(self, x: FloatArray) -> float:
        """Energy [mN mm]; ``inf`` where the shape is not admissible."""
        raise NotImplementedError

    def gradient(self, x: FloatArray) -> FloatArray:
        """Derivative of the energy by every coordinate, [coordinates]."""
        raise NotImplementedError

    def hessian(self, x: FloatArray) -> Sequence[FloatArray]:
        """Second derivatives, one symmetric matrix for each set of `couplings`, in their order."""
        raise NotImplementedError

    def positive_hessian(self, x: FloatArray) -> Sequence[FloatArray]:
        """The same with its negative eigenvalues removed; by default set by set.

        >>> class Saddle(capsim.Part):
        ...     def hessian(self, x): return [np.diag([2.0, -1.0])]
        >>> Saddle().positive_hessian(np.zeros(2))[0].tolist()
        [[2.0, 0.0], [0.0, 0.0]]
        """
        found = []
        for matrix in self.hessian(x):
            values, vectors = np.linalg.eigh(np.asarray(matrix, dtype=np.float64))
            found.append((vectors * np.maximum(values, 0)) @ vectors.T)
        return found

    def move_anchors(self, angle: float, shift: tuple[float, float]) -> None:
        """Moves what is fixed in space: a turn by `angle` [rad] about the origin, then a shift [mm]. By default nothing is."""

    def set_day(self, day: float) -> None:
        """Tells the day [day]; by default nothing depends on it.

        >>> capsim.Part().set_day(30)
        """


class ContractionLaw:
    """How the tissue under the rim changes with time: derive from it, and give it to `Simulation`.

    The state is an array [variables, points]; stretches of the fibre families are [4, points] in the order hoop, +45,
    -45 degrees, radial. A law whose tissue is as long as it was, less a twentieth, and becomes thicker:

    >>> class Follow(capsim.ContractionLaw):
    ...     name, variables = "follow", 1
    ...     def start(self, cells): return np.zeros((1, len(cells)))
    ...     def rate(self, day, y, stretches): return 0.02 * (1 - y)
    ...     def apply(self, y): return {"fraction": y[0], "natural_stretch": np.full((4, y.shape[1]), 0.95)}
    >>> own = capsim.Simulation(scenario, law=Follow())
    >>> own.advance_to(10)
    Advance.reached
    """

    name = "a law from Python"
    """Shown in messages, and named in checkpoints."""
    variables = 1
    """Numbers of the state at each point."""

    def start(self, cells: FloatArray) -> FloatArray:
        """State on day 0, [variables, points]; `cells` [points] are those left under the rim, 0..1."""
        raise NotImplementedError

    def rate(self, day: float, y: FloatArray, stretches: FloatArray) -> FloatArray:
        """dy/dt [1/day], [variables, points]; finite for finite input."""
        raise NotImplementedError

    def apply(self, y: FloatArray) -> Mapping[str, FloatArray]:
        """What the state means for the tissue: ``fraction`` of full thickness [points], ``natural_stretch`` [4, points],
        and, if the law pulls by itself, ``active_tension_mN_per_mm`` [4, points]."""
        raise NotImplementedError


def moved(point: Any, angle: float, shift: Sequence[float]) -> FloatArray:
    """A point turned by `angle` [rad] about the origin and then shifted [mm]; for `Part.move_anchors`.

    >>> capsim.moved([1.0, 0.0], 0.0, (0.5, 0.0)).tolist()
    [1.5, 0.0]
    """
    x, y = (float(value) for value in point)
    c, s = np.cos(angle), np.sin(angle)
    return np.array([c * x - s * y + shift[0], s * x + c * y + shift[1]])
