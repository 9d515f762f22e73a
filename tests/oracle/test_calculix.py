# SPDX-License-Identifier: BSD-3-Clause
"""The library against CalculiX, a general-purpose finite-element solver.

Where the solver is not installed its recorded answers stand in for it, and the tests that run it are skipped.
CAPSIM_BENCH_LEAF names the tool that solves the cases with the library's own parts.
"""

import copy
import math
import os

import calculix
import compare
import deck as decks
import measure
import pytest

# CalculiX prints seven digits; from them the answers are the same on every machine but for the last one.
SAME_ANSWER = 1e-5
# Between a row of the record and the library of today, in units of the row's difference.
SAME_ROW = 2e-5

CASES = {case["id"]: case for case in compare.cases()}
needs_solver = pytest.mark.skipif(
    calculix.executable() is None, reason="CalculiX (Debian: calculix-ccx) is not installed"
)


@pytest.fixture(scope="session")
def ours():
    return compare.library(os.environ["CAPSIM_BENCH_LEAF"])


@pytest.fixture(scope="session")
def record():
    return compare.recorded()


@needs_solver
@pytest.mark.parametrize("name", CASES)
def test_library_agrees_with_calculix(name, ours, record, tmp_path):
    theirs = compare.solve(CASES[name], tmp_path)
    found = compare.rows(CASES[name], ours[name], theirs)
    print(compare.show(found))
    assert all(row["passed"] for row in found), compare.show(found)
    # The record that stands in for the solver elsewhere is what it answers here.
    kept = record["answers"][name]
    for key in theirs.keys() - {"rim_mm", "lips_mm"}:
        assert theirs[key] == pytest.approx(kept[key], rel=SAME_ANSWER, abs=SAME_ANSWER), key
    for key in ("rim_mm", "lips_mm"):
        for k, place in theirs[key].items():
            assert math.dist(place, kept[key][k]) < SAME_ANSWER, (key, k)


@pytest.mark.parametrize("name", CASES)
def test_library_agrees_with_recorded_answers_of_calculix(name, ours, record):
    found = compare.rows(CASES[name], ours[name], record["answers"][name])
    assert found
    assert all(row["passed"] for row in found), compare.show(found)


def test_recorded_table_is_that_of_the_library_today(ours, record):
    today = compare.table(record["answers"], ours)
    assert [(r["case"], r["quantity"]) for r in today] == [(r["case"], r["quantity"]) for r in record["rows"]]
    for now, then in zip(today, record["rows"]):
        assert now["difference"] == pytest.approx(then["difference"], abs=SAME_ROW), (now, then)
        assert now["tolerance"] == then["tolerance"] and then["passed"]


@pytest.mark.parametrize("name", CASES)
def test_a_wrong_answer_is_a_miss(name, ours, record):
    """Every row notices when the library's value moves by twice its tolerance."""
    case, theirs = CASES[name], record["answers"][name]
    start = compare.start_area(case)
    for row in compare.rows(case, ours[name], theirs):
        wrong = copy.deepcopy(ours[name])
        step = 2 * row["tolerance"] + row["difference"]
        if row["quantity"] == "area":
            wrong["area_mm2"] *= 1 + step
        elif row["quantity"] == "change of area":
            wrong["area_mm2"] += step * (wrong["area_mm2"] - start)
        elif row["quantity"] == "centroid":
            wrong["center_mm"][0] += 1.01 * step * row["difference_unit"]
        elif row["unit"] == "mN":
            key = {
                "pull of the support": "pull_mN",
                "its first harmonic": "pull_cos_mN",
                "its second harmonic": "pull_cos2_mN",
            }
            wrong[key[row["quantity"]]] += 1.01 * step * row["difference_unit"]
        elif row["quantity"].startswith("lip"):
            for lip in wrong["lips_mm"]:
                lip[1] += 1.01 * step * row["difference_unit"]
        else:
            wrong["rim_mm"][sorted(theirs["rim_mm"])[1]][1] += 1.01 * step * row["difference_unit"]
        again = {r["quantity"]: r for r in compare.rows(case, wrong, theirs)}
        assert not again[row["quantity"]]["passed"], row


def test_measures_of_a_circle_and_a_slit():
    """A half circle of radius 2 about (0.3, 0), and a slit on its first ray: worked by hand."""
    n = 48
    deck = decks.Deck("", sector_deg=180)
    places = {}
    for k in range(2 * n + 1):
        t = math.pi * k / (2 * n)
        places[k] = (0.3 + 2 * math.cos(t), 2 * math.sin(t))
    deck.rim, deck.rays = list(range(2 * n + 1)), [math.pi * k / n for k in range(n + 1)]
    area, center = measure.opening(deck, places.get)
    assert area == pytest.approx(4 * math.pi, rel=1e-7)
    assert center == pytest.approx(0.3, abs=1e-7)
    assert measure.rim_point(deck, places.get, 1.0) == pytest.approx(
        (0.3 + 2 * math.cos(1.0), 2 * math.sin(1.0)), abs=1e-5
    )
    # The rim's first node lifted, tip on the axis at 3: a thin triangle (2.3, 0.1), (2.65, 0.05), (3, 0) is added,
    # and its image; the first edge of the rim bends with its end.
    deck.rim, deck.slits = [100, *range(1, 2 * n + 1)], {0.0: [100, 101, 102]}
    places.update({100: (2.3, 0.1), 101: (2.65, 0.05), 102: (3.0, 0.0)})
    bent = [places[100], places[1], places[2]]
    straight = sum(
        w * (lambda p, d: 0.5 * (p[0] * d[1] - p[1] * d[0]))(*measure.on_edge(*bent, t)) for t, w in measure.GAUSS
    )
    first = sum(
        w * (lambda p, d: 0.5 * (p[0] * d[1] - p[1] * d[0]))(*measure.on_edge(places[0], places[1], places[2], t))
        for t, w in measure.GAUSS
    )
    with_slit, _ = measure.opening(deck, places.get)
    assert with_slit - area == pytest.approx(2 * (straight - first + 0.5 * 3.0 * 0.1), rel=1e-9)


def test_numbers_of_a_deck_fit_the_columns_that_are_read():
    for case in CASES.values():
        for line in decks.write(case).text.splitlines():
            if not line.startswith("*"):
                assert all(len(word.strip()) <= 20 for word in line.split(",")), line
