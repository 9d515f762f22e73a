# SPDX-License-Identifier: BSD-3-Clause
"""Scenarios in Python: reading, writing, attributes, and every mistake told at once."""

import copy
import json
import pickle
from xml.etree import ElementTree

import capsim
import numpy as np
import pytest
from capsim import scenario_card
from capsim.value_access import Section


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
        duration_days=np.int64(30), opening={"center_mm": np.array([0.25, -0.25]), "diameter_mm": np.float32(4.5)}
    )
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
    for other in (scenario.copy(), copy.copy(scenario), copy.deepcopy(scenario), pickle.loads(pickle.dumps(scenario))):
        assert other == scenario
        other.zonule.strength = 0.5
        assert other != scenario
    assert scenario.zonule.strength == 1


# --- the shape of the package: names, copies, text and drawing


def declared_paths(section, path=""):
    """Every name declared in a section's class, with the sections inside."""
    for name in type(section).names():
        where = f"{path}.{name}" if path else name
        part = getattr(section, name)
        yield where
        if isinstance(part, Section):
            yield from declared_paths(part, where)


def value_paths(values, path=""):
    for name, value in values.items():
        where = f"{path}.{name}" if path else name
        yield where
        if isinstance(value, dict) and not where.endswith("_by_hour"):
            yield from value_paths(value, where)


def test_every_value_of_the_contract_is_declared_with_its_type_and_description():
    scenario = capsim.Scenario(tension_ring={})
    of_contract = {path for path in value_paths(scenario.to_dict()) if path not in ("format", "version")}
    assert set(declared_paths(scenario)) == of_contract
    for kind in (capsim.Scenario, *capsim.Scenario._parts.values()):
        for name in kind.names():
            assert name in kind.__annotations__
            assert len(getattr(kind, name).__doc__) > 10, (kind, name)


def test_events_are_attributes_too(small):
    scenario = capsim.Scenario.from_dict(small)
    event = scenario.events[0]
    assert event.day == 30
    assert event.relaxing_cuts.hours == [12, 6]
    event.relaxing_cuts.length_mm = 0.8
    scenario.events.append({"day": 40, "zonule_damage": {"strength_by_hour": {3: 0.0}}})
    scenario.validate()
    assert scenario.to_dict()["events"] == [
        {"day": 30, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.8}},
        {"day": 40, "zonule_damage": {"strength_by_hour": {"3": 0.0}}},
    ]
    with pytest.raises(AttributeError, match="did you mean 'relaxing_cuts'"):
        event.relaxing_cut
    with pytest.raises(AttributeError, match="events.1. has no value 'relaxing_cutts'; did you mean 'relaxing_cuts'"):
        scenario.events[1] = {"day": 50, "relaxing_cutts": {"hours": [12]}}
    del scenario.events[0]
    assert len(scenario.events) == 1


def test_hours_are_numbers(small):
    zonule = capsim.Scenario(zonule={"strength_by_hour": {4: 0.2}}).zonule
    assert zonule.strength_by_hour[4] == 0.2
    assert zonule.strength_by_hour == {4: 0.2}
    assert zonule.strength_by_hour.get(5, zonule.strength) == 1
    zonule.strength_by_hour[5] = 0.1
    assert dict(zonule.strength_by_hour) == {4: 0.2, 5: 0.1}
    assert zonule.to_dict()["strength_by_hour"] == {"4": 0.2, "5": 0.1}


def test_section_that_is_set_has_the_defaults_of_what_was_not_said():
    scenario = capsim.Scenario()
    scenario.tension_ring = {"free_diameter_mm": 12.0}
    assert scenario.tension_ring.wire_diameter_mm == capsim.Scenario(tension_ring={}).tension_ring.wire_diameter_mm
    scenario.mesh = {"level": "coarse"}
    assert (scenario.mesh.around, scenario.mesh.radial) == (24, 4)
    with pytest.raises(AttributeError, match="zonule has no value 'strenght'; did you mean 'strength'"):
        scenario.zonule = {"strenght": 0.5}


def test_changed_copy_leaves_the_original_alone(small):
    scenario = capsim.Scenario.from_dict(small)
    before = scenario.copy()
    other = scenario.with_(
        {"opening.diameter_mm": 4.5, "zonule.strength_by_hour.4": 0.2, "events[0].day": 20}, name="other", lens=None
    )
    assert scenario == before
    assert (other.opening.diameter_mm, other.zonule.strength_by_hour[4], other.events[0].day) == (4.5, 0.2, 20)
    assert (other.name, other.lens) == ("other", None)
    assert other.value_at("events[0].relaxing_cuts.length_mm") == 0.5
    assert set(other.differences(scenario)) == {
        "opening.diameter_mm",
        "zonule.strength_by_hour",
        "events",
        "name",
        "lens",
    }


@pytest.mark.parametrize(
    ("changes", "path", "words"),
    [
        ({"opening.diamter_mm": 4}, "opening.diamter_mm", "did you mean 'diameter_mm'"),
        ({"zonul.strength": 4}, "zonul.strength", "did you mean 'zonule'"),
        ({"tension_ring.gap_hour": 4}, "tension_ring.gap_hour", "null"),
        ({"events[1].day": 4}, "events[1].day", "which has 1"),
        ({"opening.diameter_mm.x": 4}, "opening.diameter_mm.x", "no values inside"),
        ({"opening..x": 4}, "opening..x", "dotted path"),
        ({"opening.diameter_mm": -4}, "opening.diameter_mm", ">= 0.5"),
    ],
)
def test_change_that_leads_nowhere_is_refused(small, changes, path, words):
    with pytest.raises(capsim.ScenarioError) as error:
        capsim.Scenario.from_dict(small).with_(changes)
    assert paths_of(error) == {path}
    assert words in str(error.value)


def test_repr_gives_an_equal_scenario(small):
    for scenario in (
        capsim.Scenario(),
        capsim.Scenario.from_dict(small),
        capsim.Scenario(eye="left", lens=None, tension_ring={"gap_hour": 7}, opening={"diameters_mm": [5, 4]}),
        capsim.Scenario(lens={"haptics": 3}, zonule={"strength_by_hour": {4: 0.2}}, duration_days=30),
    ):
        assert eval(repr(scenario), {"Scenario": capsim.Scenario}) == scenario
    assert repr(capsim.Scenario()) == "Scenario()"


def test_drawing_for_a_notebook_shows_what_is_there():
    drawing = capsim.Scenario(
        name="<b>",
        eye="left",
        tension_ring={},
        zonule={"strength_by_hour": {4: 0.0}},
        events=[{"day": 3, "relaxing_cuts": {"hours": [2, 8]}}],
    )._repr_html_()
    svg = ElementTree.fromstring(drawing[drawing.index("<svg") : drawing.index("</svg>") + 6])
    texts = [text.text for text in svg.iter("{http://www.w3.org/2000/svg}text")]
    assert texts == [*map(str, range(1, 13)), "temporal", "nasal"]  # left eye: 3 o'clock is temporal
    assert "&lt;b&gt;" in drawing and "<b>" not in drawing
    assert "not for treating a patient" in drawing
    bare = capsim.Scenario(lens=None)._repr_html_()
    for colour in (scenario_card._RING, scenario_card._CUT, scenario_card._OPTIC):
        assert colour in drawing and colour not in bare


def test_drawing_survives_values_that_are_not_valid():
    scenario = capsim.Scenario()
    scenario.opening.center_mm = "middle"
    assert "</svg>" in scenario._repr_html_()


def test_scenario_can_not_be_a_key():
    with pytest.raises(TypeError):
        hash(capsim.Scenario())


def test_partial_section_keeps_what_it_does_not_name():
    weak = capsim.Scenario(zonule={"strength": 0.3, "pull_mN": 12}, lens=None)
    changed = weak.with_(zonule={"strength_by_hour": {6: 0}})
    assert changed.zonule.strength == 0.3 and changed.zonule.pull_mN == 12
    assert changed.zonule.strength_by_hour == {6: 0}
    assert weak.with_({"zonule": {"strength": 0.5}}).zonule.pull_mN == 12
    assert changed.with_(zonule={"strength_by_hour": {3: 0.5}}).zonule.strength_by_hour == {3: 0.5}
    assert weak.with_(lens={"optic_diameter_mm": 5.5}).lens.haptics == capsim.Scenario().lens.haptics
    assert weak.with_(mesh={"level": "fine"}).mesh == capsim.Scenario(mesh={"level": "fine"}).mesh
    assert weak.with_(mesh={"radial": 5}).mesh.around == weak.mesh.around


def test_diameter_that_another_form_of_the_opening_hides_is_refused():
    oval = capsim.Scenario(opening={"diameters_mm": [5.2, 4.8]})
    for changes in ({"opening.diameter_mm": 4.5}, {"opening": {"diameter_mm": 4.5}}):
        with pytest.raises(
            capsim.ScenarioError, match="no effect beside opening.diameters_mm; set opening.diameters_mm"
        ):
            oval.with_(changes)
    assert oval.with_(opening={"diameter_mm": 4.5, "diameters_mm": None}).opening.diameter_mm == 4.5
    assert oval.with_({"opening.diameters_mm": [5, 4]}).opening.diameters_mm == [5, 4]


def test_hours_of_numpy_and_pandas_are_hours():
    np = pytest.importorskip("numpy")
    by_hour = {4: 0.2, 5: 0.3}
    given = [{np.int64(hour): value for hour, value in by_hour.items()}]
    pandas = pytest.importorskip("pandas", reason="pandas is not installed: its Series were not tried")
    given.append(pandas.Series(by_hour))
    for hours in given:
        assert capsim.Scenario(zonule={"strength_by_hour": hours}).zonule.strength_by_hour == by_hour
        scenario = capsim.Scenario()
        scenario.zonule.strength_by_hour = hours
        scenario.validate()
        assert scenario.zonule.strength_by_hour == by_hour
        assert capsim.Scenario().with_({"zonule.strength_by_hour": hours}).zonule.strength_by_hour == by_hour
    assert capsim.Scenario(opening={"center_mm": pandas.Series([0.1, 0.2])}).opening.center_mm == [0.1, 0.2]
    scenario.zonule.strength_by_hour[np.int64(7)] = 0.5
    assert scenario.zonule.strength_by_hour[7] == 0.5


def test_right_and_left_are_understood_in_latin_too():
    for text, side in (("OD", "right"), ("os", "left"), ("Right", "right")):
        assert capsim.Scenario(eye=text).eye == side
        assert capsim.Scenario().with_(eye=text).eye == side
        assert capsim.Scenario.from_dict({"format": "capsim-scenario", "version": 1, "eye": text}).eye == side
        scenario = capsim.Scenario()
        scenario.eye = text
        assert scenario.eye == side
    with pytest.raises(capsim.ScenarioError):
        capsim.Scenario(eye="both")


def test_every_field_says_its_default_limits_mark_and_source():
    text = capsim.Scenario().zonule.__class__.pull_mN.__doc__
    assert "Total radial pull on the bag" in text and "Default 22.1 mN; allowed >= 0 and <= 1000. calibrated:" in text
    from capsim.scenario_values import FIELD_FACTS

    described = list(declared_paths(capsim.Scenario(tension_ring={})))
    missing = [path for path in described if path not in FIELD_FACTS and path not in capsim.Scenario._parts]
    assert missing == []
    assert FIELD_FACTS["events[].relaxing_cuts.length_mm"] in capsim.scenario_sections.RelaxingCuts.length_mm.__doc__


def test_constructor_has_every_field_with_its_default_in_its_signature():
    import inspect

    parameters = inspect.signature(capsim.Scenario).parameters
    assert list(parameters) == capsim.Scenario.names()
    for name, parameter in parameters.items():
        assert capsim.Scenario(**{name: parameter.default}) == capsim.Scenario(), name


def test_mirrored_eye_has_its_hours_on_the_other_side():
    right = capsim.Scenario(eye="right", zonule={"strength_by_hour": {4: 0.2}}, opening={"center_mm": [0.3, 0.1]})
    left = right.mirrored()
    assert left.eye == "left" and left.zonule.strength_by_hour == {8: 0.2} and left.opening.center_mm == [-0.3, 0.1]
    assert left.mirrored() == right
