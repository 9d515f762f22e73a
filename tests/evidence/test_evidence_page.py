# SPDX-License-Identifier: BSD-3-Clause
"""The evidence page says what comes out today, and leaves no worked case out.

CAPSIM_BUILD_DIR names the folder with the built C++ tests.
"""

import copy
import re

import evidence_page as page
import evidence_records as records
import evidence_tables as tables
import fresh_evidence
import pytest

ROOT = records.ROOT


@pytest.fixture(scope="module")
def committed():
    return records.read(page.COMPARISONS)


def test_every_worked_case_is_compared_or_says_why_not(committed):
    compared = {row["id"] for row in committed if row["table"] == "case"}
    assert compared.isdisjoint(tables.NOT_COMPARED)
    assert compared | set(tables.NOT_COMPARED) == set(records.case_ids())
    assert all(len(reason) > 10 for reason in tables.NOT_COMPARED.values())


def test_comparisons_of_today_are_the_committed_ones(committed):
    assert records.moved(committed, fresh_evidence.fresh_comparisons()) == []


def reports(text, helpers=()):
    return re.search(r"(?<![\w:.])(" + "|".join(["compare", "note_property", *helpers]) + r")\(", text) is not None


def test_every_test_that_compares_has_the_tag_by_which_it_is_found():
    """A comparison outside of tests tagged [evidence] would be missing from the page without anybody noticing."""
    found = 0
    for source in sorted((ROOT / "tests" / "cpp").glob("test_*.cpp")):
        shared, *tests = re.split(r"^TEST_CASE\(", source.read_text(encoding="utf-8"), flags=re.MULTILINE)
        functions = re.findall(
            r"^\w[\w:<>&* ]* (\w+)\((?:[^;{]|\{\})*\{\n(.*?)^\}", shared, flags=re.MULTILINE | re.DOTALL
        )
        helpers = [name for name, body in functions if reports(body)]
        if '#include "capsim/study.hpp"' in shared:
            continue  # compares plans, by a function of that name
        for test in tests:
            if reports(test, helpers):
                assert "[evidence]" in test.split("{")[0], f"{source.name}: {test.split(chr(34))[1]}"
                found += 1
    assert found > 30


def test_page_shows_the_committed_records():
    assert page.PAGE.read_text(encoding="utf-8") == page.text(*page.records()), (
        "run python3 tests/evidence/evidence_page.py --text"
    )


def changes(row):
    step = 2 * records.DRIFT * records.allowed(row)
    return [
        {"value": row["value"] + step},
        {"value": row["value"] - step},
        {"passed": not row["passed"]},
        {"limit": 2 * row["limit"] + 1e-6},
    ]


def test_a_moved_number_or_verdict_of_any_row_is_noticed(committed):
    for k, row in enumerate(committed):
        for change in changes(row):
            other = [*committed[:k], {**row, **change}, *committed[k + 1 :]]
            assert len(records.moved(committed, other)) >= 1, (row, change)


def test_a_row_more_or_less_is_noticed(committed):
    assert records.moved(committed, committed) == []
    assert len(records.moved(committed, committed[1:])) == 1
    assert len(records.moved(committed[1:], committed)) == 1


def test_verdicts_follow_from_the_committed_numbers(committed):
    for row in committed:
        assert row["passed"] == (records.off_share(row) <= 1), row
        assert bool(row["miss"]) != row["passed"], row


def test_noise_below_the_tolerance_does_not_change_the_records(committed):
    near = [{**row, "value": row["value"] + 0.5 * records.KEPT * records.allowed(row)} for row in committed]
    assert records.kept(committed, near) == committed


def test_misses_stand_on_the_page_as_plainly_as_hits():
    comparisons, solver, claims, properties = copy.deepcopy(page.records())
    text = page.text(comparisons, solver, claims, properties)
    cases = [r for r in comparisons if r["table"] == "case"]
    cases[0].update(value=2 * cases[0]["expected"], passed=False, miss="invented")
    solver["rows"][0]["passed"] = False
    worse = page.text(comparisons, solver, claims, properties)
    assert worse.count("**miss**") == text.count("**miss**") + 2
    for claim in claims:
        for answer in claim["answers"].values():
            assert answer["verdict"] == "pass" or claim["likely"] in text
    for row in comparisons:
        assert row["miss"] in worse
    assert page.CAUTION in text


def test_properties_on_the_page_are_those_of_the_tests():
    source = "".join(
        (ROOT / "tests" / name).read_text(encoding="utf-8")
        for name in ("python/test_properties.py", "cpp/test_properties.cpp")
    )
    source = re.sub(r'"\s*\n\s*"', "", source)  # long strings stand on several lines
    properties = records.read(page.PROPERTIES)
    for entry in properties:
        assert entry["name"] in source and entry["statement"] in source, entry
    python = {line[4:].split("(")[0] for line in source.splitlines() if line.startswith("def test_")}
    cpp = {line.split('"')[1] for line in source.splitlines() if line.startswith('TEST_CASE("')}
    assert {entry["name"] for entry in properties} == python | cpp


def test_what_was_tried_beyond_stays_only_with_the_same_statement():
    old = [{"name": "a", "statement": "s", "scenarios": 3, "seed": 1}]
    more = records.explored(old, [{"name": "a", "statement": "s", "scenarios": 90, "seed": 7}])
    assert more[0]["explored"] == {"scenarios": 90, "seeds": [7]}
    assert (
        records.explored(more, [{"name": "a", "statement": "s", "scenarios": 90, "seed": 7}]) == more
    )  # not counted twice
    assert records.with_explored(more, old) == more
    assert "explored" not in records.with_explored(more, [{**old[0], "statement": "another"}])[0]
