# SPDX-License-Identifier: BSD-3-Clause
"""Plans compared eye by eye over a crowd, under every contraction law.

result = capsim.compare({"4.5 mm": small, "5.5 mm": large}, "pseudoexfoliation", eyes=64)
print(result)                 # the answer, and how sure it is
result.to_dataset()           # every eye: [law, plan, eye]
result.plot()                 # a dot for each eye
"""

from __future__ import annotations

import csv
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..errors import ArgumentError
from ..optional import needed
from ..population import Population
from .crowd_run import Plan, Progress, native_plans, native_population, told
from .reading import (
    band,
    eyes_in_words,
    filled,
    html_table,
    html_text,
    law_in_words,
    share,
    table,
    title,
    unit_in_words,
)
from .study_text import StudyText

if TYPE_CHECKING:
    import xarray
    from matplotlib.figure import Figure


LONGEST_NAME = 20
"""Letters of a plan's name that a column of a table has room for."""


class Comparison(StudyText):
    """Outcomes of every eye under every plan and law, and what follows from them.

    >>> plans = {"as planned": uncut, "half the cells": uncut.with_({"contraction.cells_left": 0.5})}
    >>> result = capsim.compare(plans, "pseudoexfoliation", eyes=2, quantities=["opening_area_mm2"])
    >>> result.values("opening_area_mm2").shape  # [law, plan, eye]
    (2, 2, 2)
    """

    def __init__(self, text: str) -> None:
        """Reads the JSON text of a comparison."""
        super().__init__(text)
        self._values = self._read_values()

    @property
    def plans(self) -> list[str]:
        """Names of the plans."""
        return list(self._tree["plans"])

    @property
    def quantities(self) -> list[str]:
        """Names of the outcomes."""
        return [q["name"] for q in self._tree["quantities"]]

    @property
    def population(self) -> str:
        """Name and edition of the population."""
        return str(self._tree["population"])

    @property
    def status(self) -> NDArray[np.object_]:
        """How each run ended, [law, plan, eye]; "not run" after a cancel."""
        return np.array(self._tree["status"], dtype=object).reshape(len(self.laws), len(self.plans), self.eyes)

    def values(self, quantity: str) -> NDArray[np.float64]:
        """An outcome of every eye, [law, plan, eye]; NaN where the run did not complete.

        >>> comparison.values("opening_area_mm2").shape
        (2, 2, 2)
        """
        found: NDArray[np.float64] = self._values[self._index(quantity)]
        return found

    def quantiles(self, quantity: str, law: str, plan: str) -> dict[str, float]:
        """Median, and the values a tenth of the eyes lie below (`low`) and above (`high`).

        >>> found = comparison.quantiles("opening_area_mm2", "fibre_remodelling", "as planned")
        >>> found["low"] <= found["median"] <= found["high"]
        True
        """
        return self._row("quantiles", quantity=self._name(quantity), law=law, plan=plan)

    def pair(self, quantity: str, law: str, first: str, second: str) -> dict[str, Any]:
        """Two plans, in their order, eye by eye: `difference` (second minus first), `first_better` and `second_better`.

        >>> found = comparison.pair("opening_area_mm2", "fibre_remodelling", "as planned", "half the cells")
        >>> found["second_better"]["of"]
        2
        """
        return self._row("pairs", quantity=self._name(quantity), law=law, first=first, second=second)

    def agreement(self, quantity: str, first: str, second: str) -> str:
        """What the laws say together: "first", "second", "disagree", or "open" where a law can't tell.

        >>> comparison.agreement("opening_area_mm2", "as planned", "half the cells")
        'open'
        """
        row = self._row("agreement", quantity=self._name(quantity), first=first, second=second)
        return str(row["laws"])

    def to_dataset(self) -> xarray.Dataset:
        """Every eye as labelled arrays [law, plan, eye], with units.

        >>> comparison.to_dataset().opening_area_mm2.dims
        ('law', 'plan', 'eye')
        """
        xarray_ = needed("xarray", "the dataset of a comparison")
        dims = ("law", "plan", "eye")
        variables: dict[str, Any] = {
            q["name"]: (dims, self._values[k], {"units": q["unit"], "long_name": q["description"]})
            for k, q in enumerate(self._tree["quantities"])
        }
        variables["status"] = (dims, self.status, {"long_name": "How the run ended."})
        coordinates = {"law": self.laws, "plan": self.plans, "eye": np.arange(self.eyes)}
        attrs = {
            "title": "Plans compared eye by eye",
            "population": self.population,
            "capsim_version": _core.version,
            "caution": " ".join(self.cautions),
        }
        result: xarray.Dataset = xarray_.Dataset(variables, coordinates, attrs)
        return result

    def save_csv(self, path: str | os.PathLike[str]) -> None:
        """A row for each eye, plan and law, with its outcomes.

        >>> comparison.save_csv(folder / "plans.csv")
        >>> (folder / "plans.csv").read_text().splitlines()[0]
        'law,plan,eye,status,opening_area_mm2'
        """
        with open(path, "w", newline="", encoding="utf-8") as file:
            writer = csv.writer(file)
            writer.writerow(["law", "plan", "eye", "status", *self.quantities])
            status = self.status
            for k, law in enumerate(self.laws):
                for p, plan in enumerate(self.plans):
                    for eye in range(self.eyes):
                        values = [repr(float(v)) for v in self._values[:, k, p, eye]]
                        writer.writerow([law, plan, eye, status[k, p, eye], *values])

    def plot(self, quantities: Sequence[str] | None = None) -> Figure:
        """A picture: a dot for each eye, joined from plan to plan, with median and band.

        >>> comparison.plot().savefig(folder / "plans.png")
        """
        from .pictures import comparison_picture

        return comparison_picture(self, quantities)

    def table_rows(self, labels: Sequence[str] | None = None) -> list[list[str]]:
        """Header and a row for each outcome and law: median and band under each plan; `labels` stand for their names.

        >>> comparison.table_rows()[0]
        ['median (8 of 10 eyes)', '', 'as planned', 'half the cells']
        """
        rows = [["median (8 of 10 eyes)", "", *(labels or self.plans)]]
        for q in self._tree["quantities"]:
            for k, law in enumerate(self.laws):
                unit = unit_in_words(q["unit"])
                head = title(q["name"]) + (f" [{unit}]" if unit else "") if k == 0 else ""
                cells = [band(self.quantiles(q["name"], law, plan)) for plan in self.plans]
                rows.append([head, law_in_words(law), *cells])
        return rows

    def pair_rows(self, labels: Sequence[str] | None = None) -> list[list[str]]:
        """Header and a row for each pair, outcome and law: the difference within an eye, and who is better in how many.

        >>> comparison.pair_rows()[1][0]
        'half the cells  against  as planned'
        """
        rows = [["second against first, eye by eye", "", "difference", "first better in", "second better in", "laws"]]
        called = self._called(labels)
        for a, first in enumerate(self.plans):
            for second in self.plans[a + 1 :]:
                rows.append([f"{called[second]}  against  {called[first]}", "", "", "", "", ""])
                for q in self.quantities:
                    for k, law in enumerate(self.laws):
                        pair = self.pair(q, law, first, second)
                        agreed = self._agreed(q, called[first], called[second], first, second) if k == 0 else ""
                        rows.append(
                            [
                                f"  {title(q)}" if k == 0 else "",
                                law_in_words(law),
                                band(pair["difference"], signed=True),
                                share(pair["first_better"]),
                                share(pair["second_better"]),
                                agreed,
                            ]
                        )
        return rows

    def answers(self, labels: Sequence[str] | None = None) -> list[str]:
        """In words, an outcome in a line: the order of the plans' medians under each law, and whether the laws agree.

        >>> comparison.answers()[0]
        '...half the cells > as planned (best first), under both laws...'
        """
        lines = []
        called = self._called(labels)
        for q in self._tree["quantities"]:
            if q["better"] == "none":
                continue
            orders = [[called[plan] for plan in self._order(q["name"], law, q["better"])] for law in self.laws]
            first = " > ".join(orders[0])
            if all(order == orders[0] for order in orders):
                said = f"{first} (best first), under {'both laws' if len(orders) == 2 else 'each law'}"
            else:
                said = "; ".join(f"{' > '.join(o)} under the {law_in_words(v)}" for o, v in zip(orders, self.laws))
                said = f"the laws disagree on the order: {said}"
            pairs = [(a, b) for k, a in enumerate(self.plans) for b in self.plans[k + 1 :]]
            sure = sum(self.agreement(q["name"], a, b) in ("first", "second") for a, b in pairs)
            word = "pair is" if len(pairs) == 1 else "pairs are"
            lines.append(f"{title(q['name'])}: {said}; {sure} of {len(pairs)} {word} settled under every law")
        return lines

    def text(self, pairs: bool = True) -> str:
        """The answer, the table, the pairs, and the cautions.

        >>> comparison.text(pairs=False).count("half the cells") > 1
        True
        """
        labels = self._labels()
        lines = [filled(self._opening_words()), *self._key(), ""]
        lines += [filled(f"- {answer}") for answer in self.answers(labels)]
        lines += ["", table(self.table_rows(labels))]
        if pairs and len(self.plans) > 1:
            lines += ["", table(self.pair_rows(labels)), "", filled(PAIR_WORDS)]
        lines += ["", *map(filled, self.cautions)]
        return "\n".join(lines)

    def __str__(self) -> str:
        return self.text()

    def __repr__(self) -> str:
        return f"<capsim.Comparison of {len(self.plans)} plans, {self.eyes} eyes of {self.population}>"

    def _repr_html_(self) -> str:
        labels = self._labels()
        parts = [
            html_text("\n".join([self._opening_words(), *self._key()])),
            html_text("\n".join(self.answers(labels))),
        ]
        parts.append(html_table(self.table_rows(labels)))
        if len(self.plans) > 1:
            parts += [html_table(self.pair_rows(labels)), html_text(PAIR_WORDS)]
        return "".join([*parts, *map(html_text, self.cautions)])

    def _opening_words(self) -> str:
        failed = int(np.sum((self.status != "completed") & (self.status != "not run")))
        left = int(np.sum(self.status == "not run"))
        words = (
            f"{len(self.plans)} {'plan' if len(self.plans) == 1 else 'plans'} for the same {eyes_in_words(self.eyes)} of {self.population}, under "
            f"{' and '.join(law_in_words(v) for v in self.laws)}."
        )
        if failed:
            words += f" {failed} of {self.status.size} runs did not complete; they are left out."
        if left:
            words += f" Ended on the way: {left} of {self.status.size} runs were not made."
        return words

    def _labels(self) -> list[str]:
        """Names of the plans where tables have room for them; else letters."""
        if max(map(len, self.plans)) <= LONGEST_NAME:
            return self.plans
        from ..plot.palette import plan_letter  # as in pictures

        return [plan_letter(p) for p in range(len(self.plans))]

    def _key(self) -> list[str]:
        """What the letters stand for."""
        return [f"{label}: {plan}" for label, plan in zip(self._labels(), self.plans) if label != plan]

    def _called(self, labels: Sequence[str] | None) -> dict[str, str]:
        return dict(zip(self.plans, labels or self.plans))

    def _agreed(self, quantity: str, first_called: str, second_called: str, first: str, second: str) -> str:
        said = self.agreement(quantity, first, second)
        words = {"first": f"agree: {first_called}", "second": f"agree: {second_called}", "disagree": "DISAGREE"}
        return words.get(said, "open")

    def _order(self, quantity: str, law: str, better: str) -> list[str]:
        medians = {plan: self.quantiles(quantity, law, plan)["median"] for plan in self.plans}
        known = [plan for plan in self.plans if medians[plan] is not None]
        return sorted(known, key=lambda plan: medians[plan], reverse=better == "larger")

    def _row(self, part: str, **wanted: str) -> dict[str, Any]:
        for row in self._tree[part]:
            if all(row[key] == value for key, value in wanted.items()):
                return dict(row)
        raise ArgumentError(
            f"there is no {wanted} in this comparison; plans are {self.plans}, in this order, laws {self.laws}"
        )

    def _name(self, quantity: str) -> str:
        return self.quantities[self._index(quantity)]

    def _index(self, quantity: str) -> int:
        if quantity not in self.quantities:
            raise ArgumentError(f"{quantity!r} was not compared; there are: {', '.join(self.quantities)}")
        return self.quantities.index(quantity)


PAIR_WORDS = (
    "Eyes counted with their 95 % interval (Wilson); eyes that are equal count for neither. The laws agree when under each of them "
    "the interval of one side lies above one half, disagree when they say so of different sides; else it is open."
)


def compare(
    plans: Mapping[str, Plan] | Sequence[Plan],
    population: Population | str | os.PathLike[str],
    eyes: int = 64,
    quantities: Sequence[str] | None = None,
    *,
    laws: Sequence[str] | None = None,
    typical: bool = False,
    workers: int | None = None,
    progress: Progress = None,
) -> Comparison:
    """Runs plans of one eye for the same crowd of eyes, under every contraction law, and pairs them eye by eye.

    `plans`: scenarios that differ in opening, lens, ring, polishing and events only, by name or with names of their
    own. `quantities`: outcomes (`capsim.outcomes`); None: clear circle, area, loss, decentration and largest load.
    `typical` gives every plan the population's own settings first; else eyes are spread about the plans as they are.
    `progress(done, total)` may return False to end it, and Ctrl-C does: the runs that are done are kept.
    Results do not depend on `workers` (None: one for each core). Raises `ScenarioError` for plans of different eyes, unknown
    quantities or laws, and no eye.

    >>> plans = {"as planned": uncut, "half the cells": uncut.with_({"contraction.cells_left": 0.5})}
    >>> result = capsim.compare(plans, "pseudoexfoliation", eyes=2, quantities=["opening_area_mm2"])
    >>> result.pair("opening_area_mm2", "fibre_remodelling", "as planned", "half the cells")["second_better"]["count"]
    2
    """
    text = _core.compare(
        native_plans(plans),
        native_population(population),
        list(quantities or []),
        eyes,
        list(laws or []),
        typical,
        workers or 0,
        told(progress),
    )
    return Comparison(text)
