# SPDX-License-Identifier: BSD-3-Clause
"""The commands of ``python -m capsim``, one in each file; each adds its arguments and does its work."""

from . import animate, check, compare, cuts, fit, influence, run, sweep, visits

COMMANDS = (check, run, sweep, compare, visits, cuts, fit, influence, animate)

__all__ = ["COMMANDS"]
