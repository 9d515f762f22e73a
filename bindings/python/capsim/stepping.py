# SPDX-License-Identifier: BSD-3-Clause
"""One eye on its way through time: advance it, act on it, fork it, look inside."""

from __future__ import annotations

import math
import os
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from enum import Enum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from . import _core
from .complete_values import text_of
from .errors import ArgumentError
from .history import History
from .host_parts import ContractionLaw, Part
from .plain_values import plain
from .scenario import Scenario, any_scenario
from .simulation import Progress, told

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int32]

TAUT_STATES = ("slack", "wrinkled", "taut")


@dataclass(frozen=True)
class Nodes:
    """Where the bag lies, node by node, and how its nodes are joined.

    >>> nodes = capsim.Simulation(scenario).nodes()
    >>> nodes.position_mm.shape[1]
    2
    """

    position_mm: FloatArray
    """Nodes of both leaves, x to the viewer's right, y up [mm], [nodes, 2]."""
    anterior_elements: IntArray
    """Nodes of each element of the front leaf, corners counter-clockwise, then mid-sides, [elements, 4 or 8]."""
    posterior_elements: IntArray | None
    """The same of the back leaf's ring; None without a back leaf."""
    posterior_hub_elements: IntArray | None
    """Triangles in the middle of the back leaf, [elements, 3 or 6]; None without a back leaf."""
    equator_nodes: IntArray
    """Nodes of the equator, counter-clockwise, [columns]."""
    ring_mm: FloatArray | None
    """Nodes of the tension ring [mm], [ring nodes, 2], zero until it is inserted; None where no ring is possible."""


@dataclass(frozen=True)
class Tissue:
    """The fibrous tissue at its points, the first ones of the leaf.

    >>> tissue = capsim.Simulation(scenario).leaf().tissue
    >>> tissue.fibre_stretch.shape[1]  # hoop, +45 and -45 degrees, radial
    4
    """

    fraction: FloatArray
    """Share of full thickness, 0..1, [tissue points]."""
    fibre_stretch: FloatArray
    """Stretch of the leaf along hoop, +45, -45 degrees and radial, [tissue points, 4]."""
    natural_stretch: FloatArray
    """Stretch at which fibres of each family carry no load, [tissue points, 4]."""
    active_tension_mN_per_mm: FloatArray | None = None
    """Pull of active cells along each family [mN/mm], [tissue points, 4]; None under a law without."""
    natural_sheet: FloatArray | None = None
    """Natural stretch of the tissue as a sheet: radial-radial, radial-hoop, hoop-hoop, [tissue points, 3]; None: none."""


@dataclass(frozen=True)
class Leaf:
    """The front leaf at its integration points: element by element, the layers from the rim outward.

    >>> leaf = capsim.Simulation(scenario).leaf()
    >>> leaf.principal_stretch.shape == (len(leaf.area_mm2), 2)
    True
    """

    position_mm: FloatArray
    """Where each point lies [mm], [points, 2]."""
    reference_mm: FloatArray
    """Where it lies in the stress-free shape [mm], [points, 2]."""
    area_mm2: FloatArray
    """Stress-free area that it stands for [mm2], [points]."""
    thickness_um: FloatArray
    """Thickness of the capsule there [um], [points]."""
    principal_stretch: FloatArray
    """Largest and smallest stretch, [points, 2]."""
    principal_stress_kPa: FloatArray
    """Cauchy stress of the capsule along these, l dW/dl [kPa], [points, 2]."""
    first_direction_degree: FloatArray
    """Direction of the largest stretch, from the x axis counter-clockwise, -90..90, [points]."""
    taut_state: IntArray
    """0 slack, 1 wrinkled, 2 taut: an index into `TAUT_STATES`, [points]."""
    tissue: Tissue
    """The tissue on it."""


class Advance(Enum):
    """How an advance came out; true when the day was reached.

    >>> simulation = capsim.Simulation(scenario)
    >>> simulation.advance_to(20, progress=lambda now: False)
    Advance.cancelled
    >>> bool(simulation.advance_to(20))
    True
    """

    reached = "reached"
    """The day asked for, or the scenario's last."""
    cancelled = "cancelled"
    """The callback said no. A further call goes on."""
    ended = "ended"
    """For a numerical reason, see `Simulation.status` and `message`: nothing more can be done."""

    def __bool__(self) -> bool:
        return self is Advance.reached

    def __repr__(self) -> str:
        return f"Advance.{self.name}"


@dataclass(frozen=True)
class RunawayMargin:
    """How far the eye is from runaway.

    >>> simulation = capsim.Simulation(scenario)
    >>> simulation.advance_to(20)
    Advance.reached
    >>> simulation.runaway_margin().factor > 1
    True
    """

    end: str
    """tips, closes, holds, not_followed or nothing_pulls."""
    factor: float
    """How many times its present pull the tissue could sustain for good; 0 when nothing pulls."""
    area_mm2: float
    """Area of the opening there [mm2]."""


class Simulation:
    """One eye on its way through time.

        simulation = capsim.Simulation(scenario, possible_cuts=[{"hours": [12, 3, 6, 9], "length_mm": 0.75}])
        simulation.advance_to(90)
        other = simulation.copy()                        # a fork: both go on independently
        other.apply({"relaxing_cuts": {"hours": [12, 6], "length_mm": 0.75}})
        other.advance_to(365)
        other.history().opening_area_mm2

    The scenario's own events happen on their day. Cuts that may be made by `apply` are named beforehand as
    `possible_cuts`, since the mesh has lines for them, and `ring_possible` foresees a tension ring. `law` and `parts` are
    written in Python (`ContractionLaw`, `Part`), for trying out.

    Raises `ScenarioError` for wrong input, and `SolveError` when the eye has no state of rest at all; what goes wrong
    later is a `status`.

    >>> simulation = capsim.Simulation(scenario)
    >>> simulation.advance_to(20)
    Advance.reached
    >>> fork = simulation.copy()
    >>> fork.advance_to(25), simulation.day, fork.day
    (Advance.reached, 20.0, 25.0)
    """

    def __init__(
        self,
        scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str],
        possible_cuts: Sequence[Mapping[str, Any]] = (),
        ring_possible: bool = False,
        *,
        law: ContractionLaw | None = None,
        parts: Sequence[Part] = (),
    ) -> None:
        self._scenario = any_scenario(scenario).copy()
        self._scenario.validate()
        self._how = _arguments(self._scenario, possible_cuts, ring_possible, parts, law)
        self._native = _core.Stepping.begin(*self._how)

    @classmethod
    def restore(
        cls,
        scenario: Scenario | Mapping[str, Any] | str | os.PathLike[str],
        checkpoint: bytes,
        possible_cuts: Sequence[Mapping[str, Any]] = (),
        ring_possible: bool = False,
        *,
        law: ContractionLaw | None = None,
        parts: Sequence[Part] = (),
    ) -> Simulation:
        """Goes on from a `checkpoint`, bit for bit as the simulation that made it; the other arguments as it had them.

        Raises ValueError for bytes that are no checkpoint, are damaged, or belong to another scenario or version.

        >>> kept = simulation.checkpoint()
        >>> capsim.Simulation.restore(uncut, kept).day
        20.0
        """
        simulation = cls.__new__(cls)
        simulation._scenario = any_scenario(scenario).copy()
        simulation._scenario.validate()
        simulation._how = _arguments(simulation._scenario, possible_cuts, ring_possible, parts, law)
        simulation._native = _core.Stepping.restore(*simulation._how, checkpoint)
        return simulation

    @property
    def scenario(self) -> Scenario:
        """The scenario it runs; a copy."""
        return self._scenario.copy()

    @property
    def day(self) -> float:
        """Day after surgery that was reached."""
        return self._native.day()

    @property
    def status(self) -> str:
        """``completed`` as long as nothing went wrong; otherwise as `History.status`."""
        return self._native.status()

    @property
    def message(self) -> str:
        """One sentence about it."""
        return self._native.message()

    @property
    def opening_area_mm2(self) -> float:
        """Area of the opening today [mm2]."""
        return self._native.opening_area_mm2()

    def advance_to(self, day: float, progress: Callable[[Progress], bool | None] | None = None) -> Advance:
        """Advances to a day, at most the scenario's last; an earlier day than today does nothing.

        `progress` as in `simulate`: when it returns False the simulation stays where it is, with the status
        ``cancelled``, and can go on. The answer says how it came out and is true when the day was reached.
        Raises ValueError for a day that is not a number.

        >>> on = simulation.copy()
        >>> on.advance_to(40), on.day
        (Advance.reached, 40.0)
        """
        if math.isnan(day):
            raise ArgumentError("day is not a number (nan)")
        return Advance(self._native.advance_to(float(day), None if progress is None else told(progress)))

    def apply(self, action: Mapping[str, Any]) -> bool:
        """Acts on the eye today; the action as in an event of a scenario, without its day.

        ``{"relaxing_cuts": {"hours": [12], "length_mm": 0.75}}``, ``{"zonule_damage": {"strength_by_hour": {4: 0}}}``,
        ``{"tension_ring": {}}`` or ``{"contraction_change": {"chronic_signal": 0.2}}``. Returns False when the eye found no new rest. Raises `ScenarioError` for an action
        that is not valid, or that was not foreseen, and leaves the eye as it was.

        >>> calmed = capsim.Simulation(scenario)
        >>> calmed.advance_to(20) and calmed.apply({"contraction_change": {"activation_per_day": 0}})
        True
        """
        return self._native.apply(_with_event(self._scenario, {**plain(action), "day": self.day}))

    def copy(self) -> Simulation:
        """A fork: it has its own state, shares what never changes, and both go on independently.

        >>> fork = simulation.copy()
        >>> fork.advance_to(30), fork.day, simulation.day
        (Advance.reached, 30.0, 20.0)
        """
        fork = type(self).__new__(type(self))
        fork._scenario, fork._how = self._scenario, self._how
        fork._native = self._native.copy()
        return fork

    __copy__ = copy

    def checkpoint(self) -> bytes:
        """The whole state as bytes, for `restore` on the same build.

        >>> simulation.checkpoint()[:17]
        b'capsim-checkpoint'
        """
        return self._native.checkpoint()

    def history(self) -> History:
        """Everything recorded so far. Its scenario is the one that was begun with: what was done by `apply` stands in its
        rows and in `History.cuts`, not among the scenario's events.

        >>> simulation.history().day.tolist()
        [0.0, 10.0, 20.0]
        """
        return History(self._native.history())

    def runaway_margin(self) -> RunawayMargin:
        """How far the eye of today is from runaway; costs about ten equilibria and changes nothing.

        >>> simulation.runaway_margin().factor > 1
        True
        """
        return RunawayMargin(*self._native.runaway_margin())

    def nodes(self) -> Nodes:
        """Positions of the nodes today, and how they are joined.

        >>> simulation.nodes().position_mm.shape[1]
        2
        """
        found = self._native.nodes()
        return Nodes(
            found["position_mm"],
            found["anterior_elements"],
            found.get("posterior_elements"),
            found.get("posterior_hub_elements"),
            found["equator_nodes"],
            found.get("ring_mm"),
        )

    def leaf(self) -> Leaf:
        """Stretches, stresses and tissue of the front leaf today, at its integration points.

        >>> leaf = simulation.leaf()
        >>> leaf.principal_stress_kPa.shape == leaf.principal_stretch.shape
        True
        """
        found: dict[str, Any] = self._native.leaf()
        found["tissue"] = Tissue(**found["tissue"])
        return Leaf(**found)

    @property
    def coordinates(self) -> FloatArray:
        """All coordinates as a `Part` sees them: nodes x y, the optic's x, y, rotation, the ring's, [coordinates]."""
        return self._native.coordinates()

    @property
    def law_state(self) -> FloatArray:
        """State of the contraction law, variable after variable, [variables * tissue points]."""
        return self._native.law_state()

    def check_part(self, part: Part, step_mm: float = 1e-5) -> list[str]:
        """What is wrong with a part at the coordinates of today, one sentence each; empty when all is well.

        Derivatives against differences over `step_mm`, symmetry, couplings, a rigid motion, a copy. The cost grows with
        the square of the mesh: take a coarse one. Raises ValueError where its energy is not finite.

        >>> class Idle(capsim.Part):
        ...     def couplings(self, x): return [[0, 1]]
        ...     def energy(self, x): return 0.0
        ...     def gradient(self, x): return np.zeros_like(x)
        ...     def hessian(self, x): return [np.zeros((2, 2))]
        >>> simulation.check_part(Idle())
        []
        """
        return self._native.faults_of(part, step_mm)

    def __reduce__(self) -> tuple[Any, ...]:
        """A simulation travels to another process as its checkpoint; host parts and laws by their own pickles."""
        _, possible, ring, parts, law = self._how
        return _restored, (
            self._scenario.to_json(),
            [item.to_json() for item in possible],
            ring,
            parts,
            law,
            self.checkpoint(),
        )

    def __repr__(self) -> str:
        return (
            f"<capsim.Simulation {self._scenario.name!r}: day {self.day:g}, {self.status}, "
            f"opening {self.opening_area_mm2:.2f} mm2>"
        )


def _arguments(
    scenario: Scenario, possible_cuts: Sequence[Mapping[str, Any]], ring_possible: bool, parts: Sequence[Part], law: Any
) -> tuple[_core.Scenario, list[_core.Scenario], bool, list[Part], Any]:
    """What `_core.Stepping` is made of."""
    if isinstance(possible_cuts, Mapping):
        possible_cuts = [possible_cuts]
    possible = [_with_event(scenario, {"day": 0, "relaxing_cuts": plain(cuts)}) for cuts in possible_cuts]
    return scenario._native(), possible, bool(ring_possible), list(parts), law


def _with_event(scenario: Scenario, event: Mapping[str, Any]) -> _core.Scenario:
    """The eye with one event alone, checked as those of a scenario are."""
    return _core.Scenario.from_json(text_of({**scenario.to_dict(), "events": [event]}))


def _restored(scenario: str, possible: list[str], ring: bool, parts: list[Part], law: Any, data: bytes) -> Simulation:
    """Restores a pickled simulation."""
    simulation = Simulation.__new__(Simulation)
    simulation._scenario = Scenario.from_json(scenario)
    natives = [_core.Scenario.from_json(text) for text in possible]
    simulation._how = (simulation._scenario._native(), natives, ring, parts, law)
    simulation._native = _core.Stepping.restore(*simulation._how, data)
    return simulation
