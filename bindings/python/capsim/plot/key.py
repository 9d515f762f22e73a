# SPDX-License-Identifier: BSD-3-Clause
"""The key under front views: what each line and colour means, only for what is in the pictures."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any

import numpy as np

from ..history import History
from . import anatomy, palette
from .sheet import CHARACTER_WIDTH, MARGIN_IN, Sheet

LINE_IN, SWATCH_IN, GAP_IN = 0.26, 0.42, 0.22
Draw = Callable[[Any, float, float], None]


def entries(histories: Sequence[History], load_limit_mN: float) -> list[tuple[str, float, Draw]]:
    """Label, width of the sample in inches, and how to draw the sample at a place, in inches."""
    scenarios = [history.scenario.to_dict() for history in histories]
    load_words = f"zonule load per clock hour, 0 to {load_limit_mN:.2g} mN"
    found: list[tuple[str, float, Draw]] = [(load_words, 1.1, _loads)]
    if any(
        (anatomy.zonule_strengths(history, row) <= 0).any() for history in histories for row in (0, len(history) - 1)
    ):
        found.append(("no zonule", SWATCH_IN, _absent))
    found.append(("front leaf", SWATCH_IN, _patch(palette.LEAF)))
    found.append(("fibrous tissue, 0 to 100 %", 0.9, _tissue))
    found.append(("rim", SWATCH_IN, _stroke(color=palette.RIM, linewidth=1.8)))
    found.append(("rim on day 0", SWATCH_IN, _stroke(color=palette.INK, linewidth=1.0, linestyle=(0, (1.2, 2.2)))))
    if any(history.cuts for history in histories):
        found.append(("relaxing cut", SWATCH_IN, _stroke(color=palette.CUT, linewidth=2.6)))
    if any(scenario["lens"] for scenario in scenarios):
        found.append(("optic", SWATCH_IN, _stroke(color=palette.OPTIC, linewidth=1.3, linestyle=(0, (5, 2)))))
        found.append(("haptic (sketch)", SWATCH_IN, _stroke(color=palette.OPTIC, linewidth=1.6)))
    if any("ring_outline_mm" in history.names for history in histories):
        found.append(("tension ring", SWATCH_IN, _stroke(color=palette.RING, linewidth=2.8)))
    found.append(("opening's centre", 0.12, _mark("o", markersize=3.5, color=palette.INK)))
    found.append(("pupil centre", 0.16, _mark("+", markersize=8, color=palette.FAINT)))
    return found


def _rows(
    width_in: float, found: Sequence[tuple[str, float, Draw]], points: float
) -> list[list[tuple[float, str, float, Draw]]]:
    """The entries set in lines that fit: place from the left of each."""
    lines: list[list[tuple[float, str, float, Draw]]] = [[]]
    x = 0.0
    for label, sample, draw in found:
        needs = sample + 0.07 + len(label) * CHARACTER_WIDTH * points / 72
        if x > 0 and x + needs > width_in - 2 * MARGIN_IN:
            lines.append([])
            x = 0.0
        lines[-1].append((x, label, sample, draw))
        x += needs + GAP_IN
    return lines


def key_height(width_in: float, histories: Sequence[History], points: float = palette.SMALL_PT) -> float:
    """Height of the key in inches on a sheet of that width."""
    return len(_rows(width_in, entries(histories, 1.0), points)) * LINE_IN


def draw_key(
    sheet: Sheet, histories: Sequence[History], load_limit_mN: float, points: float = palette.SMALL_PT
) -> None:
    """Draws the key at the foot of the sheet's body."""
    lines = _rows(sheet.width, entries(histories, load_limit_mN), points)
    height = len(lines) * LINE_IN
    axes = sheet.axes(MARGIN_IN, 0, sheet.width - 2 * MARGIN_IN, height)
    axes.set_xlim(0, sheet.width - 2 * MARGIN_IN)
    axes.set_ylim(0, height)
    axes.set_axis_off()
    for number, line in enumerate(lines):
        y = height - (number + 0.5) * LINE_IN
        for x, label, sample, draw in line:
            draw(axes, x, y)
            axes.text(x + sample + 0.07, y, label, ha="left", va="center", fontsize=points, color=palette.INK)


def _loads(axes: Any, x: float, y: float) -> None:
    for share in np.linspace(0, 1, 12):
        axes.plot(
            [x + 0.04 + share, x + 0.04 + share],
            [y - 0.08, y + 0.08],
            color=palette.load_colour(share),
            linewidth=palette.load_width(share),
            solid_capstyle="butt",
        )


def _tissue(axes: Any, x: float, y: float) -> None:
    for i in range(18):
        axes.fill(
            [x + i * 0.05, x + i * 0.05 + 0.051, x + i * 0.05 + 0.051, x + i * 0.05],
            [y - 0.07, y - 0.07, y + 0.07, y + 0.07],
            facecolor=palette.blend(palette.LEAF, palette.TISSUE, i / 17),
            edgecolor="none",
        )


def _absent(axes: Any, x: float, y: float) -> None:
    axes.plot([x, x + SWATCH_IN], [y, y], color=palette.FAINT, linewidth=0.7, linestyle=(0, (2.5, 2.5)))
    axes.plot([x + SWATCH_IN / 2], [y], marker="x", color=palette.INK, markersize=6, markeredgewidth=1.6)


def _patch(colour: str) -> Draw:
    def draw(axes: Any, x: float, y: float) -> None:
        axes.fill(
            [x, x + SWATCH_IN, x + SWATCH_IN, x],
            [y - 0.07, y - 0.07, y + 0.07, y + 0.07],
            facecolor=colour,
            edgecolor=palette.FAINT,
            linewidth=0.8,
        )

    return draw


def _stroke(**style: Any) -> Draw:
    def draw(axes: Any, x: float, y: float) -> None:
        axes.plot([x, x + SWATCH_IN], [y, y], solid_capstyle="butt", **style)

    return draw


def _mark(marker: str, **style: Any) -> Draw:
    def draw(axes: Any, x: float, y: float) -> None:
        axes.plot([x + 0.06], [y], marker=marker, linestyle="none", **style)

    return draw
