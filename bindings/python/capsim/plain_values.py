# SPDX-License-Identifier: BSD-3-Clause
"""Values of other packages as plain Python values: what a scenario holds and JSON can say."""

from __future__ import annotations

import operator
from collections.abc import Mapping, Sequence
from typing import Any


def plain(value: Any) -> Any:
    """Values of NumPy and pandas, sections and lists of sections as plain Python values; TypeError for anything else.

    A pandas Series becomes a dict by its index, ``Series({4: 0.2})``, or a list where it is only numbered from 0.
    Keys that are whole numbers of NumPy become those of Python.
    """
    if value is None or isinstance(value, (bool, int, float, str)):
        return value
    if isinstance(value, Mapping):
        return {_key(key): plain(item) for key, item in value.items()}
    if hasattr(value, "tolist"):
        listed = value.tolist()
        labels = list(value.index) if hasattr(value, "index") and hasattr(value, "to_dict") else None
        if labels is None or labels == list(range(len(labels))):
            return listed
        return {_key(label): item for label, item in zip(labels, listed)}
    if hasattr(value, "to_dict") and not hasattr(value, "index"):  # a section
        return value.to_dict()
    if isinstance(value, Sequence):
        return [plain(item) for item in value]
    raise TypeError(f"a scenario can't hold a value of type {type(value).__name__}")


def _key(key: Any) -> Any:
    if isinstance(key, (str, bool)) or not hasattr(key, "__index__"):
        return key
    return operator.index(key)
