# SPDX-License-Identifier: BSD-3-Clause
"""Histories in Python: every series as a read-only array that outlives its history."""

import gc
import math
import pickle

import capsim
import numpy as np
import pytest

ONE_COLUMN = [
    "day",
    "event_side",
    "opening_area_mm2",
    "opening_diameter_mm",
    "opening_min_diameter_mm",
    "opening_max_diameter_mm",
    "clear_circle_diameter_mm",
    "equator_diameter_mm",
    "zonule_load_total_mN",
    "rim_tension_mN_per_mm",
    "fibrous_tissue",
]
POINTS = ["opening_center_mm", "lens_center_mm", "equator_center_mm"]

# A polygon of a few dozen points, or one with the slits' gape, and the engine's own area.
AREA_OF_POLYGON = 0.05


def test_every_name_of_the_contract_is_an_array_of_its_shape(history):
    rows = len(history)
    shapes = {
        **{name: (rows,) for name in ONE_COLUMN},
        **{name: (rows, 2) for name in POINTS},
        "zonule_load_mN": (rows, 12),
    }
    for name, shape in shapes.items():
        array = getattr(history, name)
        assert isinstance(array, np.ndarray), name
        assert array.dtype == np.float64, name
        assert array.shape == shape, name


def test_every_series_is_an_attribute_with_unit_and_description(history):
    assert set(ONE_COLUMN + POINTS + ["zonule_load_mN", "rim_outline_mm"]) <= set(history.names)
    for name in history.names:
        assert getattr(history, name) is history.array(name)
        assert name in dir(history)
        assert history.unit(name)
        assert history.description(name)
    assert history.unit("opening_area_mm2") == "mm2"


def test_history_without_cuts_lacks_only_what_is_about_cuts(small, history):
    del small["events"]
    without = capsim.simulate(small)
    assert without.cuts == []
    of_cuts = {name for name in history.names if name.startswith("cut_")}
    assert set(history.names) - of_cuts <= set(without.names)
    for name in without.names:
        assert without.array(name).shape[0] == len(without), name


def test_series_that_is_not_there_is_an_attribute_error(history):
    with pytest.raises(AttributeError, match="opening_aria_mm2"):
        history.opening_aria_mm2
    assert not hasattr(history, "nothing")


def test_arrays_can_not_be_changed(history):
    for name in history.names:
        array = getattr(history, name)
        assert not array.flags.writeable
        with pytest.raises(ValueError):
            array[...] = 0
        with pytest.raises(ValueError):
            array.flags.writeable = True
    with pytest.raises(ValueError):
        history.outline_mm(0)[0] = 0
    with pytest.raises(AttributeError):
        history.day = 3


def test_arrays_outlive_their_history(small):
    expected = capsim.simulate(small)
    short_lived = capsim.simulate(small)
    kept = {name: short_lived.array(name) for name in short_lived.names}
    outline = short_lived.outline_mm(-1)
    del short_lived
    gc.collect()
    _ = [np.full(100_000, 7.0) for _ in range(20)]  # would reuse memory that was given back
    for name, array in kept.items():
        np.testing.assert_array_equal(array, expected.array(name))
    np.testing.assert_array_equal(outline, expected.outline_mm(-1))


def test_days_begin_and_end_with_the_follow_up(history):
    assert history.day[0] == 0
    assert history.day[-1] == 60
    assert (np.diff(history.day) >= 0).all()


def test_event_day_has_a_row_before_and_a_row_after(history):
    on_day = np.flatnonzero(history.day == 30)
    assert list(history.event_side[on_day]) == [-1, 1]
    assert history.row_at(30) == on_day[-1]
    assert np.count_nonzero(history.event_side) == 2


def test_row_at_is_the_first_row_not_before_the_day(history):
    assert history.row_at(0) == 0
    assert history.day[history.row_at(41)] >= 41
    assert history.day[history.row_at(41) - 1] < 41
    assert history.row_at(1e9) == len(history) - 1


def test_outline_is_a_polygon_around_the_opening(history):
    for row in (0, len(history) - 1, -1):
        points = history.outline_mm(row)
        assert points.ndim == 2 and points.shape[1] == 2 and len(points) >= 8
        x, y = points.T
        area = 0.5 * np.sum(x * np.roll(y, -1) - y * np.roll(x, -1))
        assert area > 0, "clockwise"
        assert math.isclose(area, history.opening_area_mm2[row], rel_tol=AREA_OF_POLYGON)
    with pytest.raises(IndexError):
        history.outline_mm(len(history))


def test_diameter_is_that_of_the_circle_of_the_same_area(history):
    circle = np.pi / 4 * history.opening_diameter_mm**2
    np.testing.assert_allclose(circle, history.opening_area_mm2, rtol=1e-9)


def test_zonule_loads_by_hour_add_up_to_the_total(history):
    np.testing.assert_allclose(history.zonule_load_mN.sum(axis=1), history.zonule_load_total_mN, rtol=1e-9)


def test_completed_run_says_so(history):
    assert history.status == "completed"
    assert history.message
    assert history.version == capsim.__version__
    assert len(history) == len(history.day)
    assert history.raise_if_failed() is None
    text = repr(history)
    assert "completed" in text and "invented eye, small" in text


def test_cuts_are_listed(history):
    assert [cut.hour for cut in sorted(history.cuts, key=lambda cut: cut.hour)] == [6, 12]
    for cut in history.cuts:
        assert cut.day == 30
        assert cut.length_mm == pytest.approx(0.5, rel=1e-9)  # up to the rounding of where its tip lies
        assert cut.length_on_day_mm > 0


def test_diagnostics_are_numbers(history):
    diagnostics = history.diagnostics
    assert isinstance(diagnostics.steps, int) and diagnostics.steps > 0
    assert diagnostics.last_good_day == 60


def test_solve_error_tells_status_and_message(small):
    history = capsim.simulate(small, progress=lambda progress: False)
    with pytest.raises(capsim.SolveError, match="cancelled") as error:
        history.raise_if_failed()
    assert isinstance(error.value, RuntimeError)
    assert error.value.message == history.message


def test_history_can_be_pickled(history):
    again = pickle.loads(pickle.dumps(history))
    assert again.names == history.names
    for name in history.names:
        assert again.array(name).tobytes() == history.array(name).tobytes(), name
    assert (again.status, again.message, again.scenario, again.cuts, again.diagnostics) == (
        history.status,
        history.message,
        history.scenario,
        history.cuts,
        history.diagnostics,
    )


def test_misspelt_series_and_days_that_are_none_are_refused_in_words(history):
    for ask in (history.array, history.unit, history.description):
        with pytest.raises(AttributeError, match="no series 'opening_area_mm'; did you mean 'opening_area_mm2'"):
            ask("opening_area_mm")
    with pytest.raises(ValueError, match="day is not a number"):
        history.row_at(float("nan"))
    with pytest.raises(TypeError, match="outcomes takes a capsim.History, not Scenario; run it first: capsim.simulate"):
        capsim.outcomes(history.scenario)


def test_scenario_of_a_result_can_not_be_changed_but_its_copies_can(history):
    ran = history.scenario
    for change in (
        lambda: setattr(ran, "name", "other"),
        lambda: setattr(ran.opening, "diameter_mm", 4),
        lambda: ran.zonule.strength_by_hour.update({4: 0.1}),
        lambda: ran.events.append({"day": 1, "relaxing_cuts": {"hours": [12]}}),
        lambda: ran.events.clear() if len(ran.events) else ran.events.insert(0, {}),
    ):
        with pytest.raises(AttributeError, match="the scenario of a result can't be changed; take scenario.copy()"):
            change()
    ran.opening.center_mm.append(3.0)  # a copy of the list
    assert history.scenario == ran
    copy = ran.copy()
    copy.opening.diameter_mm = 4
    assert copy != ran and ran.with_(name="other").name == "other"
