# SPDX-License-Identifier: BSD-3-Clause
"""Pictures of studies: a dot for each eye, so that a band never hides them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from .. import _core
from ..plot import palette
from ..plot.panels import panels
from ..units import unit_of
from .reading import law_in_words, title, unit_in_words

if TYPE_CHECKING:
    from matplotlib.figure import Figure

    from .comparison import Comparison
    from .cut_study import CutStudy
    from .visit_study import VisitStudy

DOT, MARKS = 9, "osD^v"
MARKS_OF_CUTS = ("beyond_optic", "near_equator", "lips_overlap")
ROOM_OF_A_LINE = 0.1  # of a panel's height, for a line of its legend


def comparison_picture(result: Comparison, quantities: Sequence[str] | None = None) -> Figure:
    """A panel for each quantity: dots of eyes by plan, laws beside each other, medians and bands; grey lines join an eye."""
    names = list(quantities) if quantities is not None else result.quantities[:3]
    units = {q["name"]: unit_in_words(q["unit"]) for q in result._tree["quantities"]}
    titles = [f"{title(name)} [{units[name]}]" for name in names]
    figure: Figure
    figure, all_axes = panels(
        f"{len(result.plans)} plans, the same {result.eyes} eyes", result.cautions, titles, height_in=4.2
    )
    laws, plans = result.laws, result.plans
    letters = [palette.plan_letter(p) for p in range(len(plans))]
    apart = 0.8 / len(laws)
    for axes, name in zip(all_axes, names):
        values = result.values(name)
        for k, law in enumerate(laws):
            places = np.arange(len(plans)) + (k - (len(laws) - 1) / 2) * apart
            axes.plot(
                places[:, None] + _spread(result.eyes, apart), values[k], color=palette.GRID, linewidth=0.5, zorder=1
            )
            for p, place in enumerate(places):
                _dots(axes, place, values[k, p], palette.plan_colour(p), MARKS[k % len(MARKS)], apart)
                band = result.quantiles(name, law, plans[p])
                if band["median"] is not None:
                    axes.plot([place] * 2, [band["low"], band["high"]], color=palette.INK, linewidth=1.4, zorder=3)
                    axes.plot(place, band["median"], "_", color=palette.INK, markersize=12, markeredgewidth=2, zorder=4)
        axes.set_xticks(range(len(plans)), letters)
        axes.set_xlim(-0.6, len(plans) - 0.4)
    key = "" if plans == letters else "   ".join(f"{letter}: {plan}" for letter, plan in zip(letters, plans)) + "\n"
    marks = ", ".join(f"{'circles' if k == 0 else 'squares'}: {law_in_words(v)}" for k, v in enumerate(laws[:2]))
    all_axes[0].set_xlabel(f"{key}{marks}; bars: 8 of 10 eyes", loc="left")
    return figure


def visit_picture(result: VisitStudy) -> Figure:
    """The share of eyes that have crossed, day by day under each law, with the visits of the first schedule."""
    threshold = result._tree["threshold"]
    side, unit = "below" if threshold["below"] else "above", unit_in_words(unit_of(threshold["quantity"]))
    figure: Figure
    figure, (axes,) = panels(
        f"When {result.eyes} eyes cross: {title(threshold['quantity']).lower()} {side} {threshold['limit']:g} {unit}".rstrip(),
        result.cautions,
        ["Eyes that have crossed [%], with 95 % interval; dots: found at a visit, so far"],
        width_in=7.0,
        height_in=4.0,
    )
    end = float(result._tree["duration_days"])
    first = result.schedules[0]["schedule"]
    for k, law in enumerate(result.laws):
        of = max(int(result._tree["crosses"][k]["of"]), 1)
        days = np.sort(result.crossing_day[k][np.isfinite(result.crossing_day[k])])
        x = np.concatenate([[0], days, [end]])
        y = 100 * np.concatenate([np.arange(len(days) + 1), [len(days)]]) / of
        axes.step(
            x, y, where="post", color=palette.plan_colour(k), linestyle=palette.plan_dashes(k), label=law_in_words(law)
        )
        low, high = np.array([_core.proportion(count, of)[1:] for count in [*range(len(days) + 1), len(days)]]).T
        axes.fill_between(x, 100 * low, 100 * high, step="post", color=palette.plan_colour(k), alpha=0.12, linewidth=0)
        row = next(r for r in result.schedules if r["schedule"] == first and r["law"] == law)
        found = 100 * np.cumsum([p["count"] for p in row["found"]]) / of
        axes.plot(row["days"], found, MARKS[k % len(MARKS)], color=palette.plan_colour(k), markersize=6, zorder=3)
    axes.set_xlim(0, end)
    axes.set_ylim(-2, 102)
    axes.set_xlabel("day after surgery")
    axes.legend(frameon=False, fontsize=palette.SMALL_PT, loc="best")
    return figure


def cut_picture(result: CutStudy) -> Figure:
    """Area kept against the tip's margin: a dot for each eye at the length as given, a large mark for the median, and a
    line through the medians at half and one and a half times the length."""
    figure: Figure
    figure, all_axes = panels(
        "Layouts of cuts: area kept against the margin of the tips",
        result.cautions,
        [law_in_words(law) for law in result.laws],
        height_in=4.4,
    )
    kept = result.values("area_kept_mm2")
    optic, equator = result.values("tip_to_optic_edge_mm"), result.values("tip_to_equator_mm")
    margin = np.where(np.isfinite(optic), np.minimum(optic, equator), equator)
    as_given = result.length_factors.index(1.0)
    free = set(result.nothing_beats())
    marked = {row["name"] for row in result._tree["layouts"] if any(row[mark]["count"] for mark in MARKS_OF_CUTS)}
    for k, axes in enumerate(all_axes):
        for n, layout in enumerate(result.layouts):
            x, y = margin[n, k, as_given], kept[n, k, as_given]
            axes.scatter(x, y, s=DOT, color=palette.plan_colour(n), alpha=0.6, linewidths=0)
            if np.isfinite(x).any():
                star = ("* " if layout.name in free else "") + ("! " if layout.name in marked else "")
                axes.plot(
                    [_median(each) for each in margin[n, k]],
                    [_median(each) for each in kept[n, k]],
                    color=palette.plan_colour(n),
                    linewidth=1.2,
                    zorder=2,
                )
                axes.plot(
                    _median(x),
                    _median(y),
                    MARKS[n % len(MARKS)],
                    color=palette.plan_colour(n),
                    markeredgecolor=palette.INK,
                    markersize=9,
                    label=star + layout.name,
                )
        axes.axvline(0, color=palette.FAINT, linewidth=0.8)
        axes.set_xlabel(
            "margin of the nearest tip [mm]; left of 0: beyond the optic\nlines: half to one and a half times the length"
        )
    all_axes[0].set_ylabel("kept over the same eye uncut [mm2]")
    # Room for the legend above the dots.
    low, high = all_axes[0].get_ylim()
    all_axes[0].set_ylim(low, high + ROOM_OF_A_LINE * (len(result.layouts) + 1) * (high - low))
    all_axes[0].legend(
        frameon=False,
        fontsize=palette.SMALL_PT,
        loc="upper left",
        title="*: nothing beats it; !: tips or lips, see table",
    )
    return figure


def _median(values: NDArray[np.float64]) -> float:
    """Of the finite ones; NaN of none."""
    finite = values[np.isfinite(values)]
    return float(np.median(finite)) if len(finite) else float("nan")


def _dots(axes: Any, place: float, values: NDArray[np.float64], colour: str, mark: str, room: float) -> None:
    """Dots of eyes, spread a little and always in the same way."""
    axes.scatter(
        place + _spread(len(values), room), values, s=DOT, color=colour, marker=mark, alpha=0.7, linewidths=0, zorder=2
    )


def _spread(eyes: int, room: float) -> NDArray[np.float64]:
    """How far to the side each eye's dot lies."""
    aside: NDArray[np.float64] = (np.arange(eyes) * 0.618034 % 1 - 0.5) * 0.5 * room
    return aside
