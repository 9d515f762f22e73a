# SPDX-License-Identifier: BSD-3-Clause
"""Derivatives of runs as labelled arrays. What they are compared with is in tests/cpp/test_sensitivities.cpp."""

import capsim
import numpy as np
import pytest

xarray = pytest.importorskip("xarray", reason="xarray is not installed: derivatives as labelled arrays were not tried")

BASE = capsim.Scenario(
    name="invented eye",
    duration_days=30,
    output_every_days=10,
    mesh={"around": 12, "radial": 2},
    events=[{"day": 15, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}],
)
PARAMETERS = ["contraction.signal_days", "zonule.strength_by_hour.4"]


def test_derivatives_have_labels_units_and_the_values_of_a_small_change():
    data = capsim.sensitivities(BASE, PARAMETERS, outcomes=["opening_area_mm2"])
    assert data.parameter.values.tolist() == PARAMETERS
    assert data.parameter_value.values.tolist() == [25.8, 1.0]
    assert set(data.data_vars) == {"opening_area_mm2", "one_sided", "kinks_passed"} | {
        f"nearest_{kink}" for kink in ("slack", "wrinkle", "contact", "jump")
    }
    assert data.opening_area_mm2.dims == ("parameter",)
    assert data.opening_area_mm2.attrs["units"] == "(mm2)/(d), (mm2)/(1)"
    assert "not for treating a patient" in data.attrs["caution"]
    # A whole run more, with tolerances that a difference can be believed with.
    tight = BASE.with_({"numerics.time_tolerance": 1e-8, "numerics.force_tolerance": 1e-10})
    exact = capsim.sensitivities(tight, PARAMETERS[:1], outcomes=["opening_area_mm2"])
    runs = [capsim.simulate(tight.with_({PARAMETERS[0]: 25.8 + step})).opening_area_mm2[-1] for step in (0.1, -0.1)]
    assert float(exact.opening_area_mm2[0]) == pytest.approx((runs[0] - runs[1]) / 0.2, rel=1e-4)


def test_derivatives_of_series_have_the_dimensions_of_the_series():
    run = capsim.simulate(BASE)
    data = capsim.sensitivities(BASE, PARAMETERS, series=["opening_area_mm2", "zonule_load_mN", "rim_outline_mm"])
    assert data.opening_area_mm2.dims == ("row", "parameter")
    assert data.zonule_load_mN.dims == ("row", "hour", "parameter")
    assert data.rim_outline_mm.dims == ("row", "rim_point", "axis", "parameter")
    assert data.day.values.tolist() == run.day.tolist()
    assert data.opening_diameter_mm.dims == ("parameter",)
    # dA = d(pi D^2 / 4) on the last day, and the loads of the hours add up to the total.
    area, diameter = data.opening_area_mm2[-1].values, data.opening_diameter_mm.values
    # Both differ by the rounding of an outcome over the step of its derivative.
    assert np.allclose(area, np.pi / 2 * run.opening_diameter_mm[-1] * diameter, rtol=1e-5)
    assert np.allclose(data.zonule_load_mN[-1].sum("hour").values, data.zonule_load_total_mN.values, rtol=1e-5)


def test_a_series_and_an_outcome_of_one_name_are_both_there_when_both_are_asked_for():
    data = capsim.sensitivities(BASE, PARAMETERS[:1], outcomes=["opening_area_mm2"], series=["opening_area_mm2"])
    assert float(data.opening_area_mm2[0]) == pytest.approx(float(data.opening_area_mm2_by_row[-1, 0]), rel=1e-12)


def test_what_can_not_be_asked_for_is_refused_by_its_name():
    with pytest.raises(capsim.ScenarioError) as refused:
        capsim.sensitivities(BASE, ["mesh.around", "zonule.strenght", "events[0].relaxing_cuts.hours[0]"])
    assert [v.path for v in refused.value.violations] == [
        "mesh.around",
        "zonule.strenght",
        "events[0].relaxing_cuts.hours[0]",
    ]
    with pytest.raises(capsim.ArgumentError, match="opening_area_mm2"):
        capsim.sensitivities(BASE, PARAMETERS, outcomes=["opening_aera_mm2"])
    with pytest.raises(capsim.ArgumentError, match="opening_aera_mm2"):
        capsim.sensitivities(BASE, PARAMETERS, series=["opening_aera_mm2"])
    with pytest.raises(capsim.ArgumentError, match="list"):
        capsim.sensitivities(BASE, "zonule.strength")


WEAK = BASE.with_(
    {
        "events": [],
        "duration_days": 60,
        "zonule.strength_by_hour": {"3": 0.3, "4": 0.1, "5": 0.3},
        "contraction.cells_left_by_hour": {"4": 0.5},
    }
)


@pytest.fixture(scope="module")
def influence():
    return capsim.influence(WEAK)


def test_the_lens_of_an_eye_with_a_weak_sector_would_move_back_by_that_sector(influence):
    decentration = influence["lens_decentration_mm"]["zonule"]
    assert int(np.argmin(decentration)) == 4 and decentration[4] < 0
    said = influence.sentence("lens_decentration_mm")
    assert said.startswith("The lens would move back most if the fibres at 4 o'clock were stronger: -")
    assert "o'clock" in influence.sentence("opening_area_mm2", "cells")
    same = capsim.sensitivities(WEAK, ["zonule.strength_by_hour.4"], outcomes=["lens_decentration_mm"])
    assert float(same.lens_decentration_mm[0]) == pytest.approx(decentration[4], rel=1e-6)


def test_hours_that_are_alike_are_said_to_be_alike():
    # Without a lens, whose haptics push at two hours.
    even = capsim.influence(BASE.with_({"events": [], "lens": None}), ["zonule_load_total_mN"])
    by_hour = even["zonule_load_total_mN"]["zonule"]
    assert np.ptp(by_hour) < 1e-5 * by_hour.max()
    assert "all hours alike" in even.sentence("zonule_load_total_mN")
    with pytest.raises(capsim.ArgumentError, match="zonule_load_total_mN"):
        capsim.influence(BASE, ["zonule_load_totl_mN"])


def test_a_lens_in_the_middle_is_not_said_to_move_back():
    middle = capsim.influence(BASE.with_({"events": []}), ["lens_decentration_mm"])
    assert middle.outcome_values["lens_decentration_mm"] < 1e-6
    # A decentration of nothing can only grow: to the side of the hour that gets stronger.
    assert middle["lens_decentration_mm"]["zonule"].min() > 0
    assert middle.sentence("lens_decentration_mm").startswith("The lens would not move back if the fibres at any hour")


def test_influence_is_drawn_with_its_sentences_and_cautions(influence):
    pytest.importorskip("matplotlib")
    figure = capsim.plot.influence_rose(influence, "lens_decentration_mm")
    words = " ".join(" ".join(text.get_text().split()) for text in figure.texts)
    assert "would move back most if the fibres at 4 o'clock" in words
    assert "not for treating a patient" in words
    bars = [bar.get_height() for bar in figure.axes[0].patches[:12]]
    assert np.allclose(bars, 0.1 * np.abs(influence["lens_decentration_mm"]["zonule"]))


class Strand(capsim.Part):
    """From node 10 to the wall of the eye, the stiffer the more the zonule pulls."""

    name = "strand"
    anchor = np.array([7.5, 0.0])
    per_pull = 0.02

    def __init__(self, pull_mN):
        self.stiffness = self.per_pull * pull_mN

    def couplings(self, x):
        return [[20, 21]]

    def energy(self, x):
        return 0.5 * self.stiffness * float(((x[20:22] - self.anchor) ** 2).sum())

    def gradient(self, x):
        g = np.zeros_like(x)
        g[20:22] = self.stiffness * (x[20:22] - self.anchor)
        return g

    def hessian(self, x):
        return [self.stiffness * np.eye(2)]


def test_parts_written_in_python_go_along_and_may_tell_their_own_derivatives():
    eye = BASE.with_({"events": [], "numerics.time_tolerance": 1e-8, "numerics.force_tolerance": 1e-10})
    by, outcome = "zonule.pull_mN", "lens_decentration_mm"
    told = []

    def extras(scenario, x):
        assert x.ndim == 1 and np.isfinite(x).all()
        return [Strand(scenario.zonule.pull_mN)], None

    def force_rate(path, number, part, x):
        told.append((path, number, part.name))
        rate = np.zeros_like(x)
        rate[20:22] = part.per_pull * (x[20:22] - part.anchor)
        return rate

    def by_run(pull):
        simulation = capsim.Simulation(eye.with_({by: pull}), parts=[Strand(pull)])
        simulation.advance_to(eye.duration_days)
        return capsim.outcomes(simulation.history())[outcome]

    pull, step = eye.zonule.pull_mN, 0.05
    expected = (by_run(pull + step) - by_run(pull - step)) / (2 * step)
    differenced = capsim.sensitivities(eye, [by], [outcome], extras=extras)
    own = capsim.sensitivities(eye, [by], [outcome], extras=extras, force_rate=force_rate)
    without = capsim.sensitivities(eye, [by], [outcome])
    assert float(differenced[outcome][0]) == pytest.approx(expected, rel=1e-3)
    assert float(own[outcome][0]) == pytest.approx(float(differenced[outcome][0]), rel=1e-5)
    assert abs(float(without[outcome][0]) - expected) > 0.1 * abs(expected)
    assert set(told) == {(by, 0, "strand")}
    with pytest.raises(ValueError, match="numbers"):
        capsim.sensitivities(eye, [by], [outcome], extras=extras, force_rate=lambda *_: np.zeros(3))


def test_a_law_written_in_python_goes_along():
    class Follow(capsim.ContractionLaw):
        name, variables = "follow", 1

        def __init__(self, speed):
            self.speed = speed

        def start(self, cells):
            return np.zeros((1, len(cells)))

        def rate(self, day, y, stretches):
            return self.speed * (1 - y)

        def apply(self, y):
            return {"fraction": y[0], "natural_stretch": np.full((4, y.shape[1]), 0.95)}

    eye = BASE.with_({"events": [], "duration_days": 10})
    by = "contraction.tissue_per_day"
    data = capsim.sensitivities(
        eye, [by], ["fibrous_tissue"], extras=lambda scenario, x: ([], Follow(scenario.contraction.tissue_per_day))
    )
    speed = eye.contraction.tissue_per_day  # f = 1 - exp(-speed t) at every point
    assert float(data.fibrous_tissue[0]) == pytest.approx(10 * np.exp(-10 * speed), rel=1e-3)
