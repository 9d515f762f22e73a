# SPDX-License-Identifier: BSD-3-Clause
"""Pages of the interfaces, from what declares them: the package, the headers, the command line's own help."""

from __future__ import annotations

import importlib
import inspect
import re
from pathlib import Path
from typing import Any

GROUPS = {
    "Scenarios": ("scenario", "errors", "catalogue"),
    "Runs": ("simulation", "history", "outcomes", "stepping", "host_parts"),
    "What drives an eye": ("sensitivities", "influence"),
    "Many eyes": ("population", "studies", "sweeps"),
    "Visits and fits": ("follow_up", "calibration"),
    "Pictures": ("plot", "film"),
}
"""Chapters of the Python interface: which rooms of the package each holds."""


PREPARED = """
from pathlib import Path
import tempfile
import capsim
import numpy as np

eye = dict(name="invented eye", eye="right", duration_days=60, output_every_days=10, mesh={"around": 12, "radial": 2})
uncut = capsim.Scenario(opening={"diameter_mm": 5.0}, **eye)
scenario = uncut.with_(events=[{"day": 30, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}])
history = capsim.simulate(scenario)
folder = Path(tempfile.mkdtemp())


def table(text):
    (folder / "visits.csv").write_text(text)
    return folder / "visits.csv"


visits = capsim.read_visits(table("day,area_mm2\\n0,19.6\\n20,19.3\\n40,18.9\\n"))
fitted = capsim.fit(visits, uncut, "contraction.fibre_modulus_kPa")

simulation = capsim.Simulation(uncut)
simulation.advance_to(20)
crowd = capsim.population("pseudoexfoliation")
plans = {"as planned": uncut, "half the cells": uncut.with_({"contraction.cells_left": 0.5})}
comparison = capsim.compare(plans, crowd, eyes=2, quantities=["opening_area_mm2"])
two = capsim.CutLayout("two", (12, 6), length_mm=0.4, day=30)
cut_study = capsim.cuts(uncut, crowd, [two], eyes=1, laws=["fibre_remodelling"])
relief = capsim.relief_range(scenario)
visit_study = capsim.visits(uncut, crowd, below={"opening_diameter_mm": 4.9}, eyes=2)
"""
"""What the examples of docstrings find prepared: an invented eye, its run, a fit to invented visits, studies of a few eyes."""


def write(root: Path, source: Path) -> None:
    """Writes the pages of Python, C++, C and the command line."""
    _write_python(source / "python")
    _write_cpp(root, source)
    _write_commands(source)


def public() -> dict[str, list[tuple[str, Any]]]:
    """Every public name of the package by chapter; LookupError for one that no chapter holds."""
    import capsim

    found: dict[str, list[tuple[str, Any]]] = {chapter: [] for chapter in GROUPS}
    for name in capsim.__all__:
        item = getattr(capsim, name)
        if inspect.ismodule(item):
            entries = [(f"{name}.{inner}", getattr(item, inner)) for inner in item.__all__]
            room = name
        elif inspect.isclass(item) or inspect.isfunction(item):
            entries = [(name, item)]
            room = item.__module__.split(".")[1]
        else:
            continue  # version, build, commit: texts
        chapter = next((c for c, rooms in GROUPS.items() if room in rooms or room == "recorded" and c == "Runs"), None)
        if chapter is None:
            raise LookupError(f"capsim.{name} comes from {room}, which no chapter of the interface holds; see GROUPS")
        found[chapter] += entries
    return found


def public_methods() -> list[tuple[str, Any]]:
    """Every public method of a public class that a caller calls: not those that a class of the caller's own writes, which
    the example of the class does."""
    found = []
    for entries in public().values():
        for name, item in entries:
            if not inspect.isclass(item):
                continue
            for own, member in vars(item).items():
                function = member.__func__ if isinstance(member, (classmethod, staticmethod)) else member
                if own.startswith("_") or not inspect.isfunction(function):
                    continue
                if f"def {own}(" not in (item.__doc__ or ""):
                    found.append((f"{name}.{own}", function))
    return found


def _write_python(folder: Path) -> None:
    folder.mkdir(parents=True)
    chapters = []
    for chapter, entries in public().items():
        file = chapter.lower().replace(" ", "_")
        chapters.append(file)
        lines = [chapter, "=" * len(chapter), ""]
        for name, item in sorted(entries, key=lambda entry: (inspect.isclass(entry[1]), entry[0])):
            kind = "autoclass" if inspect.isclass(item) else "autofunction"
            lines += [f".. {kind}:: capsim.{name}", ""]
        (folder / f"{file}.rst").write_text("\n".join(lines), encoding="utf-8")
    text = ["Python", "======", "", inspect.getdoc(importlib.import_module("capsim")) or "", ""]
    text = [line.replace("    import capsim", "::\n\n    import capsim") for line in text]
    text += ["``capsim.__version__``, ``capsim.commit`` and ``capsim.build`` say which library this is; ", ""]
    text += ["Examples in this reference run as they stand (a test does) after", "", "::", ""]
    text += [f"   {line}".rstrip() for line in PREPARED.strip().splitlines()] + [""]
    text += ["``History.version`` and every file which one made it.", "", ".. toctree::", ""]
    text += [f"   {name}" for name in chapters]
    (folder / "index.rst").write_text("\n".join(text) + "\n", encoding="utf-8")


def _write_cpp(root: Path, source: Path) -> None:
    """A page for each room with its headers, half of which is prose; the C header is one page."""
    include = root / "libcapsim" / "include" / "capsim"
    (source / "cpp").mkdir(parents=True)
    rooms = re.findall(r"^// (\w+): (.*)\n((?:#include .*\n)+)", (include / "capsim.hpp").read_text("utf-8"), re.M)
    names = []
    for room, words, block in rooms:
        lines = [room, "=" * len(room), "", f"{words[0].upper()}{words[1:]}", ""]
        for header in re.findall(r'"capsim/(.+?)"', block):
            text = (include / header).read_text(encoding="utf-8")
            first = re.search(r"^/// @file\s+(.*)$", text, re.M)
            title = f"capsim/{header}"
            lines += [
                title,
                "-" * len(title),
                "",
                _escaped(first.group(1)) if first else "",
                "",
                ".. code-block:: cpp",
                "",
            ]
            lines += [f"   {line}".rstrip() for line in text.splitlines()[1:]] + [""]
        names.append(room)
        (source / "cpp" / f"{room}.rst").write_text("\n".join(lines), encoding="utf-8")
    index = [
        "C++",
        "===",
        "",
        "Public headers by room, as they are installed; ``capsim/capsim.hpp`` includes them all.",
        "",
    ]
    index += [".. toctree::", "", *[f"   {name}" for name in names], ""]
    (source / "cpp" / "index.rst").write_text("\n".join(index), encoding="utf-8")
    header = (root / "bindings" / "c" / "capsim.h").read_text(encoding="utf-8")
    lines = ["C", "=", "", "The whole C interface, ``capsim.h``.", "", ".. code-block:: c", ""]
    lines += [f"   {line}".rstrip() for line in header.splitlines()[1:]]
    (source / "c.rst").write_text("\n".join(lines) + "\n", encoding="utf-8")


def _escaped(text: str) -> str:
    return re.sub(r"([*_|`\\])", r"\\\1", text)


def _write_commands(source: Path) -> None:
    from capsim.__main__ import _parser

    lines = ["Command line", "============", ""]
    for name, text in _helps(_parser()):
        lines += [name, "-" * len(name), "", ".. code-block:: text", ""]
        lines += [f"   {line}".rstrip() for line in text.splitlines()] + [""]
    (source / "command_line.rst").write_text("\n".join(lines), encoding="utf-8")


def _helps(parser: Any) -> list[tuple[str, str]]:
    """The help of the whole, and of each command."""
    found = [("python -m capsim", parser.format_help())]
    for action in parser._subparsers._group_actions:
        found += [(f"python -m capsim {name}", command.format_help()) for name, command in action.choices.items()]
    return found
