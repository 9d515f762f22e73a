# SPDX-License-Identifier: BSD-3-Clause
"""``animate``: front views of one or several runs, day by day."""

from __future__ import annotations

import argparse
import shutil

from ..film.animation import animate
from .arguments import add_changes, history_of, must_be_writable
from .exit_codes import NOT_COMPLETED, OK, CommandError, MissingError

NAME, SUMMARY = "animate", "make a film of one or several scenarios or results"
DESCRIPTION = """Runs scenario files (or reads result files, .h5) and makes a film of them, side by side.

  python -m capsim animate small.json large.json -o film.gif

The ending chooses the kind: .gif and .html always work, .mp4 needs the program ffmpeg."""


def add_arguments(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("files", nargs="+", metavar="FILE", help="scenario file (.json) or result file (.h5)")
    add_changes(parser)
    parser.add_argument("-o", "--output", metavar="FILM", required=True, help="film to write: .gif, .html or .mp4")
    parser.add_argument("--frames-per-second", type=float, default=10.0, metavar="N", help="default: %(default)s")
    parser.add_argument("--title", help="title over the pictures")


def execute(options: argparse.Namespace) -> int:
    must_be_writable(options.output, options.files)
    if not options.output.lower().endswith((".gif", ".html", ".htm", ".mp4")):
        raise CommandError(f"{options.output}: the ending must be .gif, .html or .mp4")
    if options.output.lower().endswith(".mp4") and shutil.which("ffmpeg") is None:
        raise MissingError(
            f"{options.output}: an MP4 film needs the program ffmpeg (apt install ffmpeg); .gif and .html need nothing"
        )
    histories = [history_of(path, options.changes) for path in options.files]
    try:
        animate(histories, options.output, frames_per_second=options.frames_per_second, title=options.title)
    except ValueError as error:
        raise CommandError(str(error)) from None
    print(f"written to {options.output}")
    return OK if all(history.status == "completed" for history in histories) else NOT_COMPLETED
