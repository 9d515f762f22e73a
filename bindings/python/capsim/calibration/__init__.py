# SPDX-License-Identifier: BSD-3-Clause
"""Fitting follow-ups: priors (`prior`), the model's answer (`response`), one eye (`eye_fit`), several eyes
(`population`, `fit`), and what comes next (`forecast`)."""

from .eye_fit import Estimate, EyeFit, FitFlag, Profile
from .fit import DEFAULT_FREE, Fit, fit
from .forecast import Effect, Forecast
from .posterior import PosteriorSamples
from .prior import Prior
from .shared_level import SharedLevel

__all__ = [
    "DEFAULT_FREE",
    "Effect",
    "Estimate",
    "EyeFit",
    "Fit",
    "FitFlag",
    "Forecast",
    "PosteriorSamples",
    "Prior",
    "Profile",
    "SharedLevel",
    "fit",
]
