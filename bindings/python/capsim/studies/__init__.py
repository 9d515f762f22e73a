# SPDX-License-Identifier: BSD-3-Clause
"""Studies of a crowd of eyes: plans compared eye by eye, when to look, and where to cut; and how far relief can be off."""

from .comparison import Comparison, compare
from .cut_study import CutLayout, CutStudy, cut_layouts, cuts
from .relief_range import ReliefRange, relief_range
from .visit_study import VisitStudy, visits

__all__ = [
    "Comparison",
    "CutLayout",
    "CutStudy",
    "ReliefRange",
    "VisitStudy",
    "compare",
    "cut_layouts",
    "cuts",
    "relief_range",
    "visits",
]
