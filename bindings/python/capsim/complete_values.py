# SPDX-License-Identifier: BSD-3-Clause
"""Complete and checked values of a scenario, as nested dicts and lists, by way of the compiled reader."""

from __future__ import annotations

import functools
import json
from collections.abc import Mapping
from typing import Any

from . import _core
from .plain_values import plain
from .sides import side_of

HEADER = {"format": "capsim-scenario", "version": 1}


def text_of(values: Mapping[str, Any]) -> str:
    """The values as JSON text, not checked."""
    given = plain(values)
    if isinstance(given.get("eye"), str):
        given["eye"] = side_of(given["eye"]) or given["eye"]
    # Twice the same key (4 and "4") and NaN stay in the text: the reader refuses them by their path.
    return json.dumps(given, ensure_ascii=False)


def normalised(text: str | bytes) -> dict[str, Any]:
    """The complete values in a JSON text, defaults filled in; raises ScenarioError."""
    values: dict[str, Any] = json.loads(_core.Scenario.from_json(text).to_json())
    return values


def checked(values: Mapping[str, Any]) -> dict[str, Any]:
    """The complete values, defaults filled in; raises ScenarioError."""
    return normalised(text_of(values))


def default_at(place: str) -> dict[str, Any]:
    """What a section holds where nothing was said, by its name in the JSON form; "" for the whole scenario.

    Not to be changed. Values without a default (the hours of cuts) are left out.
    """
    return _defaults()[place]


@functools.cache
def _defaults() -> dict[str, dict[str, Any]]:
    events = [
        {"day": 0, "relaxing_cuts": {"hours": [12]}},
        {"day": 0, "contraction_change": {"chronic_signal": 0}},
    ]
    with_parts = checked({**HEADER, "tension_ring": {}, "lens": {}, "events": events})
    cuts = {name: item for name, item in with_parts["events"][0]["relaxing_cuts"].items() if name != "hours"}
    change = dict.fromkeys(with_parts["events"][1]["contraction_change"])
    sections = {name: item for name, item in with_parts.items() if isinstance(item, dict)}
    return {"": checked(HEADER), "relaxing_cuts": cuts, "contraction_change": change, **sections}
