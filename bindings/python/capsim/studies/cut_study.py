# SPDX-License-Identifier: BSD-3-Clause
"""Where to cut: layouts of relaxing cuts side by side, for a crowd of eyes.

    result = capsim.cuts(plan, "pseudoexfoliation")   # or layouts=[capsim.CutLayout("4 evenly", (12, 3, 6, 9))]
    print(result)

Nothing here recommends; the cautions stand beside every layout.
"""

from __future__ import annotations

import csv
import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..errors import ArgumentError
from ..optional import needed
from ..population import Population
from .crowd_run import Plan, Progress, native_plan, native_population, told
from .reading import band, eyes_in_words, filled, html_table, html_text, law_in_words, number, share, table
from .study_text import StudyText

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure

COLUMNS = {
    "area_back_mm2": "back at once, mm2",
    "area_kept_mm2": "kept at the end, mm2",
    "clear_circle_kept_mm": "clear circle kept, mm",
    "lens_decentration_change_mm": "lens off centre, mm",
    "zonule_load_max_mN": "largest load, mN",
    "tip_to_optic_edge_mm": "tip inside optic, mm",
    "tip_to_equator_mm": "tip to equator, mm",
    "tip_release_mN": "tip release, mN",
}


@dataclass(frozen=True)
class CutLayout:
    """One way to cut: where, how long, and when.

    >>> capsim.CutLayout("two", (12, 6), length_mm=0.5, day=30).hours
    (12, 6)
    """

    name: str
    hours: tuple[float, ...]
    """Clock hours."""
    length_mm: float = 0.75
    """From the rim along the leaf, as it lies at the end of surgery; half and one and a half of it are tried, too."""
    day: float = 90
    """Day of the cuts."""


class CutStudy(StudyText):
    """What each layout gives back, keeps and risks, over eyes, laws and lengths.

    >>> two = capsim.CutLayout("two", (12, 6), length_mm=0.4, day=30)
    >>> study = capsim.cuts(uncut, "pseudoexfoliation", [two], eyes=1, laws=["fibre_remodelling"])
    >>> study.values("area_back_mm2").shape  # [layout, law, length, eye]
    (1, 1, 3, 1)
    """

    def __init__(self, text: str) -> None:
        """Reads the JSON text of a study."""
        super().__init__(text)
        self._values = self._read_values()

    @property
    def layouts(self) -> list[CutLayout]:
        """The layouts."""
        return [CutLayout(k["name"], tuple(k["hours"]), k["length_mm"], k["day"]) for k in self._tree["layouts"]]

    @property
    def quantities(self) -> list[str]:
        """What is told of each layout."""
        return [q["name"] for q in self._tree["quantities"]]

    @property
    def length_factors(self) -> list[float]:
        """Shares of the length that were tried."""
        return list(self._tree["length_factors"])

    @property
    def status(self) -> NDArray[np.object_]:
        """How each fork ended, [layout, law, length, eye]."""
        return np.array(self._tree["status"], dtype=object).reshape(self._tree["shape"][1:])

    def values(self, quantity: str) -> NDArray[np.float64]:
        """A quantity of every fork, [layout, law, length, eye].

        >>> cut_study.values("area_back_mm2").shape
        (1, 1, 3, 1)
        """
        found: NDArray[np.float64] = self._values[self.quantities.index(quantity)]
        return found

    def layout(self, name: str) -> dict[str, Any]:
        """All about one layout: quantiles by quantity and law, shares of the spread, marks.

        >>> cut_study.layout("two")["hours"]
        [12.0, 6.0]
        """
        for row in self._tree["layouts"]:
            if row["name"] == name:
                return dict(row)
        raise ArgumentError(f"there is no layout {name!r}; there are: {[k.name for k in self.layouts]}")

    def nothing_beats(self) -> list[str]:
        """Layouts that no other is as good as in kept area, tip margin, number of cuts and largest load (medians).

        >>> cut_study.nothing_beats()
        ['two']
        """
        return [row["name"] for row in self._tree["layouts"] if row["nothing_beats"]]

    def to_dataset(self) -> xarray.Dataset:
        """Every fork as labelled arrays [layout, law, length_factor, eye].

        >>> cut_study.to_dataset().area_back_mm2.dims
        ('layout', 'law', 'length_factor', 'eye')
        """
        xarray_ = needed("xarray", "the dataset of a study of cuts")
        dims = ("layout", "law", "length_factor", "eye")
        variables: dict[str, Any] = {
            q["name"]: (dims, self._values[k], {"units": q["unit"]}) for k, q in enumerate(self._tree["quantities"])
        }
        variables["status"] = (dims, self.status, {"long_name": "How the fork ended."})
        coordinates = {
            "layout": [k.name for k in self.layouts],
            "law": self.laws,
            "length_factor": self.length_factors,
            "eye": np.arange(self.eyes),
        }
        attrs = {"population": self._tree["population"], "caution": " ".join(self.cautions)}
        result: xarray.Dataset = xarray_.Dataset(variables, coordinates, attrs)
        return result

    def save_csv(self, path: str | os.PathLike[str]) -> None:
        """A row for each layout, law, length and eye.

        >>> cut_study.save_csv(folder / "cuts.csv")
        >>> (folder / "cuts.csv").read_text().splitlines()[0][:6]
        'layout'
        """
        status = self.status
        with open(path, "w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["layout", "hours", "day", "length_mm", "law", "eye", "status", *self.quantities])
            for k, layout in enumerate(self.layouts):
                hours = " ".join(f"{h:g}" for h in layout.hours)
                for m, law in enumerate(self.laws):
                    for n, factor in enumerate(self.length_factors):
                        for eye in range(self.eyes):
                            values = [repr(float(v)) for v in self._values[:, k, m, n, eye]]
                            head = [layout.name, hours, layout.day, layout.length_mm * factor, law, eye]
                            writer.writerow([*head, status[k, m, n, eye], *values])

    def plot(self) -> Figure:
        """A picture: area kept against the tip's margin, a dot for each eye, and the cautions.

        >>> cut_study.plot().savefig(folder / "cuts.png")
        """
        from .pictures import cut_picture

        return cut_picture(self)

    def answers(self) -> list[str]:
        """What a stranger reads first.

        >>> cut_study.answers()[0]
        'nothing beats ...'
        """
        free = self.nothing_beats()
        rows = {row["name"]: row for row in self._tree["layouts"]}
        lines = [
            "nothing beats (kept area, tip margin, number of cuts, largest load; medians): "
            + (
                "; ".join(f"{n} (in {share(rows[n]['unbeaten_in'])} eyes and laws)" for n in free)
                or "none of them was run"
            )
        ]
        for law in self.laws:
            named = {
                n: rows[n]["area_kept_mm2"][law] for n in rows if rows[n]["area_kept_mm2"][law]["median"] is not None
            }
            if named:
                best = max(named, key=lambda n: float(named[n]["median"]))
                lines.append(f"{law_in_words(law)}: most area kept by {best}, {band(named[best], signed=True)} mm2")
        lines += self._side_in_words()
        return lines

    def rows(self) -> list[list[str]]:
        """Header and a row for each layout and law: median and band over eyes and lengths.

        >>> cut_study.rows()[0][:2]
        ['layout', 'law']
        """
        rows = [["layout", "law", *COLUMNS.values()]]
        for row in self._tree["layouts"]:
            hours = " ".join(f"{h:g}" for h in row["hours"])
            for k, law in enumerate(self.laws):
                mark = "* " if row["nothing_beats"] else "  "
                head = [f"{mark}{row['name']} ({hours} o'clock)", f"  {row['length_mm']:g} mm, day {row['day']:g}"]
                cells = [
                    band(row[q][law], signed=q in ("area_kept_mm2", "lens_decentration_change_mm")) for q in COLUMNS
                ]
                rows.append([head[k] if k < len(head) else "", law_in_words(law), *cells])
        return rows

    def share_rows(self) -> list[list[str]]:
        """Header and a row for each layout: what part of the spread of the kept area is what; and what is marked.

        >>> cut_study.share_rows()[0][0]
        'spread of the kept area'
        """
        rows = [["spread of the kept area", "law", "length", "eye", "together", "marked"]]
        for row in self._tree["layouts"]:
            shares = row["area_kept_mm2"]["shares"]
            marked = [
                f"{words} in {share(row[name])}"
                for name, words in (
                    ("beyond_optic", "tip beyond the optic"),
                    ("near_equator", "tip near the equator"),
                    ("lips_overlap", "lips overlap"),
                )
                if row[name]["count"]
            ]
            cells = [f"{100 * shares[part]:.0f} %" for part in ("law", "length", "eye", "together")]
            rows.append([row["name"], *cells, "; ".join(marked) or "-"])
        return rows

    def text(self) -> str:
        """The answer, the layouts, what their spread comes from, and the cautions.

        >>> "two" in cut_study.text()
        True
        """
        lines = [filled(self._opening_words()), *map(filled, self.cautions[1:]), ""]
        lines += [filled(f"- {a}") for a in self.answers()]
        lines += ["", table(self.rows()), "", table(self.share_rows()), "", filled(CUT_WORDS)]
        return "\n".join([*lines, "", filled(self.cautions[0])])

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        return f"<capsim.CutStudy of {self._tree['plan']}, {len(self.layouts)} layouts, {self.eyes} eyes>"

    def _repr_html_(self) -> str:
        caution = html_text("\n".join(self.cautions[1:]))
        parts = [html_text(self._opening_words()), caution, html_text("\n".join(self.answers()))]
        parts += [html_table(self.rows()), html_table(self.share_rows()), html_text(CUT_WORDS), caution]
        return "".join([*parts, html_text(self.cautions[0])])

    def _opening_words(self) -> str:
        words = (
            f"{self._tree['plan']}: {len(self.layouts)} layouts of cuts for {eyes_in_words(self.eyes)} of {self._tree['population']}, under "
            f"{' and '.join(law_in_words(v) for v in self.laws)}, each at half, once and one and a half times its length."
        )
        failed = int(np.sum((self.status != "completed") & (self.status != "not run")))
        left = int(np.sum(self.status == "not run"))
        if failed:
            words += f" {failed} of {self.status.size} forks did not complete; they are left out."
        if left:
            words += f" Ended on the way: {left} of {self.status.size} forks were not made."
        return words

    def _side_in_words(self) -> list[str]:
        """Towards the weak hours or away from them: what keeps the lens better centred, eye by eye."""
        names = [k.name for k in self.layouts]
        towards = next((k for k, n in enumerate(names) if "towards the weak" in n), None)
        away = next((k for k, n in enumerate(names) if "away from the weak" in n), None)
        if towards is None or away is None:
            return []
        change = self.values("lens_decentration_change_mm")
        lines = []
        for m, law in enumerate(self.laws):
            d = (change[towards, m] - change[away, m])[self.length_factors.index(1.0)]
            d = d[np.isfinite(d)]
            if len(d) == 0:
                continue
            better = int(np.sum(d < 0))
            part, low, high = _core.proportion(better, len(d))
            lines.append(
                f"{law_in_words(law)}: cuts towards the weak hours keep the lens better centred than cuts away from them in "
                f"{share({'count': better, 'of': len(d), 'share': part, 'low': low, 'high': high})} eyes, by {number(float(np.median(-d)))} mm (median)"
            )
        return lines


CUT_WORDS = (
    "Medians and where 8 of 10 lie, over eyes and lengths. Kept: last day, over the same eye without cuts. Lens off centre: change "
    "against the same eye without cuts, negative is better centred. A star marks what nothing beats. Spread: part of the "
    "variance over eyes, laws and lengths; together is what they do jointly. Intervals are 95 % "
    "(Wilson); where laws and lengths are counted together an eye is there more than once, and the interval is too narrow."
)


def cut_layouts(plan: Plan, length_mm: float = 0.75, day: float = 90) -> list[CutLayout]:
    """2, 3 and 4 cuts evenly; with weak hours of the zonule also three gathered towards and three away from them.

    >>> [layout.name for layout in capsim.cut_layouts(uncut)]
    ['2 evenly', '3 evenly', '4 evenly']
    """
    found = _core.usual_layouts(native_plan(plan), float(length_mm), float(day))
    return [CutLayout(name, tuple(hours), length, on) for name, hours, length, on in found]


def cuts(
    plan: Plan,
    population: Population | str | os.PathLike[str],
    layouts: Sequence[CutLayout | Mapping[str, Any]] | None = None,
    *,
    eyes: int = 16,
    laws: Sequence[str] | None = None,
    typical: bool = False,
    workers: int | None = None,
    progress: Progress = None,
) -> CutStudy:
    """Cuts every eye of a crowd in every layout, from one past each, at three lengths and under every law.

    `layouts` None: those of `cut_layouts`. Other arguments as in `capsim.compare`. Raises `ScenarioError` for a plan that
    has cuts of its own, a layout that the plan can't have, and as `compare`.

    >>> two = capsim.CutLayout("two", (12, 6), length_mm=0.4, day=30)
    >>> study = capsim.cuts(uncut, "pseudoexfoliation", [two], eyes=1, laws=["fibre_remodelling"])
    >>> study.nothing_beats()
    ['two']
    """
    given = [k if isinstance(k, CutLayout) else CutLayout(**k) for k in layouts] if layouts else cut_layouts(plan)
    return CutStudy(
        _core.cuts(
            native_plan(plan),
            native_population(population),
            [(k.name, [float(h) for h in k.hours], float(k.length_mm), float(k.day)) for k in given],
            eyes,
            list(laws or []),
            typical,
            workers or 0,
            told(progress, "forks"),
        )
    )
