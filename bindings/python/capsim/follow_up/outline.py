# SPDX-License-Identifier: BSD-3-Clause
"""A traced outline: from pixels of a photograph to millimetres in the eye.

The optic's known diameter in the same photograph is the right scale: the cornea magnifies the optic
and the rim alike. A ruler outside the eye is not: what it measures of the rim is 1.159 +- 0.031
times too large, in area 1.34 times (Limits of the model page: the frame).
"""

from __future__ import annotations

import re

import numpy as np
from numpy.typing import NDArray

from ..errors import ArgumentError

FloatArray = NDArray[np.float64]

CORNEAL_MAGNIFICATION = 1.159
CORNEAL_MAGNIFICATION_SD = 0.031
FEWEST_POINTS = 8

_NUMBER = re.compile(r"[+-]?\d+(?:\.\d*)?(?:[eE][+-]?\d+)?")


def points_in(text: str) -> FloatArray:
    """The points of an outline in a cell, ``"412 300; 415.5 306; ..."``, [points, 2].

    A point that repeats the one before it counts once, and so does a last one that repeats the first.
    Raises ValueError for text that is no list of points, for too few of them, and for an outline
    that crosses itself.
    """
    left_over = _NUMBER.sub("", text)
    numbers = _NUMBER.findall(text)
    if left_over.strip("[]();, \t\r\n|"):
        raise ArgumentError(
            f"the outline holds {left_over.strip('[]();, |')[:20]!r}; write x y; x y; ... with decimal points"
        )
    if len(numbers) % 2:
        raise ArgumentError(f"the outline has {len(numbers)} numbers, which is odd: every point needs x and y")
    points = np.array(numbers, dtype=np.float64).reshape(-1, 2)
    if not np.isfinite(points).all():
        raise ArgumentError("the outline has a number that is too large for one")
    points = points[(points != np.roll(points, 1, axis=0)).any(axis=1)]  # points repeated, at the closing end too
    if len(points) < FEWEST_POINTS:
        raise ArgumentError(f"the outline has {len(points)} points; at least {FEWEST_POINTS} are needed")
    crossing = first_crossing(points)
    if crossing is not None:
        a, b = crossing
        raise ArgumentError(
            f"the outline crosses itself: the side from point {a + 1} to {(a + 1) % len(points) + 1} "
            f"meets the side from point {b + 1} to {(b + 1) % len(points) + 1}"
        )
    if area_of(points) == 0:
        raise ArgumentError("the outline has no area")
    return points


def area_of(points: FloatArray) -> float:
    """Area of a polygon, whichever way round it runs."""
    x, y = (points - points[0]).T
    return float(abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1))) / 2)


def centroid_of(points: FloatArray) -> FloatArray:
    """Centroid of the area of a polygon, [2]."""
    origin = points[0]
    x, y = (points - origin).T
    cross = x * np.roll(y, -1) - y * np.roll(x, -1)
    moment = np.array([np.dot(x + np.roll(x, -1), cross), np.dot(y + np.roll(y, -1), cross)])
    result: FloatArray = origin + moment / (3 * cross.sum())
    return result


def in_millimetres(points_px: FloatArray, mm_per_px: float, center_px: FloatArray | None = None) -> FloatArray:
    """An outline in the eye's frame, y up [mm]; images have y down. Without a centre: about its centroid."""
    shifted = (points_px - (centroid_of(points_px) if center_px is None else center_px)) * mm_per_px
    result: FloatArray = shifted * np.array([1.0, -1.0])
    return result


def first_crossing(points: FloatArray) -> tuple[int, int] | None:
    """Two sides of a polygon that cross, touch or overlap without being neighbours, by their first points."""
    count = len(points)
    start, end = points, np.roll(points, -1, axis=0)
    for i in range(count - 1):
        others = np.arange(i + 1, count)
        neighbours = (others == i + 1) | ((i == 0) & (others == count - 1))
        hit = _meet(start[i], end[i], start[others], end[others]) & ~neighbours
        folded = neighbours & _fold_back(points, i, others)
        if (hit | folded).any():
            return i, int(others[np.argmax(hit | folded)])
    return None


def _meet(a: FloatArray, b: FloatArray, c: FloatArray, d: FloatArray) -> NDArray[np.bool_]:
    """Whether segment ab has a point in common with each of the segments cd."""

    def side(p: FloatArray, q: FloatArray, r: FloatArray) -> FloatArray:
        u, v = q - p, r - p
        turn: FloatArray = np.sign(u[..., 0] * v[..., 1] - u[..., 1] * v[..., 0])
        return turn

    def within(p: FloatArray, q: FloatArray, r: FloatArray) -> NDArray[np.bool_]:
        inside: NDArray[np.bool_] = ((np.minimum(p, q) <= r) & (r <= np.maximum(p, q))).all(axis=-1)
        return inside

    s1, s2, s3, s4 = side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
    crossing = (s1 * s2 < 0) & (s3 * s4 < 0)
    touching = (
        ((s1 == 0) & within(a, b, c))
        | ((s2 == 0) & within(a, b, d))
        | ((s3 == 0) & within(c, d, a))
        | ((s4 == 0) & within(c, d, b))
    )
    result: NDArray[np.bool_] = crossing | touching
    return result


def _fold_back(points: FloatArray, i: int, others: NDArray[np.int_]) -> NDArray[np.bool_]:
    """Whether neighbouring sides run back over each other, or a side has no length."""
    count = len(points)
    result = np.zeros(len(others), dtype=bool)
    for k, j in enumerate(others):
        if j == i + 1:
            before, at, after = points[i], points[j], points[(j + 1) % count]
        elif i == 0 and j == count - 1:
            before, at, after = points[j], points[0], points[1]
        else:
            continue
        u, v = at - before, after - at
        result[k] = (u[0] * v[1] - u[1] * v[0] == 0) and np.dot(u, v) <= 0
    return result
