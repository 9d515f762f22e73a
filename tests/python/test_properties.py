# SPDX-License-Identifier: BSD-3-Clause
"""What must hold for every eye, tried on random ones (coarse mesh, four months).

All eyes are invented. The eyes are the same on every run; CAPSIM_SEED=<number> tries others and
CAPSIM_EXAMPLES=<number> more of them. Both are printed with a failure, next to the eye that broke the rule.
When CAPSIM_EVIDENCE_FOLDER names a folder, what held is noted there for the evidence page (tests/evidence/evidence_page.py).

Two rules that one would expect do not hold, and the tests say what holds instead:

* More zonule always leaves the opening larger, but not always less shrunk in percent of its own day 0: a
  stronger zonule also starts with a more widely stretched opening. Over some 600 random pairs percent loss
  rose with the zonule in about one pair in fifty, by at most 0.3 points. The example kept below is the same on a
  mesh of 96 x 12.
* A scaled eye is the same eye only as long as its contact zone is wider than 0.1 mm: below, the zone's edge has a
  softness in millimetres of its own (the last test). The random eyes that are scaled are given one that scales with them.
"""

import copy
import functools
import json
import os
import re
from pathlib import Path

import pytest

hypothesis = pytest.importorskip("hypothesis", reason="Hypothesis (Debian: python3-hypothesis) is not installed")
import capsim  # noqa: E402
from hypothesis import strategies as st  # noqa: E402

SEED = int(os.environ.get("CAPSIM_SEED", "20240"))
EXAMPLES = int(os.environ.get("CAPSIM_EXAMPLES", "0"))

PROPERTIES = Path(__file__).resolve().parent.parent / "evidence" / "properties.json"

# Percent points of area that two runs of the same eye may differ by: the time integrator's tolerance.
TIME_STEPS = 0.01
# The vitreous bed behind the bag has a stiffness of its own, 0.02 mN/mm, which no scenario changes: one part in a
# hundred of the softest zonule here, and that much of a very large loss.
BED = 0.2
# The same for runs on meshes whose lines lie elsewhere (24 x 4 elements).
MESHES = 0.3


def note(test, statement, scenarios, exception=None):
    """A line for the evidence page: the property, how many scenarios were tried, an exception to it if there is one.

    Where no page is being made, an exception must be the one on the page: the same words, and numbers as near as machines are.
    """
    folder = os.environ.get("CAPSIM_EVIDENCE_FOLDER")
    if exception and not folder:
        (committed,) = (p["exception"] for p in json.loads(PROPERTIES.read_text(encoding="utf-8")) if p["name"] == test)
        number = re.compile(r"\d+(?:\.\d+)?")
        assert number.sub("#", exception) == number.sub("#", committed)
        assert [float(n) for n in number.findall(exception)] == pytest.approx(
            [float(n) for n in number.findall(committed)], rel=0.02, abs=0.06
        )
    if folder:
        line = {"name": test, "statement": statement, "scenarios": scenarios, "seed": SEED}
        if exception:
            line["exception"] = exception
        with open(Path(folder) / "properties.jsonl", "a", encoding="utf-8") as file:
            file.write(json.dumps(line) + "\n")


def on_random_eyes(examples, statement):
    """Runs a test on so many random eyes, the same ones every time, and notes for how many `statement` held."""

    def decorate(test):
        held, inner = [], test.hypothesis.inner_test

        @functools.wraps(inner)
        def counted(*args, **kwargs):
            inner(*args, **kwargs)
            held.append(True)

        test.hypothesis.inner_test = counted
        settings = hypothesis.settings(
            max_examples=EXAMPLES or examples,
            deadline=None,
            database=None,
            print_blob=True,
            phases=[hypothesis.Phase.generate, hypothesis.Phase.shrink] if EXAMPLES else [hypothesis.Phase.generate],
            suppress_health_check=list(hypothesis.HealthCheck.all()),
        )
        seeded = hypothesis.seed(SEED)(settings(test))

        @functools.wraps(seeded)
        def noted():
            held.clear()
            seeded()
            assert held, "no random eye got as far as the assertions"
            note(test.__name__, statement, len(held))

        return noted

    return decorate


def between(low, high, steps=200):
    """Numbers that are short to read."""
    return st.integers(0, steps).map(lambda k: round(low + (high - low) * k / steps, 4))


hours = st.integers(1, 12)


@st.composite
def eyes(draw, centred=False, zonule=True):
    stiffness = draw(between(60, 300))
    eye = {
        "format": "capsim-scenario",
        "version": 1,
        "duration_days": 120,
        "output_every_days": 120,
        "mesh": {"around": 24, "radial": 4},
        "opening": {"diameter_mm": draw(between(4, 5.6))},
        "capsule": {
            "modulus_kPa": draw(between(400, 2500)),
            "compression_fraction": draw(st.sampled_from([0.02, 0.05, 0.2])),
        },
        "zonule": {"stiffness_mN_per_mm": stiffness, "pull_mN": min(draw(between(15, 110)), 0.8 * stiffness)},
        "contraction": {
            "cells_left": draw(between(0.3, 1)),
            "chronic_signal": draw(st.sampled_from([0, 0, 0.2])),
            "fibre_modulus_kPa": draw(between(150, 400)),
            "band_width_mm": draw(st.sampled_from([None, 0.3, 0.6, 1.5])),
        },
    }
    if zonule:
        eye["zonule"]["strength"] = draw(between(0.1, 1))
    if draw(st.booleans()):
        eye["lens"] = {"axis_hour": draw(hours), "haptic_force_mN": draw(between(0, 3))}
    else:
        eye["lens"] = None
        eye["contraction"]["contact_diameter_mm"] = 6.0
    if not centred and draw(st.booleans()):
        eye["opening"]["center_mm"] = [draw(between(-0.4, 0.4)), draw(between(-0.4, 0.4))]
    return eye


def changed(eye, **sections):
    """The eye with some values of some sections replaced."""
    other = copy.deepcopy(eye)
    for section, values in sections.items():
        if isinstance(values, dict):
            other.setdefault(section, {}).update(values)
        else:
            other[section] = values
    return other


def is_carried(eye):
    """Whether the capsule can carry the pull; nothing else of these eyes is ever refused."""
    try:
        capsim.Scenario.from_dict(eye)
    except capsim.ScenarioError as error:
        assert [violation.path for violation in error.violations] == ["zonule.pull_mN"], error
        return False
    return True


def run(eye):
    """The run; an eye too soft for its pull has no rest state and is passed over, however long the search for it took."""
    if hypothesis.currently_in_test_context():
        hypothesis.assume(is_carried(eye))
    history = capsim.simulate(eye)
    if hypothesis.currently_in_test_context():
        hypothesis.note(f"CAPSIM_SEED={SEED} CAPSIM_EXAMPLES={EXAMPLES}")
        no_rest = history.status in ("no_equilibrium", "too_much_work") and len(history.day) == 0
        hypothesis.assume(not no_rest)
    assert history.status == "completed", history.message
    return history


def loss_percent(history):
    area = history.opening_area_mm2
    return 100 * (1 - area[-1] / area[0])


@st.composite
def two_zonules(draw):
    """A weaker and a stronger zonule of the same bag: the opening is stated for a healthy zonule."""
    eye = draw(eyes(zonule=False))
    eye["opening"]["measured_under"] = "full_strength_zonule"
    if draw(st.booleans()):
        low, high = sorted([draw(between(0.05, 1)), draw(between(0.05, 1))])
        return changed(eye, zonule={"strength": low}), changed(eye, zonule={"strength": high})
    base, missing = draw(between(0.1, 1)), draw(st.lists(hours, min_size=1, max_size=5, unique=True))
    weak, strong = ({str(h): 0.0 for h in listed} for listed in (missing, missing[1:]))
    return (
        changed(eye, zonule={"strength": base, "strength_by_hour": weak}),
        changed(eye, zonule={"strength": base, "strength_by_hour": strong}),
    )


@on_random_eyes(
    20, "more zonule never leaves a smaller opening, and never adds more than 0.5 points to the loss in percent"
)
@hypothesis.given(two_zonules())
def test_more_zonule_never_leaves_a_smaller_opening(pair):
    weak, strong = (run(eye) for eye in pair)
    slack = 1e-4 * TIME_STEPS * strong.opening_area_mm2[0]
    assert strong.opening_area_mm2[0] >= weak.opening_area_mm2[0] - slack
    assert strong.opening_area_mm2[-1] >= weak.opening_area_mm2[-1] - slack
    # In percent of its own start it may be a little more shrunk.
    assert loss_percent(strong) <= loss_percent(weak) + 0.5


def test_percent_loss_can_rise_with_the_zonule():
    """The example against "more zonule never means more loss": one clock hour more of it."""
    eye = {
        "format": "capsim-scenario",
        "version": 1,
        "duration_days": 120,
        "output_every_days": 120,
        "opening": {"diameter_mm": 4.3, "measured_under": "full_strength_zonule"},
        "capsule": {"modulus_kPa": 1700, "compression_fraction": 0.02},
        "zonule": {"stiffness_mN_per_mm": 160, "pull_mN": 68, "strength": 0.38},
        "contraction": {"cells_left": 0.76, "chronic_signal": 0.2, "fibre_modulus_kPa": 170, "band_width_mm": None},
        "lens": {"axis_hour": 1, "haptic_force_mN": 2.2},
    }
    missing = {"8": 0.0, "12": 0.0, "6": 0.0, "10": 0.0, "1": 0.0}
    weak = run(changed(eye, zonule={"strength_by_hour": missing}))
    del missing["8"]
    strong = run(changed(eye, zonule={"strength_by_hour": missing}))
    assert strong.opening_area_mm2[-1] > weak.opening_area_mm2[-1]
    assert 0 < loss_percent(strong) - loss_percent(weak) < 0.3
    note(
        "test_percent_loss_can_rise_with_the_zonule",
        "more zonule never means more loss in percent of the eye's own day 0",
        1,
        f"4.3 mm opening, zonule 0.38 but none at hours 1, 6, 8, 10 and 12; with hour 8 given back the opening is larger after four months "
        f"({weak.opening_area_mm2[-1]:.2f} to {strong.opening_area_mm2[-1]:.2f} mm2) and has lost more ({loss_percent(weak):.2f} to "
        f"{loss_percent(strong):.2f} %): it starts more widely stretched",
    )


@on_random_eyes(15, "more cells never mean less loss")
@hypothesis.given(eyes(), between(0, 1), between(0, 1))
def test_more_cells_never_mean_less_loss(eye, one, other):
    few, many = sorted([one, other])
    less, more = (loss_percent(run(changed(eye, contraction={"cells_left": cells}))) for cells in (few, many))
    assert more >= less - TIME_STEPS


@on_random_eyes(15, "cells polished away at one clock hour never mean more loss")
@hypothesis.given(eyes(), hours)
def test_cells_polished_away_at_one_hour_never_mean_more_loss(eye, hour):
    all_round = loss_percent(run(eye))
    polished = loss_percent(run(changed(eye, contraction={"cells_left_by_hour": {str(hour): 0.0}})))
    assert polished <= all_round + TIME_STEPS


@st.composite
def cut_eyes(draw):
    """An eye and where to cut it; the longest cut that is planned ends 0.5 mm inside the equator."""
    eye = draw(eyes())
    eye.update(duration_days=90, output_every_days=90)
    offset = eye["opening"].get("center_mm", [0, 0])
    leaf = 5.15 - 0.5 * eye["opening"]["diameter_mm"] - (offset[0] ** 2 + offset[1] ** 2) ** 0.5
    return eye, draw(st.lists(hours, min_size=1, max_size=4, unique=True)), leaf - 0.5


def cut(eye, at, length):
    """Area before and after, and on the last day; energy before and after."""
    history = run(changed(eye, events=[{"day": 60, "relaxing_cuts": {"hours": at, "length_mm": length}}]))
    after = list(history.event_side).index(1)
    assert history.event_side[after - 1] == -1
    area, energy = history.opening_area_mm2, history.energy_uJ
    return {
        "relief": area[after] - area[after - 1],
        "last": area[-1],
        "before": energy[after - 1],
        "after": energy[after],
        "cross": history.lips_cross.max() > 0,
    }


@on_random_eyes(
    10,
    "longer cuts give back more area, at once and 30 days later, until 0.5 mm inside the equator; cutting lowers the energy",
)
@hypothesis.given(cut_eyes(), between(0.2, 1, 20), between(0.1, 0.9, 20))
def test_relief_grows_with_the_length_of_the_cuts(cut_eye, share, part):
    eye, at, longest = cut_eye
    hypothesis.assume(longest * share * min(part, 1 - part) > 0.1)  # long enough, and different enough
    short, long = (cut(eye, at, longest * share * f) for f in (part, 1))
    hypothesis.assume(not short["cross"] and not long["cross"])
    assert long["relief"] > short["relief"] > 0
    assert long["last"] > short["last"]
    # A cut takes away a constraint: the eye can only come to rest lower.
    for made in (short, long):
        assert made["after"] < made["before"]


@on_random_eyes(6, "a cut never raises the energy at rest, on day 0 or 30")
@hypothesis.given(cut_eyes(), between(0.2, 1, 20))
def test_no_cut_ever_raises_the_energy_on_any_day(cut_eye, share):
    eye, at, longest = cut_eye
    for day in (0, 30):
        planned = [{"day": day, "relaxing_cuts": {"hours": [h], "length_mm": longest * share}} for h in at[:1]]
        history = run(changed(eye, events=planned))
        after = list(history.event_side).index(1)
        assert history.energy_uJ[after] <= history.energy_uJ[after - 1]


def scaled(eye, length, modulus):
    """The same eye of another size and stiffness: lengths times `length`, moduli times `modulus`."""
    per_length, force = length * modulus, length * length * modulus
    factors = {
        "opening": {"diameter_mm": length},
        "capsule": {"modulus_kPa": modulus},
        "zonule": {"stiffness_mN_per_mm": per_length, "pull_mN": force},
        "lens": {"haptic_force_mN": force},
        "contraction": {"fibre_modulus_kPa": modulus, "band_width_mm": length, "contact_diameter_mm": length},
    }
    other = changed(
        eye,
        bag={"equator_diameter_mm": 10.3 * length},
        capsule={"anterior_thickness_um": 14 * length, "posterior_thickness_um": 5 * length},
        zonule={"ciliary_ring_diameter_mm": 12.4 * length},
        contraction={
            "matrix_modulus_kPa": 20 * modulus,
            "tissue_thickness_mm": 0.05 * length,
            "edge_width_mm": 0.05 * length,
        },
    )
    if eye["lens"]:
        other["lens"].update(optic_diameter_mm=6 * length, overall_diameter_mm=13 * length)
    for section, values in factors.items():
        for key, factor in values.items():
            if eye.get(section) and eye[section].get(key) is not None:
                other[section][key] = eye[section][key] * factor
    if "center_mm" in eye["opening"]:
        other["opening"]["center_mm"] = [v * length for v in eye["opening"]["center_mm"]]
    return other


@on_random_eyes(15, "all stiffnesses times 0.4 to 3: the same loss to 0.2 points, the same centre to 0.002 mm")
@hypothesis.given(eyes(), between(0.4, 3))
def test_an_eye_in_which_everything_is_stiffer_behaves_the_same(eye, modulus):
    here, there = run(scaled(eye, 1, 1)), run(scaled(eye, 1, modulus))
    assert loss_percent(there) == pytest.approx(loss_percent(here), abs=BED)
    assert there.opening_center_mm[-1] == pytest.approx(here.opening_center_mm[-1], abs=2e-3)
    assert there.zonule_load_total_mN[-1] == pytest.approx(modulus * here.zonule_load_total_mN[-1], rel=0.01)


@on_random_eyes(
    12,
    "all lengths times 0.6 to 1.45, stiffnesses times 0.4 to 3: the same loss to 0.3 points, the same centre to 0.01 of the length",
)
@hypothesis.given(eyes(), between(0.6, 1.45), between(0.4, 3))
def test_an_eye_of_another_size_behaves_the_same(eye, length, modulus):
    """As far as the limits of a scenario go (10 times the size is no eye), and to the meshes' errors: lines are placed by mm."""
    here, there = run(scaled(eye, 1, 1)), run(scaled(eye, length, modulus))
    assert loss_percent(there) == pytest.approx(loss_percent(here), abs=MESHES)
    assert there.opening_area_mm2[0] == pytest.approx(length**2 * here.opening_area_mm2[0], rel=1e-3)
    assert there.opening_center_mm[-1] / length == pytest.approx(here.opening_center_mm[-1], abs=0.01)


def test_the_edge_of_a_narrow_contact_zone_scales_with_the_eye():
    """Down to a hundredth of a millimetre of contact the zone's edge is sharp."""
    eye = {
        "format": "capsim-scenario",
        "version": 1,
        "duration_days": 120,
        "output_every_days": 120,
        "mesh": {"around": 24, "radial": 4},
        "opening": {"diameter_mm": 5.6},
        "capsule": {"modulus_kPa": 830},
        "zonule": {"stiffness_mN_per_mm": 150, "pull_mN": 40},
        "lens": None,
        "contraction": {"contact_diameter_mm": 5.75, "fibre_modulus_kPa": 300, "band_width_mm": None},
    }

    def losses(contact):
        here = changed(eye, contraction={"contact_diameter_mm": contact})
        own, larger = scaled(here, 1, 1), scaled(here, 1.4, 1)
        for either in (own, larger):
            either["contraction"]["edge_width_mm"] = 0  # the library's own edge
        return loss_percent(run(own)), loss_percent(run(larger))

    for contact in (6.4, 5.75, 5.64):  # 0.4, 0.075 and 0.02 mm
        own, larger = losses(contact)
        assert own > 0 and larger == pytest.approx(own, abs=MESHES / 10)
    note(
        "test_the_edge_of_a_narrow_contact_zone_scales_with_the_eye",
        "contact of rim and optic of 0.4, 0.075 and 0.02 mm, all lengths times 1.4: the same loss to 0.03 points",
        3,
    )
