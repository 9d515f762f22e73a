# SPDX-License-Identifier: BSD-3-Clause
"""The table of all functions of capsim.h, section by section, with the first sentence that the header says of each."""

from __future__ import annotations

import re

HEAD = """<!-- SPDX-License-Identifier: BSD-3-Clause -->
<!-- Written by bindings/generate.py from capsim.h: change that, not this file. -->
# Functions of the C interface

What [capsim.h](capsim.h) declares, in its order. The header has the whole text: units, sizes of buffers, statuses, threads.
"""
PIECES = re.compile(
    r"/\* -+ (?P<section>[^\n]*?) -- \*/|/\*\*?(?P<comment>(?:(?!\*/).)*)\*/(?=\nCAPSIM_FUNCTION)"
    r"|CAPSIM_FUNCTION (?P<result>[^;(]+?)(?P<name>capsim_\w+)\(",
    re.S,
)


def table(header: str) -> str:
    """As Markdown; a function without a comment of its own has none here."""
    columns = ["", "| function | gives | |", "|---|---|---|"]
    lines, said, count = [HEAD.rstrip("\n"), "", "## library", *columns], "", 0
    for piece in PIECES.finditer(header.split('extern "C" {', 1)[1]):
        if piece["section"]:
            lines += ["", f"## {piece['section']}", *columns]
            said = ""
        elif piece["comment"] is not None:
            said = _first_sentence(piece["comment"])
        else:
            lines.append(f"| `{piece['name']}` | `{piece['result'].strip()}` | {said} |")
            said, count = "", count + 1
    if count != header.count("\nCAPSIM_FUNCTION "):
        raise ValueError("capsim.h has functions in a form that the table does not know")
    return "\n".join(lines) + "\n"


def _first_sentence(comment: str) -> str:
    text = " ".join(line.strip().lstrip("*<").strip() for line in comment.splitlines()).strip()
    return re.split(r"(?<=[^.]\.)\s", text, maxsplit=1)[0].replace("|", "\\|")
