# SPDX-License-Identifier: BSD-3-Clause
"""A sheet: a figure with a title on top, cautions at the bottom, and the room between for pictures.

Figures are made without pyplot: no window, no display, no change of the user's backend or
settings. Sizes and colours are set on each object, so that pictures look the same under any style.
"""

from __future__ import annotations

import functools
import io
import textwrap
from collections.abc import Iterable, Sequence
from typing import Any

from .. import _core
from ..history import History
from ..labelled import has_cuts
from ..optional import needed
from . import palette

MARGIN_IN = 0.18
# Mean width of a character over the font's size, for line breaks: a little more than in DejaVu Sans.
CHARACTER_WIDTH, BOLD_CHARACTER_WIDTH = 0.54, 0.6
LINE_HEIGHT = 1.3


def cautions_for(histories: Iterable[History], short: bool = False) -> list[str]:
    """What must stand on a picture of these runs; `short` keeps the first sentences of the general caution."""
    general = _core.research_caution
    if short:
        general = ". ".join(general.split(". ")[:2]) + "."
    return [general, _core.relaxing_cut_caution] if any(has_cuts(history) for history in histories) else [general]


def plain(text: str) -> str:
    """Text of the user's, so that a dollar sign is no formula and a line break no new line."""
    return " ".join(str(text).split()).replace("$", r"\$")


def wrapped(text: str, width_in: float, points: float, lines: int = 99, bold: bool = False) -> str:
    """`text` broken into lines that fit in `width_in` inches; with an ellipsis when there are too many."""
    characters = max(int(width_in * 72 / ((BOLD_CHARACTER_WIDTH if bold else CHARACTER_WIDTH) * points)), 8)
    return "\n".join(textwrap.wrap(plain(text), characters, max_lines=lines, placeholder=" …")) or " "


def height_of(text: str, points: float) -> float:
    """Height [inches] of wrapped text."""
    return (text.count("\n") + 1) * points * LINE_HEIGHT / 72


def png_of(figure: Any) -> bytes:
    """The figure as the bytes of a PNG file."""
    file = io.BytesIO()
    figure.savefig(file, format="png", dpi=80)
    return file.getvalue()


class Sheet:
    """A figure of `width_in` inches, as high as title, body and cautions need.

    `figure` is Matplotlib's; `axes` places a picture in the body, in inches from its lower left.
    """

    def __init__(
        self,
        width_in: float,
        body_in: float,
        title: str,
        cautions: Sequence[str],
        title_points: float = palette.TITLE_PT,
        caution_points: float = palette.CAUTION_PT,
    ) -> None:
        needed("matplotlib", "Drawing with capsim.plot and capsim.animate")
        from matplotlib.backends.backend_agg import FigureCanvasAgg
        from matplotlib.figure import Figure
        from matplotlib.patches import Rectangle

        room = width_in - 2 * MARGIN_IN
        heading = wrapped(title, room, title_points, lines=4, bold=True) if title else ""
        footer = "\n".join(wrapped(caution, room, caution_points) for caution in cautions)
        self._bottom = MARGIN_IN + height_of(footer, caution_points) + 0.12
        top = MARGIN_IN + (height_of(heading, title_points) + 0.05 if heading else 0)
        self.width, self.height = width_in, self._bottom + body_in + top
        self.figure = Figure(figsize=(self.width, self.height), dpi=100, facecolor=palette.PAPER, edgecolor="none")
        # Places are exact: no automatic layout, whatever the user's settings ask for.
        if hasattr(self.figure, "set_layout_engine"):
            self.figure.set_layout_engine("none")
        else:  # before Matplotlib 3.6
            self.figure.set_constrained_layout(False)
            self.figure.set_tight_layout(False)
        FigureCanvasAgg(self.figure)
        # Shown by notebooks also where pyplot was never imported.
        self.figure._repr_png_ = functools.partial(png_of, self.figure)
        # White paper, also where the user's settings save figures on another colour or on none.
        self.figure.add_artist(
            Rectangle(
                (0, 0), 1, 1, transform=self.figure.transFigure, facecolor=palette.PAPER, edgecolor="none", zorder=-10
            )
        )
        if heading:
            self.figure.text(
                MARGIN_IN / self.width,
                1 - MARGIN_IN / self.height,
                heading,
                ha="left",
                va="top",
                fontsize=title_points,
                fontweight="bold",
                color=palette.INK,
            )
        self.figure.text(
            MARGIN_IN / self.width,
            MARGIN_IN / self.height,
            footer,
            ha="left",
            va="bottom",
            fontsize=caution_points,
            color=palette.INK,
            linespacing=1.15,
        )

    def axes(self, left: float, bottom: float, width: float, height: float, **options: Any) -> Any:
        """Axes in the body; all in inches."""
        axes = self.figure.add_axes(
            (left / self.width, (self._bottom + bottom) / self.height, width / self.width, height / self.height),
            **options,
        )
        axes.set_facecolor(palette.PAPER)
        return axes

    def text(self, left: float, bottom: float, text: str, **options: Any) -> Any:
        """Text in the body; the place in inches."""
        options.setdefault("color", palette.INK)
        options.setdefault("fontsize", palette.LABEL_PT)
        return self.figure.text(left / self.width, (self._bottom + bottom) / self.height, text, **options)

    def rule(self, left: float, bottom: float, top: float) -> None:
        """A faint upright line between columns; places in inches."""
        from matplotlib.lines import Line2D

        heights = [(self._bottom + y) / self.height for y in (bottom, top)]
        self.figure.add_artist(
            Line2D([left / self.width] * 2, heights, color=palette.GRID, linewidth=1.0, linestyle="-")
        )


def caution_below(axes: Any, histories: Sequence[History], gap_in: float = 0.05) -> None:
    """The caution under axes that the user brought along, `gap_in` inches below them."""
    width, points = axes_width(axes), palette.SMALL_PT - 2
    text = "\n".join(wrapped(caution, width, points) for caution in cautions_for(histories, short=True))
    axes.annotate(
        text,
        (0.5, 0),
        xytext=(0, -72 * gap_in),
        xycoords="axes fraction",
        textcoords="offset points",
        ha="center",
        va="top",
        fontsize=points,
        color=palette.INK,
        annotation_clip=False,
    )


def title_above(axes: Any, name: str, label: str, pad: float = 6) -> None:
    """Scenario name and day over axes that the user brought along."""
    axes.set_title(
        f"{wrapped(name, axes_width(axes), palette.LABEL_PT, lines=2)}\n{label}",
        fontsize=palette.LABEL_PT,
        color=palette.INK,
        pad=pad,
    )


def axes_width(axes: Any) -> float:
    """Width of axes in inches."""
    return max(float(axes.get_window_extent().width / axes.figure.dpi), 1.5)
