# SPDX-License-Identifier: BSD-3-Clause
"""What the tests compare and note when they are run now.

They report it when CAPSIM_EVIDENCE_FOLDER names a folder: comparisons.jsonl (tests/cpp/comparison.hpp) and properties.jsonl.
"""

import json
import os
import subprocess
import sys
import tempfile
from pathlib import Path

from evidence_records import ROOT, rounded, sorted_rows


def build_folder():
    return Path(os.environ.get("CAPSIM_BUILD_DIR", ROOT / "build"))


def lines(path):
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()] if path.exists() else []


def run(command, folder, **environment):
    done = subprocess.run(
        [str(word) for word in command],
        capture_output=True,
        text=True,
        check=False,
        cwd=folder,
        env={**os.environ, "CAPSIM_EVIDENCE_FOLDER": str(folder), "PYTHONDONTWRITEBYTECODE": "1", **environment},
    )
    if done.returncode != 0:
        raise RuntimeError(
            f"{command[0]} failed: no page is made of failing tests\n{done.stdout[-4000:]}{done.stderr[-2000:]}"
        )


def fresh_comparisons(tests=None):
    """What the C++ tests compare, run now."""
    with tempfile.TemporaryDirectory() as folder:
        run([tests or build_folder() / "tests" / "capsim_tests", "[evidence]~[properties]"], Path(folder))
        return [rounded(row) for row in sorted_rows(lines(Path(folder) / "comparisons.jsonl"))]


def fresh_properties(**environment):
    """What the tests of properties note, run now."""
    with tempfile.TemporaryDirectory() as folder:
        run([build_folder() / "tests" / "capsim_tests", "[properties][evidence]"], Path(folder), **environment)
        paths = os.pathsep.join(filter(None, [str(build_folder() / "python"), os.environ.get("PYTHONPATH")]))
        run(
            [
                sys.executable,
                "-m",
                "pytest",
                ROOT / "tests" / "python" / "test_properties.py",
                "-q",
                "-p",
                "no:cacheprovider",
            ],
            Path(folder),
            PYTHONPATH=paths,
            **environment,
        )
        return lines(Path(folder) / "properties.jsonl")
