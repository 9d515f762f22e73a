# SPDX-License-Identifier: BSD-3-Clause
"""The clinical scoreboard: every row marked `validate`, what the model says to it, and whether they agree.

    python3 tests/clinical/scoreboard.py           writes libcapsim/doc/clinical.md, its picture and tests/evidence/clinical.json
    python3 tests/clinical/scoreboard.py --check   fails when a committed number or verdict is not what comes out

Nothing here is fitted. Each arm of a trial is a population of the library (fitted to other rows, see
calibrate.py) with the trial's own settings; 64 eyes, the same in every arm (arms.py). A difference is judged as
the trial judged it: z is the model's mean difference over the standard error that a trial of that many
eyes would have, its 3 % measuring error included.

  published a difference   pass: same sign and z at least 1.96; sign: same sign, too small to be seen; miss: otherwise
  published none           pass: |z| below 1.96, such a trial would not see the model's difference either; miss: otherwise;
                           beside it the power of such a trial at the model's difference, and what it sees 4 times in 5
  published a number       pass: within two standard errors, 1.5 points between studies included; miss: otherwise
  published a count        pass: not in the outer 5 % of what such a trial would count, 64 eyes known of the share; miss: otherwise

A claim that the model can not fail, since nothing in it bears on the claim, is "not modelled". The third voice is a
stand-in without mechanics (stand_in.py). Where it gets the same verdict, mechanics has shown nothing; the headline
counts the claims on which the two differ, each study once.
"""

from __future__ import annotations

import argparse
import json
import math
import sys
from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import asdict, dataclass, field
from pathlib import Path
from typing import Any

import numpy as np
import stand_in
from arms import ARMS, EYES, VOICES, Arm, Array, Eyes
from cohorts import row, rows
from eyes import AREA_ERROR
from fitted_rows import BETWEEN_STUDIES, LASER_CLEAR_MM, MONTH, UNKNOWN_SD
from scipy.stats import betabinom, norm

ROOT = Path(__file__).resolve().parent.parent.parent
RECORD = ROOT / "tests" / "evidence" / "clinical.json"
DIAMETER_ERROR = 0.005  # of one measured bag diameter, relative; assumed

AREA_NOISE = 100 * AREA_ERROR * math.sqrt(2)
BAG_NOISE = 100 * DIAMETER_ERROR * math.sqrt(2)


SEEN = 1.96
OFTEN = 0.84
"""Normal quantile of 4 in 5."""


@dataclass(frozen=True)
class Trial:
    """A difference, and the standard error that a trial of so many eyes would give it."""

    difference: float
    error: float

    @property
    def z(self) -> float:
        return self.difference / self.error

    @property
    def power(self) -> float:
        """Chance that the trial sees a difference of this size, either way."""
        return float(norm.sf(SEEN - self.z) + norm.cdf(-SEEN - self.z))

    @property
    def seen(self) -> float:
        """The difference that it sees four times in five."""
        return (SEEN + OFTEN) * self.error


def within(difference: Array, eyes: float, noise: float) -> Trial:
    """Of pairs, or of eyes with themselves."""
    return Trial(float(difference.mean()), math.sqrt((difference.var() + noise**2) / eyes))


def between(a: Array, b: Array, eyes_a: float, eyes_b: float, noise: float) -> Trial:
    """Of two groups of different eyes."""
    error = math.sqrt((a.var() + noise**2) / eyes_a + (b.var() + noise**2) / eyes_b)
    return Trial(float(a.mean() - b.mean()), error)


@dataclass
class Answer:
    """What the model says to one claim under one law."""

    text: str
    verdict: str
    number: float | None = None
    """The number behind the text, asserted by the tests: a value or a z."""


@dataclass
class Claim:
    """One thing that validation rows say."""

    rows: list[str]
    says: str
    published: str
    kind: str
    """difference, none, number, or not modelled."""
    likely: str = ""
    """The likely reason of a miss, or why nothing can be compared."""
    answers: dict[str, Answer] = field(default_factory=dict)
    ask: Callable[[Mapping[str, Eyes]], Any] | None = None


def band(values: Array, unit: str) -> str:
    low, high = np.quantile(values, [0.1, 0.9])
    return f"{values.mean():.1f} {unit} ({low:.1f} to {high:.1f})"


def difference(text: str, trial: Trial) -> Answer:
    z = trial.z
    return Answer(f"{text}, z {z:.1f}", "pass" if z >= SEEN else "sign" if z > 0.05 else "miss", round(z, 2))


def none(text: str, trial: Trial) -> Answer:
    z = trial.z
    return Answer(
        f"{text}, z {z:.1f} (power {trial.power:.2f}; 4 in 5 at {trial.seen:.1f} points)",
        "pass" if abs(z) < SEEN else "miss",
        round(z, 2),
    )


def count(share: float, published: int, eyes: int) -> float:
    """Chance of a count as far out as the published one, the share being known from EYES eyes only."""
    known = betabinom(eyes, EYES * share + 0.5, EYES * (1 - share) + 0.5)
    below, above = float(known.cdf(published)), float(known.sf(published - 1))
    return below if published == 0 else min(1.0, 2 * min(below, above))


def number(text: str, value: float, published: float, error: float) -> Answer:
    return Answer(text, "pass" if abs(value - published) <= 2 * error else "miss", round(value, 2))


def fell(arm: str, start: float, end: float, eyes: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss = arms[arm].loss(start, end)
        return difference(f"falls by {band(loss, '%')}", within(loss, eyes, AREA_NOISE))

    return ask


def flat(arm: str, start: float, end: float, eyes: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss = arms[arm].loss(start, end)
        return none(f"falls by {band(loss, '%')}", within(loss, eyes, AREA_NOISE))

    return ask


def more(
    arm: str,
    other: str,
    start: float,
    end: float,
    eyes_a: float,
    eyes_b: float,
    judge: Callable[[str, Trial], Answer] = difference,
) -> Callable[[Mapping[str, Eyes]], Answer]:
    """`arm` loses more than `other`, in different eyes."""

    def ask(arms: Mapping[str, Eyes]) -> Answer:
        a, b = arms[arm].loss(start, end), arms[other].loss(start, end)
        return judge(f"{a.mean():.1f} against {b.mean():.1f} %", between(a, b, eyes_a, eyes_b, AREA_NOISE))

    return ask


def more_paired(
    arm: str, other: str, start: float, end: float, pairs: float, judge: Callable[[str, Trial], Answer] = difference
) -> Callable[[Mapping[str, Eyes]], Answer]:
    """The same in fellow eyes, taken as alike."""

    def ask(arms: Mapping[str, Eyes]) -> Answer:
        a, b = arms[arm].loss(start, end), arms[other].loss(start, end)
        return judge(f"{a.mean():.1f} against {b.mean():.1f} %", within(a - b, pairs, AREA_NOISE * math.sqrt(2)))

    return ask


DAY = 1 / MONTH
WEEK = 7 / MONTH


def joo_mean(arms: Mapping[str, Eyes]) -> Answer:
    loss = 100 * (1 - arms["normal"].at("opening_diameter_mm", 3) / arms["normal"].at("opening_diameter_mm", 0))
    error = math.hypot(UNKNOWN_SD / 2 / math.sqrt(166), BETWEEN_STUDIES / 2)
    return number(band(loss, "% of diameter"), float(loss.mean()), row("JOO96", "validate").value, error)


def joo_sizes(arms: Mapping[str, Eyes]) -> Answer:
    first, last = (arms["normal"].at("opening_diameter_mm", m) for m in (0, 3))
    small, large = 100 * np.mean(last[first < 5.5] < 5.0), 100 * np.mean(last[first > 5.5] > 5.0)
    return Answer(
        f"{small:.0f} % of the smaller end below 5.0 mm, {large:.0f} % of the larger stay above",
        "pass" if small > 50 and large > 50 else "miss",
        round(float(small), 1),
    )


def size_link(eyes: int, months: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    """Correlation of the loss with the first area, against what so many eyes would show."""

    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss, first = arms["normal"].loss(DAY, months), arms["normal"].at("opening_area_mm2", DAY)
        covariance = float(np.mean((loss - loss.mean()) * (first - first.mean())))
        r = covariance / (first.std() * math.hypot(loss.std(), AREA_NOISE))
        t = 1.98 / math.sqrt(eyes - 2)
        limit = t / math.sqrt(1 + t * t)
        test = Trial(math.atanh(r), 1 / math.sqrt(eyes - 3))  # Fisher's z
        return Answer(
            f"r {r:.2f}; {eyes} eyes would show {limit:.2f} (power {test.power:.2f}; 4 in 5 at {math.tanh(test.seen):.2f})",
            "pass" if abs(r) < limit else "miss",
            round(r, 3),
        )

    return ask


def size_of_loss(arms: Mapping[str, Eyes]) -> Answer:
    """The period after six weeks loses less than the one before."""
    early, late = arms["normal"].loss(DAY, 1.4), arms["normal"].loss(1.4, 6)
    return difference(
        f"{early.mean():.1f} before, {late.mean():.1f} % after six weeks",
        within(early - late, 32, AREA_NOISE * math.sqrt(3)),
    )


def no_laser(arms: Mapping[str, Eyes]) -> Answer:
    share = float(
        np.mean(
            np.concatenate([arms[a].at("clear_circle_diameter_mm", 6) < LASER_CLEAR_MM for a in ("normal", "silicone")])
        )
    )
    chance = count(share, 0, 64)
    return Answer(
        f"{100 * share:.1f} % of eyes; none in 64 has chance {chance:.2f}",
        "pass" if chance > 0.05 else "miss",
        round(100 * share, 2),
    )


def bag(arm: str, published: float, eyes: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss = arms[arm].bag_loss(0, 3)
        return number(f"{np.median(loss):.2f} % (median)", float(np.median(loss)), published, 0.5)

    return ask


def bag_keeps_falling(arms: Mapping[str, Eyes]) -> Answer:
    parts = [within(arms["ring"].bag_loss(a, b), 19, BAG_NOISE).z for a, b in ((DAY, 1), (1, 3))]
    whole = arms["ring"].bag_loss(DAY, 3)
    return Answer(
        f"falls by {band(whole, '%')}, z {parts[0]:.1f} in the first month, {parts[1]:.1f} in the next two",
        "pass" if min(parts) >= 1.96 else "sign" if min(parts) > 0 else "miss",
        round(min(parts), 2),
    )


def ring_spares(arms: Mapping[str, Eyes]) -> Answer:
    a, b = arms["weak zonule"].loss(DAY, 3), arms["weak zonule, ring"].loss(DAY, 3)
    return difference(f"{a.mean():.1f} without, {b.mean():.1f} % with a ring", between(a, b, 21, 21, AREA_NOISE))


def larger_ring(arms: Mapping[str, Eyes]) -> Answer:
    none_, small, large = (arms[a].bag_loss(DAY, 6) for a in ("normal", "ring", "larger ring"))
    trial = between(small, large, 40, 40, BAG_NOISE)
    return difference(
        f"bag shrinks by {none_.mean():.2f} without, {small.mean():.2f} with a 12.3, {large.mean():.2f} % with a 13 mm ring",
        trial,
    )


def syndrome(arm: str, published: int, eyes: int) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        share = float(np.mean(arms[arm].at("clear_circle_diameter_mm", 12) < LASER_CLEAR_MM))
        chance = count(share, published, eyes)
        return Answer(
            f"{100 * share:.1f} % of eyes within 12 months; as far out as {published} of {eyes} has chance {chance:.2f}",
            "pass" if chance > 0.05 else "miss",
            round(100 * share, 2),
        )

    return ask


def zonule_lets_go(arms: Mapping[str, Eyes]) -> Answer:
    """No number is published: "hardly any" is taken as less than half of what it carries on day 0."""
    before, after = (arms["normal"].at("zonule_load_total_mN", m) for m in (0, 12))
    kept = float(np.mean(after / before))
    return Answer(
        f"the zonule carries {100 * kept:.0f} % of its first load",
        "pass" if kept < 0.5 else "miss",
        round(100 * kept, 1),
    )


def claims() -> list[Claim]:
    """Every validation row, in the order of the page."""
    equator = "with the rim alone the equator gives way only by what its pull takes from the zonule"
    return [
        Claim(
            ["HAY97-PMMA", "HAY97-ACRYLIC"],
            "the opening shrinks from 1 week to 3 months",
            "P .009 and .013, about 80 eyes each",
            "difference",
            ask=fell("normal", WEEK, 3, 80),
        ),
        Claim(
            ["HAY97-PMMA", "HAY97-ACRYLIC"],
            "and no further from 3 to 6 months",
            "flat",
            "none",
            ask=flat("normal", 3, 6, 80),
        ),
        Claim(
            ["HAY97-SILICONE"],
            "with silicone too",
            "P < .0001, about 80 eyes",
            "difference",
            ask=fell("silicone", WEEK, 3, 80),
        ),
        Claim(
            ["HAY97-SILICONE"],
            "silicone smaller than the others at 1 month",
            "P .0024",
            "difference",
            ask=more("silicone", "normal", 0, 1, 80, 160),
        ),
        Claim(
            ["HAY97-SILICONE"],
            "silicone smaller than the others at 6 months",
            "P .0022",
            "difference",
            ask=more("silicone", "normal", 0, 6, 80, 160),
        ),
        Claim(
            ["HAY97-SILICONE"],
            "but not at 1 week",
            "no difference",
            "none",
            "the model's silicone eyes start as early as the others, only stronger",
            ask=more("silicone", "normal", 0, WEEK, 80, 160, none),
        ),
        Claim(
            ["JOO96"],
            "loss of diameter at 3 months, unselected eyes",
            "13.9 %, 166 eyes",
            "number",
            "unselected, retrospective, lenses of the early 1990s; three times what the later cohorts found",
            ask=joo_mean,
        ),
        Claim(
            ["JOO96"],
            "most eyes that start below 5.5 mm end below 5.0, most above stay above",
            "stated without numbers",
            "difference",
            "follows from the larger loss in that cohort",
            ask=joo_sizes,
        ),
        Claim(
            ["JOO96"],
            "the loss does not depend on the first size",
            "P > .05, 166 eyes",
            "none",
            "a wider contact zone grows more tissue; the band width rests on the 62 eyes of another cohort, which show less",
            ask=size_link(166, 3),
        ),
        Claim(
            ["OSH-RISK"],
            "the loss does not depend on the first area",
            "not correlated, 141 eyes",
            "none",
            "as above",
            ask=size_link(141, 9),
        ),
        Claim(
            ["KAT01-DM", "KAT01-CTL"],
            "diabetic eyes lose more at 3, 6 and 12 months",
            "P .015, .011, .010",
            "not modelled",
            "no parameter for diabetes; a lasting stimulus would give the sign by construction",
        ),
        Claim(
            ["DM13-NPDR", "DM13-NODR", "DM13-CTL"],
            "eyes with retinopathy lose more at 1 week, 1 and 3 months",
            "P < .01",
            "not modelled",
            "as above",
        ),
        Claim(
            ["WAN18-POL"],
            "a polished rim shrinks too, by 3 months",
            "both arms shrank, 19 eyes",
            "difference",
            "long eyes there; here the loss of such eyes is close to what 19 eyes can show",
            ask=fell("polished", 0, 3, 19),
        ),
        Claim(
            ["WAN18-CTL"],
            "an unpolished one more than its fellow at 6 months",
            "difference stated, 19 pairs",
            "difference",
            ask=more_paired("normal", "polished", 0, 6, 19),
        ),
        Claim(
            ["ZAM97-PMMA"],
            "more is lost before six weeks than after",
            "P < .001, about 32 eyes",
            "difference",
            "same sign; the model spreads the loss a little longer",
            ask=size_of_loss,
        ),
        Claim(
            ["ZAM97-SILICONE"],
            "silicone smaller at 6 months",
            "about 32 eyes each",
            "difference",
            ask=more("silicone", "normal", DAY, 6, 32, 32),
        ),
        Claim(
            ["ZAM97-PMMA", "ZAM97-SILICONE"],
            "no eye needs a laser opening by 6 months",
            "0 of 64",
            "number",
            ask=no_laser,
        ),
        Claim(
            ["URS97-ACRYLIC", "URS97-SILICONE"],
            "the rim moves less with acrylic than with silicone over a year",
            "P .0001, 90 eyes in 3 arms",
            "difference",
            ask=more("silicone", "normal", WEEK, 12, 30, 30),
        ),
        Claim(
            ["URS97-PMMA"],
            "and less than with PMMA",
            "P .0001",
            "not modelled",
            "acrylic and PMMA are one population here",
        ),
        Claim(
            ["SAC06-G1-AC3", "SAC06-G1-SI3"],
            "sharp-edged silicone and acrylic alike at 1 year",
            "no difference, 53 pairs",
            "not modelled",
            "silicone's strength was fitted to round-edged lenses; the model knows no edge",
        ),
        Claim(
            ["SAC06-G2-AC3", "SAC06-G2-AC1"],
            "three-piece and one-piece acrylic alike at 1 year",
            "no difference, 52 pairs",
            "not modelled",
            "a plane model's haptics change nothing at the rim: it could not fail here",
        ),
        Claim(
            ["NEJ04-1P", "NEJ04-3P"],
            "three-piece and one-piece acrylic alike to 18 months",
            "P > .05, 20 pairs",
            "not modelled",
            "a plane model's haptics change nothing at the rim: it could not fail here",
        ),
        Claim(
            ["PAR02-AC1", "PAR02-AC3"],
            "acrylic eyes shrink from day 1 to 3 months",
            "P < .001, 42 eyes",
            "difference",
            ask=fell("normal", DAY, 3, 42),
        ),
        Claim(
            ["PAR02-AC1", "PAR02-AC3"],
            "and no further from 3 to 12 months",
            "no fall",
            "none",
            ask=flat("normal", 3, 12, 42),
        ),
        Claim(
            ["PAR02-SIL"],
            "silicone no further from 3 to 12 months",
            "no fall, 23 eyes",
            "none",
            "strong tissue goes on a little",
            ask=flat("silicone", 3, 12, 23),
        ),
        Claim(
            ["PAR02-SIL"],
            "silicone loses more by 12 months",
            "P .023",
            "difference",
            ask=more("silicone", "normal", DAY, 12, 23, 42),
        ),
        Claim(
            ["PAR02-AC1", "PAR02-AC3"],
            "one- and three-piece alike",
            "P .93, 16 and 26 eyes",
            "not modelled",
            "a plane model's haptics change nothing at the rim: it could not fail here",
        ),
        Claim(
            ["PEXG-PEX", "PEXG-POAG"],
            "pseudoexfoliation smaller at 6 months",
            "28 and 25 eyes",
            "difference",
            ask=more("pseudoexfoliation", "normal", 0, 6, 28, 25),
        ),
        Claim(
            ["YAN21-CTR", "YAN21-NONE"],
            "in weak zonules a ring leaves a larger opening at 3 months",
            "P .020, about 21 eyes each",
            "difference",
            "here a ring holds the equator, not the rim",
            ask=ring_spares,
        ),
        Claim(
            ["BAY13-NONE"],
            "contraction syndrome without a ring, retinitis pigmentosa",
            "7.7 % of 26 eyes, 2.1 to 24.1",
            "number",
            "stand-in: the population with pseudoexfoliation",
            ask=syndrome("pseudoexfoliation", 2, 26),
        ),
        Claim(
            ["BAY13-CTR"],
            "and with a ring",
            "0 % of 26 eyes, 0 to 12.9",
            "number",
            "stand-in as above; a ring changes little in the model",
            ask=syndrome("pseudoexfoliation, ring", 0, 26),
        ),
        Claim(
            ["STR97"],
            "the bag keeps shrinking for 3 months despite a ring",
            "19 eyes",
            "difference",
            equator,
            ask=bag_keeps_falling,
        ),
        Claim(
            ["KUR06-CTR"],
            "loss of the bag's diameter with a ring at 3 months",
            "1.9 %",
            "number",
            equator,
            ask=bag("ring", 1.9, 35),
        ),
        Claim(
            ["KUR06-CFER", "MZ05-CBR"],
            "with a closed or a broad ring",
            "1.0 and 1.4 %",
            "not modelled",
            "no part for a closed or a broad ring",
        ),
        Claim(
            ["LIU26-13", "LIU26-12", "LIU26-0"],
            "a larger ring limits the bag's shrinkage more",
            "40 eyes each",
            "difference",
            "a ring's spring constant is a hundredth of a firm zonule's",
            ask=larger_ring,
        ),
        Claim(
            ["KRA11-FS", "KRA11-MAN"],
            "an unevenly covered optic decentres",
            "P < .01, 20 and 20 eyes; 0.4 mm as cut-off",
            "not modelled",
            "the published eyes were off centre at one week already, before tissue pulls; the model places every lens in the middle",
        ),
        Claim(
            ["CHEN23-META"],
            "hydrophilic acrylic leaves a smaller opening than hydrophobic",
            "SMD -0.7 to -1.3",
            "not modelled",
            "no parameter for the water content of a lens",
        ),
        Claim(
            ["MOD11"],
            "the zonule is hardly under tension at 12 months",
            "sign only, ultrasound, 24 eyes",
            "number",
            "the ciliary ring is fixed here, published smaller after surgery; the zonule has neither a toe nor a slow relaxation",
            ask=zonule_lets_go,
        ),
        Claim(
            ["STR97-ACD"],
            "the chamber's depth stops changing before the bag does",
            "19 eyes",
            "not modelled",
            "nothing moves along the axis in a plane model",
        ),
        Claim(
            ["VAN21"],
            "weak zonules with a ring",
            "results cut off in the stored text",
            "not modelled",
            "nothing to compare",
        ),
    ]


def score(voices: Iterable[str] = VOICES) -> list[Claim]:
    """The claims with the answers of some voices of the model, and of the stand-in."""
    found = claims()
    said = {id_ for claim in found for id_ in claim.rows}
    wanted = {r.id for r in rows() if r.role == "validate"}
    if said != wanted:
        raise LookupError(
            f"rows without a claim: {sorted(wanted - said)}; claims without a row: {sorted(said - wanted)}"
        )
    for voice in voices:
        arms: dict[str, Eyes] = {name: Arm(name, voice) for name in ARMS}
        answer(found, voice, arms)
    answer(found, stand_in.NAME, {name: stand_in.StandIn(name) for name in ARMS})
    return found


def answer(found: list[Claim], voice: str, arms: Mapping[str, Eyes]) -> None:
    """What a law, or the stand-in, says to every claim."""
    for claim in found:
        if claim.ask is None:
            claim.answers[voice] = Answer("", "not modelled")
            continue
        try:
            claim.answers[voice] = claim.ask(arms)
        except stand_in.Silent:
            claim.answers[voice] = Answer("", "not modelled")


RIGHT = {"miss": 0, "sign": 1, "pass": 2}


def study(claim: Mapping[str, Any]) -> str:
    """The first study of a claim."""
    return str(claim["rows"][0]).split("-")[0]


def compared(found: list[dict[str, Any]], law: str) -> tuple[float, float, int]:
    """Studies in which the law is right where the stand-in is not, the other way round, and how many studies answer.

    A study counts once: each of its claims that the law answers has an equal part of it.
    """
    answered = [c for c in found if c["answers"][law]["verdict"] in RIGHT]
    claims_of = Counter(map(study, answered))
    better = worse = 0.0
    for claim in answered:
        own, other = (RIGHT.get(claim["answers"][v]["verdict"], 0) for v in (law, stand_in.NAME))
        better += (own > other) / claims_of[study(claim)]
        worse += (own < other) / claims_of[study(claim)]
    return better, worse, len(claims_of)


def headline(found: list[dict[str, Any]], law: str) -> str:
    better, worse, studies = compared(found, law)
    return (
        f"right where the stand-in is not in {better:.1f} of {studies} studies, wrong where it is right in {worse:.1f}"
    )


def record(found: list[Claim]) -> list[dict[str, Any]]:
    return [
        {
            "rows": c.rows,
            "says": c.says,
            "published": c.published,
            "kind": c.kind,
            "likely": c.likely,
            "answers": {law: asdict(a) for law, a in c.answers.items()},
        }
        for c in found
    ]


def drifted(old: list[dict[str, Any]], new: list[dict[str, Any]]) -> list[str]:
    """What a fresh scoreboard says otherwise: a verdict, or a number by more than 3 % and 0.05."""
    if [c["says"] for c in old] != [c["says"] for c in new]:
        return ["the list of claims has changed"]
    moved = []
    for before, after in zip(old, new):
        for law, answer in after["answers"].items():
            known = before["answers"].get(law)
            if known is None or known["verdict"] != answer["verdict"]:
                moved.append(
                    f"{after['says']} ({law}): {known and known['verdict']} committed, {answer['verdict']} now"
                )
            elif answer["number"] is not None and not math.isclose(
                answer["number"], known["number"], rel_tol=0.03, abs_tol=0.05
            ):
                moved.append(f"{after['says']} ({law}): {known['number']} committed, {answer['number']} now")
    return moved


def main() -> int:
    parser = argparse.ArgumentParser(description="The clinical scoreboard.")
    parser.add_argument(
        "--check", action="store_true", help="write nothing; fail when what is committed is not what comes out"
    )
    check = parser.parse_args().check
    found = score()
    new = record(found)
    counts: dict[str, int] = {}
    for claim in found:
        for law, answer in claim.answers.items():
            counts[f"{law}: {answer.verdict}"] = counts.get(f"{law}: {answer.verdict}", 0) + 1
            print(
                f"{answer.verdict:<13} {'/'.join(claim.rows)[:28]:<28} {claim.says}: {claim.published} | {law}: {answer.text}"
            )
    print(counts)
    for voice in VOICES:
        print(voice + ": " + headline(new, voice))
    if check:
        moved = drifted(json.loads(RECORD.read_text(encoding="utf-8")), new)
        for line in moved:
            print("moved: " + line)
        return 1 if moved else 0
    RECORD.write_text(json.dumps(new, indent=1) + "\n", encoding="utf-8")
    from page import write

    write(new)
    return 0


if __name__ == "__main__":
    sys.exit(main())
