# SPDX-License-Identifier: BSD-3-Clause
"""The populations say to the fitted rows what their files claim, and the scoreboard is what the page shows."""

import json

import pytest

pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no clinical scoreboard")
pytest.importorskip("xarray", reason="xarray is not installed: no clinical scoreboard")
pytest.importorskip("matplotlib", reason="matplotlib is not installed: no clinical page")

import calibrate
import capsim
import cohorts
import page
import scoreboard

ANOTHER_MACHINE = 0.02  # relative; the same numbers on the same machine, near those on another


def test_a_validation_row_can_not_be_fitted_to():
    with pytest.raises(LookupError, match="JOO96 .* is a validate row and may not be used to calibrate"):
        cohorts.row("JOO96", "calibrate")


def test_every_validation_row_has_a_claim():
    said = {id_ for claim in scoreboard.claims() for id_ in claim.rows}
    assert said == {row.id for row in cohorts.rows() if row.role == "validate"}


def test_every_calibration_row_is_fitted_or_named_as_left_out():
    explained = calibrate.__doc__ + "".join(
        fact["row"]
        for content in contents().values()
        for facts in content["provenance"]["fitted_to"].values()
        for fact in facts
    )
    assert [row.id for row in cohorts.rows() if row.role == "calibrate" and row.id.split("-")[0] not in explained] == []


def contents():
    return {file.stem: json.loads(file.read_text(encoding="utf-8")) for file in calibrate.FOLDER.glob("*.json")}


def test_the_folder_holds_the_shipped_populations():
    assert set(contents()) == set(capsim.population_names())


@pytest.mark.parametrize("law", list(calibrate.LAWS))
def test_model_says_to_the_fitted_rows_what_the_files_claim(law):
    files = contents()
    for name, facts in calibrate.facts_of(files, calibrate.LAWS[law]).items():
        claimed = {(f["row"], f["quantity"]): f["model"] for f in files[name]["provenance"]["fitted_to"][law]}
        for fact in facts:
            assert fact["model"] == pytest.approx(
                claimed[fact["row"], fact["quantity"]], rel=ANOTHER_MACHINE, abs=0.005
            ), (name, fact)


@pytest.mark.parametrize("law", list(calibrate.LAWS))
def test_upper_bounds_and_signs_of_the_other_fitted_cohorts_hold(law):
    normal = calibrate.Normal.as_in(contents()["age_related_cataract"], calibrate.LAWS[law])
    loss, _ = normal.cohort.loss(1, 6 * calibrate.MONTH, normal.median, normal.sd)
    assert loss < 10  # HAY98PE-CTL
    lasered = normal.cohort.share_below(calibrate.LASER_CLEAR_MM, 12 * calibrate.MONTH, normal.median, normal.sd)
    assert (1 - lasered / 100) ** 100 > 0.05  # none of the 100 eyes of HAY98RP-CTL and HAY98PE-CTL


def test_scoreboard_is_the_one_that_is_committed():
    committed = json.loads(scoreboard.RECORD.read_text(encoding="utf-8"))
    assert scoreboard.drifted(committed, scoreboard.record(scoreboard.score())) == []


def test_a_changed_verdict_or_number_is_noticed():
    committed = json.loads(scoreboard.RECORD.read_text(encoding="utf-8"))
    for change in ({"verdict": "miss"}, {"number": -99.0}):
        other = json.loads(json.dumps(committed))
        other[0]["answers"]["fibre_remodelling"].update(change)
        assert len(scoreboard.drifted(committed, other)) == 1


def test_page_shows_the_committed_scoreboard():
    committed = json.loads(scoreboard.RECORD.read_text(encoding="utf-8"))
    assert (page.DOC / "clinical.md").read_text(encoding="utf-8") == page.text(committed)
    assert page.CAUTION in page.text(committed)
