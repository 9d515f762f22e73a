# SPDX-License-Identifier: BSD-3-Clause
"""The gallery: each numbered example with what it is for, what a run printed and drew, and its code.

A run is kept in `<build>/gallery/<example>` with the key of what was run; the tests of the examples leave theirs there, so that
nothing is run twice.
"""

from __future__ import annotations

import ast
import hashlib
import os
import shutil
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path


def folder(build: Path) -> Path:
    """Where runs of examples are kept."""
    return build / "gallery"


def key_of(example: Path) -> str:
    """Names an example's text and the build of the library that runs it."""
    import capsim

    return hashlib.sha256(example.read_bytes() + capsim.build.encode()).hexdigest()


def keep(example: Path, place: Path, printed: str, pictures: Path) -> None:
    """Keeps a run: what it printed, and its pictures."""
    here = place / example.stem
    shutil.rmtree(here, ignore_errors=True)
    here.mkdir(parents=True)
    for picture in sorted(pictures.glob("*.png")):
        shutil.copy(picture, here)
    (here / "printed.txt").write_text(printed, encoding="utf-8")
    (here / "key.txt").write_text(key_of(example), encoding="utf-8")


def kept(example: Path, place: Path) -> Path | None:
    """The folder of a run of this example by this library, if there is one."""
    key = place / example.stem / "key.txt"
    return key.parent if key.is_file() and key.read_text(encoding="utf-8") == key_of(example) else None


def write(root: Path, target: Path, place: Path, run: bool = True) -> None:
    """Writes the gallery's pages; an example that was not run, or lacks a package, is shown without its output."""
    target.mkdir(parents=True)
    examples = sorted((root / "examples").glob("[0-9][0-9]_*.py"))
    if run:
        with ThreadPoolExecutor(os.cpu_count()) as threads:
            list(threads.map(lambda example: kept(example, place) or _run(example, place), examples))
    lines = [
        "Examples",
        "========",
        "",
        "One idea each; eyes are invented. Runs here are of reduced size (``--small``).",
        "",
    ]
    lines += [".. toctree::", "   :maxdepth: 1", "", *[f"   {example.stem}" for example in examples], ""]
    (target / "index.rst").write_text("\n".join(lines), encoding="utf-8")
    for example in examples:
        _write_page(example, target, kept(example, place))


def _run(example: Path, place: Path) -> None:
    work = place / f"{example.stem}.running"
    shutil.rmtree(work, ignore_errors=True)
    work.mkdir(parents=True)
    done = subprocess.run(
        [sys.executable, example, "--small", "-o", work], capture_output=True, text=True, check=False, cwd=work
    )
    if done.returncode == 0:
        keep(example, place, done.stdout, work)
    elif done.returncode != 4:  # 4: a package is missing, said in one line
        raise RuntimeError(f"{example.name} failed:\n{done.stderr}")
    shutil.rmtree(work)


def _write_page(example: Path, target: Path, run: Path | None) -> None:
    code = example.read_text(encoding="utf-8")
    title, _, words = (ast.get_docstring(ast.parse(code)) or example.name).partition("\n")
    lines = [title, "=" * len(title), "", ".. code-block:: text", "", *_indented(words.strip()), ""]
    if run is None:
        lines += ["It was not run for this page.", ""]
    else:
        for picture in sorted(run.glob("*.png")):
            name = f"{example.stem}-{picture.name}"
            shutil.copy(picture, target / name)
            lines += [f".. image:: {name}", f"   :alt: {picture.stem.replace('_', ' ')}", ""]
        printed = (run / "printed.txt").read_text(encoding="utf-8")
        lines += ["It prints:", "", ".. code-block:: text", "", *_indented(printed.strip("\n")), ""]
    lines += ["The code:", "", ".. code-block:: python", "", *_indented(code), ""]
    (target / f"{example.stem}.rst").write_text("\n".join(lines), encoding="utf-8")


def _indented(text: str) -> list[str]:
    return [f"   {line}".rstrip() for line in text.splitlines()]
