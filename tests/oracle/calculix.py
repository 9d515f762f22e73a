# SPDX-License-Identifier: BSD-3-Clause
"""Runs CalculiX on a deck and reads what it printed."""

import os
import re
import shutil
import subprocess
from pathlib import Path


class SolverFailed(RuntimeError):
    pass


def executable():
    """The solver's path, or None where it is not installed."""
    return shutil.which("ccx")


def version():
    text = subprocess.run([executable(), "-v"], capture_output=True, text=True, check=False).stdout
    found = re.search(r"[Vv]ersion\s+([\d.]+)", text)
    return found.group(1) if found else "unknown"


def run(deck, name, folder):
    """Displacements and reaction forces of the last increment: {"u": {node: (x, y)}, "force": ...}."""
    folder = Path(folder)
    folder.mkdir(parents=True, exist_ok=True)
    (folder / f"{name}.inp").write_text(deck.text, encoding="ascii")
    environment = dict(os.environ, OMP_NUM_THREADS="1", CCX_NPROC_RESULTS="1", CCX_NPROC_STIFFNESS="1")
    done = subprocess.run(
        [executable(), name], cwd=folder, env=environment, capture_output=True, text=True, timeout=300, check=False
    )
    (folder / f"{name}.log").write_text(done.stdout + done.stderr, encoding="utf-8")
    if done.returncode != 0 or "Job finished" not in done.stdout:
        raise SolverFailed(
            f"{name}: CalculiX ended with {done.returncode}; the end of its output:\n{done.stdout[-2000:]}"
        )
    return read((folder / f"{name}.dat").read_text(encoding="ascii"))


def read(text):
    """The last block of each kind in a .dat file."""
    answer, current = {"u": {}, "force": {}}, None
    for line in text.splitlines():
        if line.lstrip().startswith("displacements"):
            current = answer["u"] = {}
        elif line.lstrip().startswith("forces"):
            current = answer["force"] = {}
        elif line.strip() and current is not None:
            words = line.split()
            if len(words) == 4 and words[0].isdigit():
                current[int(words[0])] = (float(words[1]), float(words[2]))
    return answer
