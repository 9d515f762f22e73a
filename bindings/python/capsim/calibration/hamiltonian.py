# SPDX-License-Identifier: BSD-3-Clause
"""Markov chains that follow the gradient of a posterior, by the package mici.

Method.  Hamiltonian Monte Carlo (Neal, in: Handbook of Markov Chain Monte Carlo, 2011, chapter 5) in the coordinates in
         which the normal approximation of the fit is a standard normal: there two leapfrog steps of length 2 sin(pi / 8)
         turn by 45 degrees each (2 asin(step / 2)), a quarter of a turn together, so that draws do not remember one
         another. Where the posterior is less normal and less than three of five proposals are accepted, steps are halved
         and twice as many, before any draw is kept.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..optional import needed
from .chains import effective_size

FloatArray = NDArray[np.float64]
WithGradient = Callable[[FloatArray], tuple[float, FloatArray]]

CHAINS = 4
_FORGET = 8  # draws of each chain after which its start, itself a draw of the normal approximation, is forgotten
_BLOCK = 25  # draws between two looks at the chains
_FEWEST = 4  # draws of each chain whose size can be told
_ENOUGH = 0.6  # acceptance below which steps are made shorter
_REMEMBERED = 64  # positions: a draw begins where the one before ended
_STEP = 2 * np.sin(np.pi / 8)
_SHORTEST = _STEP / 16


class _Target:
    """The negative log posterior in the coordinates of the normal approximation; counts the runs.

    One for all chains: the sampler copies what it is given for each of them.
    """

    def __init__(self, with_gradient: WithGradient, z: FloatArray, covariance: FloatArray) -> None:
        self.with_gradient, self.z = with_gradient, z
        self.root = np.linalg.cholesky(covariance)
        self.runs = 0
        self._known: dict[bytes, tuple[FloatArray, float]] = {}

    def __deepcopy__(self, memo: Any) -> _Target:
        return self

    def value(self, y: FloatArray) -> float:
        return self.gradient_and_value(y)[1]

    def gradient_and_value(self, y: FloatArray) -> tuple[FloatArray, float]:
        key = y.tobytes()
        if key not in self._known:
            self.runs += 1
            value, gradient = self.with_gradient(self.z + self.root @ y)
            if len(self._known) == _REMEMBERED:
                self._known.pop(next(iter(self._known)))
            self._known[key] = (-self.root.T @ gradient, -value)
        return self._known[key]


def hamiltonian_chains(
    with_gradient: WithGradient,
    z: FloatArray,
    covariance: FloatArray,
    rng: np.random.Generator,
    *,
    wanted: int,
    most_runs: int,
) -> tuple[FloatArray, float, int]:
    """Chains until every parameter's effective size, and the number of draws, are `wanted`, or another draw might take
    more than `most_runs` runs with derivatives.

    The chains [chains, steps, parameters] without their start, the mean chance of acceptance, and the number of runs.
    ArgumentError where the shortest chains may take more.
    """
    step, count = _STEP, 2
    least = _most_of(_FORGET, count) + _most_of(_FEWEST, count)
    if most_runs < least:
        raise ArgumentError(f"most_runs is {most_runs}; the shortest chains along the gradient take {least} runs")
    mici = needed("mici", 'sample(method="hamiltonian")')
    target = _Target(with_gradient, z, covariance)
    system = mici.systems.EuclideanMetricSystem(target.value, grad_neg_log_dens=target.gradient_and_value)
    states: list[Any] = list(rng.standard_normal((CHAINS, len(z))))
    while True:

        def sampler(seeded: np.random.Generator, step: float = step, count: int = count) -> Any:
            integrator = mici.integrators.LeapfrogIntegrator(system, step_size=step)
            return mici.samplers.StaticMetropolisHMC(system, integrator, seeded, n_step=count)

        states, _, accepted = _draws(sampler, states, _FORGET, rng)
        shorter = _most_of(_FORGET, 2 * count) + _most_of(_FEWEST, 2 * count)
        if accepted >= _ENOUGH or step <= _SHORTEST or target.runs + shorter > most_runs:
            break
        step, count = step / 2, 2 * count
    parts: list[FloatArray] = []
    chances: list[float] = []
    while (block := min(_BLOCK, _draws_within(most_runs - target.runs, count))) > 0:
        states, drawn, accepted = _draws(sampler, states, block, rng)
        parts.append(drawn)
        chances.append(accepted)
        chains = np.concatenate(parts, axis=1)
        if CHAINS * chains.shape[1] >= wanted and effective_size(chains).min() >= wanted:
            break
    return z + chains @ target.root.T, float(np.mean(chances)), target.runs


def _most_of(draws: int, count: int) -> int:
    """Runs that so many draws of every chain take at most: one where a chain begins, and one for each step."""
    return CHAINS * (1 + draws * count)


def _draws_within(runs: int, count: int) -> int:
    """Draws of every chain that take no more than so many runs."""
    return max(0, runs // CHAINS - 1) // count


def _draws(
    sampler: Callable[[np.random.Generator], Any], states: list[Any], count: int, rng: np.random.Generator
) -> tuple[list[Any], FloatArray, float]:
    """So many draws of every chain: where they end, the draws [chains, count, parameters], the chance of acceptance."""
    # A sampler gives its chains copies of its generator and leaves that where it was: called twice, it would draw the same.
    seeded = sampler(np.random.default_rng(rng.integers(2**63, size=4)))
    found = seeded.sample_chains(0, count, states, adapters=[], display_progress=False)
    accepted = np.concatenate(found.statistics["accept_stat"])
    return list(found.final_states), np.array(found.traces["pos"]), float(np.mean(accepted))
