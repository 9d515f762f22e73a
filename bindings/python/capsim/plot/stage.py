# SPDX-License-Identifier: BSD-3-Clause
"""The moving sheet of an animation: front views of one or several runs over their curves, day by day."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError
from ..history import History
from . import palette
from .comparison import (
    QUANTITIES,
    caption,
    curves_across,
    draw_curves,
    draw_headers,
    header_height,
    heading,
    shared_load_limit,
)
from .front_view import FrontView, events_in_words
from .key import draw_key, key_height
from .sheet import MARGIN_IN, Sheet, cautions_for, height_of, wrapped

MOST_ACROSS = 4
# So many steps keep a file small and a run of a year smooth.
MOST_STEPS = 120


class Step:
    """One moment: a day, which side of an event, and the row of each run."""

    def __init__(self, day: float, side: int, histories: Sequence[History]) -> None:
        self.day, self.side = day, side
        self.rows = [_row(history, day, side) for history in histories]


def steps(histories: Sequence[History], days: Sequence[float] | None = None) -> list[Step]:
    """The moments to show: all output days and both sides of each event, thinned when there are very many, or `days`."""
    if any(len(history) == 0 for history in histories):
        raise ArgumentError("there is nothing to animate: a run has no rows")
    if days is not None:
        if not len(days):
            raise ArgumentError("give at least one day")
        eventful = {float(day) for history in histories for day in history.day[history.event_side != 0]}
        return [Step(float(day), 1 if float(day) in eventful else 0, histories) for day in days]
    moments = sorted(
        {(float(day), int(side)) for history in histories for day, side in zip(history.day, history.event_side)}
    )
    eventful = {day for day, side in moments if side != 0}
    # A run without an event on that day has one row there; it is shown on both sides.
    moments = [(day, side) for day, side in moments if side != 0 or day not in eventful]
    stride = -(-len(moments) // MOST_STEPS)
    keep = [
        moment
        for number, moment in enumerate(moments)
        if number % stride == 0 or moment[1] != 0 or number == len(moments) - 1
    ]
    return [Step(day, side, histories) for day, side in keep]


def _row(history: History, day: float, side: int) -> int:
    row = history.row_at(day)
    if side < 0 and history.event_side[row] > 0 and abs(history.day[row] - day) < 1e-6:
        return row - 1
    return row


class Stage:
    """Renders steps as pictures of one size, [height, width, 3] bytes; what does not move is drawn once."""

    def __init__(
        self, histories: Sequence[History], moments: Sequence[Step], dpi: float, title: str | None = None
    ) -> None:
        self._runs = histories
        points = palette.LABEL_PT
        across = min(len(histories), MOST_ACROSS)
        down = -(-len(histories) // across)
        view_wide = 2.75 if across > 1 else 4.4
        width = max(2 * MARGIN_IN + across * view_wide, 6.4)
        view_wide = (width - 2 * MARGIN_IN) / across
        view_high = min(view_wide, 4.6) * 0.9
        head = header_height(histories, view_wide, points)
        names = QUANTITIES[: curves_across(width)]
        captions = [
            wrapped(caption(run, row, step.day), view_wide - 0.2, points)
            for step in moments
            for run, row in zip(histories, step.rows)
        ]
        under = 0.1 + max(height_of(text, points) for text in captions)
        cell, curve_high, note = head + view_high + under, 2.15, 0.4
        key = key_height(width, histories) + 0.12
        body = note + down * cell + curve_high + key
        sheet = Sheet(width, body, title if title is not None else heading(histories), cautions_for(histories))
        self.figure = sheet.figure
        self.figure.set_dpi(dpi)
        self._day = sheet.text(
            MARGIN_IN, body - 0.02, "", va="top", fontsize=points + 4, fontweight="bold", animated=True
        )
        limit = shared_load_limit(histories)
        self._views, self._captions, self._caption_in = [], [], view_wide - 0.2
        for number, run in enumerate(histories):
            left, low = MARGIN_IN + number % across * view_wide, body - note - (number // across + 1) * cell
            if number % across:
                sheet.rule(left, low, low + cell)
            self._views.append(FrontView(sheet.axes(left, low + under, view_wide, view_high), run, limit, points - 1.5))
            self._captions.append(
                sheet.text(
                    left + view_wide / 2, low + under - 0.03, "", ha="center", va="top", fontsize=points, animated=True
                )
            )
        for first in range(0, len(histories) if len(histories) > 1 else 0, across):
            line = list(range(first, min(first + across, len(histories))))
            lefts = [MARGIN_IN + 0.1 + column * view_wide for column in range(len(line))]
            draw_headers(
                sheet,
                histories[first : first + across],
                lefts,
                view_wide,
                body - note - first // across * cell,
                points,
                line,
            )
        self._curves = draw_curves(sheet, histories, names, key, points, curve_high, moving=True)
        for curve in self._curves:
            curve.draw_until([0] * len(histories))
        draw_key(sheet, histories, limit)
        for artist in self._moving():
            artist.set_animated(True)
        self.figure.canvas.draw()
        self._still = self.figure.canvas.copy_from_bbox(self.figure.bbox)

    def pictures(self, moments: Sequence[Step]) -> Iterator[NDArray[np.uint8]]:
        """The picture of each step."""
        for step in moments:
            yield self._picture(step)

    def _picture(self, step: Step) -> NDArray[np.uint8]:
        canvas = self.figure.canvas
        canvas.restore_region(self._still)
        self._day.set_text(self._words(step))
        for view, text, run, row in zip(self._views, self._captions, self._runs, step.rows):
            view.show(row)
            text.set_text(wrapped(caption(run, row, step.day), self._caption_in, palette.LABEL_PT))
        for curve in self._curves:
            curve.draw_until(step.rows)
        renderer = canvas.get_renderer()
        for artist in self._moving():
            artist.draw(renderer)
        return np.asarray(canvas.buffer_rgba())[:, :, :3].copy()

    def _moving(self) -> list[Any]:
        artists = [artist for view in self._views for artist in view.moving]
        return artists + [artist for curve in self._curves for artist in curve.moving] + [self._day, *self._captions]

    def _words(self, step: Step) -> str:
        words = f"day {step.day:g}"
        if step.side != 0:
            done = next(
                (
                    events_in_words(run, step.day)
                    for run in self._runs
                    if any(abs(day - step.day) < 1e-6 for day in run.day[run.event_side != 0])
                ),
                "",
            )
            words += f", just {'before' if step.side < 0 else 'after'} {done}" if done else ""
        return words
