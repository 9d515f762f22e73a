# SPDX-License-Identifier: BSD-3-Clause
"""Samples of the posterior of one eye, with what tells how far they can be trusted."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..optional import needed
from .chains import ENOUGH_TIMES, effective_size, split_r_hat
from .prior import Prior

FloatArray = NDArray[np.float64]

FEWEST_EFFECTIVE = 100.0
"""Below this the ends of a 90 % band are off by about a quarter of a standard deviation."""
LARGEST_R_HAT = 1.05
SMALLEST_ACCEPTANCE = 0.1


class PosteriorSamples:
    """Scaled parameters drawn from a posterior; `numpy.asarray(samples)` is `z`.

    >>> drawn = fitted.only.sample(100, seed=1)
    >>> drawn.z.shape
    (100, 2)
    """

    def __init__(
        self,
        priors: Mapping[str, Prior],
        z: FloatArray,
        method: str,
        chains: FloatArray | None = None,
        acceptance: float = float("nan"),
        runs: int = 0,
        autocorrelation_time: float = float("nan"),
    ) -> None:
        self.priors = dict(priors)
        self.z = z
        """Scaled parameters, standard normal before the data, [samples, parameters]."""
        self.method = method
        """laplace, metropolis, emcee or hamiltonian."""
        self.chains = chains
        """What they were taken from, [chains, steps, parameters]; None for independent samples."""
        self.acceptance = acceptance
        """Share of proposals that were accepted; NaN for independent samples."""
        self.runs = runs
        """How many runs of the model it took; by the hamiltonian method, runs with derivatives."""
        self.autocorrelation_time = autocorrelation_time
        """Longest over the parameters [steps], by emcee; NaN for the other methods."""

    @property
    def names(self) -> list[str]:
        """The parameters."""
        return list(self.priors)

    @property
    def values(self) -> dict[str, FloatArray]:
        """The parameters themselves, each [samples]."""
        return {name: np.asarray(prior.value(self.z[:, i])) for i, (name, prior) in enumerate(self.priors.items())}

    @property
    def r_hat(self) -> dict[str, float]:
        """Split R-hat of each parameter: near 1 where the chains agree; 1 for independent samples."""
        found = np.ones(len(self.priors)) if self.chains is None else split_r_hat(self.chains)
        return dict(zip(self.priors, map(float, found)))

    @property
    def effective_size(self) -> dict[str, float]:
        """How many independent samples would tell the mean of each parameter as well."""
        found = np.full(len(self.priors), len(self.z)) if self.chains is None else effective_size(self.chains)
        return dict(zip(self.priors, map(float, found)))

    @property
    def flags(self) -> list[str]:
        """Why these samples should not be trusted yet; empty when nothing speaks against them."""
        if self.chains is None:
            return []
        found = []
        steps = self.chains.shape[1]
        if np.isfinite(self.autocorrelation_time) and steps < ENOUGH_TIMES * self.autocorrelation_time:
            found.append(
                f"short_chain: {steps} steps are {steps / self.autocorrelation_time:.0f} autocorrelation times, "
                f"{ENOUGH_TIMES:.0f} are needed; raise most_runs"
            )
        worst, size = min(self.effective_size.items(), key=lambda item: item[1])
        if size < FEWEST_EFFECTIVE:
            found.append(
                f"few_effective_samples: {worst} has {size:.0f} effective samples, {FEWEST_EFFECTIVE:.0f} are needed"
            )
        worst, r_hat = max(self.r_hat.items(), key=lambda item: item[1])
        if not r_hat <= LARGEST_R_HAT:
            found.append(f"chains_disagree: R-hat of {worst} is {r_hat:.3f}, above {LARGEST_R_HAT}")
        if self.acceptance < SMALLEST_ACCEPTANCE:
            found.append(f"low_acceptance: {100 * self.acceptance:.0f} % of the proposals were accepted")
        return found

    def to_arviz(self) -> Any:
        """The parameters as ArviZ's InferenceData (dimensions chain and draw); needs the package arviz.

        >>> fitted.only.sample(50, seed=1).to_arviz().posterior["opening.size"].dims
        ('chain', 'draw')
        """
        arviz = needed("arviz", "samples as InferenceData")
        chains = self.z[None] if self.chains is None else self.chains
        posterior = {name: prior.value(chains[..., i]) for i, (name, prior) in enumerate(self.priors.items())}
        return arviz.from_dict(posterior=posterior)

    def __array__(self, dtype: Any = None, copy: bool | None = None) -> NDArray[Any]:
        return np.array(self.z, dtype=dtype) if copy is not False else np.asarray(self.z, dtype=dtype)

    def __len__(self) -> int:
        return len(self.z)

    def __repr__(self) -> str:
        lines = [f"<capsim.PosteriorSamples: {len(self.z)} by {self.method}, {self.runs} runs"]
        sizes, r_hats = self.effective_size, self.r_hat
        lines += [f"  {name}: effective size {sizes[name]:.0f}, R-hat {r_hats[name]:.3f}" for name in self.priors]
        return "\n".join([*lines, *(f"  ! {flag}" for flag in self.flags)]) + ">"
