# SPDX-License-Identifier: BSD-3-Clause
"""The populations say to the fitted rows what their files claim, and the scoreboard is what the page shows."""

import json

import pytest

pytest.importorskip("scipy.optimize", reason="SciPy is not installed: no clinical scoreboard")
pytest.importorskip("xarray", reason="xarray is not installed: no clinical scoreboard")
pytest.importorskip("matplotlib", reason="matplotlib is not installed: no clinical page")

import arms
import calibrate
import calibrate_bag
import capsim
import claims
import cohorts
import fitted_rows
import numpy as np
import page
import population_files
import scoreboard
import stand_in
import verdicts

ANOTHER_MACHINE = 0.02  # relative; the same numbers on the same machine, near those on another


def test_a_validation_row_can_not_be_fitted_to():
    with pytest.raises(LookupError, match="JOO96 .* is a validate row and may not be used to calibrate"):
        cohorts.row("JOO96", "calibrate")


def test_every_validation_row_has_a_claim():
    said = {id_ for claim in claims.claims() for id_ in claim.rows}
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
    return {file.stem: json.loads(file.read_text(encoding="utf-8")) for file in population_files.FOLDER.glob("*.json")}


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
    loss, _ = normal.cohort.loss(1, 6 * fitted_rows.MONTH, normal.median, normal.sd)
    assert loss < 10  # HAY98PE-CTL
    lasered = normal.cohort.share_below(fitted_rows.LASER_CLEAR_MM, 12 * fitted_rows.MONTH, normal.median, normal.sd)
    assert (1 - lasered / 100) ** 100 > 0.05  # none of the 100 eyes of HAY98RP-CTL and HAY98PE-CTL


def test_scoreboard_is_the_one_that_is_committed():
    """Of the rim alone; a whole bag takes minutes: `python3 tests/clinical/scoreboard.py --check` compares all."""
    committed = json.loads(scoreboard.RECORD.read_text(encoding="utf-8"))
    rim = [voice for voice, (_, whole_bag) in arms.VOICES.items() if not whole_bag]
    assert scoreboard.drifted(committed, scoreboard.record(scoreboard.score(rim))) == []


def test_every_voice_is_in_the_committed_scoreboard():
    committed = json.loads(scoreboard.RECORD.read_text(encoding="utf-8"))
    assert all(set(claim["answers"]) == {*arms.VOICES, stand_in.NAME} for claim in committed)


@pytest.mark.parametrize("name", list(calibrate_bag.DESCRIPTIONS))
def test_middle_eye_whose_bag_contracts_is_the_one_of_its_file(name):
    content = contents()[name + arms.WHOLE_BAG]
    for law in calibrate_bag.LAWS:
        claimed = content["provenance"]["middle_eye"][law]
        assert calibrate_bag.middle_eye(content, law) == pytest.approx(claimed, rel=ANOTHER_MACHINE, abs=0.02), law


def test_stand_in_is_made_without_any_validation_row(monkeypatch):
    made = {name: kind() for name, kind in stand_in.KINDS.items()}, stand_in.bag(False), stand_in.bag(True)
    kept = [row for row in cohorts.rows() if row.role == "calibrate"]
    monkeypatch.setattr(cohorts, "rows", lambda: kept)
    for cached in (*stand_in.KINDS.values(), stand_in.bag):
        cached.cache_clear()
    assert ({name: kind() for name, kind in stand_in.KINDS.items()}, stand_in.bag(False), stand_in.bag(True)) == made


def test_stand_in_says_to_the_fitted_rows_what_they_publish():
    course = [stand_in.course(months) for months in (1 / fitted_rows.MONTH, 1, 3, 6, 12)]
    assert course == pytest.approx([0, *fitted_rows.published_shape(), 1, 1])
    weak = stand_in.amplitudes(*stand_in.pseudoexfoliation())
    assert stand_in.loss(weak, 1 / fitted_rows.MONTH, 6).mean() == pytest.approx(25, abs=0.1)  # HAY98PE-PE
    assert stand_in.loss(stand_in.amplitudes(*stand_in.polished()), 7 / fitted_rows.MONTH, 3).mean() == pytest.approx(
        1.9, abs=0.01
    )  # HAN06-ASP
    normal = stand_in.loss(stand_in.amplitudes(*stand_in.normal()), 1 / fitted_rows.MONTH, 6)
    assert 4.6 < normal.mean() < 8.8  # between HAY98RP-CTL and HAY01-ACR, two of the five means that it weighs


def test_a_study_counts_once_however_many_claims_it_has():
    def claim(study, model, other):
        answers = {"law": {"verdict": model}, stand_in.NAME: {"verdict": other}}
        return {"rows": [study], "answers": answers}

    found = [claim("A-1", "pass", "miss"), claim("A-2", "pass", "pass"), claim("A-3", "miss", "sign")]
    found += [claim("B-1", "sign", "miss"), claim("C-1", "not modelled", "not modelled"), claim("D-1", "pass", "pass")]
    better, worse, studies = scoreboard.compared(found, "law")
    assert (better, worse, studies) == (pytest.approx(1 / 3 + 1), pytest.approx(1 / 3), 3)


def test_power_of_a_trial_is_that_of_the_two_sided_test():
    assert verdicts.Trial(0, 1).power == pytest.approx(0.05, abs=1e-3)
    seen = verdicts.Trial(1, 2).seen
    assert verdicts.Trial(seen, 2).power == pytest.approx(0.8, abs=2e-3)
    draws = np.random.default_rng(3).normal(1.3, 1, 200_000)
    assert verdicts.Trial(1.3, 1).power == pytest.approx(np.mean(np.abs(draws) > 1.96), abs=4e-3)


@pytest.mark.parametrize("eyes", [32, 64, 128])
def test_verdict_on_a_ring_s_eyes_does_not_hang_on_the_number_of_eyes_that_are_run(monkeypatch, eyes):
    monkeypatch.setattr(verdicts, "EYES", eyes)
    assert verdicts.count(round(0.03 * eyes) / eyes, 0, 26) > 0.05
    assert verdicts.count(0.25, 0, 26) < 0.05


def test_a_claim_that_both_arms_answer_alike_is_not_scored_as_an_absence():
    committed = json.loads(scoreboard.RECORD.read_text(encoding="utf-8"))
    blind = [c["says"] for c in committed if c["kind"] == "none" for a in c["answers"].values() if a["number"] == 0]
    assert blind == []


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
