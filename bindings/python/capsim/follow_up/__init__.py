# SPDX-License-Identifier: BSD-3-Clause
"""Measured follow-ups: the visits of eyes (`visits`), read from files (`reader`, `table`, `outline`)."""

from .problems import VisitProblem, VisitsError
from .reader import read_visits
from .visits import Visits

__all__ = ["VisitProblem", "Visits", "VisitsError", "read_visits"]
