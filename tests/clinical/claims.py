# SPDX-License-Identifier: BSD-3-Clause
"""Every row marked `validate` as a claim: what was published, what to ask the model, and the likely reason of a miss."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from typing import Any

from arms import Eyes
from questions import (
    DAY,
    WEEK,
    bag,
    bag_keeps_falling,
    fell,
    flat,
    joo_mean,
    joo_sizes,
    larger_ring,
    more,
    more_paired,
    no_laser,
    ring_spares,
    size_link,
    size_of_loss,
    syndrome,
    zonule_lets_go,
)
from verdicts import Answer, none


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
