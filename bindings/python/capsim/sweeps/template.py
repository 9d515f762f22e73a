# SPDX-License-Identifier: BSD-3-Clause
"""The scenario of a run as JSON text, made from a text that all runs have in common.

Only what changes is written anew for each run, so that a run costs some microseconds of Python.
"""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Mapping
from typing import Any

from ..complete_values import text_of
from ..plain_values import plain
from ..scenario import changed

_MARK = "\ufffe{}\ufffe"
_MARKS = re.compile('"\ufffe([0-9]+)\ufffe"')


class Template:
    """Texts of scenarios that differ from a base at given paths."""

    def __init__(self, base: Mapping[str, Any]) -> None:
        self._base = base
        self._pieces: dict[tuple[str, ...], list[str]] = {}

    def text(self, changes: Mapping[str, Any]) -> str:
        """The scenario with these changes as JSON text, not checked; ScenarioError for a path that leads nowhere."""
        if any(isinstance(value, (dict, str)) or value is None or not value for value in changes.values()):
            return text_of(changed(self._base, changes))  # sections are merged, and what is empty may be hidden
        paths = tuple(changes)
        pieces = self._pieces.get(paths)
        if pieces is None:
            marked = text_of(changed(self._base, {path: _MARK.format(i) for i, path in enumerate(paths)}))
            pieces = self._pieces[paths] = _MARKS.split(marked)
        values = [_text(value) for value in changes.values()]
        return "".join(values[int(piece)] if i % 2 else piece for i, piece in enumerate(pieces))


def _text(value: Any) -> str:
    return repr(value) if type(value) is float and value - value == 0 else json.dumps(plain(value))


Texts = Callable[[Mapping[str, Any]], str]
