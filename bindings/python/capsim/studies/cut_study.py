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

GIVEN = {
    "area_back_mm2": "area back at once, mm2",
    "clear_circle_back_mm": "clear circle back, mm",
    "area_kept_mm2": "area kept, mm2",
    "clear_circle_kept_mm": "clear circle kept, mm",
}
RISKED = {
    "lens_decentration_change_mm": "lens off centre, mm",
    "opening_decentration_change_mm": "opening off centre, mm",
    "zonule_load_max_mN": "largest load, mN",
    "tip_to_optic_edge_mm": "tip inside optic, mm",
    "tip_to_equator_mm": "tip to equator, mm",
    "tip_release_mN": "tip release, mN",
}
SIGNED = frozenset(name for name in (*GIVEN, *RISKED) if name.endswith(("_kept_mm2", "_kept_mm", "_change_mm")))
MARKS = {
    "beyond_optic": "tip beyond the optic",
    "near_equator": "tip near the equator",
    "lips_overlap": "lips overlap",
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
        """Header and a row for each layout and law, what is given back and kept: median and band over eyes and lengths.

        >>> cut_study.rows()[0][:2]
        ['layout', 'law']
        """
        return self._rows_of(GIVEN)

    def risk_rows(self) -> list[list[str]]:
        """The same of what it does to the eye: decentration, the largest load, and the tips.

        >>> cut_study.risk_rows()[0][2]
        'lens off centre, mm'
        """
        return self._rows_of(RISKED)

    def _rows_of(self, columns: Mapping[str, str]) -> list[list[str]]:
        rows = [["layout", "law", *columns.values()]]
        for row in self._tree["layouts"]:
            hours = " ".join(f"{h:g}" for h in row["hours"])
            mark = ("* " if row["nothing_beats"] else "  ") + ("! " if self._marks_of(row) else "")
            head = [f"{mark}{row['name']}", f"  {hours} o'clock, {row['length_mm']:g} mm, day {row['day']:g}"]
            if len(self.laws) == 1:
                head = [" ".join(head)]
            for k, law in enumerate(self.laws):
                cells = [band(row[q][law], signed=q in SIGNED) for q in columns]
                rows.append([head[k] if k < len(head) else "", law_in_words(law), *cells])
        return rows

    @staticmethod
    def _marks_of(row: Mapping[str, Any]) -> str:
        return "; ".join(f"{words} in {share(row[name])}" for name, words in MARKS.items() if row[name]["count"])

    def share_rows(self) -> list[list[str]]:
        """Header and a row for each layout: what part of the spread of the kept area is what; and what is marked.

        >>> cut_study.share_rows()[0][0]
        'spread of the kept area'
        """
        rows = [["spread of the kept area", "law", "length", "eye", "together", "!: marked"]]
        for row in self._tree["layouts"]:
            shares = row["area_kept_mm2"]["shares"]
            cells = [f"{100 * shares[part]:.0f} %" for part in ("law", "length", "eye", "together")]
            rows.append([row["name"], *cells, self._marks_of(row) or "-"])
        return rows

    def text(self) -> str:
        """The answer, the layouts, what their spread comes from, and the cautions.

        >>> "two" in cut_study.text()
        True
        """
        lines = [filled(self._opening_words()), *map(filled, self.cautions[1:]), ""]
        lines += [filled(f"- {a}") for a in self.answers()]
        tables = (self.rows(), self.risk_rows(), self.share_rows())
        lines += [line for rows in tables for line in ("", table(rows))] + ["", filled(CUT_WORDS)]
        return "\n".join([*lines, "", filled(self.cautions[0])])

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        return f"<capsim.CutStudy of {self._tree['plan']}, {len(self.layouts)} layouts, {self.eyes} eyes>"

    def _repr_html_(self) -> str:
        caution = html_text("\n".join(self.cautions[1:]))
        parts = [html_text(self._opening_words()), caution, html_text("\n".join(self.answers()))]
        parts += [html_table(rows) for rows in (self.rows(), self.risk_rows(), self.share_rows())]
        parts += [html_text(CUT_WORDS), caution]
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
        opposite = {name: name.replace(TOWARDS, AWAY) for name in names if TOWARDS in name}
        pairs = [(names.index(a), names.index(b)) for a, b in opposite.items() if b in names]
        change = self.values("lens_decentration_change_mm")[:, :, self.length_factors.index(1.0)]
        lines = []
        for towards, away in pairs:
            which = f" ({names[towards]})" if len(pairs) > 1 else ""
            for m, law in enumerate(self.laws):
                nearer = change[away, m] - change[towards, m]
                nearer = nearer[np.isfinite(nearer)]
                if len(nearer) == 0:
                    continue
                better = int(np.sum(nearer > 0))
                part, low, high = _core.proportion(better, len(nearer))
                counted = share({"count": better, "of": len(nearer), "share": part, "low": low, "high": high})
                lines.append(
                    f"{law_in_words(law)}: cuts towards the weak hours{which} keep the lens better centred than cuts away from them "
                    f"in {counted} eyes; it then lies {number(abs(float(np.median(nearer))))} mm "
                    f"{'nearer to' if np.median(nearer) >= 0 else 'farther from'} the centre (median)"
                )
        return lines


TOWARDS, AWAY = "towards the weak", "away from the weak"
"""In the names of the layouts that are gathered on one side."""
CUT_WORDS = (
    "Medians and where 8 of 10 lie, over eyes and lengths. Kept: last day, over the same eye without cuts. Lens and opening off centre: change "
    "against the same eye without cuts, negative is better centred. A star marks what nothing beats, "
    "an exclamation mark what the last table names. Spread: part of the "
    "variance over eyes, laws and lengths; together is what they do jointly. Intervals are 95 % "
    "(Wilson); where laws and lengths are counted together an eye is there more than once, and the interval is too narrow."
)


def cut_layouts(
    plan: Plan, length_mm: float | Sequence[float] = 0.75, day: float | Sequence[float] = 90
) -> list[CutLayout]:
    """2, 3 and 4 cuts evenly; with weak hours of the zonule also three gathered towards and three away from them.

    Several lengths or days: each layout at each of them, with what varies in its name.

    >>> [layout.name for layout in capsim.cut_layouts(uncut)]
    ['2 evenly', '3 evenly', '4 evenly']
    >>> [layout.name for layout in capsim.cut_layouts(uncut, day=[30, 90])][:2]
    ['2 evenly, day 30', '2 evenly, day 90']
    """
    native = native_plan(plan)
    found = [CutLayout(name, tuple(hours)) for name, hours, _, _ in _core.usual_layouts(native, 0.75, 90.0)]
    return at_each(found, length_mm, day)


def at_each(
    layouts: Sequence[CutLayout], length_mm: float | Sequence[float], day: float | Sequence[float]
) -> list[CutLayout]:
    """Each layout at each length and on each day, with what varies in its name."""
    lengths = [float(v) for v in (length_mm if isinstance(length_mm, Sequence) else [length_mm])]
    days = [float(v) for v in (day if isinstance(day, Sequence) else [day])]
    all_of_them = []
    for layout in layouts:
        for length in lengths:
            for on in days:
                words = [layout.name]
                words += [f"{length:g} mm"] if len(lengths) > 1 else []
                words += [f"day {on:g}"] if len(days) > 1 else []
                all_of_them.append(CutLayout(", ".join(words), layout.hours, length, on))
    return all_of_them


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
