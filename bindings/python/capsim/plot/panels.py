# SPDX-License-Identifier: BSD-3-Clause
"""Empty axes in the style of the other pictures, for what this package does not draw."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from ..errors import ArgumentError
from . import palette
from .sheet import Sheet, plain


def panels(
    title: str,
    cautions: Sequence[str],
    titles: Sequence[str] = ("",),
    *,
    width_in: float = 4.9,
    height_in: float = 3.4,
    labels_in: float = 0.7,
) -> tuple[Any, list[Any]]:
    """A figure with a title and cautions, and axes side by side to draw in; returns both.

        figure, (axes,) = capsim.plot.panels("Invented eye", fit.cautions)
        axes.plot(days, areas)

    One set of axes for each of `titles`, each `width_in` by `height_in` inches with its labels; those of
    the first have `labels_in` inches to its left. `cautions` are those of what is drawn: of `Outcomes`,
    a fit or a forecast, or the attribute ``caution`` of a sweep.

    >>> figure, axes = capsim.plot.panels("One invented eye", capsim.outcomes(history).cautions)
    >>> len(axes)
    1
    """
    if not cautions:
        raise ArgumentError("give the cautions of what is drawn: they belong on every picture")
    if not titles:
        raise ArgumentError("give at least one title of axes; it may be empty")
    first = width_in + labels_in - 0.7
    sheet = Sheet(first + (len(titles) - 1) * width_in, height_in, title, list(cautions))
    found = []
    for number, text in enumerate(titles):
        left = labels_in if number == 0 else first + (number - 1) * width_in + 0.7
        axes = sheet.axes(left, 0.6, width_in - 1.0, height_in - (1.0 if text else 0.75))
        for side, spine in axes.spines.items():
            spine.set_visible(side in ("left", "bottom"))
            spine.set_color(palette.FAINT)
        axes.tick_params(colors=palette.INK, labelsize=palette.SMALL_PT, length=3, width=0.8)
        axes.grid(True, color=palette.GRID, linewidth=0.8, linestyle="-")
        axes.set_axisbelow(True)
        axes.set_prop_cycle(color=palette.PLAN_COLOURS)
        axes.set_title(plain(text), fontsize=palette.LABEL_PT, color=palette.INK, loc="left", pad=6)
        axes.xaxis.label.set(fontsize=palette.SMALL_PT, color=palette.INK)
        axes.yaxis.label.set(fontsize=palette.SMALL_PT, color=palette.INK)
        found.append(axes)
    return sheet.figure, found
