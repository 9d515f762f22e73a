# SPDX-License-Identifier: BSD-3-Clause
"""The Pythons of this machine that a package can be compiled for."""

import os
import shutil
import subprocess
from pathlib import Path

ASK = (
    "import os, sys, sysconfig; import venv, ensurepip; "
    "assert os.path.exists(os.path.join(sysconfig.get_path('include'), 'Python.h')); "
    "print(sys.version_info.major, sys.version_info.minor, sys.executable)"
)


def found(least=(3, 11)):
    """One interpreter for each version of at least `least` that has its headers and can make environments, oldest first:
    {(3, 13): path}. Looks along PATH and among those of pyenv, which its own commands hide."""
    root = Path(os.environ.get("PYENV_ROOT", Path.home() / ".pyenv"))
    candidates = [shutil.which(f"python3.{minor}") for minor in range(least[1], 20)]
    candidates += sorted(root.glob("versions/*/bin/python3"))
    pythons = {}
    for candidate in filter(None, candidates):
        try:
            done = subprocess.run([candidate, "-c", ASK], capture_output=True, text=True, timeout=60)
        except OSError:
            continue
        words = done.stdout.split(maxsplit=2)
        if done.returncode == 0 and len(words) == 3 and (version := (int(words[0]), int(words[1]))) >= least:
            pythons.setdefault(version, Path(words[2].strip()))
    return dict(sorted(pythons.items()))
