# SPDX-License-Identifier: BSD-3-Clause
"""One invented high-risk eye, four plans side by side.

The eye is no patient's: a right eye whose zonule is weak all round and weakest below on the nasal
side (4 to 6 o'clock), with a stimulus that never quite fades, so that the opening closes in. Plans:

    A  a small opening                 B  a larger opening
    C  as B, with fewer cells left by polishing and a tension ring
    D  as A, rescued by four relaxing cuts on day 90

First the answer, and how sure it is: 64 eyes about this one under every plan and both contraction laws, when to look, and three
ways to cut. What the laws disagree about, nobody knows. Then the eye itself, plan by plan. Writes each run (HDF5), pictures of
crowd and plans (PNG) and an animation (GIF).
Run it with `bash examples/demo.sh`, or with `python examples/demo.py` when capsim can be imported.
The scenarios are demo_*.json beside this file: change a number and run it again.
"""

from __future__ import annotations

import argparse
import os
import re
import sys
import textwrap
import time
from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import capsim
from capsim.optional import exit_code_of, needed
from capsim.studies import reading

HERE = Path(__file__).resolve().parent
SCENARIOS = ("demo_a_small.json", "demo_b_larger.json", "demo_c_larger_polished_ring.json", "demo_d_small_rescued.json")
LETTERS = "ABCD"
PICTURE_DAYS = (0, 90, 365)
OTHER_LAW = "active_lock_in"
POPULATION = "age_related_cataract"
QUICK = {  # for the crowd: areas within 2 % of those on a fine mesh, a tenth of what eyes differ by
    "mesh": {"around": 12, "radial": 2},
    "numerics": {"time_tolerance": 1e-3},
    "output_every_days": 30,
}
CROWD_EYES, LOOK_EYES, CUT_EYES = 64, 32, 2
COMPARED = {  # what the first screen tells, and how it is printed
    "opening_area_mm2": ("opening after a year, mm2", "{:.1f}"),
    "clear_circle_diameter_mm": ("clear circle, mm", "{:.2f}"),
    "lens_decentration_mm": ("optic off centre, mm", "{:.2f}"),
    "zonule_load_max_mN": ("largest load, mN", "{:.1f}"),
}
LAWS = {"fibre_remodelling": "fibres", "active_lock_in": "lock-in"}
NARROW_MM = 3.0  # a clear circle below it is what visits look for
LAYOUTS = ((12, 6), (12, 4, 8), (12, 3, 6, 9))
UNIT = re.compile(r"(\d) (mm|o'clock)")  # kept with its number when a line is broken
LABEL_COLUMNS, PLAN_COLUMNS, PAGE_COLUMNS = 34, 20, 112


class Plan:
    """One plan with its run and what came of it."""

    def __init__(self, letter: str, scenario: capsim.Scenario) -> None:
        self.letter = letter
        self.history = capsim.simulate(scenario)
        self.scenario = self.history.scenario
        self.outcomes = capsim.outcomes(self.history)
        # At the same place among eyes without known risk, to which both laws were fitted; what is stated of this eye stays.
        there = capsim.population(POPULATION).under(scenario, OTHER_LAW)
        self.under_other_law = capsim.outcomes(capsim.simulate(there))
        self.name = short_name(self.scenario)

    def __getitem__(self, outcome: str) -> float:
        return self.outcomes[outcome]


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the demonstration; 0 when every plan reached its last day."""
    options = _options(arguments)
    folder: Path = options.output
    folder.mkdir(parents=True, exist_ok=True)
    needed("matplotlib", "the demonstration")
    started = time.monotonic()
    crowd = Crowd(options.eyes)
    print(crowd.text(), flush=True)
    plans = run_plans(coarse=options.coarse)
    print("\n" + report(plans))
    print(f"\nComputed in {time.monotonic() - started:.1f} s. Writing to {folder}:", flush=True)
    crowd.comparison.plot().savefig(folder / "crowd.png", dpi=100)
    print("  crowd.png")
    for path in write(plans, folder, options.animation):
        print(f"  {path.name}", flush=True)
    failed = [plan.letter for plan in plans if plan.history.status != "completed"]
    if failed:
        print(f"Not completed: plan {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


def scenarios_of_the_plans() -> dict[str, capsim.Scenario]:
    """The four plans by their letters."""
    return {letter: capsim.Scenario.from_json(HERE / name) for letter, name in zip(LETTERS, SCENARIOS)}


class Crowd:
    """The plans answered for many eyes about this one, the same ones under every plan and law."""

    def __init__(self, eyes: int) -> None:
        self.plans = {name: s.with_(**QUICK) for name, s in scenarios_of_the_plans().items()}
        self.comparison = capsim.compare(self.plans, POPULATION, eyes, list(COMPARED))
        self.visits = capsim.visits(
            self.plans["A"], POPULATION, below={"clear_circle_diameter_mm": NARROW_MM}, eyes=min(eyes, LOOK_EYES)
        )
        layouts = [capsim.CutLayout(f"{len(hours)} evenly", hours) for hours in LAYOUTS]
        self.cuts = capsim.cuts(self.plans["A"], POPULATION, layouts, eyes=min(eyes, CUT_EYES))

    def text(self) -> str:
        """The first screen: the answer, and how sure it is."""
        result = self.comparison
        names = ", ".join(f"{name} {short_name(plan)}" for name, plan in self.plans.items())
        lines = ["THE ANSWER, AND HOW SURE IT IS", ""]
        lines += _filled(
            f"{result.eyes} invented eyes with a weak zonule, the same under every plan and law. Plans: {names}."
        )
        lines += ["", *reading.table(self._rows()).splitlines(), "", *self._sure()]
        lines += ["", "When to look (plan A):", *(_indented(line) for line in self._when())]
        lines += ["Where to cut (plan A on day 90, 0.4 to 1.1 mm):", *(_indented(line) for line in self._where())]
        return "\n".join(lines)

    def _rows(self) -> list[list[str]]:
        """Median of each plan under each law, and where 8 of 10 eyes lie."""
        rows = [["median (8 of 10 eyes)", "law", *self.plans]]
        for name, (label, form) in COMPARED.items():
            for k, law in enumerate(self.comparison.laws):
                cells = []
                for plan in self.plans:
                    q = self.comparison.quantiles(name, law, plan)
                    cells.append(f"{form} ({form} to {form})".format(q["median"], q["low"], q["high"]))
                rows.append([label if k == 0 else "", LAWS[law], *cells])
        return rows

    def _sure(self) -> list[str]:
        """Against plan A, eye by eye: in how many eyes each other plan leaves the larger opening, and whether the laws agree."""
        lines = []
        for plan in list(self.plans)[1:]:
            pairs = [self.comparison.pair("opening_area_mm2", law, "A", plan) for law in self.comparison.laws]
            counts = "; ".join(
                f"{reading.share(p['second_better'])} {LAWS[v]}" for p, v in zip(pairs, self.comparison.laws)
            )
            said = {
                "second": "laws agree",
                "first": f"laws agree: A is larger than {plan}",
                "disagree": "LAWS DISAGREE",
            }
            agreed = said.get(self.comparison.agreement("opening_area_mm2", "A", plan), "open")
            lines.append(f"{plan} ends larger than A in {counts}: {agreed}")
        return lines

    def _when(self) -> list[str]:
        """One line on who gets there and when, one on what the visits find."""
        study = self.visits
        crossed = "; ".join(f"{reading.share(study.crosses[law])} {LAWS[law]}" for law in study.laws)
        lines = [f"a clear circle below {NARROW_MM:g} mm within the year: {crossed}"]
        first = [row for row in study.schedules if row["schedule"] == study.schedules[0]["schedule"]]
        found = "; ".join(
            f"{reading.share(row['ever_found'])} {LAWS[row['law']]}"
            + (f", {row['days_late']['median']:.0f} days late" if row["days_late"]["median"] is not None else "")
            for row in first
        )
        return [*lines, f"visits {first[0]['schedule']} find {found}"]

    def _where(self) -> list[str]:
        """A line for each layout: what it gives back, keeps and risks."""
        lines = []
        for layout in self.cuts.layouts:
            row = self.cuts.layout(layout.name)
            parts = []
            for law in self.cuts.laws:
                back, kept = row["area_back_mm2"][law]["median"], row["area_kept_mm2"][law]["median"]
                parts.append(
                    f"{LAWS[law]} +{back:.1f} mm2 at once, {kept:+.1f} kept" if back is not None else f"{LAWS[law]} -"
                )
            marks = [
                w
                for m, w in (("near_equator", "near the equator"), ("beyond_optic", "beyond the optic"))
                if row[m]["count"]
            ]
            marked = f"; tips {' or '.join(marks)} in some" if marks else ""
            star = " (nothing beats it)" if row["nothing_beats"] else ""
            lines.append(f"{layout.name}: {'; '.join(parts)}{marked}{star}")
        return lines


def short_name(plan: capsim.Scenario) -> str:
    """The name of a plan without saying again that the eye is invented."""
    return plan.name.replace(" (invented eye)", "")


def _indented(line: str) -> str:
    return f"  {line}"


def run_plans(coarse: bool = False) -> list[Plan]:
    """Reads and runs the four scenarios, several at a time."""
    scenarios = list(scenarios_of_the_plans().values())
    for scenario in scenarios:
        if coarse:
            scenario.mesh.around, scenario.mesh.radial = 24, 4
    with ThreadPoolExecutor(max_workers=min(len(scenarios), os.cpu_count() or 1)) as pool:
        return list(pool.map(Plan, LETTERS, scenarios))


OTHER_LAW_IN_WORDS = (
    "How cells shorten the rim is not known. The other contraction law (active lock-in: cells that pull, and tissue that keeps what "
    "they contracted) is fitted to the same published cohorts as the first. What the two disagree about, nobody knows."
)


def report(plans: Sequence[Plan]) -> str:
    """All that is printed: the eye, the table, what to know about single runs, and the cautions."""
    lines = [
        "ONE OF THEM, PLAN BY PLAN",
        "",
        *_filled(eye_in_words(plans[0].scenario)),
        "",
        *table(plans),
        "",
        *_filled(OTHER_LAW_IN_WORDS),
    ]
    flags = [(plan.letter, flag.text) for plan in plans for flag in plan.outcomes.flags]
    lines += [""] if flags else []
    for letter, text in flags:
        lines += _filled(f"! {letter}: {text}", "     ")
    cautions = dict.fromkeys(caution for plan in plans for caution in plan.outcomes.cautions)
    for caution in cautions:
        lines += ["", *_filled(caution)]
    return "\n".join(lines)


def eye_in_words(scenario: capsim.Scenario) -> str:
    """What the four plans have in common."""
    zonule, contraction = scenario.zonule, scenario.contraction
    weak = ", ".join(f"{percent(strength)} at {hour}" for hour, strength in zonule.strength_by_hour.items())
    return (
        f"The eye is invented; it is no patient's. A {scenario.eye} eye with {percent(zonule.strength)} of a healthy zonule "
        f"({weak} o'clock), a stimulus that never fades (chronic signal {contraction.chronic_signal:g}) and fibrous tissue of "
        f"{contraction.fibre_modulus_kPa:g} kPa. Directions are as the examiner sees them."
    )


def table(plans: Sequence[Plan]) -> list[str]:
    """The outcomes, a column for each plan."""
    lines = _row("", [f"{plan.letter}" for plan in plans]) + _row("", [plan.name for plan in plans])
    lines.append("-" * (LABEL_COLUMNS + PLAN_COLUMNS * len(plans)))
    for label, cell in ROWS:
        lines += _row(label, [cell(plan) for plan in plans])
    return lines


def _row(label: str, cells: Sequence[str]) -> list[str]:
    """A row of the table; long cells go on in the next line."""
    blocks = [textwrap.wrap(UNIT.sub("\\1\u00a0\\2", cell), PLAN_COLUMNS - 2) or [""] for cell in cells]
    lines = []
    for number in range(max(map(len, blocks))):
        line = f"{label if number == 0 else '':<{LABEL_COLUMNS}}"
        line += "".join(f"{block[number] if number < len(block) else '':<{PLAN_COLUMNS}}" for block in blocks)
        lines.append(line.replace("\u00a0", " ").rstrip())
    return lines


def percent(fraction: float) -> str:
    """A fraction as text."""
    return f"{100 * fraction:.3g} %"


def direction(what: str) -> Callable[[Plan], str]:
    """Which way the centre of the opening or lens lies from the pupil centre, in words."""

    def cell(plan: Plan) -> str:
        if plan[f"{what}_decentration_mm"] < 0.05:
            return "central"
        hour = round(plan[f"{what}_decentration_hour"]) or 12
        return f"{side_in_words(plan[f'{what}_nasal_mm'], plan[f'{what}_superior_mm'])}, {hour} o'clock"

    return cell


def side_in_words(nasal: float, superior: float) -> str:
    """One of eight directions, "superior temporal"."""
    diagonal = 0.4142  # tan 22.5 degrees: the border between eight equal sectors
    words = []
    if abs(superior) > diagonal * abs(nasal):
        words.append("superior" if superior > 0 else "inferior")
    if abs(nasal) > diagonal * abs(superior):
        words.append("nasal" if nasal > 0 else "temporal")
    return " ".join(words)


def loss_on(day: int) -> Callable[[Plan], str]:
    """The loss of area until a day; that of day 90 is meant before the cuts of that day."""

    def cell(plan: Plan) -> str:
        history = plan.history
        row = history.row_at(day)
        if history.event_side[row] > 0:
            row -= 1
        if abs(history.day[row] - day) > 1e-6:
            return "not reached"
        return f"{100 * (1 - history.opening_area_mm2[row] / history.opening_area_mm2[0]):.0f} %"

    return cell


def relief(plan: Plan) -> str:
    """What the cuts gave back at once."""
    return relief_of(plan.outcomes)


def relief_of(outcomes: capsim.Outcomes) -> str:
    """What the cuts of day 90 gave back at once, if there were any and they gaped."""
    if "relief_day_90_mm2" not in outcomes:
        return "overlapping lips" if outcomes.has_flag("lips_overlap") else "-"
    return f"+{outcomes['relief_day_90_mm2']:.1f} mm2 (+{outcomes['relief_day_90_percent']:.0f} %)"


def relief_kept(plan: Plan) -> str:
    """Area on the last day over that just before the cuts."""
    return f"{plan['relief_kept_day_90_mm2']:+.1f} mm2" if "relief_kept_day_90_mm2" in plan.outcomes else "-"


def value(outcome: str, form: str) -> Callable[[Plan], str]:
    """One outcome as text."""
    return lambda plan: form.format(plan[outcome])


ROWS: tuple[tuple[str, Callable[[Plan], str]], ...] = (
    ("Opening on day 0", value("opening_area_start_mm2", "{:.1f} mm2")),
    ("Loss of area by day 30", loss_on(30)),
    ("Loss of area by day 90", loss_on(90)),
    ("Given back by the cuts of day 90", relief),
    ("Last day reached", value("day", "{:.0f}")),
    ("Opening on that day", value("opening_area_mm2", "{:.1f} mm2")),
    ("Loss of area by then", value("area_loss_percent", "{:.0f} %")),
    ("  against the day of the cuts", relief_kept),
    ("Mean diameter", value("opening_diameter_mm", "{:.2f} mm")),
    (
        "  smallest to largest",
        lambda plan: f"{plan['opening_min_diameter_mm']:.2f} - {plan['opening_max_diameter_mm']:.2f} mm",
    ),
    ("Largest central clear circle", value("clear_circle_diameter_mm", "{:.2f} mm")),
    ("Opening off the pupil centre", value("opening_decentration_mm", "{:.2f} mm")),
    ("  towards", direction("opening")),
    ("Optic off the pupil centre", value("lens_decentration_mm", "{:.2f} mm")),
    ("  towards", direction("lens")),
    ("Load of the whole zonule", value("zonule_load_total_mN", "{:.1f} mN")),
    ("Largest load of one clock hour", value("zonule_load_max_mN", "{:.1f} mN")),
    (
        "  at, and when",
        lambda plan: f"{plan['zonule_load_max_hour']:.0f} o'clock, day {plan['zonule_load_max_day']:.0f}",
    ),
    ("Other law: loss of area by then", lambda plan: f"{plan.under_other_law['area_loss_percent']:.0f} %"),
    ("  given back by the cuts", lambda plan: relief_of(plan.under_other_law)),
    ("  optic off the pupil centre", lambda plan: f"{plan.under_other_law['lens_decentration_mm']:.2f} mm"),
)


def write(plans: Sequence[Plan], folder: Path, animation: str) -> list[Path]:
    """Writes results, pictures and animation; returns their paths."""
    histories = [plan.history for plan in plans]
    written = []
    for plan in plans:
        written.append(folder / f"plan_{plan.letter.lower()}.h5")
        plan.history.save(written[-1])
    title = "One invented eye, four plans"
    for name, figure in (
        ("plans.png", capsim.plot.comparison(histories, PICTURE_DAYS, title=title)),
        (
            "overview.png",
            capsim.plot.comparison(histories, (0, 365), quantities=(), title=title + ": day 0 and a year later"),
        ),
    ):
        written.append(capsim.plot.save_small_png(figure, folder / name))
    if animation != "none":
        written.append(capsim.animate(histories, folder / f"plans.{animation}", title=title))
    return written


def _filled(text: str, indent: str = "") -> list[str]:
    return textwrap.wrap(text, PAGE_COLUMNS, subsequent_indent=indent)


def _options(arguments: Sequence[str] | None) -> argparse.Namespace:
    build = Path(os.environ.get("CAPSIM_BUILD_DIR") or HERE.parent / "build")
    parser = argparse.ArgumentParser(description="One invented high-risk eye, four plans side by side.")
    parser.add_argument(
        "-o",
        "--output",
        type=Path,
        default=build / "demo",
        metavar="FOLDER",
        help="where to write results, picture and animation (default: %(default)s)",
    )
    parser.add_argument(
        "--animation",
        choices=("gif", "html", "mp4", "none"),
        default="gif",
        help="kind of animation; mp4 needs ffmpeg (default: %(default)s)",
    )
    parser.add_argument(
        "--eyes", type=int, default=CROWD_EYES, metavar="N", help="eyes of the crowd (default: %(default)s)"
    )
    parser.add_argument("--coarse", action="store_true", help="a coarse mesh: a quick look")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
