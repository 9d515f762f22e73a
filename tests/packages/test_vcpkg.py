# SPDX-License-Identifier: BSD-3-Clause
"""The overlay port for vcpkg makes a package where vcpkg is installed; its list agrees with the project everywhere."""

import json
import re
import shutil
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
PORT = ROOT / "libcapsim" / "packaging" / "vcpkg"
PATIENCE_S = 3600  # other work may use the cores


def test_port_has_the_version_and_the_options_of_the_project():
    project = (ROOT / "CMakeLists.txt").read_text(encoding="utf-8")
    said = json.loads((PORT / "vcpkg.json").read_text(encoding="utf-8"))
    assert f"project(capsim VERSION {said['version']} " in project
    used = set(re.findall(r"\bCAPSIM_[A-Z_]+", (PORT / "portfile.cmake").read_text(encoding="utf-8")))
    assert used and used <= set(re.findall(r"option\((CAPSIM_\w+)", project))


def test_port_makes_a_package(tmp_path):
    vcpkg = shutil.which("vcpkg")
    if vcpkg is None:
        pytest.skip("vcpkg is not installed, and no package index has it")
    done = subprocess.run(
        [vcpkg, "install", "capsim", f"--overlay-ports={PORT}", f"--x-install-root={tmp_path}"],
        capture_output=True,
        text=True,
        timeout=PATIENCE_S,
    )
    assert done.returncode == 0, f"{done.stdout[-4000:]}\n{done.stderr[-4000:]}"
    assert list(tmp_path.rglob("capsimConfig.cmake"))
