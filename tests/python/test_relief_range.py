# SPDX-License-Identifier: BSD-3-Clause
"""How far relief by cuts can be off, as Python tells it; the command line is in test_command_line.py."""

import capsim
import pytest

EYE = {
    "format": "capsim-scenario",
    "version": 1,
    "duration_days": 60,
    "mesh": {"around": 24, "radial": 4},
    "zonule": {"strength": 0.3},
    "events": [{"day": 30, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}],
}


@pytest.fixture(scope="module")
def found():
    return capsim.relief_range(EYE)


def test_range_is_that_of_single_runs_under_every_law(found):
    eyes = capsim.population("age_related_cataract")
    for row, (law, eye) in enumerate(eyes.under_every_law(capsim.Scenario.from_dict(EYE)).items()):
        assert found.laws[row] == law
        for column, factor in enumerate((0.5, 1, 1.5)):
            longer = eye.with_(events=[{"day": 30, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5 * factor}}])
            one = capsim.outcomes(capsim.simulate(longer))
            assert found.status[row, column] == "completed"
            for name in ("relief_day_30_percent", "relief_kept_day_30_mm2", "area_loss_percent"):
                assert found.values[name][row, column] == one[name]
    low, high = found.range("relief_day_30_percent")
    assert 0 < low < high
    assert (found.values["relief_day_30_percent"].min(), found.values["relief_day_30_percent"].max()) == (low, high)
    with pytest.raises(capsim.ArgumentError, match="relief_day_30_percent"):
        found.range("relief")


def test_cautions_stand_beside_the_range(found):
    words = str(found)
    assert all(caution in words for caution in capsim.outcomes(capsim.simulate(EYE)).cautions)
    assert found.flag.text in words


def test_a_run_without_cuts_has_no_range():
    with pytest.raises(capsim.ArgumentError, match="relaxing_cuts"):
        capsim.relief_range({**EYE, "events": []})
