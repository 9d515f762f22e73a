# SPDX-License-Identifier: BSD-3-Clause
"""Rooms of the library: a file includes from its own room and from those to its left, never from the right."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

LIBRARY = Path(__file__).resolve().parents[2] / "libcapsim"
PUBLIC = LIBRARY / "include" / "capsim"
OVERVIEW = (PUBLIC / "capsim.hpp").read_text(encoding="utf-8")
ROOMS = re.findall(r"^// (\w+): ", OVERVIEW, re.M)
ROOM_OF_HEADER = {
    header: room
    for room, part in zip(ROOMS, re.split(r"^// \w+: ", OVERVIEW, flags=re.M)[1:])
    for header in re.findall(r'#include "(capsim/\w+\.hpp)"', part)
}
WRITTEN_BY_THE_BUILD = {"capsim/built_with.hpp": "text"}
FILES = [
    path for folder in (PUBLIC, LIBRARY / "src") for path in folder.rglob("*.?pp") if path != PUBLIC / "capsim.hpp"
]


def room_of(name):
    if not name.startswith("capsim/"):
        return name.split("/")[0]
    return WRITTEN_BY_THE_BUILD.get(name) or ROOM_OF_HEADER[name]


def test_rooms_are_the_folders():
    assert ROOMS == ["text", "scenario", "geometry", "parts", "solve", "run", "files"]
    assert set(ROOMS) == {folder.name for folder in (LIBRARY / "src").iterdir()}


def test_every_public_header_has_a_room():
    assert set(ROOM_OF_HEADER) == {f"capsim/{path.name}" for path in PUBLIC.glob("*.hpp")} - {"capsim/capsim.hpp"}


def test_map_for_contributors_has_the_headers_of_each_room():
    guide = (LIBRARY.parent / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `(\w+)` \| [^|]+ \| `([\w ]+)` \|$", guide, re.M)
    told = [(room, f"capsim/{header}.hpp") for room, headers in rows for header in headers.split()]
    assert told == [(room, header) for header, room in ROOM_OF_HEADER.items()]


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.name)
def test_includes_go_leftwards(path):
    here = room_of(path.relative_to(LIBRARY / ("include" if PUBLIC in path.parents else "src")).as_posix())
    for name in re.findall(r'^#include "(\w+/\w+\.hpp)"', path.read_text(encoding="utf-8"), re.M):
        assert ROOMS.index(room_of(name)) <= ROOMS.index(here), f"{path.name} of {here} includes {name}"


def test_each_room_opens_with_a_short_readme():
    for room in ROOMS:
        lines = (LIBRARY / "src" / room / "README.md").read_text(encoding="utf-8").splitlines()
        assert lines[0] == f"# {room}" and len(lines) <= 15
        assert any(line.startswith("Must not know: ") for line in lines)


def test_lists_of_files_have_every_file():
    command = [sys.executable, str(LIBRARY / "cmake" / "list_files.py"), "--check"]
    done = subprocess.run(command, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
