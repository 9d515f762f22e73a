# SPDX-License-Identifier: BSD-3-Clause
"""The front view: the bag as the examiner sees it, on one day of a run."""

from __future__ import annotations

from typing import Any

import numpy as np

from ..errors import ArgumentError
from ..history import History
from ..series_attribute import FloatArray
from . import anatomy, palette
from .sheet import Sheet, caution_below, cautions_for, title_above

BUNDLES_PER_HOUR = 5
# A zonule that carries less than this share of the largest load shown is drawn as slack.
SLACK_SHARE = 0.005
# Strength below which a clock hour counts as having no zonule.
ABSENT = 1e-6
HOURS_MM, SIDES_MM, REACH_X_MM, REACH_Y_MM = 0.62, 1.3, 1.75, 1.05  # beyond the ciliary ring


class FrontView:
    """One front view in given axes; `show` moves it to another row of its history.

    `load_limit_mN` is the load per clock hour that is drawn darkest and thickest: give several
    views the same to compare them; by default the largest of the run.
    """

    def __init__(
        self, axes: Any, history: History, load_limit_mN: float | None = None, points: float = palette.LABEL_PT
    ) -> None:
        if len(history) == 0:
            raise ArgumentError(
                f"there is nothing to draw: the run {history.scenario.name!r} has no rows "
                f"({history.status}: {history.message})"
            )
        self.axes, self.history = axes, history
        self._scenario = history.scenario.to_dict()
        self._shapes = anatomy.BagShapes(history)
        self._ciliary = self._scenario["zonule"]["ciliary_ring_diameter_mm"] / 2
        self._limit = load_limit_mN or float(np.max(history.zonule_load_mN)) or 1.0
        self._points = points
        self._moving: list[Any] = []
        self._frame()

    @property
    def moving(self) -> list[Any]:
        """What differs from row to row, in drawing order."""
        return sorted(self._moving, key=lambda artist: float(artist.get_zorder()))

    def show(self, row: int) -> None:
        """Draws that row in place of the one before."""
        for artist in self._moving:
            artist.remove()
        self._moving = []
        rim, equator = self._shapes.rim(row), self._shapes.equator(row)
        self._zonule(row, equator)
        self._polygon(equator, facecolor=palette.LEAF, edgecolor=palette.FAINT, linewidth=1.3, zorder=3)
        self._tissue(row)
        self._polygon(rim.outline, facecolor=palette.PAPER, edgecolor="none", zorder=5)
        self._lens(row, equator)
        if row > 0:
            self._line(
                _closed(self._shapes.rim(0).edge), color=palette.INK, linewidth=1.0, linestyle=(0, (1.2, 2.2)), zorder=7
            )
        self._line(_closed(rim.outline), color=palette.RIM, linewidth=1.8, zorder=8)
        for slit in rim.slits:
            self._line(slit, color=palette.CUT, linewidth=2.6, zorder=9, solid_capstyle="round")
        ring = anatomy.ring(self.history, row)
        if ring is not None:
            self._line(ring, color=palette.RING, linewidth=2.8, zorder=6, solid_capstyle="round")
            self._line(ring[[0, -1]], color=palette.RING, linestyle="none", marker="o", markersize=5.5, zorder=6)
        self._line(
            np.array([(-0.22, 0), (0.22, 0), (np.nan, np.nan), (0, -0.22), (0, 0.22)]),
            color=palette.FAINT,
            linewidth=0.9,
            zorder=8,
        )
        center = self.history.opening_center_mm[row]
        self._line(center[None], color=palette.INK, linestyle="none", marker="o", markersize=3.5, zorder=9)

    def _frame(self) -> None:
        """What does not move: ciliary ring, clock hours, sides, scale bar."""
        axes, r, size = self.axes, self._ciliary, self._points
        axes.set_aspect("equal", adjustable="box")
        axes.set_xlim(-r - REACH_X_MM, r + REACH_X_MM)
        axes.set_ylim(-r - REACH_Y_MM, r + REACH_Y_MM)
        axes.set_axis_off()
        circle = anatomy.on_circle(r, np.linspace(0, 2 * np.pi, 181))
        axes.plot(*circle.T, color=palette.CILIARY, linewidth=3.0, zorder=1, solid_capstyle="butt")
        for hour in range(1, 13):
            x, y = anatomy.on_circle(r + HOURS_MM, anatomy.angle_of_hour(hour))
            axes.text(x, y, str(hour), ha="center", va="center", fontsize=size, color=palette.INK)
        eye = self._scenario["eye"]
        if eye in ("right", "left"):
            for x, side in (
                (1, "nasal" if eye == "right" else "temporal"),
                (-1, "temporal" if eye == "right" else "nasal"),
            ):
                axes.text(
                    x * (r + SIDES_MM),
                    0,
                    side,
                    ha="center",
                    va="center",
                    rotation=-90 * x,
                    fontsize=size,
                    color=palette.FAINT,
                )
        left, low = -r - REACH_X_MM + 0.25, -r - REACH_Y_MM + 0.3
        axes.plot([left, left + 2], [low, low], color=palette.INK, linewidth=2.2, solid_capstyle="butt")
        axes.text(left + 1, low + 0.12, "2 mm", ha="center", va="bottom", fontsize=size - 1, color=palette.INK)

    def _zonule(self, row: int, equator: FloatArray) -> None:
        from matplotlib.collections import LineCollection

        segments, hours = anatomy.zonule_lines(equator, self._ciliary, BUNDLES_PER_HOUR)
        loads = self.history.zonule_load_mN[row] / self._limit
        strengths = anatomy.zonule_strengths(self.history, row)
        absent, slack = strengths < ABSENT, loads < SLACK_SHARE
        for kind, style in ((absent, (0, (2.5, 2.5))), (slack & ~absent, (0, (1, 1.6))), (~slack & ~absent, "-")):
            chosen = kind[hours]
            if not chosen.any():
                continue
            carrying = style == "-"
            lines = LineCollection(
                segments[chosen],
                zorder=2,
                linestyles=[style],
                capstyle="butt",
                colors=[palette.load_colour(loads[h]) if carrying else palette.FAINT for h in hours[chosen]],
                linewidths=[palette.load_width(loads[h]) if carrying else 0.7 for h in hours[chosen]],
            )
            self._moving.append(self.axes.add_collection(lines, autolim=False))
        if absent.any():
            middle = segments.reshape(12, BUNDLES_PER_HOUR, 2, 2)[:, BUNDLES_PER_HOUR // 2].mean(axis=1)
            self._line(
                middle[absent],
                color=palette.INK,
                linestyle="none",
                marker="x",
                markersize=6,
                markeredgewidth=1.6,
                zorder=4,
            )

    def _tissue(self, row: int) -> None:
        from matplotlib.collections import PolyCollection

        quads, angles = self._shapes.tissue_band(row)
        amount = self._tissue_by_hour(row)[np.rint((np.pi / 2 - angles) / (np.pi / 6)).astype(int) % 12]
        there = amount > 0
        if not there.any():
            return
        colours = [palette.blend(palette.LEAF, palette.TISSUE, share) for share in amount[there]]
        band = PolyCollection(list(quads[there]), facecolors=colours, edgecolors=colours, linewidths=0.6, zorder=4)
        self._moving.append(self.axes.add_collection(band, autolim=False))

    def _tissue_by_hour(self, row: int) -> FloatArray:
        """Tissue within each clock hour, 12 first; a history of an older library holds the mean only."""
        if "fibrous_tissue_by_hour" in self.history.names:
            return np.asarray(self.history.fibrous_tissue_by_hour[row])
        return np.full(12, float(self.history.fibrous_tissue[row]))

    def _lens(self, row: int, equator: FloatArray) -> None:
        if self._scenario["lens"] is None:
            return
        optic = anatomy.on_circle(
            self._scenario["lens"]["optic_diameter_mm"] / 2,
            np.linspace(0, 2 * np.pi, 121),
            self.history.lens_center_mm[row],
        )
        self._line(optic, color=palette.OPTIC, linewidth=1.3, linestyle=(0, (5, 2)), zorder=6)
        for loop in anatomy.haptic_loops(self.history, row, equator):
            self._line(loop, color=palette.OPTIC, linewidth=1.6, zorder=6)

    def _polygon(self, points: FloatArray, **style: Any) -> None:
        self._moving += self.axes.fill(*points.T, **style)

    def _line(self, points: FloatArray, **style: Any) -> None:
        style.setdefault("solid_capstyle", "butt")
        self._moving += self.axes.plot(*points.T, **style)


def front_view(
    history: History,
    day: float | None = None,
    *,
    row: int | None = None,
    ax: Any = None,
    load_limit_mN: float | None = None,
) -> Any:
    """The bag on one day: opening, leaf, fibrous tissue, lens, ring, and the zonule's load by clock hour.

    `day` picks the first row at or after it, `row` a row by its number; without either the last
    row. Returns the Matplotlib figure: a new one with a key and the cautions, or that of `ax`.

    >>> figure = capsim.plot.front_view(history, day=30)
    """
    number = picked_row(history, day, row)
    if ax is not None:
        FrontView(ax, history, load_limit_mN).show(number)
        title_above(ax, history.scenario.name, row_label(history, number))
        caution_below(ax, [history])
        return ax.figure
    from .key import draw_key, key_height

    width, view = 6.6, 5.8
    limit = load_limit_mN or float(np.max(history.zonule_load_mN)) or 1.0
    low = key_height(width, [history]) + 0.1
    sheet = Sheet(width, low + view + 0.55, history.scenario.name, cautions_for([history]))
    FrontView(sheet.axes(0.1, low, width - 0.2, view), history, limit).show(number)
    sheet.text(
        0.18,
        low + view + 0.5,
        f"{row_label(history, number)}\n{opening_in_words(history, number)}",
        va="top",
        fontsize=palette.LABEL_PT,
    )
    draw_key(sheet, [history], limit)
    return sheet.figure


def picked_row(history: History, day: float | None, row: int | None) -> int:
    """The row number that `day` or `row` means; the last one without either."""
    if day is not None and row is not None:
        raise TypeError("give a day or a row, not both")
    if len(history) == 0:
        raise ArgumentError(
            f"there is nothing to draw: the run {history.scenario.name!r} has no rows "
            f"({history.status}: {history.message})"
        )
    if day is not None:
        return history.row_at(day)
    number = len(history) - 1 if row is None else int(row)
    if not -len(history) <= number < len(history):
        raise IndexError(f"row {number} of a history with {len(history)} rows")
    return number % len(history)


def row_label(history: History, row: int) -> str:
    """The day of a row in words, with the side of an event and how a run that failed ended."""
    side = {-1: ", just before", 1: ", just after"}.get(int(history.event_side[row]), "")
    if side:
        side += " " + events_in_words(history, float(history.day[row]))
    stopped = (
        f" (the run stopped here: {history.status})"
        if history.status != "completed" and row == len(history) - 1
        else ""
    )
    return f"day {history.day[row]:g}{side}{stopped}"


def events_in_words(history: History, day: float) -> str:
    """What was done on that day."""
    words = {
        "relaxing_cuts": "the cuts",
        "zonule_damage": "the zonule's damage",
        "tension_ring": "the ring's insertion",
        "contraction_change": "the contraction's change",
    }
    found = [
        words[key]
        for event in history.scenario.to_dict()["events"]
        if abs(event["day"] - day) < 1e-6
        for key in words
        if event.get(key)
    ]
    return " and ".join(dict.fromkeys(found)) or "the event"


def opening_in_words(history: History, row: int, short: bool = False) -> str:
    """Area, diameter and loss of a row; `short` for a small picture."""
    area, start = history.opening_area_mm2[row], history.opening_area_mm2[0]
    change = 100 * (area / start - 1) if start > 0 else 0.0
    sign = "±" if abs(change) < 0.5 else "−" if change < 0 else "+"
    if short:
        return f"{area:.1f} mm²" + (f"  ({sign}{abs(change):.0f} %)" if row > 0 else "")
    text = f"opening {area:.1f} mm², mean diameter {history.opening_diameter_mm[row]:.2f} mm"
    return text + (f", area {sign}{abs(change):.0f} % since surgery" if row > 0 else "")


def _closed(points: FloatArray) -> FloatArray:
    return np.concatenate([points, points[:1]])
