# SPDX-License-Identifier: BSD-3-Clause
"""What somebody who misspelt a name may have meant."""

from __future__ import annotations

import difflib
from collections.abc import Iterable


def did_you_mean(name: str, names: Iterable[str]) -> str:
    """``; did you mean 'strength'?`` or nothing."""
    close = difflib.get_close_matches(name, list(names), n=1)
    return f"; did you mean {close[0]!r}?" if close else ""
