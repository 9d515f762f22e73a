# SPDX-License-Identifier: BSD-3-Clause
"""The clinical page and its picture, from the populations and the scoreboard."""

from __future__ import annotations

import json
import math
from pathlib import Path
from typing import Any

import matplotlib

matplotlib.use("Agg")
import capsim
import scoreboard
import stand_in
from arms import EYES
from matplotlib import pyplot

DOC = Path(__file__).resolve().parent.parent.parent / "libcapsim" / "doc"
POPULATIONS = DOC.parent / "data" / "populations"
POSTERIOR = DOC.parent.parent / "tests" / "evidence" / "posterior.json"
CAUTION = "For research and teaching, not for treating a patient; decisions belong to the licensed clinician and local protocols."
VERDICTS = ("pass", "sign", "miss", "not modelled")
COLOURS = {"pass": "#0072b2", "sign": "#56b4e9", "miss": "#d55e00", "not modelled": "#bbbbbb"}
MARKS = {"pass": "o", "sign": "D", "miss": "X", "not modelled": "_"}


def _populations() -> list[dict[str, Any]]:
    names = capsim.population_names()
    return [json.loads((POPULATIONS / f"{name}.json").read_text(encoding="utf-8")) for name in names]


def calibration_table() -> list[str]:
    """Published and fitted values of the rows that were fitted to, one line each."""
    lines = []
    for population in _populations():
        laws = list(population["laws"])
        fitted = population["provenance"]["fitted_to"]
        for i, fact in enumerate(fitted[laws[0]]):
            models = " | ".join(f"{fitted[law][i]['model']:.3g}" for law in laws)
            note = f" ({fact['note']})" if "note" in fact else ""
            lines.append(
                f"| {population['name']} | {fact['row']} | {fact['quantity']}{note} | {fact['published']:.3g} | {models} |"
            )
    return lines


def settings_table() -> list[str]:
    """What the populations set and vary, one line each."""
    lines = []
    shared: dict[str, Any] = {}
    for population in _populations():
        for law, content in population["laws"].items():
            first = shared.setdefault(law, content)
            own = [s for s in content["settings"] if content is first or s not in first["settings"]]
            lines += [f"| {population['name']} | {law} | `{s['path']}` | {s['value']:g} | {s['source']} |" for s in own]
            lines += [
                f"| {population['name']} | {law} | `{s['path']}`, spread on the {s['scale']} scale | {s['sd']:g} | {s['source']} |"
                for s in content["spreads"]
                if content is first or s not in first["spreads"]
            ]
    return lines


POSTERIOR_NAMES = {
    "rim": "strength under the rim",
    "bag": "strength outside the optic",
    "radial": "radial weight outside the optic",
    "sd": "spread of the strengths (log)",
    "radial_sd": "spread of the radial weight",
    "signal": "days of the signal",
    "rest": "deactivation per day",
}


def posterior_table() -> list[str]:
    """Of the seven numbers that were fitted at once under each law, one line each."""
    lines = []
    for law, posterior in json.loads(POSTERIOR.read_text(encoding="utf-8")).items():
        for q in posterior["parameters"]:
            best, ends = q["best"], (q["best"] - q["sd"], q["best"] + q["sd"])
            if q["log"]:
                best, ends = math.exp(best), (math.exp(ends[0]), math.exp(ends[1]))
            lines.append(f"| {law} | {POSTERIOR_NAMES[q['name']]} | {best:.3g} | {ends[0]:.3g} to {ends[1]:.3g} |")
    return lines


def scoreboard_table(found: list[dict[str, Any]]) -> list[str]:
    """The claims as lines of a table: rows, what they say, published, answer and verdict of each law, likely reason."""
    lines = []
    for claim in found:
        answers = list(claim["answers"].values())
        cells = " | ".join(f"**{a['verdict']}**: {a['text']}" if a["text"] else a["verdict"] for a in answers)
        reason = claim["likely"] if any(a["verdict"] != "pass" for a in answers) else ""
        lines.append(f"| {', '.join(claim['rows'])} | {claim['says']} | {claim['published']} | {cells} | {reason} |")
    return lines


def counts(found: list[dict[str, Any]], law: str) -> dict[str, int]:
    return {v: sum(claim["answers"][law]["verdict"] == v for claim in found) for v in VERDICTS}


def picture(found: list[dict[str, Any]], laws: list[str]) -> None:
    """One line per claim, one mark per law."""
    height = len(found)
    figure, axes = pyplot.subplots(figsize=(10.4, 0.24 * height + 1.9))
    for column, law in enumerate(laws):
        for line, claim in enumerate(found):
            verdict = claim["answers"][law]["verdict"]
            axes.scatter(column, height - line, marker=MARKS[verdict], color=COLOURS[verdict], s=42, zorder=3)
    for line, claim in enumerate(found):
        axes.text(
            -0.35,
            height - line,
            f"{claim['says']}  [{claim['rows'][0].split('-')[0]}]",
            ha="right",
            va="center",
            fontsize=7.5,
        )
        axes.text(
            len(laws) - 0.6, height - line, claim["published"], ha="left", va="center", fontsize=6.5, color="#555555"
        )
    for verdict in VERDICTS:
        axes.scatter([], [], marker=MARKS[verdict], color=COLOURS[verdict], s=42, label=verdict)
    axes.set_xlim(-6.4, len(laws) + 2.4)
    axes.set_ylim(0, height + 2.4)
    axes.axis("off")
    for column, law in enumerate(laws):
        axes.text(
            column,
            height + 1,
            law.replace("_", "\n", 1).replace("_", "-").replace(", ", ",\n"),
            ha="center",
            va="bottom",
            fontsize=7.5,
        )
    figure.legend(loc="lower center", ncol=4, fontsize=8, frameon=False, bbox_to_anchor=(0.5, 0.02))
    figure.text(0.5, 0.005, CAUTION, ha="center", fontsize=6.5, color="#555555")
    figure.subplots_adjust(left=0.01, right=0.99, top=0.99, bottom=0.045)
    figure.savefig(DOC / "clinical.png", dpi=110)
    pyplot.close(figure)


def text(found: list[dict[str, Any]]) -> str:
    """The page."""
    voices = list(found[0]["answers"])
    laws = [voice for voice in voices if voice != stand_in.NAME]
    head = " | ".join(laws)
    verdict_head = " | ".join(voices)
    totals = "; ".join(
        f"{voice}: " + ", ".join(f"{n} {v}" for v, n in counts(found, voice).items()) for voice in voices
    )
    headlines = "\n".join(f"- {law}: {scoreboard.headline(found, law)}" for law in laws)
    return f"""# Clinical evidence: what was fitted, and what was only compared

{CAUTION}

Written by `python3 tests/clinical/scoreboard.py`; the numbers are those of `libcapsim/data/populations` and
`tests/evidence/clinical.json`, and the tests fail when a fresh run says otherwise. Rows are those of
[cohorts.csv](../../tests/evidence/cohorts.csv), where each has its publication. Numbers in brackets are the
10th and 90th percentiles of {EYES} eyes.

![Verdicts of the scoreboard](clinical.png)

## What was fitted

Few parameters, each by named rows (role `calibrate`); `tests/clinical/calibrate.py` says how, and for the populations whose bag
contracts as a whole (`..._whole_bag`) `tests/clinical/calibrate_bag.py`; [why there are both](decisions/whole_bag_populations.md).

| Population | Rows | Quantity | Published | {head} |
|---|---|---|---|{"---|" * len(laws)}
{chr(10).join(calibration_table())}

The fitted values themselves; where a population is not named, it has the value of `age_related_cataract`:

| Population | Law | Field | Value | Rows |
|---|---|---|---|---|
{chr(10).join(settings_table())}

How well the numbers of the whole bag are known (`tests/evidence/posterior.json`):

| Law | Number | Best | One standard deviation either way |
|---|---|---|---|
{chr(10).join(posterior_table())}

Rows marked `calibrate` that fix nothing here: the size of TEH03's shrinkage of the bag (more than three times MZ05's) and,
with the rim alone, that of MZ05, of which it gives a fifth; four plates against two (CHO18-B), which change nothing in this plane model; the lens
position of KIM17, which is mostly anatomical. GEO01-HYD and HAY98PE-CTL give a sign and an upper bound.

## What was only compared

Nothing below was used in a fit. The third voice has no mechanics: a log-normal loss with the time course of one cohort, from
the fitted rows alone (`tests/clinical/stand_in.py`). Where it says the same as the model, mechanics has shown nothing, so this
is what counts, each study once:

{headlines}

All claims: {totals}. A claim that the model could not fail is "not modelled". How a verdict comes about stands at the head of
`tests/clinical/scoreboard.py`: a published difference passes when the model's is of that sign and a trial of that
size would see it; a published absence passes when such a trial would not see the model's difference either; its power stands beside it, and the difference that it would see four times in five.

| Rows | Says | Published | {verdict_head} | Likely reason |
|---|---|---|{"---|" * len(voices)}---|
{chr(10).join(scoreboard_table(found))}

## Where the whole bag is known to err

*Cuts leave the healthy eye larger.* Four cuts of 0.75 mm on day 3 leave the middle eye 11 % larger than on day 0 after a year (first law). Half of
that has nothing to do with tissue: without any, the zonule's pull of 34 mN opens the cut rim by 6 % at once. The other half is
tissue outside the optic, which goes on pulling outward at a rim that no longer holds in the round; without it the eye ends 6 % larger, with
tissue of no radial weight 13 % smaller. A leaf held a hundred times more firmly by the one behind it halves what opens at once.
What opens at once contradicts no cohort: the one trial of early cuts (AAO-LRI3, AAO-LRI2; 100 pairs, read in a summary only) takes its first area
right after them. Going on to open does: three cuts there spared three quarters of what the fellow eyes lost (4 against 17 %), two
nothing, and no eye is said to have grown. Here three cuts of 0.5 mm on day 7 spare a fifth to a quarter in eyes that lose as much or less (15.3 ->
12.6 and 9.7 -> 7.2 % from then on), two an eighth to a sixth: too little in eyes that contract, too much in eyes that do not. Length and day of
the cuts are not in the summary. The model has no healing of the gap, no new tissue laid across it, and flaps that stick to nothing
before the leaves fuse; no source at hand says how much any of these holds, so none was added.

*A ring costs the healthy middle eye 2 points of its opening* (first law: 5.9 % instead of 3.8 after a year; second law 5.3 and 5.4: nothing). Three
quarters of that is the strip at the equator that a ring keeps clear: tissue there pulls outward, and where there is none the opening
loses what that held (4.3 % with a ring and no clear zone). The strip's width is fitted to the bag's diameter (MZ05-CTR). Whether normal eyes with a ring
lose more of their opening is not published: the rows with rings and firm zonules (MZ05, KUR06, LIU26) give the bag's diameter only.

*The mean loss of HAY98RP-CTL* (4.6 %, its own 95 % interval 0.7 to 8.5) lies below the four other normal means, which the same strength must meet; the model's 8.6
and 8.7 lie just above that interval.
"""


def write(found: list[dict[str, Any]]) -> None:
    """Writes clinical.md and clinical.png."""
    picture(found, list(found[0]["answers"]))
    (DOC / "clinical.md").write_text(text(found), encoding="utf-8")
