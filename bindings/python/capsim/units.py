# SPDX-License-Identifier: BSD-3-Clause
"""Units and descriptions by name: every name of a number with a unit ends with it."""

from __future__ import annotations

import re

from . import _core
from .scenario import Scenario
from .value_access import Section, Value


def unit_of(name: str) -> str:
    """The unit in a name, ``opening.diameter_mm`` -> ``mm``; "1" for a plain number."""
    base = re.sub(r"(_by_hour\.\d+|\[\d+\])$", "", name)
    return next((unit for ending, unit in _core.unit_suffixes() if base.endswith(ending)), "1")


def description_of(path: str) -> str:
    """What the value of a scenario at a dotted path is, in one sentence without its unit; "" when not known."""
    kind: type[Section] = Scenario
    description = ""
    for name in re.sub(r"\[\d+\]", "", path).split("."):
        if name.isdigit():
            return f"{description} At {name} o'clock."
        declared = vars(kind).get(name)
        if not isinstance(declared, Value):
            return ""
        description = re.sub(r" \[[^\]]*\]", "", declared.description)
        kind = kind._parts.get(name, Section)
    return description


def quotients(unit: str, paths: list[str]) -> str:
    """Unit of a derivative by paths: one for all parameters where it is the same, else one for each in their order."""
    each = [f"({unit})/({unit_of(path)})" for path in paths]
    return each[0] if len(set(each)) == 1 else ", ".join(each)
