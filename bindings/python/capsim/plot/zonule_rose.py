# SPDX-License-Identifier: BSD-3-Clause
"""The zonule's load by clock hour as a rose: 12 up, hours clockwise, as the examiner sees the eye."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..errors import ArgumentError
from ..history import History
from ..series_attribute import FloatArray
from . import anatomy, palette
from .front_view import ABSENT, picked_row, row_label
from .sheet import Sheet, caution_below, cautions_for, title_above


def draw_rose(
    axes: Any, history: History, row: int, load_limit_mN: float | None = None, points: float = palette.LABEL_PT
) -> None:
    """Draws the loads of a row into polar axes, and those of day 0 as arcs."""
    from matplotlib.ticker import MaxNLocator

    loads = history.zonule_load_mN[row]
    limit = load_limit_mN or float(np.max(history.zonule_load_mN)) or 1.0
    angles = np.arange(12) * np.pi / 6
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    axes.bar(
        angles,
        loads,
        width=np.pi / 6 * 0.86,
        color=[palette.load_colour(load / limit) for load in loads],
        edgecolor=palette.INK,
        linewidth=0.8,
        zorder=3,
    )
    _arcs_of_day_0(axes, history, angles)
    _numbers(axes, history, row, limit, points, angles)
    axes.set_ylim(0, 1.25 * limit)
    axes.set_xticks(angles)
    axes.set_xticklabels([str(hour or 12) for hour in range(12)], fontsize=points, color=palette.INK)
    axes.set_yticks(MaxNLocator(4).tick_values(0, limit)[1:-1])
    axes.set_yticklabels([])  # the numbers stand at the bars
    axes.tick_params(length=0, width=0)
    axes.tick_params(axis="x", pad=5)
    axes.grid(True, color=palette.GRID, linewidth=0.8, linestyle="-")
    axes.spines["polar"].set_color(palette.FAINT)
    axes.spines["polar"].set_linewidth(0.9)
    _sides(axes, history, points)


def _arcs_of_day_0(axes: Any, history: History, angles: FloatArray) -> None:
    for hour, load in enumerate(history.zonule_load_mN[0]):
        arc = angles[hour] + np.linspace(-1, 1, 9) * np.pi / 12 * 0.86
        axes.plot(
            arc,
            np.full(9, load),
            color=palette.CUT,
            linewidth=2.2,
            zorder=4,
            solid_capstyle="butt",
            label="load on day 0" if hour == 0 else None,
        )


def _numbers(axes: Any, history: History, row: int, limit: float, points: float, angles: FloatArray) -> None:
    """The load at each bar, and a cross where there is no zonule."""
    loads, start = history.zonule_load_mN[row], history.zonule_load_mN[0]
    absent = anatomy.zonule_strengths(history, row) < ABSENT
    if absent.any():
        axes.plot(
            angles[absent],
            np.full(absent.sum(), 0.5 * limit),
            marker="x",
            linestyle="none",
            color=palette.INK,
            markersize=9,
            markeredgewidth=2.2,
            zorder=5,
            label="no zonule",
        )
    for angle, load, gone in zip(angles, loads, absent):
        if not gone:
            outermost = max(load, start[int(round(angle / (np.pi / 6)))])
            axes.text(
                angle,
                outermost + 0.11 * limit,
                f"{load:.1f}" if load < 9.95 else f"{load:.0f}",
                ha="center",
                va="center",
                fontsize=points - 1,
                zorder=6,
                color=palette.INK,
            )


def _sides(axes: Any, history: History, points: float) -> None:
    eye = history.scenario.to_dict()["eye"]
    if eye in ("right", "left"):
        for x, side, turn in ((1.13, "nasal", -90), (-0.13, "temporal", 90)):
            axes.text(
                x if eye == "right" else 1 - x,
                0.5,
                side,
                transform=axes.transAxes,
                ha="center",
                va="center",
                rotation=turn if eye == "right" else -turn,
                fontsize=points,
                color=palette.FAINT,
            )


def zonule_rose(
    history: History,
    day: float | None = None,
    *,
    row: int | None = None,
    ax: Any = None,
    load_limit_mN: float | None = None,
) -> Any:
    """The load that the zonule carries in each clock hour [mN] on one day, and on day 0 as arcs.

    `day` and `row` as in `front_view`. `ax` must be polar. Returns the Matplotlib figure.

    >>> figure = capsim.plot.zonule_rose(history)
    """
    number = picked_row(history, day, row)
    if ax is not None:
        if ax.name != "polar":
            raise ArgumentError('the rose needs polar axes: figure.add_subplot(projection="polar")')
        draw_rose(ax, history, number, load_limit_mN)
        title_above(ax, history.scenario.name, "zonule load [mN], " + row_label(history, number), pad=16)
        caution_below(ax, [history], 0.35)
        return ax.figure
    width, body = 5.6, 5.4
    sheet = Sheet(width, body, history.scenario.name, cautions_for([history]))
    axes = sheet.axes(0.85, 0.45, width - 1.7, body - 1.35, projection="polar")
    draw_rose(axes, history, number, load_limit_mN)
    sheet.text(0.18, body - 0.02, f"Zonule load by clock hour [mN], {row_label(history, number)}", va="top")
    legend = axes.legend(loc="upper left", bbox_to_anchor=(-0.2, -0.02), fontsize=palette.SMALL_PT, frameon=False)
    for text in legend.get_texts():
        text.set_color(palette.INK)
    return sheet.figure
