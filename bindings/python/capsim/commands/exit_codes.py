# SPDX-License-Identifier: BSD-3-Clause
"""How a command ends: its exit code, and what goes wrong in words."""

from __future__ import annotations

from ..optional import MISSING

OK = 0
WRONG_INPUT = 2
NOT_COMPLETED = 3
INTERRUPTED = 130

__all__ = ["IN_WORDS", "INTERRUPTED", "MISSING", "NOT_COMPLETED", "OK", "WRONG_INPUT", "CommandError", "MissingError"]

IN_WORDS = """exit codes:
  0    all is well
  2    wrong input, told with every violation at once; nothing was run or written
  3    a run ended with a status other than completed; what it reached is shown and written
  4    a package or program that is needed is not there
  130  interrupted; a sweep or study keeps its finished runs"""


class CommandError(Exception):
    """Wrong input, in words for the one who typed the command."""


class MissingError(Exception):
    """A program that is needed is not there."""
