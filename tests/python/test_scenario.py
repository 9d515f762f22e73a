# SPDX-License-Identifier: BSD-3-Clause
"""Scenarios in Python: reading, writing, attributes, and every mistake told at once."""

import copy
import json
import pickle

import numpy as np
import pytest

import capsim


def paths_of(error):
    return {violation.path for violation in error.value.violations}


def test_file_text_and_dict_give_the_same_scenario(small, scenario_file):
    scenario = capsim.Scenario.from_dict(small)
    assert capsim.Scenario.from_json(scenario_file) == scenario
    assert capsim.Scenario.from_json(str(scenario_file)) == scenario
    assert capsim.Scenario.from_json(json.dumps(small)) == scenario
    assert capsim.Scenario.from_json("\ufeff \n" + json.dumps(small)) == scenario


def test_dict_is_complete_and_gives_the_scenario_back(small):
    values = capsim.Scenario.from_dict(small).to_dict()
    assert values["opening"]["diameter_mm"] == 5.0
    assert values["zonule"]["stiffness_mN_per_mm"] > 0
    assert values["tension_ring"] is None
    assert capsim.Scenario.from_dict(values).to_dict() == values


def test_json_gives_the_scenario_back(small):
    scenario = capsim.Scenario.from_dict(small)
    assert capsim.Scenario.from_json(scenario.to_json()) == scenario
    assert json.loads(scenario.to_json(indent=4)) == scenario.to_dict()


def test_changing_the_dict_does_not_change_the_scenario(small):
    scenario = capsim.Scenario.from_dict(small)
    small["opening"]["diameter_mm"] = 4
    scenario.to_dict()["opening"]["diameter_mm"] = 3
    assert scenario.opening.diameter_mm == 5.0


def test_every_violation_is_told_at_once(small):
    small["opening"]["diameter_mm"] = -1
    small["duration_dayz"] = 3
    small["mesh"]["around"] = "many"
    with pytest.raises(capsim.ScenarioError) as error:
        capsim.Scenario.from_dict(small)
    assert paths_of(error) == {"opening.diameter_mm", "duration_dayz", "mesh.around"}
    by_path = {violation.path: violation for violation in error.value.violations}
    assert by_path["opening.diameter_mm"].value == "-1"
    assert by_path["opening.diameter_mm"].limit
    assert "duration_days" in by_path["duration_dayz"].hint
    assert all(path in str(error.value) for path in by_path)


def test_scenario_error_is_a_value_error_and_can_be_pickled(small):
    small["duration_days"] = -1
    with pytest.raises(ValueError) as error:
        capsim.Scenario.from_dict(small)
    assert isinstance(error.value, capsim.ScenarioError)
    again = pickle.loads(pickle.dumps(error.value))
    assert again.violations == error.value.violations
    assert str(again) == str(error.value)


def test_number_that_is_not_finite_is_refused(small):
    for wrong in (float("nan"), float("inf"), np.float64("nan")):
        small["opening"]["diameter_mm"] = wrong
        with pytest.raises(capsim.ScenarioError) as error:
            capsim.Scenario.from_dict(small)
        assert paths_of(error) == {"opening.diameter_mm"}


def test_key_given_twice_is_refused(small):
    text = json.dumps(small)[:-1] + ', "duration_days": 3}'
    with pytest.raises(capsim.ScenarioError) as error:
        capsim.Scenario.from_json(text)
    assert paths_of(error) == {"duration_days"}
    small["zonule"] = {"strength_by_hour": {4: 0.1, "4": 0.2}}
    with pytest.raises(capsim.ScenarioError) as error:
        capsim.Scenario.from_dict(small)
    assert "zonule.strength_by_hour.4" in paths_of(error)


def test_text_that_is_not_json_is_refused():
    for text in ("{", "[]", '{"format": "capsim-scenario", "version": 1} and more', "{'name': 'x'}"):
        with pytest.raises(capsim.ScenarioError):
            capsim.Scenario.from_json(text)


def test_file_that_is_not_there_is_an_os_error(tmp_path):
    with pytest.raises(FileNotFoundError):
        capsim.Scenario.from_json(tmp_path / "none.json")


def test_values_are_attributes(small):
    scenario = capsim.Scenario.from_dict(small)
    assert scenario.name == small["name"]
    assert scenario.duration_days == 60
    assert scenario.mesh.around == 24
    assert scenario.tension_ring is None
    scenario.zonule.strength = 0.25
    scenario.zonule.strength_by_hour = {4: 0.5}
    scenario.tension_ring = {"free_diameter_mm": 12.0}
    scenario.validate()
    values = scenario.to_dict()
    assert values["zonule"]["strength"] == 0.25
    assert values["zonule"]["strength_by_hour"] == {"4": 0.5}
    assert values["tension_ring"]["free_diameter_mm"] == 12.0
    assert scenario.tension_ring.wire_diameter_mm > 0


def test_unknown_attribute_is_refused_with_a_suggestion():
    scenario = capsim.Scenario()
    with pytest.raises(AttributeError, match="strength"):
        scenario.zonule.strenght = 1
    with pytest.raises(AttributeError, match="opening"):
        scenario.openning
    with pytest.raises(AttributeError, match="duration_days"):
        scenario.duration_dais = 3


def test_validate_finds_what_was_set_wrong():
    scenario = capsim.Scenario()
    scenario.validate()
    scenario.opening.diameter_mm = -3
    scenario.duration_days = "long"
    with pytest.raises(capsim.ScenarioError) as error:
        scenario.validate()
    assert paths_of(error) == {"opening.diameter_mm", "duration_days"}
    with pytest.raises(capsim.ScenarioError):
        capsim.simulate(scenario)


def test_values_of_numpy_are_taken():
    scenario = capsim.Scenario(
        duration_days=np.int64(30), opening={"center_mm": np.array([0.25, -0.25]), "diameter_mm": np.float32(4.5)})
    assert scenario.duration_days == 30
    assert scenario.opening.center_mm == [0.25, -0.25]
    scenario.opening.diameter_mm = np.float64(4.75)
    scenario.validate()
    assert scenario.opening.diameter_mm == 4.75


def test_value_that_can_not_be_in_a_scenario_is_a_type_error():
    with pytest.raises(TypeError):
        capsim.Scenario(name=object())
    scenario = capsim.Scenario()
    with pytest.raises(TypeError):
        scenario.name = object()


def test_copies_are_independent():
    scenario = capsim.Scenario(name="one")
    for other in (scenario.copy(), copy.copy(scenario), copy.deepcopy(scenario),
                  pickle.loads(pickle.dumps(scenario))):
        assert other == scenario
        other.zonule.strength = 0.5
        assert other != scenario
    assert scenario.zonule.strength == 1
