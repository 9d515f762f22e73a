#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Puts new files of the library into its two lists of files, and takes out those that are gone.

    python3 libcapsim/cmake/list_files.py            writes CMakeLists.txt and capsim.hpp
    python3 libcapsim/cmake/list_files.py --check    says what is missing, and fails if anything is

A file has the room of its folder; a public header that of the source of the same name. Order is kept, new ones go to the end of
their room. The files of results_file.hpp have a list of their own, since they need HDF5.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

LIBRARY = Path(__file__).resolve().parents[1]
SOURCES, OVERVIEW = LIBRARY / "CMakeLists.txt", LIBRARY / "include/capsim/capsim.hpp"
MARKED = re.compile(r"from the library's list: [^\n]*\n(.*?)[^\n]*end of the list", re.S)


def sources() -> tuple[dict[str, str], str]:
    """Room of every source, by its line in the list; and what a line looks like."""
    found = {f"  src/{path.parent.name}/{path.name}": path.parent.name for path in (LIBRARY / "src").glob("*/*.cpp")}
    return {line: room for line, room in found.items() if room != "files"}, r"  src/\w+/\w+\.cpp"


def headers() -> tuple[dict[str, str], str]:
    """Room of every public header that is listed or has a source, by its line."""
    rooms = {path.stem: path.parent.name for path in (LIBRARY / "src").glob("*/*.cpp")}
    rooms |= listed_rooms(OVERVIEW.read_text(encoding="utf-8"))
    names = [path.stem for path in OVERVIEW.parent.glob("*.hpp") if path != OVERVIEW]
    if unknown := sorted(set(names) - set(rooms)):
        sys.exit(f"{', '.join(unknown)}: no source of that name says its room; put it into {OVERVIEW.name} by hand")
    return {f'#include "capsim/{name}.hpp"': rooms[name] for name in names}, r'#include "capsim/\w+\.hpp"'


def listed_rooms(overview: str) -> dict[str, str]:
    parts = re.split(r"^// (\w+): ", MARKED.search(overview).group(1), flags=re.M)[1:]
    return {
        name: room for room, part in zip(parts[::2], parts[1::2]) for name in re.findall(r'"capsim/(\w+)\.hpp"', part)
    }


def with_files(lines: list[str], room_of: dict[str, str], pattern: str) -> list[str]:
    """The lines without those of files that are gone, and with new ones behind the last of their room."""
    kept = [line for line in lines if not re.fullmatch(pattern, line) or line in room_of]
    for new in sorted(set(room_of) - set(kept)):
        of_room = [n for n, line in enumerate(kept) if room_of.get(line) == room_of[new]]
        if not of_room:
            sys.exit(f"{new.strip()}: the list has no file of the room {room_of[new]}")
        kept.insert(of_room[-1] + 1, new)
    return kept


def main() -> int:
    check, stale = "--check" in sys.argv[1:], False
    for path, (room_of, pattern) in ((SOURCES, sources()), (OVERVIEW, headers())):
        text = path.read_text(encoding="utf-8")
        region = MARKED.search(text)
        written = "\n".join(with_files(region.group(1).split("\n"), room_of, pattern))
        if written == region.group(1):
            continue
        stale = True
        print(f"{'does not list its files' if check else 'written'}: {path.relative_to(LIBRARY.parent)}")
        if not check:
            path.write_text(text[: region.start(1)] + written + text[region.end(1) :], encoding="utf-8")
    return 1 if check and stale else 0


if __name__ == "__main__":
    sys.exit(main())
