# SPDX-License-Identifier: BSD-3-Clause
"""Numbers of studies as words: bands, and proportions with their interval."""

from __future__ import annotations

import html
import math
import textwrap
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

LAWS = {"fibre_remodelling": "fibre law", "active_lock_in": "lock-in law"}
TITLES = {
    "clear_circle_diameter_mm": "Clear circle",
    "opening_area_mm2": "Opening",
    "area_loss_percent": "Loss of area",
    "opening_decentration_mm": "Opening off centre",
    "lens_decentration_mm": "Lens off centre",
    "zonule_load_max_mN": "Largest load",
    "opening_diameter_mm": "Opening, diameter",
    "opening_min_diameter_mm": "Smallest diameter",
}
SYMBOLS = {"mm2": "mm2", "1": "", "h": "o'clock", "d": "days"}


def law_in_words(law: str) -> str:
    """A short name of a law."""
    return LAWS.get(law, law)


def title(name: str) -> str:
    """A quantity in words."""
    return TITLES.get(name, name)


def unit_in_words(unit: str) -> str:
    """A unit as it stands behind a number."""
    return SYMBOLS.get(unit, unit)


def number(value: float | None) -> str:
    """Three digits, as people write them."""
    if value is None or not math.isfinite(value):
        return "-"
    if value == 0:
        return "0"
    digits = max(0, 2 - math.floor(math.log10(abs(value))))
    text = f"{value:.{min(digits, 2)}f}"
    return text.lstrip("-") if float(text) == 0 else text


def signed_number(value: float | None) -> str:
    """With its sign, where the digits shown are not all zero."""
    text = number(value)
    return f"+{text}" if value is not None and value > 0 and float(text) != 0 else text


def band(of: Mapping[str, float | None], signed: bool = False) -> str:
    """``4.1 (3.2 to 4.9)``: the median and where 8 of 10 eyes lie."""
    if of["median"] is None:
        return "-"
    middle = signed_number(of["median"]) if signed else number(of["median"])
    return f"{middle} ({number(of['low'])} to {number(of['high'])})"


def share(of: Mapping[str, Any]) -> str:
    """``12 of 64 (11 to 30 %)``: counted, with its 95 % interval."""
    if of["of"] == 0:
        return "none of 0"
    return f"{of['count']} of {of['of']} ({100 * of['low']:.0f} to {100 * of['high']:.0f} %)"


def table(rows: Iterable[Sequence[str]]) -> str:
    """Rows of cells in columns, all to the left."""
    cells = [list(row) for row in rows]
    widths = [max(len(row[k]) for row in cells) for k in range(len(cells[0]))]
    return "\n".join("  ".join(c.ljust(w) for c, w in zip(row, widths)).rstrip() for row in cells)


def html_table(rows: Sequence[Sequence[str]]) -> str:
    """The same for a notebook; the first row is the header."""
    head = "".join(f"<th>{html.escape(cell)}</th>" for cell in rows[0])
    body = "".join("<tr>" + "".join(f"<td>{html.escape(cell)}</td>" for cell in row) + "</tr>" for row in rows[1:])
    return f"<table><tr>{head}</tr>{body}</table>"


def html_text(text: str) -> str:
    """Lines as a paragraph."""
    return "<p>" + "<br>".join(html.escape(line) for line in text.splitlines()) + "</p>"


def eyes_in_words(count: int) -> str:
    """``1 eye``, ``2 eyes``"""
    return "1 eye" if count == 1 else f"{count} eyes"


def filled(text: str, width: int = 110) -> str:
    """In lines that fit a terminal."""
    return textwrap.fill(text, width, subsequent_indent="  ", break_on_hyphens=False)
