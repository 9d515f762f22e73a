# SPDX-License-Identifier: BSD-3-Clause
"""Packages that only some of the functions need."""

from __future__ import annotations

import importlib
import sys
from collections.abc import Callable
from typing import Any

MISSING = 4
"""Exit code of a command or an example that lacks a package or a program."""

# Names in the package index and in Debian, where they differ from the module's name.
_DEBIAN = {"dask.distributed": "python3-distributed", "SALib": "", "mici": ""}


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


def exit_code_of(main: Callable[[], Any]) -> int:
    """Runs the main function of a script: 0, or what it returns if that is a number; where a package is missing one line
    about it and `MISSING`."""
    try:
        result = main()
    except ImportError as error:
        print(error, file=sys.stderr)
        return MISSING
    return result if isinstance(result, int) else 0
