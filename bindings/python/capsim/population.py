# SPDX-License-Identifier: BSD-3-Clause
"""Populations: what eyes of one kind have in common, and how much they differ.

    eyes = capsim.population("pseudoexfoliation")
    print(eyes)                                     # what it sets, what varies, and on what rows it rests
    bands = eyes.bands(base, ["opening_area_mm2"])  # 8 of 10 eyes lie between .low and .high
    capsim.plot.curves(history, bands=bands)
    data = eyes.sweep(base, 64)                     # every eye, as labelled arrays
    for law, eye in eyes.under_every_law(base).items():  # how much of it depends on the contraction law
        print(law, eyes.bands(eye, about=True).at("opening_area_mm2", 365))

The populations that come with the library are fitted to published cohorts. Between-eye spread is as
large as the mean in normal eyes, so one curve without such a band is not a forecast.
"""

from __future__ import annotations

import json
import os
from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from statistics import NormalDist
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from . import _core
from .calibration.prior import Prior
from .days import rows_on
from .errors import ArgumentError
from .history import History
from .quantity import quantity, series_behind, slope_of
from .scenario import Scenario
from .simulation import simulate
from .spelling import did_you_mean
from .sweeps.samples import Samples
from .sweeps.sweep import sweep

if TYPE_CHECKING:
    import xarray


@dataclass(frozen=True)
class Setting:
    """A value that a population gives to one field.

    >>> capsim.population("pseudoexfoliation").settings("fibre_remodelling")[0].path
    '...'
    """

    path: str
    """Dotted path of the field."""
    value: float
    source: str
    """Which published rows fixed it, or that it is assumed."""


@dataclass(frozen=True)
class Spread:
    """How one field differs between the eyes of a population.

    >>> capsim.population("pseudoexfoliation").spreads("fibre_remodelling")[0].sd > 0
    True
    """

    path: str
    """Dotted path of the field."""
    scale: str
    """log: x exp(sd z); share: the logit of x moves by sd z; linear: x + sd z; z is standard normal."""
    sd: float
    """Standard deviation on the scale; linear: in the field's unit."""
    low: float
    """Drawn values are kept at or above this ..."""
    high: float
    """... and at or below this."""
    source: str
    """Which published rows fixed it, or that it is assumed."""
    follows: str = ""
    """Path of a spread before this one that it goes with; empty: none."""
    share: float = 0.0
    """Correlation of the two normal numbers."""


@dataclass(frozen=True)
class Bands:
    """Between which values most eyes of a population lie, day by day.

    >>> eyes = capsim.population("pseudoexfoliation")
    >>> bands = eyes.bands(scenario, ["area_loss_percent"], 4, about=True)
    >>> low, median, high = bands.at("area_loss_percent", 60)
    >>> low <= median <= high
    True
    """

    population: str
    """Name and edition of the population."""
    law: str
    """Contraction law that the eyes were run under."""
    eyes: int
    """How many eyes were run."""
    failed: int
    """How many of them did not reach the last day; they count up to where they got."""
    level: float
    """Share of eyes between `low` and `high`: 0.8 leaves a tenth on either side."""
    day: NDArray[np.float64]
    """Days, [rows]; a day with events is there twice, as in a history."""
    event_side: NDArray[np.float64]
    """Just before (-1) or just after (+1) the events of a day, else 0, [rows]."""
    low: dict[str, NDArray[np.float64]]
    """Lower end of each quantity, [rows]."""
    median: dict[str, NDArray[np.float64]]
    """Median of each quantity, [rows]."""
    high: dict[str, NDArray[np.float64]]
    """Upper end of each quantity, [rows]."""

    def differences(self, other: Bands) -> dict[str, float]:
        """How far the ends of two bands are apart for each quantity, on the worst day: in widths of the other's band on its
        widest day. ArgumentError where a quantity is missing or the days are others.

        >>> drawn = crowd.bands(uncut, eyes=4)
        >>> drawn.differences(drawn)
        {'opening_area_mm2': 0.0}
        """
        if len(self.day) != len(other.day) or not np.allclose(self.day, other.day):
            raise ArgumentError("the bands are over different days")
        found = {}
        for name in self.low:
            if name not in other.low:
                raise ArgumentError(f"the other band has no {name!r}{did_you_mean(name, other.low)}")
            ends = np.abs([self.low[name] - other.low[name], self.high[name] - other.high[name]])
            width = float(np.nanmax(other.high[name] - other.low[name]))
            worst = float(np.nanmax(ends))
            found[name] = worst / width if width > 0 else 0.0 if worst == 0 else float("inf")
        return found

    def at(self, name: str, day: float) -> tuple[float, float, float]:
        """Low, median and high of a quantity on a day: just after its events, linear between days.

        Raises ValueError for a quantity that was not banded and for a day outside the days of the band.

        >>> low, median, high = crowd.bands(uncut, eyes=3, about=True).at("opening_area_mm2", 45)
        >>> low <= median <= high
        True
        """
        if name not in self.low:
            raise ArgumentError(f"there is no band of {name!r}{did_you_mean(name, self.low)}")
        if not self.day[0] <= day <= self.day[-1]:
            raise ArgumentError(f"day is {day}; the band reaches from day {self.day[0]:g} to {self.day[-1]:g}")
        wanted = np.array([float(day)])
        low, middle, high = (
            float(rows_on(self.day, values[name], wanted)[0]) for values in (self.low, self.median, self.high)
        )
        return low, middle, high

    def __str__(self) -> str:
        return (
            f"{self.eyes} eyes of the population {self.population}, under {self.law}; {round(10 * self.level)} of 10 lie in the band"
            + (f"; {self.failed} of them did not reach the last day" if self.failed else "")
        )


class Population:
    """Settings and spreads of one kind of eyes. Eye number i is always the same eye.

    Two plans can therefore be compared on the same eyes, and the first n eyes of any n cover the
    population evenly (Halton points, one prime for each spread).

    >>> eyes = capsim.population("pseudoexfoliation")
    >>> eyes.around(scenario, 3) == eyes.around(scenario, 3)  # always the same eye
    True
    """

    def __init__(self, path_or_text: str | os.PathLike[str]) -> None:
        """Reads a population file, or JSON text (anything that starts with a brace).

        Raises `ScenarioError` with every wrong field, its value and its limit, and OSError for a file that
        can't be read.
        """
        if not (isinstance(path_or_text, str) and path_or_text.lstrip().startswith("{")):
            path_or_text = Path(path_or_text).read_text(encoding="utf-8")
        self._native = _core.Population.from_json(path_or_text)

    @property
    def name(self) -> str:
        """Its name, ``age_related_cataract``."""
        return self._native.name

    @property
    def edition(self) -> str:
        """Edition of its numbers, ``2026-11``."""
        return self._native.edition

    @property
    def description(self) -> str:
        """Which eyes these are."""
        return self._native.description

    @property
    def area_error(self) -> float:
        """Standard deviation of one measured opening area, relative to it [1]."""
        return self._native.area_error

    @property
    def laws(self) -> list[str]:
        """Contraction laws it was fitted for: words of `contraction.law`."""
        return self._native.laws()

    @property
    def provenance(self) -> dict[str, Any]:
        """How it was made, and for each law the published rows it was fitted to beside the model's values."""
        return dict(json.loads(self._native.json()).get("provenance", {}))

    def settings(self, law: str = "fibre_remodelling") -> list[Setting]:
        """What it sets under a law. Raises ValueError for a law it was not fitted for.

        >>> crowd.settings(crowd.laws[1])[0].path
        '...'
        """
        return [Setting(*items) for items in self._native.settings(law)]

    def spreads(self, law: str = "fibre_remodelling") -> list[Spread]:
        """What it varies under a law. Raises ValueError for a law it was not fitted for.

        >>> [spread.path for spread in crowd.spreads()][:1]
        ['...']
        """
        return [Spread(*items) for items in self._native.spreads(law)]

    def priors(self, base: Scenario) -> dict[str, Prior]:
        """What varies, as priors for `capsim.fit`: the base's own values as medians, the population's spreads.

        >>> sorted(crowd.priors(uncut))[0]
        '...'
        """
        return {
            spread.path: Prior(float(base.value_at(spread.path)), spread.sd, spread.scale)
            for spread in self.spreads(_law(base))
            if spread.scale != "share" or 0 < base.value_at(spread.path) < 1
        }

    def typical(self, base: Scenario) -> Scenario:
        """`base` with this population's settings: its middle eye.

        >>> crowd.typical(uncut).opening == uncut.opening
        True
        """
        return _scenario(self._native.typical(_native(base)))

    def around(self, base: Scenario, index: int) -> Scenario:
        """Eye number `index` spread about `base` as it is: for an eye whose own settings are known.

        >>> crowd.around(uncut, 3) == crowd.around(uncut, 3)
        True
        """
        return _scenario(self._native.around(_native(base), index))

    def draw(self, base: Scenario, index: int) -> Scenario:
        """Eye number `index` of this population, otherwise like `base`.

        >>> crowd.draw(uncut, 0) == crowd.draw(uncut, 1)
        False
        """
        return _scenario(self._native.draw(_native(base), index))

    def under(self, base: Scenario, law: str) -> Scenario:
        """The same eye under another contraction law, to see how much a forecast depends on the law.

        What varies keeps its place among the eyes, and what has this population's value takes its value
        under the other law; what the eye has of its own is kept. The middle eye becomes the middle eye, eye
        i becomes eye i. Raises ValueError for a law the population was not fitted for.

        >>> crowd.under(uncut, crowd.laws[1]).contraction.law == crowd.laws[1]
        True
        """
        return _scenario(self._native.under(_native(base), law))

    def under_every_law(self, base: Scenario) -> dict[str, Scenario]:
        """The eye under each law the population was fitted for, its own law first.

        >>> list(crowd.under_every_law(uncut)) == crowd.laws
        True
        """
        own = _law(base)
        return {law: self.under(base, law) for law in [own, *(other for other in self.laws if other != own)]}

    def paths_under(self, paths: Sequence[str], base: Scenario, law: str) -> list[str]:
        """Paths of `base` with those of what varies replaced by their counterparts under another law.

        The contraction strength is a field of its own in each law; a fit frees the one that acts.

        >>> crowd.paths_under(["zonule.strength"], uncut, crowd.laws[1])
        ['zonule.strength']
        """
        counterpart = {here.path: there.path for here, there in zip(self.spreads(_law(base)), self.spreads(law))}
        return [counterpart.get(path, path) for path in paths]

    def samples(self, base: Scenario, eyes: int) -> Samples:
        """What varies in the first `eyes` eyes about `base`: a table for `capsim.sweep`.

        Raises ValueError for no eye at all.

        >>> "zonule.strength" in crowd.samples(uncut, 3)
        True
        """
        if eyes < 1:
            raise ArgumentError(f"eyes is {eyes}; at least one is needed")
        paths = [spread.path for spread in self.spreads(_law(base))]
        native = _native(base)
        drawn = [json.loads(self._native.around(native, i).to_json()) for i in range(eyes)]
        return Samples({path: _column(drawn, path) for path in paths})

    def sweep(self, base: Scenario, eyes: int = 64, *, about: bool = False, **options: Any) -> xarray.Dataset:
        """Runs the first `eyes` eyes; dimension ``run`` counts them. Options as in `capsim.sweep`.

        `about`: spread about `base` as it is, instead of giving it this population's settings first.
        The dataset's attributes name the population and its edition.

        >>> crowd.sweep(uncut, 2, progress=False).sizes["run"]
        2
        """
        middle = base if about else self.typical(base)
        data = sweep(middle, self.samples(middle, eyes), **options)
        return data.assign_attrs(population=f"{self.name}, edition {self.edition}")

    def bands(
        self,
        base: Scenario,
        quantities: str | Sequence[str] = ("opening_area_mm2",),
        eyes: int = 64,
        *,
        level: float = 0.8,
        about: bool = False,
        workers: int | None = None,
    ) -> Bands:
        """Between which values the first `eyes` eyes lie; quantities as in `capsim.plot.curves`.

        The days are the output days of `base`, with both sides of its events. `about` as in `sweep`. A level of 0.8 leaves a tenth of the
        eyes on either side. Results do not depend on `workers` (None: one for each core).
        Raises ValueError for no eye, a level that is not between 0 and 1, and unknown quantities.

        >>> crowd.bands(uncut, "area_loss_percent", eyes=3).eyes
        3
        """
        if eyes < 1 or not 0 < level < 1:
            raise ArgumentError(f"eyes is {eyes} and level {level}; eyes must be at least 1, level above 0 and below 1")
        middle = base if about else self.typical(base)
        with ThreadPoolExecutor(workers or os.cpu_count(), thread_name_prefix="capsim-population") as threads:
            runs = list(threads.map(simulate, (self.around(middle, i) for i in range(eyes))))
        names = [quantities] if isinstance(quantities, str) else list(quantities)
        longest = max(runs, key=lambda history: (float(history.day[-1]), len(history)) if len(history) else (-1.0, 0))
        found = {name: np.array([_on_rows_of(longest, history, name) for history in runs]) for name in names}
        sides = {
            name: np.nanquantile(values, [(1 - level) / 2, 0.5, (1 + level) / 2], axis=0)
            for name, values in found.items()
        }
        return Bands(
            f"{self.name}, edition {self.edition}",
            _law(base),
            eyes,
            sum(h.status != "completed" for h in runs),
            level,
            longest.day,
            longest.event_side,
            *({name: side[k] for name, side in sides.items()} for k in range(3)),
        )

    def linear_bands(
        self,
        base: Scenario,
        quantities: str | Sequence[str] = ("opening_area_mm2",),
        *,
        level: float = 0.8,
        about: bool = False,
    ) -> Bands:
        """Bands from one run with derivatives: the middle eye, and how far each quantity goes with what varies, to first
        order. Quantities, days and `about` as in `bands`; ``bands.differences(drawn)`` says what this leaves out.

        Each quantity is taken as normal: sd^2 = sum over what varies of (sd dq/dp dp/du)^2, u the scale on which p is
        normal. It costs a run and some, instead of one for each eye, and errs where eyes differ so much that their
        answers bend: the page of noise and errors has figures.

        >>> drawn, linear = crowd.bands(uncut, eyes=16), crowd.linear_bands(uncut)
        >>> linear.differences(drawn)["opening_area_mm2"] < 1  # of the drawn band's width
        True
        """
        if not 0 < level < 1:
            raise ArgumentError(f"level is {level}; it must be above 0 and below 1")
        names = [quantities] if isinstance(quantities, str) else list(quantities)
        middle = base if about else self.typical(base)
        priors = self.priors(middle)
        needed_series = list(dict.fromkeys(series_behind(name) for name in names))
        found = _core.sensitivities(_native(middle), list(priors), needed_series, False)
        history = History(found[0])
        slopes = np.array([prior.slope(0.0) for prior in priors.values()])
        reach = NormalDist().inv_cdf((1 + level) / 2)
        low, median, high = {}, {}, {}
        for name in names:
            median[name] = quantity(history, name)
            by = slope_of(history, name, found[4][series_behind(name)])  # [rows, parameters]
            sd = np.sqrt(((by * slopes) ** 2).sum(axis=1))
            low[name], high[name] = median[name] - reach * sd, median[name] + reach * sd
        return Bands(
            f"{self.name}, edition {self.edition}, to first order about its middle eye",
            _law(base),
            1,
            int(history.status != "completed"),
            level,
            history.day,
            history.event_side,
            low,
            median,
            high,
        )

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Population) and self._native.json() == other._native.json()

    def __hash__(self) -> int:
        return hash(self._native.json())

    def __reduce__(self) -> tuple[Any, ...]:
        return type(self), (self._native.json(),)

    def __str__(self) -> str:
        lines = [f"{self.name}, edition {self.edition}: {self.description}"]
        for law in self.laws:
            lines.append(f"  under the contraction law {law}")
            lines += [f"    {s.path} = {s.value:g} ({s.source})" for s in self.settings(law)]
            lines += [f"    {s.path} varies: {s.scale} scale, sd {s.sd:g} ({s.source})" for s in self.spreads(law)]
        return "\n".join(lines)

    def __repr__(self) -> str:
        return f"<capsim population {self.name}, edition {self.edition}>"


def population(name: str) -> Population:
    """A population that comes with the library; `population_names` lists them.

    Raises ValueError, with the names there are, for any other name.

    >>> capsim.population("pseudoexfoliation").laws[0]
    'fibre_remodelling'
    """
    return Population(_core.population(name).json())


def population_names() -> list[str]:
    """Names of the populations that come with the library.

    >>> "pseudoexfoliation" in capsim.population_names()
    True
    """
    return _core.population_names()


def _law(base: Scenario) -> str:
    return str(base.to_dict()["contraction"].get("law", "fibre_remodelling"))


def _native(scenario: Scenario) -> _core.Scenario:
    return _core.Scenario.from_json(scenario.to_json())


def _scenario(native: _core.Scenario) -> Scenario:
    return Scenario.from_json(native.to_json())


def _on_rows_of(longest: History, history: History, name: str) -> NDArray[np.float64]:
    """A quantity of a run on the rows of the longest: before an event from the row before it, after from that after
    it; NaN after the last day it reached."""
    values = quantity(history, name)
    after = rows_on(history.day, values, longest.day)
    before = rows_on(history.day, values, longest.day, after_events=False)
    found: NDArray[np.float64] = np.where(longest.event_side < 0, before, after)
    return found


def _column(drawn: list[Any], path: str) -> NDArray[np.float64]:
    values = []
    for tree in drawn:
        for key in path.split("."):
            tree = tree[key]
        values.append(float(tree))
    return np.array(values)
