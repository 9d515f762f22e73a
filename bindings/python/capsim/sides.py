# SPDX-License-Identifier: BSD-3-Clause
"""Which eye: right or left, in the words that people use."""

from __future__ import annotations

SIDES = {"right": "right", "od": "right", "r": "right", "left": "left", "os": "left", "l": "left"}
"""OD (oculus dexter) is the right eye and OS (oculus sinister) the left one."""


def side_of(text: str) -> str | None:
    """``right`` or ``left`` for a word that means it, in any case; None for any other."""
    return SIDES.get(text.strip().lower())
