# SPDX-License-Identifier: BSD-3-Clause
"""One invented high-risk eye, four plans side by side, answered for a crowd of eyes like it.

The eye is no patient's: a right eye whose zonule is weak all round and weakest below on the nasal side (4 to
6 o'clock). Else it is the middle eye of a population fitted to published cohorts, whose whole bag contracts: tissue
under the rim, and on both leaves where they lie on each other outside the optic. So bag and opening close in. Plans:

    A  a small opening                 B  a larger opening
    C  as B, with fewer cells left by polishing and a tension ring
    D  as A, rescued by four relaxing cuts on day 90

First come the answers for a crowd (`demo_crowd.py` beside this file): the same 48 eyes under every plan and both
contraction laws, how sure that is, when to look, and three layouts of cuts. Then the invented eye itself, each plan
also under the other law: what the two disagree about, nobody knows.
Prints tables, and writes pictures (PNG), each run (HDF5) and an animation (GIF).
Run it with `bash examples/demo.sh`, or with `python examples/demo.py` when capsim can be imported.
The scenarios are demo_*.json beside this file, every number of the eye in them: change one and run it again.
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
import demo_crowd
from capsim.optional import exit_code_of, needed

HERE = Path(__file__).resolve().parent
SCENARIOS = ("demo_a_small.json", "demo_b_larger.json", "demo_c_larger_polished_ring.json", "demo_d_small_rescued.json")
LETTERS = "ABCD"
PICTURE_DAYS = (0, 90, 365)
OTHER_LAW = "active_lock_in"
OTHER_LAW_MESH = {"mesh": {"around": 24, "radial": 4}, "output_every_days": 60}
"""How an eye is run under the other law: a third of the time, and the losses stay within half a percent of the area."""
DAYS_CUT_COARSE = 120  # for a quick look
UNIT = re.compile(r"(\d) (mm|o'clock)")  # kept with its number when a line is broken
LABEL_COLUMNS, PLAN_COLUMNS, PAGE_COLUMNS = 34, 20, 112


class Plan:
    """One plan with its run and what came of it."""

    def __init__(self, letter: str, scenario: capsim.Scenario) -> None:
        self.letter = letter
        self.history = capsim.simulate(scenario)
        self.scenario = self.history.scenario
        self.outcomes = capsim.outcomes(self.history)
        # At the same place among the eyes of the population, which was fitted under both laws; what is stated of this eye stays.
        self.there = capsim.population(demo_crowd.POPULATION).under(scenario, OTHER_LAW).with_(OTHER_LAW_MESH)
        self.under_other_law = capsim.outcomes(capsim.simulate(self.there))
        self.name = short_name(self.scenario)

    def __getitem__(self, outcome: str) -> float:
        return self.outcomes[outcome]


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs the demonstration; 0 when every plan reached its last day."""
    options = _options(arguments)
    needed("matplotlib", "Drawing with capsim.plot and capsim.animate")  # before anything is computed
    folder: Path = options.output
    folder.mkdir(parents=True, exist_ok=True)
    scenarios = read_plans(coarse=options.coarse)
    started = time.monotonic()
    crowd = demo_crowd.run_crowd(
        dict(zip(LETTERS, scenarios)), options.eyes, DAYS_CUT_COARSE if options.coarse else None
    )
    print(crowd_report(crowd, scenarios, time.monotonic() - started), flush=True)
    started = time.monotonic()
    plans = run_plans(scenarios)
    print(report(plans))
    print(f"\nComputed in {time.monotonic() - started:.1f} s. {PICTURES_IN_WORDS} Writing to {folder}:", flush=True)
    for path in [*demo_crowd.write(crowd, names_of(scenarios), folder), *write(plans, folder, options.animation)]:
        print(f"  {path.name}", flush=True)
    failed = [plan.letter for plan in plans if plan.history.status != "completed"]
    if failed:
        print(f"Not completed: plan {', '.join(failed)}", file=sys.stderr)
    return 1 if failed else 0


def read_plans(coarse: bool = False) -> list[capsim.Scenario]:
    """Reads the four scenarios."""
    scenarios = [capsim.Scenario.from_json(HERE / name) for name in SCENARIOS]
    for scenario in scenarios:
        if coarse:
            scenario.mesh.around, scenario.mesh.radial = 24, 4
    return scenarios


def run_plans(scenarios: Sequence[capsim.Scenario]) -> list[Plan]:
    """Runs the four scenarios, several at a time."""
    with ThreadPoolExecutor(max_workers=min(len(scenarios), os.cpu_count() or 1)) as pool:
        return list(pool.map(Plan, LETTERS, scenarios))


def short_name(scenario: capsim.Scenario) -> str:
    """What the plan is called in a table."""
    return scenario.name.replace(" (invented eye)", "")


def names_of(scenarios: Sequence[capsim.Scenario]) -> dict[str, str]:
    """The plans by their letters."""
    return {letter: short_name(scenario) for letter, scenario in zip(LETTERS, scenarios)}


def crowd_report(crowd: demo_crowd.Crowd, scenarios: Sequence[capsim.Scenario], seconds: float) -> str:
    """The first screen: the answers for a crowd."""
    eyes = crowd.comparison.eyes
    return "\n".join(
        [
            f"FOUR PLANS FOR ONE INVENTED EYE, AND {eyes} EYES LIKE IT, UNDER TWO CONTRACTION LAWS",
            "",
            *_filled(eye_in_words(scenarios[0])),
            "",
            demo_crowd.report(crowd, names_of(scenarios)),
            "",
            *_filled(f"Computed in {seconds:.1f} s. For research and teaching only. {INTERVALS_IN_WORDS}"),
            "",
        ]
    )


INTERVALS_IN_WORDS = (
    "A share of eyes stands with its 95 % interval. The eyes are spread about the invented one as those of published cohorts "
    f"({demo_crowd.POPULATION}) are. Their mesh and time steps are coarse, which moves a clear circle by up to "
    f"{demo_crowd.MOVES_MM:g} mm, by {demo_crowd.MOVES_RING_MM:g} mm with a ring."
)


PICTURES_IN_WORDS = "Pictures show the tissue under the rim, not that outside the optic."


def report(plans: Sequence[Plan]) -> str:
    """The eye by itself: the table, what to know about single runs, and the cautions."""
    lines = [
        "THE INVENTED EYE ITSELF",
        "",
        *table(plans),
        "",
        *_filled(other_law_in_words(plans[0])),
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
        f"({weak} o'clock). The whole bag contracts: fibrous tissue of {contraction.fibre_modulus_kPa:g} kPa under the rim, and of "
        f"{scenario.bag_tissue.fibre_modulus_kPa:g} kPa on both leaves outside the optic. Directions are as the examiner sees them."
    )


def other_law_in_words(plan: Plan) -> str:
    """What the last rows of the table are."""
    return (
        "How cells shorten the rim is not known. The other contraction law (active lock-in: cells that pull, and tissue that keeps "
        "what they contracted) is fitted to the same published cohorts as the first; under it they ask for "
        f"{percent(plan.there.zonule.strength)} of a healthy zonule beside the weak hours. What the two laws disagree about, nobody knows."
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
    ("Loss of the bag's mean diameter", value("equator_loss_mm", "{:.2f} mm")),
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
        "--eyes", type=int, default=demo_crowd.EYES, metavar="N", help="eyes of the crowd (default: %(default)s)"
    )
    parser.add_argument("--coarse", action="store_true", help="a coarse mesh: a quick look")
    return parser.parse_args(arguments)


if __name__ == "__main__":
    raise SystemExit(exit_code_of(main))
