# SPDX-License-Identifier: BSD-3-Clause
"""Packages that only some of the functions need."""

from __future__ import annotations

import importlib
from typing import Any

# Names in the package index and in Debian, where they differ from the module's name.
_DEBIAN = {"dask.distributed": "python3-distributed", "SALib": ""}


def needed(module: str, purpose: str) -> Any:
    """The module, or ImportError that says what it is needed for and how to get it."""
    try:
        return importlib.import_module(module)
    except ImportError as error:
        name = module.split(".")[0]
        debian = _DEBIAN.get(module, f"python3-{name}")
        ways = f"pip install {name}" + (f", or on Debian: apt install {debian}" if debian else "")
        raise ImportError(
            f"{purpose} needs the package {name}, which could not be imported ({error}): {ways}", name=name
        ) from error
