# SPDX-License-Identifier: BSD-3-Clause
"""Markov chains over a posterior, and how far they can be trusted.

Split R-hat and the effective sample size follow Gelman et al., Bayesian Data Analysis, 3rd ed., 2013, sections 11.4
and 11.5; the sum of autocorrelations ends with Geyer's initial monotone sequence (Statistical Science 7, 1992).
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..optional import needed

FloatArray = NDArray[np.float64]
LogPosterior = Callable[[FloatArray], Any]

ENOUGH_TIMES = 50.0
"""A chain this many autocorrelation times long gives that time itself within some per cent (manual of emcee)."""
_BLOCK = 50  # steps between two looks at the chains
_BURN_IN_TIMES = 5.0  # autocorrelation times after which the start is forgotten


def independence_chain(
    log_posterior: LogPosterior,
    z: FloatArray,
    covariance: FloatArray,
    count: int,
    rng: np.random.Generator,
    burn_in: int = 50,
) -> tuple[FloatArray, float, int]:
    """Independence sampler: proposals from a t distribution about the estimate, heavier in its tails.

    The chain [count, parameters], the share of accepted proposals, and how many runs it took.
    """
    freedom, size = 5.0, len(z)
    root = np.linalg.cholesky(covariance)
    total = count + burn_in
    normal = rng.standard_normal((total, size))
    stretch = np.sqrt(freedom / rng.chisquare(freedom, total))[:, None]
    proposals = z + stretch * normal @ root.T
    inside = ((stretch * normal) ** 2).sum(axis=1)
    log_proposal = -0.5 * (freedom + size) * np.log1p(inside / freedom)
    weight = log_posterior(proposals) - log_proposal
    chain, accepted, at = [], 0, int(np.argmax(weight))
    for i in range(total):
        if np.log(rng.random()) < weight[i] - weight[at]:
            at = i
            accepted += 1
        chain.append(proposals[at])
    return np.array(chain[burn_in:]), accepted / total, total


def ensemble_chains(
    log_posterior: LogPosterior, z: FloatArray, covariance: FloatArray, rng: np.random.Generator, *, most_runs: int
) -> tuple[FloatArray, float, int, float]:
    """Chains of emcee's walkers, as long as their autocorrelation asks for.

    The chains [walkers, steps, parameters] without burn-in, the mean share of accepted proposals, how many runs they
    took, and the longest autocorrelation time [steps].
    """
    emcee = needed("emcee", 'sample(method="emcee")')
    walkers = 4 * len(z)
    shortest = (1 + _BLOCK) * walkers  # the start is evaluated, too
    if most_runs < shortest:
        raise ArgumentError(
            f"most_runs is {most_runs}; the shortest chains of {len(z)} parameters take {shortest} runs"
        )
    state: Any = rng.multivariate_normal(z, covariance, size=walkers)
    sampler = emcee.EnsembleSampler(walkers, len(z), log_posterior, vectorize=True)
    sampler.random_state = np.random.RandomState(int(rng.integers(2**32))).get_state()
    steps, time, burn_in = 0, np.inf, 0
    while (1 + steps + _BLOCK) * walkers <= most_runs:
        state = sampler.run_mcmc(state, _BLOCK)
        steps += _BLOCK
        time = float(np.max(sampler.get_autocorr_time(quiet=True, tol=0)))
        burn_in = min(steps // 2, int(np.ceil(_BURN_IN_TIMES * time))) if np.isfinite(time) else steps // 2
        if steps - burn_in >= ENOUGH_TIMES * time:
            break
    chains = np.moveaxis(sampler.get_chain(discard=burn_in), 0, 1)
    return chains, float(np.mean(sampler.acceptance_fraction)), (1 + steps) * walkers, time


def thinned(chains: FloatArray, count: int) -> FloatArray:
    """So many samples, evenly from all steps of all chains, [count, parameters]; with repeats where there are fewer."""
    flat = np.moveaxis(chains, 0, 1).reshape(-1, chains.shape[-1])
    chosen: FloatArray = flat[np.linspace(0, len(flat) - 1, count).round().astype(int)]
    return chosen


def split_r_hat(chains: FloatArray) -> FloatArray:
    """Split R-hat of each parameter: 1 when halves of chains can't be told apart, [parameters]."""
    halves = _halves(chains)
    count = halves.shape[1]
    within = halves.var(axis=1, ddof=1).mean(axis=0)
    between = halves.mean(axis=1).var(axis=0, ddof=1)
    with np.errstate(divide="ignore"):  # chains that never moved disagree without end
        result: FloatArray = np.sqrt(((count - 1) / count * within + between) / within)
    return result


def effective_size(chains: FloatArray) -> FloatArray:
    """How many independent samples would tell the mean of each parameter as well, [parameters]."""
    halves = _halves(chains)
    number, count, size = halves.shape
    within = halves.var(axis=1, ddof=1).mean(axis=0)
    between = halves.mean(axis=1).var(axis=0, ddof=1)
    total = (count - 1) / count * within + between
    centred = halves - halves.mean(axis=1, keepdims=True)
    spectrum = np.abs(np.fft.rfft(centred, 2 * count, axis=1)) ** 2
    products = np.fft.irfft(spectrum, axis=1)[:, :count].mean(axis=0) / count
    correlation = 1 - (within - products) / total
    sizes = np.empty(size)
    for k in range(size):
        pairs = correlation[: count // 2 * 2, k].reshape(-1, 2).sum(axis=1)
        negative = np.flatnonzero(pairs <= 0)
        pairs = np.minimum.accumulate(pairs[: negative[0]] if len(negative) else pairs)
        sizes[k] = number * count / max(2 * pairs.sum() - 1, 1.0 / np.log10(number * count))
    return sizes


def _halves(chains: FloatArray) -> FloatArray:
    """Each chain as two, [2 chains, steps / 2, parameters]; at least four steps."""
    half = chains.shape[1] // 2
    if half < 2:
        raise ArgumentError(f"chains of {chains.shape[1]} steps are too short to be looked at; at least 4 are needed")
    return np.concatenate([chains[:, :half], chains[:, -half:]])
