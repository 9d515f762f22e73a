# SPDX-License-Identifier: BSD-3-Clause
"""Every numbered example and the notebook beside the newest packages that the index has for the newest Python of this machine.

A warning is an error, in the examples at once and in the notebook as output on standard error. Beside the packages of Debian the
same is asked by tests/python/test_examples.py.
"""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "tests" / "support"))

import pip_build  # noqa: E402
import pythons  # noqa: E402
from pip_build import run  # noqa: E402

EXAMPLES = ROOT / "examples"
NUMBERED = sorted(EXAMPLES.glob("[0-9][0-9]_*.py"))
NOTEBOOK = """
import sys
import nbclient, nbformat
book = nbformat.read(sys.argv[1], as_version=4)
book.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3", "language": "python"}
nbclient.NotebookClient(book, timeout=600, resources={"metadata": {"path": sys.argv[2]}}).execute()
outputs = [output for cell in book.cells if cell.cell_type == "code" for output in cell.outputs]
wrong = [output for output in outputs if output.output_type == "error" or output.get("name") == "stderr"]
sys.exit(f"{wrong}" if wrong or not outputs else 0)
"""


@pytest.fixture(scope="module")
def newest(tmp_path_factory):
    """A Python with the package and what the examples use; skips where the index does not give them."""
    folder = tmp_path_factory.mktemp("newest")
    environment = pip_build.surroundings()
    _, of = max(pythons.found().items(), default=(None, sys.executable))
    run(of, "-m", "venv", folder / "v", env=environment)
    python = folder / "v" / "bin" / "python"
    package = pip_build.sources(folder) / "bindings" / "python"
    command = [python, "-m", "pip", "install", "-q", "--retries", "1", "--timeout", "30", pip_build.BESIDE_THE_SOURCES]
    command += [f"{package}[study,plot,cluster,sampling]", "nbclient", "ipykernel"]
    done = subprocess.run(list(map(str, command)), capture_output=True, text=True, env=environment, cwd=folder)
    if done.returncode != 0:
        pytest.skip(f"the newest packages can't be had here ({done.stderr.strip()[-300:]})")
    return python


@pytest.mark.parametrize("path", NUMBERED, ids=lambda path: path.name)
def test_example_runs_without_a_warning(path, newest, tmp_path):
    environment = {**pip_build.surroundings(), "MPLBACKEND": "Agg"}
    said = run(newest, "-W", "error", path, "--small", "-o", tmp_path / "out", env=environment, cwd=tmp_path)
    assert "not for treating a patient" in " ".join(said.split())
    assert list((tmp_path / "out").glob("*.png"))


def test_notebook_runs_without_a_warning(newest, tmp_path):
    run(newest, "-c", NOTEBOOK, EXAMPLES / "what_if.ipynb", EXAMPLES, env=pip_build.surroundings(), cwd=tmp_path)
