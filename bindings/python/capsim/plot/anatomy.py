# SPDX-License-Identifier: BSD-3-Clause
"""The shapes of a picture, from the series of a history: no drawing here, only places in mm.

Seen by the examiner who faces the patient: 12 o'clock up, hours clockwise, x to the viewer's right.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np

from ..history import History
from ..series_attribute import FloatArray

# Lips closer than this are one: nodes of a closed cut are tied and coincide to the last bit.
CLOSED_MM = 1e-9


def angle_of_hour(hour: Any) -> Any:
    """Angle [rad], counter-clockwise from the viewer's right, of clock hours, one or an array."""
    return np.pi / 2 - np.pi / 6 * hour


def on_circle(radius: float, angles: Any, center: FloatArray = np.zeros(2)) -> FloatArray:
    """Points at `angles` on a circle: [2] for one angle, [n, 2] for an array."""
    return np.asarray(center + radius * np.stack([np.cos(angles), np.sin(angles)], axis=-1))


def radial_profile(polygon: FloatArray, center: FloatArray, angles: FloatArray) -> FloatArray:
    """Distance from `center` to a polygon that it sees whole, in the directions `angles`."""
    arms = polygon - center
    order = np.argsort(np.arctan2(arms[:, 1], arms[:, 0]))
    seen = np.arctan2(arms[order, 1], arms[order, 0])
    wrapped = (np.asarray(angles) + np.pi) % (2 * np.pi) - np.pi
    return np.interp(wrapped, seen, np.hypot(arms[order, 0], arms[order, 1]), period=2 * np.pi)


@dataclass(frozen=True)
class CutLine:
    """Where a planned cut line sits in the rim polygon: `depth` points on either side of its tip."""

    tip: int
    depth: int


@dataclass(frozen=True)
class Rim:
    """The rim on one day."""

    outline: FloatArray
    """The hole as a polygon, round the open cuts only."""
    edge: FloatArray
    """The rim without the lips, one point per column, two where a cut line ends on it."""
    slits: list[FloatArray]
    """Each open cut: from the rim down one lip to the tip and up the other."""


class BagShapes:
    """Rim, equator and tissue band of a history, row by row."""

    def __init__(self, history: History) -> None:
        self._rims = history.array("rim_outline_mm").reshape(len(history), -1, 2)
        self._equators = history.array("equator_outline_mm").reshape(len(history), -1, 2)
        self._lines = cut_lines(self._rims[0])
        count = self._rims.shape[1]
        inside = {(line.tip + step) % count for line in self._lines for step in range(1 - line.depth, line.depth)}
        self._edge = [i for i in range(count) if i not in inside]
        twice = {(line.tip + line.depth) % count for line in self._lines}
        # The equator's column of each point of the edge; the second lip shares the column of the first.
        self._columns = np.cumsum([i not in twice for i in self._edge]) - 1
        self._zone = self._zone_share(history)

    @property
    def columns(self) -> int:
        """Points along the equator."""
        return int(self._equators.shape[1])

    def equator(self, row: int) -> FloatArray:
        """The equator as a polygon, counter-clockwise."""
        return np.asarray(self._equators[row])

    def rim(self, row: int) -> Rim:
        """The rim of a row, with the cuts that are open on that day."""
        points = self._rims[row]
        count = len(points)
        hidden: set[int] = set()
        slits = []
        for line in self._lines:
            if _together(points, line.tip, line.depth):  # not yet cut: the lips lie on one another
                hidden |= {(line.tip + step) % count for step in range(1 - line.depth, line.depth + 1)}
            else:
                slits.append(points[[(line.tip + step) % count for step in range(-line.depth, line.depth + 1)]])
        outline = points[[i for i in range(count) if i not in hidden]]
        return Rim(outline=outline, edge=points[self._edge], slits=slits)

    def tissue_band(self, row: int) -> tuple[FloatArray, FloatArray]:
        """Quadrilaterals [n, 4, 2] between the rim and the outer edge of the contact zone, and their angles [n].

        The outer edge keeps its share of the way from rim to equator, which is how a picture can
        follow it: the history does not hold the places inside the leaf.
        """
        rim = self._rims[row][self._edge]
        equator = self._equators[row][self._columns]
        outer = rim + self._zone[:, None] * (equator - rim)
        following = np.roll(np.arange(len(rim)), -1)
        # No quadrilateral spans the gap between the lips of a cut.
        keep = (self._columns[following] != self._columns) & (np.maximum(self._zone, self._zone[following]) > 0)
        first, second = np.arange(len(rim))[keep], following[keep]
        middle = self._equators[0][self._columns]
        middle = (middle[first] + middle[second]) / 2 - self._equators[0].mean(axis=0)
        quads = np.stack([rim[first], outer[first], outer[second], rim[second]], axis=1)
        return quads, np.arctan2(middle[:, 1], middle[:, 0])

    def _zone_share(self, history: History) -> FloatArray:
        """How far the contact zone reaches on day 0, as a share of the way from rim to equator; 0: not on the optic."""
        scenario = history.scenario.to_dict()
        contact = scenario["contraction"]["contact_diameter_mm"]
        if contact is None:
            contact = scenario["lens"]["optic_diameter_mm"] if scenario["lens"] else 6.0
        rim = self._rims[0][self._edge]
        way = self._equators[0][self._columns] - rim
        # |rim + share * way| = contact / 2, about the pupil centre, where the optic is put.
        a = (way**2).sum(axis=1)
        b = (rim * way).sum(axis=1)
        c = (rim**2).sum(axis=1) - contact**2 / 4
        share = (-b + np.sqrt(np.maximum(b * b - a * c, 0))) / a
        return np.clip(np.where(c < 0, share, 0), 0, 1)


def cut_lines(closed_rim: FloatArray) -> list[CutLine]:
    """The cut lines in a rim polygon on which all cuts are still closed, so that the lips coincide."""
    count = len(closed_rim)
    before, after = np.roll(closed_rim, 1, axis=0), np.roll(closed_rim, -1, axis=0)
    lines = []
    for tip in np.flatnonzero(np.hypot(*(before - after).T) <= CLOSED_MM):
        depth = 1
        while depth < count // 2 - 1 and _together(closed_rim, int(tip), depth + 1):
            depth += 1
        lines.append(CutLine(int(tip), depth))
    return lines


def haptic_loops(history: History, row: int, equator: FloatArray) -> list[FloatArray]:
    """The haptics as curves from the optic's edge to their contact with the equator; none without a lens.

    Their shape is a sketch; where they touch the equator, and how the optic lies, is computed.
    """
    lens = history.scenario.to_dict()["lens"]
    if lens is None:
        return []
    center = history.lens_center_mm[row]
    turn = np.radians(history.lens_rotation_deg[row])
    sweep = min(np.radians(80), 0.75 * 2 * np.pi / lens["haptics"])
    rest = np.radians(lens["haptic_arc_degrees"]) / 2
    loops = []
    for number in range(lens["haptics"]):
        direction = angle_of_hour(lens["axis_hour"]) + turn + 2 * np.pi * number / lens["haptics"]
        angles = direction + np.linspace(sweep, -rest, 40)
        share = np.clip((sweep - (angles - direction)) / (sweep - rest), 0, 1)
        share = share * share * (3 - 2 * share)
        outer = radial_profile(equator, center, angles)
        radius = (1 - share) * lens["optic_diameter_mm"] / 2 + share * outer
        loops.append(center + radius[:, None] * on_circle(1.0, angles))
    return loops


def zonule_lines(equator: FloatArray, ciliary_radius: float, per_hour: int) -> tuple[FloatArray, FloatArray]:
    """Bundles as segments [n, 2, 2] from equator to ciliary ring, and the clock-hour index 0..11 (0 = 12) of each."""
    step = 1 / per_hour
    hours = np.arange(12 * per_hour) * step - 0.5 + step / 2
    angles = angle_of_hour(hours)
    center = equator.mean(axis=0)
    start = center + radial_profile(equator, center, angles)[:, None] * on_circle(1.0, angles)
    end = on_circle(ciliary_radius, angles)
    return np.stack([start, end], axis=1), np.floor(hours + 0.5).astype(int) % 12


def zonule_strengths(history: History, row: int) -> FloatArray:
    """Strength 0..1 of the zonule in each clock hour (12 first) on the day of a row, damage included."""
    scenario = history.scenario.to_dict()
    strengths = np.full(12, float(scenario["zonule"]["strength"]))

    def replace(by_hour: Mapping[str, float]) -> None:
        for hour, strength in by_hour.items():
            strengths[int(hour) % 12] = strength

    replace(scenario["zonule"]["strength_by_hour"])
    day, side = history.day[row], history.event_side[row]
    for event in scenario["events"]:
        happened = event["day"] < day or (event["day"] == day and side >= 0)
        if happened and event.get("zonule_damage"):
            replace(event["zonule_damage"]["strength_by_hour"])
    return strengths


def ring(history: History, row: int) -> FloatArray | None:
    """The tension ring from end to end, or None when there is none on that day."""
    if "ring_outline_mm" not in history.names:
        return None
    points = history.array("ring_outline_mm")[row].reshape(-1, 2)
    return points if np.any(points) else None


def _together(points: FloatArray, tip: int, step: int) -> bool:
    count = len(points)
    gap = points[(tip - step) % count] - points[(tip + step) % count]
    return float(np.hypot(*gap)) <= CLOSED_MM
