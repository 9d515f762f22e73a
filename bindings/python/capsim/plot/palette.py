# SPDX-License-Identifier: BSD-3-Clause
"""Colours, line styles and sizes of all pictures.

The colours are those of Okabe and Ito, which stay apart for the common forms of colour blindness;
what matters is never told by colour alone: loads are also thick or thin, plans also have a letter
and a line style of their own.
"""

from __future__ import annotations

from typing import Any

INK = "#1A1A1A"
FAINT = "#5F6B73"  # labels of second rank; contrast 5.5 : 1 on white
GRID = "#D9DEE2"
PAPER = "#FFFFFF"

LEAF = "#DCE5EA"
TISSUE = "#E69F00"
RIM = "#000000"
OPTIC = "#6F7C85"
RING = "#009E73"
CUT = "#D55E00"
CILIARY = "#AEB7BD"
NO_LOAD, FULL_LOAD = "#A9CFE8", "#004C7F"

# One plan after the other; letter and dashes say the same as the colour.
PLAN_COLOURS = ("#D55E00", "#0072B2", "#009E73", "#CC79A7", "#000000", "#E69F00", "#56B4E9")
PLAN_DASHES: tuple[Any, ...] = (
    "-",
    (0, (6, 2)),
    (0, (6, 2, 1.5, 2)),
    (0, (2, 1.5)),
    (0, (9, 2)),
    (0, (1, 1)),
    (0, (4, 1)),
)

TITLE_PT, LABEL_PT, SMALL_PT, CAUTION_PT = 13.0, 10.0, 9.0, 9.0


def blend(low: str, high: str, share: float) -> tuple[float, float, float]:
    """The colour `share` (0..1, cut off) of the way from one to the other."""
    share = min(max(float(share), 0.0), 1.0)
    first, second = _channels(low), _channels(high)
    return tuple((1 - share) * a + share * b for a, b in zip(first, second))  # type: ignore[return-value]


def load_colour(share: float) -> tuple[float, float, float]:
    """Of a zonule that carries `share` (0..1) of the largest load shown."""
    return blend(NO_LOAD, FULL_LOAD, share)


def load_width(share: float) -> float:
    """Line width [pt] of that zonule."""
    return 0.6 + 2.6 * min(max(float(share), 0.0), 1.0)


def plan_colour(number: int) -> str:
    """Of the plan with that number, from 0."""
    return PLAN_COLOURS[number % len(PLAN_COLOURS)]


def plan_dashes(number: int) -> Any:
    """Line style of the plan with that number, from 0."""
    return PLAN_DASHES[number % len(PLAN_DASHES)]


def plan_letter(number: int) -> str:
    """A, B, C ... of the plan with that number, from 0."""
    return chr(ord("A") + number) if number < 26 else str(number + 1)


def _channels(colour: str) -> tuple[float, ...]:
    return tuple(int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5))
