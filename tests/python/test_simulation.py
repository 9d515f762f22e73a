# SPDX-License-Identifier: BSD-3-Clause
"""Stepping through time: acting, forking, going back to a checkpoint, looking inside, parts and laws from Python."""

import os
import pickle
import signal
import threading

import capsim
import numpy as np
import pytest

CUTS = {"hours": [12, 3, 6, 9], "length_mm": 0.6}
EYE = capsim.Scenario(
    name="invented eye",
    eye="right",
    duration_days=120,
    output_every_days=15,
    mesh={"around": 12, "radial": 2},
    zonule={"strength": 0.5},
    contraction={"fibre_modulus_kPa": 600},
)


@pytest.fixture(scope="module")
def advanced():
    """An eye on day 45; tests fork it."""
    simulation = capsim.Simulation(EYE, possible_cuts=[CUTS], ring_possible=True)
    assert simulation.advance_to(45)
    return simulation


def same(one, other):
    assert one.status == other.status
    for name in one.names:
        assert one.array(name).tobytes() == other.array(name).tobytes(), name


def test_stopping_on_the_way_ends_where_the_run_without_stops_ends():
    simulation = capsim.Simulation(EYE)
    for day in (1, 17.5, 60, 120):
        assert simulation.advance_to(day)
        assert simulation.day == day
    whole = capsim.simulate(EYE)
    area = simulation.history().opening_area_mm2[-1]
    # The integrator starts anew at each stop: a few times the tolerance of 1e-4 in time.
    assert area == pytest.approx(whole.opening_area_mm2[-1], rel=5e-4)
    assert simulation.advance_to(10) and simulation.day == 120


def test_acting_today_is_the_event_of_that_day():
    simulation = capsim.Simulation(EYE, possible_cuts=[CUTS])
    simulation.advance_to(62)  # not an output day, whose row would stand beside those of the event
    assert simulation.apply({"relaxing_cuts": CUTS})
    simulation.advance_to(120)
    planned = capsim.simulate(EYE.with_(events=[{"day": 62, "relaxing_cuts": CUTS}]))
    stepped = simulation.history()
    assert stepped.day.tolist() == planned.day.tolist() and stepped.event_side.tolist() == planned.event_side.tolist()
    assert stepped.opening_area_mm2[-1] == pytest.approx(planned.opening_area_mm2[-1], rel=5e-4)
    assert [cut.hour for cut in stepped.cuts] == [12, 3, 6, 9]


def test_cuts_made_by_hand_have_their_caution_on_pictures_and_labelled_runs(advanced):
    pytest.importorskip("matplotlib")
    from capsim.plot.sheet import cautions_for

    fork = advanced.copy()
    assert "retinal detachment" not in " ".join(cautions_for([fork.history()]))
    fork.apply({"relaxing_cuts": CUTS})
    history = fork.history()
    assert cautions_for([history]) == capsim.outcomes(history).cautions
    assert "retinal detachment" in cautions_for([history])[-1]
    pytest.importorskip("xarray")
    assert history.to_xarray().attrs["caution"] == " ".join(capsim.outcomes(history).cautions)


def test_forks_go_on_independently(advanced):
    before = advanced.opening_area_mm2
    cut, plain = advanced.copy(), advanced.copy()
    cut.apply({"relaxing_cuts": CUTS})
    assert cut.opening_area_mm2 > before
    assert plain.opening_area_mm2 == before == advanced.opening_area_mm2
    for simulation in (cut, plain):
        simulation.advance_to(90)
    assert advanced.day == 45
    assert cut.history().opening_area_mm2[-1] > plain.history().opening_area_mm2[-1]
    again = advanced.copy()
    again.advance_to(90)
    same(again.history(), plain.history())


def test_checkpoint_and_pickle_go_on_bit_for_bit(advanced):
    origin = advanced.copy()
    data = origin.checkpoint()
    assert isinstance(data, bytes)
    restored = capsim.Simulation.restore(EYE, data, possible_cuts=[CUTS], ring_possible=True)
    travelled = pickle.loads(pickle.dumps(origin))
    for simulation in (origin, restored, travelled):
        simulation.apply({"tension_ring": {}})
        simulation.advance_to(75)
    same(restored.history(), origin.history())
    same(travelled.history(), origin.history())
    with pytest.raises(ValueError):
        capsim.Simulation.restore(EYE.with_(name="other"), data, possible_cuts=[CUTS], ring_possible=True)
    with pytest.raises(ValueError):
        capsim.Simulation.restore(EYE, data[:-5], possible_cuts=[CUTS], ring_possible=True)


def test_cancelled_simulation_goes_on(advanced):
    simulation = advanced.copy()
    told = []

    def stop(progress):
        told.append(progress.day)
        return len(told) < 2

    assert not simulation.advance_to(120, progress=stop)
    assert simulation.status == "cancelled" and simulation.day == told[-1] < 120
    assert simulation.advance_to(120) and simulation.day == 120


@pytest.mark.parametrize(
    ("action", "words"),
    [
        ({"relaxing_cuts": {"hours": [1], "length_mm": 0.6}}, "cut"),
        ({"relaxing_cuts": {"hours": [13], "length_mm": 0.6}}, "hours"),
        ({"relaxing_cut": {"hours": [12]}}, "did you mean"),
        ({}, "action"),
        ({"relaxing_cuts": CUTS, "tension_ring": {}}, "with one of"),
    ],
)
def test_action_that_is_not_foreseen_or_not_valid_leaves_the_eye_as_it_was(advanced, action, words):
    simulation = advanced.copy()
    with pytest.raises(capsim.ScenarioError, match=words):
        simulation.apply(action)
    assert (simulation.day, simulation.opening_area_mm2) == (advanced.day, advanced.opening_area_mm2)


def test_wrong_input_is_refused_before_any_work():
    with pytest.raises(capsim.ScenarioError, match="length_mm"):
        capsim.Simulation(EYE, possible_cuts=[{"hours": [12], "length_mm": -1}])
    with pytest.raises(capsim.ScenarioError):
        capsim.Simulation({"format": "capsim-scenario", "version": 1, "zonule": {"strength": 7}})
    with pytest.raises(ValueError, match="not a number"):
        capsim.Simulation(EYE).advance_to(float("nan"))


# --- looking inside


def test_nodes_and_elements_draw_the_opening_and_the_bag(advanced):
    nodes, history = advanced.nodes(), advanced.history()
    rim = history.outline_mm(-1)
    for point in rim[:: max(1, len(rim) // 10)]:  # corners and mid-sides of the outline are nodes
        assert np.hypot(*(nodes.position_mm - point).T).min() < 0.1
    equator = nodes.position_mm[nodes.equator_nodes]
    assert 2 * np.hypot(*equator.T).mean() == pytest.approx(history.equator_diameter_mm[-1], rel=0.01)
    assert nodes.anterior_elements.shape[1] == 8 and nodes.anterior_elements.max() < len(nodes.position_mm)
    # Corners run counter-clockwise: every element has a positive area.
    corners = nodes.position_mm[nodes.anterior_elements[:, :4]]
    x, y = corners[..., 0], corners[..., 1]
    assert ((x * np.roll(y, -1, axis=1) - y * np.roll(x, -1, axis=1)).sum(axis=1) > 0).all()
    assert nodes.posterior_elements is not None and nodes.ring_mm is not None


def test_stresses_are_those_of_the_law_at_the_stretches(advanced):
    """Where the leaf is taut under the neo-Hookean law s_i = mu (l_i^2 - 1 / (l_1 l_2)^2)."""
    leaf = advanced.leaf()
    mu = EYE.capsule.modulus_kPa / 3
    l1, l2 = leaf.principal_stretch.T
    taut = leaf.taut_state == capsim.stepping.TAUT_STATES.index("taut")
    assert taut.sum() > 20 and (l1 >= l2).all()
    expected = mu * np.stack([l1**2 - (l1 * l2) ** -2, l2**2 - (l1 * l2) ** -2], axis=1)
    assert np.allclose(leaf.principal_stress_kPa[taut], expected[taut], rtol=1e-9, atol=1e-9 * mu)
    wrinkled = leaf.taut_state == 1
    # Across wrinkles only the residual share of the full law is left.
    across = EYE.capsule.compression_fraction * expected[wrinkled, 1]
    assert wrinkled.any() and np.allclose(leaf.principal_stress_kPa[wrinkled, 1], across, rtol=1e-9, atol=1e-9 * mu)


def test_leaf_agrees_with_the_recorded_tissue_and_shapes(advanced):
    leaf, history = advanced.leaf(), advanced.history()
    points = 9 * len(advanced.nodes().anterior_elements)
    assert leaf.position_mm.shape == leaf.reference_mm.shape == (points, 2)
    tissue = leaf.tissue
    own = leaf.area_mm2[: len(tissue.fraction)]
    assert (tissue.fraction * own).sum() / own.sum() == pytest.approx(history.fibrous_tissue[-1], rel=1e-9)
    assert tissue.fibre_stretch.shape == tissue.natural_stretch.shape == (len(tissue.fraction), 4)
    # Squares of stretches along perpendicular directions add up to the trace of the Cauchy-Green tensor.
    trace = (leaf.principal_stretch[: len(own)] ** 2).sum(axis=1)
    for first, second in ((0, 3), (1, 2)):
        assert np.allclose((tissue.fibre_stretch[:, [first, second]] ** 2).sum(axis=1), trace, rtol=1e-9)
    # Around a centred round opening of an even eye the largest stretch lies along hoop or radius.
    angle = np.degrees(np.arctan2(*leaf.position_mm.T[::-1]))
    off = np.abs((leaf.first_direction_degree - angle + 45) % 90 - 45)
    assert np.median(off) < 10  # degrees; the mesh is coarse, and cut lines are on it


def test_margin_is_that_of_the_outcomes():
    simulation = capsim.Simulation(EYE)
    simulation.advance_to(120)
    margin = simulation.runaway_margin()
    _, outcomes = capsim.outcomes_with_margin(EYE)
    assert margin.factor == pytest.approx(outcomes["runaway_margin"], rel=1e-3)
    assert margin.end in ("tips", "closes", "holds")


# --- parts and laws from Python


class Hook(capsim.Part):
    """An elastic strand from a node to a point on the wall: Pi = k/2 <L - L0>^2."""

    name = "hook"
    stiffness, slack = 3.0, 0.4

    def __init__(self, node, anchor):
        self.at, self.anchor = [2 * node, 2 * node + 1], np.asarray(anchor, dtype=float)

    def strand(self, x):
        away = x[self.at] - self.anchor
        length = float(np.hypot(*away))
        return away / length, length, max(length - self.slack, 0.0)

    def couplings(self, x):
        return [self.at]

    def energy(self, x):
        return 0.5 * self.stiffness * self.strand(x)[2] ** 2

    def gradient(self, x):
        direction, _, stretch = self.strand(x)
        found = np.zeros_like(x)
        found[self.at] = self.stiffness * stretch * direction
        return found

    def hessian(self, x):
        direction, length, stretch = self.strand(x)
        along = np.outer(direction, direction)
        return [self.stiffness * (along + stretch / length * (np.eye(2) - along))]

    def move_anchors(self, angle, shift):
        self.anchor = capsim.moved(self.anchor, angle, shift)


class WrongHook(Hook):
    """The same with its turning forgotten."""

    def hessian(self, x):
        direction, _, _ = self.strand(x)
        return [self.stiffness * np.outer(direction, direction)]


@pytest.fixture(scope="module")
def small():
    return EYE.with_(mesh={"around": 12, "radial": 2, "order": 1}, duration_days=20)


def test_part_from_python_pulls_the_bag_and_is_checked(small):
    plain = capsim.Simulation(small)
    nodes = plain.nodes()
    node = int(nodes.equator_nodes[np.argmax(nodes.position_mm[nodes.equator_nodes, 0])])
    hook = Hook(node, nodes.position_mm[node] + [1.5, 0.3])
    assert plain.check_part(hook) == []
    faults = plain.check_part(WrongHook(node, hook.anchor))
    assert faults and any("hessian" in fault.lower() for fault in faults), faults
    pulled = capsim.Simulation(small, parts=[hook])
    for simulation in (plain, pulled):
        assert simulation.advance_to(20)
    assert pulled.history().equator_center_mm[-1, 0] > plain.history().equator_center_mm[-1, 0] + 0.01
    fork = pulled.copy()
    assert fork.advance_to(20) and fork.opening_area_mm2 == pulled.opening_area_mm2


class Copied(capsim.ContractionLaw):
    """The library's fibre remodelling, written again from the theory page."""

    name, variables = "fibre remodelling in Python", 7

    def __init__(self, contraction):
        self.p = contraction.to_dict()

    def start(self, cells):
        return np.concatenate([[cells], np.zeros((6, len(cells)))])

    def rate(self, day, y, stretches):
        p = self.p
        c, m, f, fv = y[0], y[1], y[2], y[3:]
        s = np.exp(-day / p["signal_days"]) + p["chronic_signal"]
        laid = stretches / p["laying_stretch"]
        growth = p["tissue_per_day"] * m * (1 - f)
        return np.concatenate(
            [
                [p["regrowth_per_day"] * s * c * (1 - c)],
                [p["activation_per_day"] * s * c * (1 - m) - p["deactivation_per_day"] * m],
                [growth],
                m / p["remodelling_days"] * (f * laid - fv) + growth * laid,
            ]
        )

    def apply(self, y):
        f = y[2]
        natural = np.where(f > 1e-12, y[3:] / np.maximum(f, 1e-12), 1.0)
        return {"fraction": f, "natural_stretch": np.maximum(natural, self.p["packing_limit"])}


def test_law_from_python_gives_what_the_same_law_of_the_library_gives(small):
    own = capsim.Simulation(small)
    python = capsim.Simulation(small, law=Copied(small.contraction))
    for simulation in (own, python):
        assert simulation.advance_to(20), simulation.message
    loss, other = (1 - s.opening_area_mm2 / s.history().opening_area_mm2[0] for s in (own, python))
    assert loss > 1e-4
    assert other == pytest.approx(loss, rel=2e-3)  # both to the tolerance of 1e-4 in time
    assert np.allclose(python.leaf().tissue.fraction, own.leaf().tissue.fraction, rtol=1e-3, atol=1e-6)


def test_what_a_law_or_part_from_python_does_wrong_is_raised(small):
    class Short(Copied):
        def rate(self, day, y, stretches):
            return np.zeros(3)

    with pytest.raises(ValueError, match=r"fibre remodelling in Python.rate gave 3 numbers; \d+ are needed"):
        capsim.Simulation(small, law=Short(small.contraction)).advance_to(5)

    class Broken(Hook):
        def energy(self, x):
            raise ZeroDivisionError("mine")

    with pytest.raises(ZeroDivisionError, match="mine"):
        capsim.Simulation(small, parts=[Broken(0, [9.0, 0.0])])


@pytest.mark.parametrize(
    "begin",
    [capsim.Simulation, lambda eye: capsim.sensitivities(eye, ["zonule.pull_mN"])],
    ids=["simulation", "sensitivities"],
)
def test_interrupt_is_heard_while_a_model_is_built(begin):
    """Pulled to one side so much that the search for the unloaded shape is long."""
    eye = capsim.Scenario(zonule={"pull_mN": 110, "strength_by_hour": {"4": 0, "5": 0, "6": 0, "7": 0}})
    killer = threading.Timer(0.1, os.kill, (os.getpid(), signal.SIGINT))
    killer.start()
    with pytest.raises(KeyboardInterrupt):
        begin(eye)
    killer.join()


def test_damaged_checkpoint_is_refused_before_a_model_is_built_for_it(advanced):
    data = bytearray(advanced.copy().checkpoint())
    data[len(data) // 2] ^= 1
    without_rest = capsim.Scenario(
        mesh={"level": "coarse"},
        zonule={"pull_mN": 110, "strength_by_hour": {"4": 0, "5": 0, "6": 0, "7": 0}},
        numerics={"max_work": 100},
    )
    with pytest.raises(capsim.SolveError):
        capsim.Simulation(without_rest)
    with pytest.raises(capsim.CheckpointError, match="damaged"):
        capsim.Simulation.restore(without_rest, bytes(data))
