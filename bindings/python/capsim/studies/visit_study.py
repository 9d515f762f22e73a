# SPDX-License-Identifier: BSD-3-Clause
"""When to look: first crossings of a threshold over a crowd, what schedules find, and early signs.

result = capsim.visits(plan, "pseudoexfoliation", below={"clear_circle_diameter_mm": 3})
print(result)
"""

from __future__ import annotations

import csv
import json
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..errors import ArgumentError
from ..population import Population
from .crowd_run import Plan, Progress, native_plan, native_population, told
from .reading import (
    band,
    eyes_in_words,
    filled,
    html_table,
    html_text,
    law_in_words,
    number,
    share,
    table,
    title,
    unit_in_words,
)
from .study_text import StudyText

if TYPE_CHECKING:
    from matplotlib.figure import Figure

SIGNS_SHOWN = 5


class VisitStudy(StudyText):
    """The days on which eyes cross a threshold, and what visits find.

    >>> study = capsim.visits(uncut, "pseudoexfoliation", below={"opening_diameter_mm": 4.9}, eyes=2)
    >>> study.crossing_day.shape  # [law, eye]
    (2, 2)
    """

    @property
    def crossing_day(self) -> NDArray[np.float64]:
        """First day on which each eye crosses, [law, eye]; NaN: never, or the run did not get so far."""
        return np.array(self._tree["crossing_day"], dtype=float).reshape(len(self.laws), self.eyes)

    @property
    def status(self) -> NDArray[np.object_]:
        """How each run ended, [law, eye]."""
        return np.array(self._tree["status"], dtype=object).reshape(len(self.laws), self.eyes)

    @property
    def crosses(self) -> dict[str, dict[str, float]]:
        """Share of eyes that cross, by law: `count`, `of`, `share`, `low`, `high` (95 %)."""
        return dict(zip(self.laws, self._tree["crosses"]))

    @property
    def schedules(self) -> list[dict[str, Any]]:
        """What each schedule finds under each law."""
        return list(self._tree["schedules"])

    @property
    def signs(self) -> list[dict[str, Any]]:
        """Early signs, the best first; the last sensitivity and specificity are those of all laws together."""
        return list(self._tree["signs"])

    def save_csv(self, path: str | os.PathLike[str]) -> None:
        """A row for each eye and law: the day of its first crossing (empty: none) and how the run ended.

        >>> visit_study.save_csv(folder / "crossings.csv")
        >>> (folder / "crossings.csv").read_text().splitlines()[0]
        'law,eye,crossing_day,status'
        """
        with open(path, "w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["law", "eye", "crossing_day", "status"])
            for k, law in enumerate(self.laws):
                for eye in range(self.eyes):
                    day = self.crossing_day[k, eye]
                    writer.writerow([law, eye, "" if np.isnan(day) else repr(float(day)), self.status[k, eye]])

    def plot(self) -> Figure:
        """A picture: the share of eyes that have crossed, day by day, and the visits of the first schedule.

        >>> visit_study.plot().savefig(folder / "crossings.png")
        """
        from .pictures import visit_picture

        return visit_picture(self)

    def answers(self) -> list[str]:
        """Two or three lines: how many cross and when, what the first schedule finds, and the best early sign.

        >>> visit_study.answers()[0]
        '... eyes cross...'
        """
        lines = []
        for k, law in enumerate(self.laws):
            days = self._tree["day_quantiles"][k]
            when = f"; half of those by day {number(days['median'])} (8 of 10: {number(days['low'])} to {number(days['high'])})"
            crossed = share(self._tree["crosses"][k])
            rest = "; the others do not" if self._tree["crosses"][k]["count"] < self._tree["crosses"][k]["of"] else ""
            lines.append(f"{law_in_words(law)}: {crossed} eyes cross{when if days['median'] is not None else ''}{rest}")
        first = [row for row in self.schedules if row["schedule"] == self.schedules[0]["schedule"]]
        for row in first:
            if row["ever_found"]["of"] == 0:
                continue
            lines.append(
                f"{law_in_words(row['law'])}, visits {row['schedule']}: find {share(row['ever_found'])} of them, "
                f"{band(row['days_late'])} days late, the opening then {band(row['opening_diameter_mm'])} mm wide"
            )
        if self.signs:
            lines.append("Best early sign: " + self._sign_in_words(self.signs[0]))
        return lines

    def schedule_rows(self) -> list[list[str]]:
        """Header and a row for each schedule and law.

        >>> visit_study.schedule_rows()[0][0]
        'schedule'
        """
        rows = [["schedule", "law", "found of those that cross", "days late", "opening then, mm"]]
        for row in self.schedules:
            found = [share(row["ever_found"]), band(row["days_late"]), band(row["opening_diameter_mm"])]
            rows.append([row["schedule"], law_in_words(row["law"]), *found])
        return rows

    def visit_rows(self, schedule: str | None = None) -> list[list[str]]:
        """Header and a row for each visit of a schedule (None: the first) and law: what it finds that none before it found.

        >>> visit_study.visit_rows()[0][:3]
        ['visit, day', 'law', 'finds, of those that cross']
        """
        name = self.schedules[0]["schedule"] if schedule is None else schedule
        of_laws = [row for row in self.schedules if row["schedule"] == name]
        if not of_laws:
            names = ", ".join(dict.fromkeys(row["schedule"] for row in self.schedules))
            raise ArgumentError(f"there is no schedule {name!r}; there are: {names}")
        rows = [["visit, day", "law", "finds, of those that cross", "days late", "opening then, mm"]]
        for visit, day in enumerate(of_laws[0]["days"]):
            for k, row in enumerate(of_laws):
                found = [band(row["days_late_at"][visit]), band(row["opening_diameter_mm_at"][visit])]
                head = f"{day:g}" if k == 0 else ""
                rows.append([head, law_in_words(row["law"]), share(row["found"][visit]), *found])
        return rows

    def sign_rows(self) -> list[list[str]]:
        """Header and a row for each of the best early signs.

        >>> visit_study.sign_rows()[0][0]
        'early sign'
        """
        names = [*map(law_in_words, self.laws), "all"]
        rows = [["early sign", "on day", *(f"tells, {n}" for n in names), *(f"spares, {n}" for n in names)]]
        for sign in self.signs[:SIGNS_SHOWN]:
            side = "below" if sign["below"] else "above"
            rows.append(
                [
                    f"{title(sign['measurement'])} {side} {number(sign['cut'])} {unit_in_words(sign['unit'])}",
                    f"{sign['day']:g}",
                    *map(share, sign["sensitivity"]),
                    *map(share, sign["specificity"]),
                ]
            )
        return rows

    def text(self) -> str:
        """The answer, the schedules, the early signs, and the cautions.

        >>> "eyes cross" in visit_study.text()
        True
        """
        lines = [filled(self._opening_words()), "", *(filled(f"- {a}") for a in self.answers())]
        lines += ["", table(self.visit_rows()), "", table(self.schedule_rows())]
        if self.signs:
            lines += ["", table(self.sign_rows()), "", filled(SIGN_WORDS)]
        return "\n".join([*lines, "", *map(filled, self.cautions)])

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        return f"<capsim.VisitStudy of {self._tree['plan']}, {self.eyes} eyes of {self._tree['population']}>"

    def _repr_html_(self) -> str:
        parts = [
            html_text(self._opening_words()),
            html_text("\n".join(self.answers())),
            html_table(self.visit_rows()),
            html_table(self.schedule_rows()),
        ]
        if self.signs:
            parts += [html_table(self.sign_rows()), html_text(SIGN_WORDS)]
        return "".join([*parts, *map(html_text, self.cautions)])

    def _opening_words(self) -> str:
        threshold = self._tree["threshold"]
        side = "below" if threshold["below"] else "above"
        words = (
            f"{self._tree['plan']}: when {title(threshold['quantity']).lower()} ({threshold['quantity']}) first comes {side} "
            f"{threshold['limit']:g}, in {eyes_in_words(self.eyes)} of {self._tree['population']}, within {self._tree['duration_days']:g} days."
        )
        failed = int(np.sum((self.status != "completed") & (self.status != "not run")))
        left = int(np.sum(self.status == "not run"))
        if failed:
            words += f" {failed} of {self.status.size} runs did not complete; they count where they crossed."
        if left:
            words += f" Ended on the way: {left} of {self.status.size} runs were not made."
        return words

    def _sign_in_words(self, sign: Mapping[str, Any]) -> str:
        side = "below" if sign["below"] else "above"
        return (
            f"{title(sign['measurement']).lower()} {side} {number(sign['cut'])} {unit_in_words(sign['unit'])} on day {sign['day']:g} "
            f"tells {share(sign['sensitivity'][-1])} of those that cross later and spares {share(sign['specificity'][-1])} "
            "of those that don't (all laws together)"
        )


SIGN_WORDS = (
    "Eyes counted with their 95 % interval (Wilson). A sign is read in eyes that have not crossed by that day; it tells an eye that "
    "will cross, it spares an eye that won't. Each half of the eyes is judged by the cut that the other half chose; measurements "
    "are without error, so that these signs are at their best. All laws together count an eye more than once: that interval is too narrow."
)


def visits(
    plan: Plan,
    population: Population | str | os.PathLike[str],
    *,
    below: Mapping[str, float] | None = None,
    above: Mapping[str, float] | None = None,
    schedules: Mapping[str, Sequence[float]] | None = None,
    variants: bool = False,
    eyes: int = 64,
    laws: Sequence[str] | None = None,
    typical: bool = False,
    workers: int | None = None,
    progress: Progress = None,
) -> VisitStudy:
    """When eyes like this one cross a threshold, and what visits would find.

    One threshold: ``below={"clear_circle_diameter_mm": 3}`` or ``above={"lens_decentration_mm": 0.5}``; a series of one
    column, a loss, a decentration or a shift. `schedules`: days of visits by name (None: 1 day, 1 week, 1, 3, 6, 12
    months); `variants` adds the first schedule with each visit left out and with one more between any two.
    Other arguments as in `capsim.compare`. Raises `ScenarioError` for a threshold that the plan has crossed on day 0,
    a schedule out of order or beyond the last day, and as `compare`; ValueError unless there is one threshold.

    >>> study = capsim.visits(uncut, "pseudoexfoliation", below={"opening_diameter_mm": 4.9}, eyes=2)
    >>> study.crosses["fibre_remodelling"]["of"]
    2
    """
    given = [
        (name, limit, side) for side, named in ((True, below), (False, above)) for name, limit in (named or {}).items()
    ]
    if len(given) != 1:
        raise ArgumentError(f"{len(given)} thresholds; give one, such as below={{'clear_circle_diameter_mm': 3}}")
    quantity, limit, side = given[0]
    native = native_plan(plan)
    listed = [(name, [float(day) for day in days]) for name, days in (schedules or {}).items()]
    if variants:
        if not listed:
            name, days = _core.usual_schedule()
            last = float(json.loads(native.to_json())["duration_days"])
            listed = [(name, [day for day in days if day <= last])]
        listed = _core.one_more_or_less(*listed[0]) + listed[1:]
    return VisitStudy(
        _core.visits(
            native,
            native_population(population),
            quantity,
            float(limit),
            side,
            listed,
            eyes,
            list(laws or []),
            typical,
            workers or 0,
            told(progress),
        )
    )
