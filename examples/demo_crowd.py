# SPDX-License-Identifier: BSD-3-Clause
"""The four plans of the demonstration for a crowd of eyes like the invented one, under both contraction laws.

Which plan leaves how much, and how sure that is; when to look; three layouts of cuts. `demo.py` runs it.
Nothing here recommends: what the laws or the eyes disagree about is printed beside what they agree on.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

import capsim
from capsim.studies.reading import band, filled, law_in_words, number, share, table

EYES = 48
"""Eyes of the crowd: the one place to make the demonstration quicker or surer."""
EYES_PER_CUT_EYE = 16
"""One in so many is cut in every layout: each nine times over under each law, on a mesh with lines for all of the cuts."""
POPULATION = "pseudoexfoliation_whole_bag"
QUICK = {
    "mesh": {"around": 12, "radial": 2, "tip_layers": 2},
    "output_every_days": 60,
    "numerics": {"time_tolerance": 1e-3, "force_tolerance": 1e-5},
}
"""How the crowd is computed: coarser in space and time than the single runs."""
MOVES_MM, MOVES_RING_MM = 0.07, 0.25
"""What that moves the clear circle of an eye by at most, without a ring and with it: of the first 8 eyes under both laws, whose
circles are 0 to 4.8 mm wide."""
CLEAR_CIRCLE = "clear_circle_diameter_mm"
QUANTITIES = (CLEAR_CIRCLE, "opening_area_mm2", "lens_decentration_mm", "zonule_load_max_mN")
PAIRS = (("A", "B"), ("B", "C"), ("A", "D"))
LOOK_BELOW_MM = 3.0
LAYOUTS = ("4 evenly", "3 towards the weak hours", "3 away from the weak hours")


@dataclass
class Crowd:
    """What a crowd answers."""

    comparison: capsim.Comparison
    looks: capsim.VisitStudy
    cuts: capsim.CutStudy


def run_crowd(plans: Mapping[str, capsim.Scenario], eyes: int = EYES, days_cut: float | None = None) -> Crowd:
    """Compares the plans, asks when the first one closes in, and cuts its eyes in three layouts (None: for as long)."""
    meshed = {letter: plan.with_(QUICK) for letter, plan in plans.items()}
    first = meshed["A"]
    cut = first if days_cut is None else first.with_(duration_days=days_cut)
    layouts = [layout for layout in capsim.cut_layouts(cut) if layout.name in LAYOUTS]
    return Crowd(
        capsim.compare(meshed, POPULATION, eyes=eyes, quantities=QUANTITIES),
        capsim.visits(first, POPULATION, below={CLEAR_CIRCLE: LOOK_BELOW_MM}, eyes=eyes),
        capsim.cuts(cut, POPULATION, layouts, eyes=max(1, eyes // EYES_PER_CUT_EYE)),
    )


def report(crowd: Crowd, names: Mapping[str, str]) -> str:
    """The first screen: the answer, how sure it is, when to look, where to cut."""
    comparison = crowd.comparison
    lines = [
        "  ".join(f"{letter}: {name}" for letter, name in names.items()),
        "",
        table(comparison.table_rows()),
        *(filled(line) for line in notes(comparison)),
        "",
        "How sure",
        table(how_sure(comparison)),
        "",
        f"When to look, with plan A: the clear circle comes below {LOOK_BELOW_MM:g} mm in",
        *(filled(f"- {line}") for line in when_to_look(crowd.looks)),
        "",
        f"Where to cut, in plan A on day {crowd.cuts.layouts[0].day:g}; {crowd.cuts.eyes} of these eyes, at half, once and "
        "one and a half times the length",
        table(where_to_cut(crowd.cuts)),
        *(filled(f"! {line}") for line in marked(crowd.cuts)),
        *(filled(caution) for caution in crowd.cuts.cautions if caution not in crowd.looks.cautions),
    ]
    return "\n".join(lines)


def notes(comparison: capsim.Comparison) -> list[str]:
    """What must be known to read the table."""
    lines = []
    failed = int((comparison.status != "completed").sum())
    if failed:
        lines.append(f"Left out, since they did not reach the last day: {failed} of {comparison.status.size} runs.")
    if (comparison.values(CLEAR_CIRCLE) == 0).any():
        lines.append("A clear circle is one about the pupil's centre; it is 0 where the rim has reached that.")
    return lines


def how_sure(comparison: capsim.Comparison) -> list[list[str]]:
    """A row for each pair of plans and law: the clear circle gained within an eye, and in how many eyes it is larger."""
    rows = [["clear circle, eye by eye", "law", "gained, mm (8 of 10 eyes)", "larger in", "the laws"]]
    for first, second in PAIRS:
        agreed = comparison.agreement(CLEAR_CIRCLE, first, second)
        said = {"first": f"agree: {first}", "second": f"agree: {second}", "disagree": "DISAGREE"}.get(
            agreed, "leave it open"
        )
        for k, law in enumerate(comparison.laws):
            pair = comparison.pair(CLEAR_CIRCLE, law, first, second)
            head = [f"{second} against {first}", law_in_words(law)] if k == 0 else ["", law_in_words(law)]
            rows.append([*head, band(pair["difference"], signed=True), share(pair["second_better"]), "" if k else said])
    return rows


def when_to_look(study: capsim.VisitStudy) -> list[str]:
    """One line for each law: how many eyes cross, and what the usual visits find of them."""
    lines = []
    for law in study.laws:
        said = f"{share(study.crosses[law])} of the eyes under the {law_in_words(law)}"
        row = next(row for row in study.schedules if row["law"] == law)
        if row["ever_found"]["of"] > 0:
            days = ", ".join(f"{day:g}" for day in row["days"])
            said += f"; visits on days {days} find {share(row['ever_found'])}"
            if row["days_late"]["median"] is not None:
                said += f", {number(row['days_late']['median'])} days late (median)"
        lines.append(said)
    return lines


def where_to_cut(study: capsim.CutStudy) -> list[list[str]]:
    """A row for each layout and law; a star where nothing beats it."""
    rows = [["layout (*: no other beats it)", "law", "back at once, mm2", "kept at the end, mm2", "to equator"]]
    unbeaten = study.nothing_beats()
    for layout in study.layouts:
        found = study.layout(layout.name)
        star = "*" if layout.name in unbeaten else " "
        for k, law in enumerate(study.laws):
            rows.append(
                [
                    "" if k else f"{star} {layout.name} ({_hours(layout.hours)})",
                    law_in_words(law),
                    band(found["area_back_mm2"][law]),
                    band(found["area_kept_mm2"][law], signed=True),
                    f"{number(found['tip_to_equator_mm'][law]['median'])} mm",
                ]
            )
    return rows


MARKS = {
    "beyond_optic": "tips beyond the optic",
    "near_equator": "tips near the equator",
    "lips_overlap": "lips that overlap",
}


def marked(study: capsim.CutStudy) -> list[str]:
    """A line for each layout that has tips or lips, in an eye, at a length and under a law, of which to beware."""
    lines = []
    for layout in study.layouts:
        found = study.layout(layout.name)
        words = [said for mark, said in MARKS.items() if found[mark]["count"] > 0]
        if words:
            lines.append(f"{layout.name}: some {', '.join(words)}")
    return lines


def _hours(hours: Sequence[float]) -> str:
    """``12 3 6 9``, or ``4-6`` where they follow each other."""
    if len(hours) > 2 and all(later == before + 1 for before, later in zip(hours, hours[1:])):
        return f"{hours[0]:g}-{hours[-1]:g}"
    return " ".join(f"{hour:g}" for hour in hours)


def write(crowd: Crowd, names: Mapping[str, str], folder: Path) -> list[Path]:
    """A picture of each answer."""
    written = []
    compared = crowd.comparison.plot()
    key = "   ".join(f"{letter}: {name}" for letter, name in names.items())
    compared.axes[0].set_xlabel(f"{key}\n{compared.axes[0].get_xlabel()}", loc="left")
    for name, figure in (
        ("crowd.png", compared),
        ("when_to_look.png", crowd.looks.plot()),
        ("where_to_cut.png", crowd.cuts.plot()),
    ):
        written.append(capsim.plot.save_small_png(figure, folder / name))
    return written
