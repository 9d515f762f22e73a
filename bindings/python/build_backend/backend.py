# SPDX-License-Identifier: BSD-3-Clause
"""Builds the package with scikit-build-core, from a folder that holds all it needs.

libcapsim lies beside the bindings in the repository, and inside the package in a source
distribution. So everything is put together in a temporary folder first, in the shape of the source
distribution: a wheel from the repository and one from the source distribution are the same, and the
repository stays as it is. Editable installs build in place.
"""

from __future__ import annotations

import contextlib
import os
import shutil
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any, Optional

from scikit_build_core import build
from scikit_build_core.build import (
    build_editable,
    get_requires_for_build_editable,
    get_requires_for_build_sdist,
    get_requires_for_build_wheel,
)

__all__ = [
    "build_editable",
    "build_sdist",
    "build_wheel",
    "get_requires_for_build_editable",
    "get_requires_for_build_sdist",
    "get_requires_for_build_wheel",
]

Settings = Optional[dict[str, Any]]

_LIBRARY = ("CMakeLists.txt", "cmake", "data", "include", "src")
_NOT_SOURCE = shutil.ignore_patterns("__pycache__", "*.pyc", "*.egg-info", "build", "dist", ".*")


def build_wheel(wheel_directory: str, config_settings: Settings = None, metadata_directory: str | None = None) -> str:
    """Builds a wheel and returns its file name."""
    target = os.path.abspath(wheel_directory)
    with _put_together():
        name: str = build.build_wheel(target, config_settings, None)
        return name


def build_sdist(sdist_directory: str, config_settings: Settings = None) -> str:
    """Builds a source distribution and returns its file name."""
    target = os.path.abspath(sdist_directory)
    with _put_together():
        name: str = build.build_sdist(target, config_settings)
        return name


@contextlib.contextmanager
def _put_together() -> Iterator[None]:
    """Makes a folder with package, library and license the current one; a source distribution is one already."""
    here = Path.cwd()
    root = here.parent.parent
    if (here / "libcapsim").is_dir() or not (root / "libcapsim").is_dir():
        yield
        return
    with tempfile.TemporaryDirectory(prefix="capsim-package-") as folder:
        together = Path(folder) / "capsim"
        shutil.copytree(here, together, ignore=_NOT_SOURCE)
        for name in _LIBRARY:
            source, target = root / "libcapsim" / name, together / "libcapsim" / name
            if source.is_dir():
                shutil.copytree(source, target, ignore=_NOT_SOURCE)
            else:
                target.parent.mkdir(parents=True, exist_ok=True)
                shutil.copy2(source, target)
        shutil.copy2(root / "LICENSE", together / "LICENSE")
        os.chdir(together)
        try:
            yield
        finally:
            os.chdir(here)
