# SPDX-License-Identifier: BSD-3-Clause
"""The command line: ``python -m capsim check|run|sweep|compare|visits|cuts|fit|animate``.

Exit codes: 0 all is well, 2 wrong input, 3 a run ended with a status other than completed, 4 a
package or program is missing, 130 interrupted.
"""

from __future__ import annotations

import argparse
import os
import sys
from collections.abc import Sequence

import capsim
from capsim import _core
from capsim.commands import COMMANDS
from capsim.commands.exit_codes import IN_WORDS, INTERRUPTED, MISSING, OK, WRONG_INPUT, CommandError, MissingError


def main(arguments: Sequence[str] | None = None) -> int:
    """Runs one command and returns its exit code."""
    _open_closed_streams()
    options = _parser().parse_args(arguments)
    try:
        code: int = options.command.execute(options)
        sys.stdout.flush()
        return code
    except CommandError as error:
        print(error, file=sys.stderr)
    except BrokenPipeError:  # whoever read the output has enough
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return OK
    except OSError as error:  # ResultsFileError included
        reason = f"{error.filename}: {error.strerror}" if error.filename else error.strerror or error
        print(f"capsim: {reason}", file=sys.stderr)
    except (ImportError, MissingError) as error:
        print(f"capsim: {error}", file=sys.stderr)
        return MISSING
    except KeyboardInterrupt:
        left = getattr(options.command, "interrupted", lambda _: "interrupted, nothing was written")
        print(f"capsim: {left(options)}", file=sys.stderr)
        return INTERRUPTED
    return WRONG_INPUT


def _open_closed_streams() -> None:
    """Gives a place to write to where the caller closed it, so that no file opened later takes its number."""
    for name in ("stdin", "stdout", "stderr"):
        if getattr(sys, name) is None:
            setattr(sys, name, open(os.devnull, "r" if name == "stdin" else "w"))  # noqa: SIM115


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="python -m capsim",
        description="Contraction of the lens capsule's front opening after cataract surgery.",
        epilog=f"{IN_WORDS}\n\n{_core.research_caution}",
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"capsim {capsim.__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for command in COMMANDS:
        sub = commands.add_parser(
            command.NAME,
            help=command.SUMMARY,
            description=command.DESCRIPTION,
            epilog=IN_WORDS,
            formatter_class=argparse.RawDescriptionHelpFormatter,
        )
        command.add_arguments(sub)
        sub.set_defaults(command=command)
    return parser


def entry() -> None:
    """The command `capsim` of an installed package."""
    sys.exit(main())


if __name__ == "__main__":
    sys.exit(main())
