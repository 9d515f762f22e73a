# SPDX-License-Identifier: BSD-3-Clause
"""How a trial of so many eyes would judge what the model says: the verdicts of the scoreboard."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from arms import EYES, Array
from scipy.stats import betabinom, norm

SEEN = 1.96
OFTEN = 0.84
"""Normal quantile of 4 in 5."""


@dataclass(frozen=True)
class Trial:
    """A difference, and the standard error that a trial of so many eyes would give it."""

    difference: float
    error: float

    @property
    def z(self) -> float:
        return self.difference / self.error

    @property
    def power(self) -> float:
        """Chance that the trial sees a difference of this size, either way."""
        return float(norm.sf(SEEN - self.z) + norm.cdf(-SEEN - self.z))

    @property
    def seen(self) -> float:
        """The difference that it sees four times in five."""
        return (SEEN + OFTEN) * self.error


def within(difference: Array, eyes: float, noise: float) -> Trial:
    """Of pairs, or of eyes with themselves."""
    return Trial(float(difference.mean()), math.sqrt((difference.var() + noise**2) / eyes))


def between(a: Array, b: Array, eyes_a: float, eyes_b: float, noise: float) -> Trial:
    """Of two groups of different eyes."""
    error = math.sqrt((a.var() + noise**2) / eyes_a + (b.var() + noise**2) / eyes_b)
    return Trial(float(a.mean() - b.mean()), error)


@dataclass
class Answer:
    """What the model says to one claim under one law."""

    text: str
    verdict: str
    number: float | None = None
    """The number behind the text, asserted by the tests: a value or a z."""


def band(values: Array, unit: str) -> str:
    low, high = np.quantile(values, [0.1, 0.9])
    return f"{values.mean():.1f} {unit} ({low:.1f} to {high:.1f})"


def difference(text: str, trial: Trial) -> Answer:
    z = trial.z
    return Answer(f"{text}, z {z:.1f}", "pass" if z >= SEEN else "sign" if z > 0.05 else "miss", round(z, 2))


def none(text: str, trial: Trial) -> Answer:
    z = trial.z
    return Answer(
        f"{text}, z {z:.1f} (power {trial.power:.2f}; 4 in 5 at {trial.seen:.1f} points)",
        "pass" if abs(z) < SEEN else "miss",
        round(z, 2),
    )


def count(share: float, published: int, eyes: int) -> float:
    """Chance of a count as far out as the published one, the share being known from EYES eyes only."""
    known = betabinom(eyes, EYES * share + 0.5, EYES * (1 - share) + 0.5)
    below, above = float(known.cdf(published)), float(known.sf(published - 1))
    return below if published == 0 else min(1.0, 2 * min(below, above))


def number(text: str, value: float, published: float, error: float) -> Answer:
    return Answer(text, "pass" if abs(value - published) <= 2 * error else "miss", round(value, 2))
