# SPDX-License-Identifier: BSD-3-Clause
"""Many runs: what varies (`design`, `samples`), one run (`run`), where they run (`pool`), what is kept
while they run (`journal`), the file that is left (`file`) and the labelled arrays (`dataset`)."""

from .file import load_sweep
from .measures import derivative_measures
from .samples import samples
from .sweep import sweep

__all__ = ["derivative_measures", "load_sweep", "samples", "sweep"]
