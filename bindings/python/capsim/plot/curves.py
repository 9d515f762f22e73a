# SPDX-License-Identifier: BSD-3-Clause
"""Curves over the days: how opening, place and loads of one or several runs change."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any, Union

import numpy as np

from ..errors import ArgumentError
from ..history import History
from ..quantity import quantity
from ..series_attribute import FloatArray
from . import palette
from .sheet import MARGIN_IN, Sheet, axes_width, caution_below, cautions_for, height_of, plain, wrapped

if TYPE_CHECKING:
    from ..population import Bands

Histories = Union[History, Sequence[History]]

QUANTITIES = ("opening_area_mm2", "opening_diameter_mm", "opening_decentration_mm", "zonule_load_max_mN")

# Short titles of the quantities that are drawn most; any other series is called by its name.
TITLES = {
    "opening_area_mm2": "Area of the opening [mm²]",
    "area_loss_percent": "Loss of opening area [%]",
    "opening_diameter_mm": "Mean diameter of the opening [mm]",
    "clear_circle_diameter_mm": "Largest clear circle [mm]",
    "opening_decentration_mm": "Opening off the pupil centre [mm]",
    "lens_decentration_mm": "Optic off the pupil centre [mm]",
    "equator_diameter_mm": "Diameter of the bag [mm]",
    "zonule_load_max_mN": "Largest zonule load of an hour [mN]",
    "zonule_load_total_mN": "Load of the whole zonule [mN]",
    "fibrous_tissue": "Fibrous tissue [fraction]",
}

HATCHES = ("//", "\\\\", "..", "xx")  # bands of different plans differ by more than colour

SMALLEST_RANGES = {"_mm": 0.1, "_mm2": 1.0, "_mN": 0.1, "_percent": 1.0, "_deg": 1.0}


def as_list(histories: Histories) -> list[History]:
    """One run or several as a list; at least one."""
    found = [histories] if isinstance(histories, History) else list(histories)
    if not found:
        raise ArgumentError("give at least one history")
    for history in found:
        if not isinstance(history, History):
            raise TypeError(f"expected a capsim.History, not {type(history).__name__}")
    return found


def smallest_range(name: str) -> float:
    """The least that an axis spans, so that rounding errors of a quantity that stays at zero don't fill it."""
    return next((least for ending, least in SMALLEST_RANGES.items() if name.endswith(ending)), 1e-3)


def quantity_title(name: str) -> str:
    """What stands over the curves of a quantity."""
    return TITLES.get(name, plain(name))


class Curves:
    """The curves of one quantity in given axes, one per run, each with its letter at the end."""

    def __init__(
        self,
        axes: Any,
        histories: Sequence[History],
        name: str,
        points: float = palette.LABEL_PT,
        bands: Sequence[Bands] = (),
    ) -> None:
        self.axes, self.histories = axes, histories
        self._bands = [(band.day, band.low[name], band.high[name]) for band in bands if name in band.low]
        self._runs = [(history.day, quantity(history, name)) for history in histories]
        self._points = points
        self._lines: list[Any] = []
        self._dots: list[Any] = []
        self._setup(name)

    def _setup(self, name: str) -> None:
        axes, size = self.axes, self._points
        for spine in ("top", "right"):
            axes.spines[spine].set_visible(False)
        for spine in ("left", "bottom"):
            axes.spines[spine].set_color(palette.FAINT)
            axes.spines[spine].set_linewidth(0.9)
        axes.tick_params(colors=palette.INK, labelsize=size - 1, direction="out", length=3, width=0.8)
        axes.grid(True, color=palette.GRID, linewidth=0.8, linestyle="-")
        axes.set_axisbelow(True)
        axes.set_title(quantity_title(name), fontsize=size, color=palette.INK, loc="left", pad=6)
        axes.set_xlabel("days after surgery", fontsize=size - 1, color=palette.INK, labelpad=2)
        last = max((float(day[-1]) for day, _ in self._runs if len(day)), default=1.0) or 1.0
        axes.set_xlim(0, last * 1.0)
        axes.set_xticks(day_ticks(last))
        values = np.concatenate(
            [values for _, values in self._runs] + [side for _, low, high in self._bands for side in (low, high)]
        )
        values = values[np.isfinite(values)]
        high, low = (float(values.max()), float(values.min())) if len(values) else (1.0, 0.0)
        axes.set_ylim(min(0.0, 1.05 * low), max(1.08 * high, smallest_range(name)))
        axes.ticklabel_format(axis="y", style="plain", useOffset=False)

    def draw(self) -> None:
        """Draws whole curves, marks a run that stopped early, and puts the letters at the ends."""
        several = len(self._runs) > 1
        for number, (day, low, high) in enumerate(self._bands):
            colour = palette.plan_colour(number)
            self.axes.fill_between(
                day,
                low,
                high,
                facecolor=colour,
                edgecolor=colour,
                alpha=0.16,
                linewidth=0.8,
                zorder=1,
                hatch=HATCHES[number % len(HATCHES)],
            )
        for number, (history, (day, values)) in enumerate(zip(self.histories, self._runs)):
            self.axes.plot(
                day,
                values,
                color=palette.plan_colour(number),
                linestyle=palette.plan_dashes(number),
                linewidth=2.2,
                solid_capstyle="butt",
                clip_on=False,
                zorder=3,
            )
            if history.status != "completed" and len(day):
                self.axes.plot(
                    day[-1:],
                    values[-1:],
                    marker="X",
                    markersize=9,
                    color=palette.plan_colour(number),
                    markeredgecolor=palette.PAPER,
                    clip_on=False,
                    zorder=4,
                )
        if several:
            self._letters()

    def draw_until(self, rows: Sequence[int]) -> None:
        """The curves up to a row of each run, over the faint whole; for animations."""
        if not self._lines:
            for number, (day, values) in enumerate(self._runs):
                style = {
                    "color": palette.plan_colour(number),
                    "linestyle": palette.plan_dashes(number),
                    "clip_on": False,
                    "solid_capstyle": "butt",
                }
                self.axes.plot(day, values, linewidth=1.0, alpha=0.35, **style)
                self._lines += self.axes.plot([], [], linewidth=2.4, zorder=3, **style)
                self._dots += self.axes.plot(
                    [],
                    [],
                    marker="o",
                    markersize=7,
                    linestyle="none",
                    zorder=4,
                    clip_on=False,
                    color=palette.plan_colour(number),
                    markeredgecolor=palette.PAPER,
                )
            if len(self._runs) > 1:
                self._letters()
        for line, dot, row, (day, values) in zip(self._lines, self._dots, rows, self._runs):
            line.set_data(day[: row + 1], values[: row + 1])
            dot.set_data(day[row : row + 1], values[row : row + 1])

    @property
    def moving(self) -> list[Any]:
        """What `draw_until` moves."""
        return [*self._lines, *self._dots]

    def _letters(self) -> None:
        ends = [values[-1] if len(values) else np.nan for _, values in self._runs]
        low, high = self.axes.get_ylim()
        height_pt = self.axes.get_position().height * self.axes.figure.get_figheight() * 72
        gap = 1.15 * self._points / max(height_pt, 1.0) * (high - low)
        last = self.axes.get_xlim()[1]
        for number, (y, (day, _)) in enumerate(zip(spread(ends, gap), self._runs)):
            if np.isfinite(y):
                self.axes.annotate(
                    palette.plan_letter(number),
                    (day[-1] if day[-1] < 0.9 * last else last, y),
                    xytext=(7, 0),
                    textcoords="offset points",
                    va="center",
                    ha="left",
                    fontsize=self._points,
                    fontweight="bold",
                    color=palette.plan_colour(number),
                    annotation_clip=False,
                )


def spread(places: Sequence[float], gap: float) -> FloatArray:
    """The places moved apart so that any two differ by `gap` at least, as little as possible, in the same order."""
    wanted = np.asarray(places, dtype=float)
    order = [i for i in np.argsort(wanted, kind="stable") if np.isfinite(wanted[i])]
    # Groups of touching labels, each centred on the mean of what its members want.
    groups: list[list[int]] = []
    for i in order:
        groups.append([i])
        while len(groups) > 1 and _low(groups[-1], wanted, gap) < _high(groups[-2], wanted, gap) + gap:
            groups[-2:] = [groups[-2] + groups[-1]]
    result = wanted.copy()
    for group in groups:
        result[group] = _low(group, wanted, gap) + gap * np.arange(len(group))
    return result


def _low(group: Sequence[int], wanted: FloatArray, gap: float) -> float:
    return float(wanted[list(group)].mean()) - gap * (len(group) - 1) / 2


def _high(group: Sequence[int], wanted: FloatArray, gap: float) -> float:
    return float(wanted[list(group)].mean()) + gap * (len(group) - 1) / 2


def day_ticks(last: float) -> list[float]:
    """Days to mark on an axis that ends on day `last`: months and quarters rather than hundreds."""
    for step in (1, 2, 5, 10, 30, 90, 180, 365, 730, 1825):
        if last / step <= 5:
            return [float(day) for day in np.arange(0, last + 1e-9, step)]
    return [0.0, float(last)]


def name_and_end(history: History) -> str:
    """The scenario's name, and how a run that failed ended, which its curves mark with a cross."""
    if history.status == "completed":
        return history.scenario.name
    day = f" on day {history.day[-1]:g}" if len(history) else ""
    return f"[stopped{day}: {history.status}] {history.scenario.name}"


def name_key(
    sheet: Sheet, histories: Sequence[History], left: float, top: float, width: float, points: float = palette.LABEL_PT
) -> float:
    """Letter, line and scenario name of each run, one below the other; returns the height used in inches."""
    line = points * 1.5 / 72
    used = 0.0
    for number, history in enumerate(histories):
        y = top - used - line / 2
        axes = sheet.axes(left, y - line / 2, 0.75, line)
        axes.set_axis_off()
        axes.set_xlim(0, 1)
        axes.set_ylim(-1, 1)
        axes.plot(
            [0.33, 1.0],
            [0, 0],
            color=palette.plan_colour(number),
            linestyle=palette.plan_dashes(number),
            linewidth=2.2,
            solid_capstyle="butt",
        )
        sheet.text(
            left,
            y,
            palette.plan_letter(number),
            va="center",
            fontsize=points,
            fontweight="bold",
            color=palette.plan_colour(number),
        )
        sheet.text(
            left + 0.85, y, wrapped(name_and_end(history), width - 0.85, points, lines=1), va="center", fontsize=points
        )
        used += line
    return used


def curves(
    histories: Histories,
    quantities: Sequence[str] = QUANTITIES,
    *,
    axes: Sequence[Any] | None = None,
    bands: None | Bands | Sequence[Bands] = None,
) -> Any:
    """Curves of one or several runs over the days, one picture per quantity.

    A quantity is the name of any series with one value a day, ``area_loss_percent``, or
    ``opening_``, ``lens_`` or ``equator_decentration_mm``. With `axes`, one for each quantity, the
    curves are drawn there. `bands`, one for each run, from `Population.bands`, are shaded behind the curves
    of the quantities they hold. Returns the Matplotlib figure.

    >>> figure = capsim.plot.curves(history, ["opening_area_mm2"])
    """
    runs = as_list(histories)
    shaded = [] if bands is None else list(bands) if isinstance(bands, Sequence) else [bands]
    if shaded and len(shaded) != len(runs):
        raise ArgumentError(f"{len(runs)} runs need as many bands, not {len(shaded)}")
    names = [quantities] if isinstance(quantities, str) else list(quantities)
    if not names:
        raise ArgumentError("give at least one quantity")
    if axes is not None:
        places = list(np.ravel(axes))
        if len(places) != len(names):
            raise ArgumentError(f"{len(names)} quantities need as many axes, not {len(places)}")
        for place, name in zip(places, names):
            Curves(place, runs, name, bands=shaded).draw()
            wide = axes_width(place)
            lines = [
                wrapped(
                    (f"{palette.plan_letter(i)} " if len(runs) > 1 else "") + name_and_end(run),
                    wide,
                    palette.SMALL_PT,
                    lines=1,
                )
                for i, run in enumerate(runs)
            ]
            lines += [
                wrapped(f"Shaded: {text}", wide, palette.SMALL_PT, lines=1) for text in dict.fromkeys(map(str, shaded))
            ]
            place.set_xlabel(
                "days after surgery\n" + "\n".join(lines), fontsize=palette.SMALL_PT, color=palette.INK, loc="left"
            )
        below_labels = 0.16 + height_of("\n" * (len(runs) + 1 + len(dict.fromkeys(map(str, shaded)))), palette.SMALL_PT)
        for place in places:
            caution_below(place, runs, below_labels)
        return places[0].figure
    across = min(2, len(names))
    down = -(-len(names) // across)
    width, high, wide = 4.9 * across, 2.9, 4.9
    key = len(runs) * palette.LABEL_PT * 1.5 / 72 + 0.1 if len(runs) > 1 else 0.0
    title = (
        name_and_end(runs[0]) if len(runs) == 1 else "Plans over time" if len(names) > 1 else quantity_title(names[0])
    )
    notes = [f"Shaded: {text}." for text in dict.fromkeys(map(str, shaded))]
    sheet = Sheet(width, down * high + key, title, [*notes, *cautions_for(runs)])
    if key:
        name_key(sheet, runs, MARGIN_IN, down * high + key - 0.05, width - 2 * MARGIN_IN)
    for number, name in enumerate(names):
        left, bottom = (number % across) * wide + 0.6, (down - 1 - number // across) * high + 0.55
        Curves(sheet.axes(left, bottom, wide - 0.95, high - 0.95), runs, name, bands=shaded).draw()
    return sheet.figure
