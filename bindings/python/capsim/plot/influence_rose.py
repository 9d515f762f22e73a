# SPDX-License-Identifier: BSD-3-Clause
"""What each clock hour does to an outcome, as two roses: 12 up, hours clockwise, as the examiner sees the eye."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..influence import SHARE, Influence
from . import palette
from .sheet import Sheet, cautions_for, wrapped

_TITLES = {"zonule": "a tenth more zonule", "cells": "a tenth more cells"}


def influence_rose(influence: Influence, outcome: str | None = None) -> Any:
    """The change of an outcome (the first, if none is named) for a tenth more zonule, and for a tenth more cells, in
    each clock hour. Hatched bars make it smaller. Returns the Matplotlib figure.

    >>> figure = capsim.plot.influence_rose(capsim.influence(uncut, ["opening_area_mm2"]))
    >>> figure.savefig(folder / "rose.png")
    """
    name = next(iter(influence)) if outcome is None else outcome
    by_place = influence[name]
    side, body = 4.2, 5.6
    sheet = Sheet(2 * side, body, influence.history.scenario.name, cautions_for([influence.history]))
    sheet.text(0.18, body - 0.02, f"Change of {name} [{influence.units[name]}] by clock hour", va="top")
    for number, (place, by_hour) in enumerate(by_place.items()):
        axes = sheet.axes(number * side + 0.75, 1.3, side - 1.5, side - 1.5, projection="polar")
        _draw(axes, SHARE * by_hour)
        axes.set_title(_TITLES[place], fontsize=palette.LABEL_PT, color=palette.INK, pad=16)
        sheet.text(
            number * side + 0.3,
            0.95,
            wrapped(influence.sentence(name, place), side - 0.6, palette.SMALL_PT),
            va="top",
            fontsize=palette.SMALL_PT,
        )
    return sheet.figure


def _draw(axes: Any, changes: Any) -> None:
    most = float(np.max(np.abs(changes))) or 1.0
    angles = np.arange(12) * np.pi / 6
    axes.set_theta_zero_location("N")
    axes.set_theta_direction(-1)
    bars = axes.bar(angles, np.abs(changes), width=np.pi / 6 * 0.86, edgecolor=palette.INK, linewidth=0.8, zorder=3)
    for bar, change in zip(bars, changes):
        bar.set_facecolor(palette.FULL_LOAD if change > 0 else palette.NO_LOAD)
        bar.set_hatch("" if change > 0 else "///")
    for angle, change in zip(angles, changes):
        if abs(change) > 0.05 * most:
            axes.text(
                angle,
                abs(change) + 0.16 * most,
                f"{change:+.2g}",
                ha="center",
                va="center",
                fontsize=palette.SMALL_PT - 1,
                color=palette.INK,
                zorder=6,
            )
    axes.set_ylim(0, 1.3 * most)
    axes.set_xticks(angles)
    axes.set_xticklabels([str(hour or 12) for hour in range(12)], fontsize=palette.LABEL_PT, color=palette.INK)
    axes.set_yticks([0.5 * most, most])
    axes.set_yticklabels([])  # the numbers stand at the bars
    axes.tick_params(length=0, width=0)
    axes.grid(True, color=palette.GRID, linewidth=0.8, linestyle="-")
    axes.spines["polar"].set_color(palette.FAINT)
