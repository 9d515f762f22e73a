# SPDX-License-Identifier: BSD-3-Clause
"""The commands of ``python -m capsim``, one in each file; each adds its arguments and does its work."""

from . import animate, check, compare, fit, run, sweep

COMMANDS = (check, run, sweep, compare, fit, animate)

__all__ = ["COMMANDS"]
