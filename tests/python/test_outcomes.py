# SPDX-License-Identifier: BSD-3-Clause
"""Outcomes in Python: a mapping of numbers with units, and the cautions that go with them."""

from collections.abc import Mapping

import capsim
import pytest


@pytest.fixture
def result(history):
    return capsim.outcomes(history)


def test_outcomes_are_a_mapping_of_floats(result):
    assert isinstance(result, Mapping)
    assert len(result) == len(list(result)) == len(dict(result)) > 0
    for name, value in result.items():
        assert isinstance(value, float), name
    assert "nothing" not in result
    with pytest.raises(KeyError):
        result["nothing"]


def test_every_outcome_has_a_unit_and_a_description(result):
    assert set(result.units) == set(result.descriptions) == set(result)
    assert all(result.units.values()) and all(result.descriptions.values())


def test_area_loss_is_that_of_the_history(history, result):
    loss = 100 * (1 - history.opening_area_mm2[-1] / history.opening_area_mm2[0])
    assert result["area_loss_percent"] == pytest.approx(loss, rel=1e-9, abs=1e-9)
    assert result.units["area_loss_percent"] == "%"


def test_cautions_name_research_and_the_risks_of_cuts(result, small):
    assert any("research and teaching" in caution.lower() for caution in result.cautions)
    assert any("detachment" in caution for caution in result.cautions)
    del small["events"]
    without_cuts = capsim.outcomes(capsim.simulate(small))
    assert any("research and teaching" in caution.lower() for caution in without_cuts.cautions)
    assert not any("detachment" in caution for caution in without_cuts.cautions)


def test_flags_have_code_and_text(result):
    for flag in result.flags:
        assert flag.code and flag.text
        assert result.has_flag(flag.code)
    assert not result.has_flag("no such flag")


def test_text_shows_numbers_units_and_cautions(result):
    text = str(result)
    assert all(name in text for name in result)
    assert all(caution in text for caution in result.cautions)


def test_partial_run_has_outcomes(small):
    partial = capsim.simulate(small, progress=lambda progress: progress.day < 15)
    assert partial.status == "cancelled"
    assert "area_loss_percent" in capsim.outcomes(partial)


def test_margin_to_runaway_comes_with_its_meaning_and_falls_with_contraction():
    eye = capsim.Scenario(mesh={"around": 12, "radial": 2}, duration_days=90, zonule={"strength": 0.3})
    margins = []
    for modulus in (200, 800):
        scenario = eye.with_({"contraction.fibre_modulus_kPa": modulus})
        history, found = capsim.outcomes_with_margin(scenario)
        assert history.opening_area_mm2[-1] == capsim.simulate(scenario).opening_area_mm2[-1]
        assert found["area_loss_percent"] == capsim.outcomes(history)["area_loss_percent"]
        assert (
            "nine tenths" in found.descriptions["runaway_margin"] or "runs away" in found.descriptions["runaway_margin"]
        )
        margins.append(found["runaway_margin"])
    assert 1 <= margins[1] < margins[0]
    assert "runaway_margin" not in capsim.outcomes_with_margin(eye.with_({"contraction.cells_left": 0}))[1]
