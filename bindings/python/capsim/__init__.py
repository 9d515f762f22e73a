# SPDX-License-Identifier: BSD-3-Clause
"""capsim predicts how the front opening of the lens capsule contracts after cataract surgery.

    import capsim
    history = capsim.simulate(capsim.Scenario(name="demo", duration_days=180))
    history.day, history.opening_area_mm2
    print(capsim.outcomes(history))

For research and teaching, not for treating a patient; decisions belong to the licensed clinician
and local protocols.
"""

from . import start_up  # noqa: F401  before anything else loads what is compiled

# isort: split
from . import plot
from ._core import build, commit
from ._core import version as __version__
from .calibration import (
    Effect,
    Estimate,
    EyeFit,
    Fit,
    FitFlag,
    Forecast,
    PosteriorSamples,
    Prior,
    Profile,
    SharedLevel,
    fit,
)
from .catalogue import Described, outcome_names, series_names
from .errors import ArgumentError, CheckpointError, Error, InternalError, ResultsFileError, ScenarioError, Violation
from .film.animation import animate
from .follow_up import VisitProblem, Visits, VisitsError, read_visits
from .history import CutRecord, Diagnostics, History, SolveError, load
from .host_parts import ContractionLaw, Part, moved
from .influence import Influence, influence
from .outcomes import Flag, Outcomes, outcomes, outcomes_with_margin
from .population import Bands, Population, Setting, Spread, population, population_names
from .scenario import Scenario
from .sensitivities import sensitivities
from .simulation import Progress, simulate
from .stepping import Advance, Leaf, Nodes, RunawayMargin, Simulation, Tissue
from .studies import (
    Comparison,
    CutLayout,
    CutStudy,
    ReliefRange,
    VisitStudy,
    compare,
    cut_layouts,
    cuts,
    relief_range,
    visits,
)
from .sweeps import derivative_measures, load_sweep, samples, sweep

__all__ = [
    "Advance",
    "ArgumentError",
    "Bands",
    "CheckpointError",
    "Comparison",
    "ContractionLaw",
    "CutLayout",
    "CutRecord",
    "CutStudy",
    "Described",
    "Diagnostics",
    "Effect",
    "Error",
    "Estimate",
    "EyeFit",
    "Fit",
    "FitFlag",
    "Flag",
    "Forecast",
    "History",
    "Influence",
    "InternalError",
    "Leaf",
    "Nodes",
    "Outcomes",
    "Part",
    "Population",
    "PosteriorSamples",
    "Prior",
    "Profile",
    "Progress",
    "ReliefRange",
    "ResultsFileError",
    "RunawayMargin",
    "Scenario",
    "ScenarioError",
    "Setting",
    "SharedLevel",
    "Simulation",
    "SolveError",
    "Spread",
    "Tissue",
    "Violation",
    "VisitProblem",
    "VisitStudy",
    "Visits",
    "VisitsError",
    "__version__",
    "animate",
    "build",
    "commit",
    "compare",
    "cut_layouts",
    "cuts",
    "derivative_measures",
    "fit",
    "influence",
    "load",
    "load_sweep",
    "moved",
    "outcome_names",
    "outcomes",
    "outcomes_with_margin",
    "plot",
    "population",
    "population_names",
    "read_visits",
    "relief_range",
    "samples",
    "sensitivities",
    "series_names",
    "simulate",
    "sweep",
    "visits",
]
