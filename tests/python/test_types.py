# SPDX-License-Identifier: BSD-3-Clause
"""Types: `mypy --strict` passes on the package and the examples, mypy and pyright find what is wrong in a user's script, and
an editor completes what there is."""

import ast
import json
import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest
from capsim import _core

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "bindings" / "python"

RIGHT = """
from typing import Optional
import numpy as np
from numpy.typing import NDArray
import capsim

scenario = capsim.Scenario(name="typed", lens=None)
other = capsim.Scenario(
    eye="left",
    zonule={"strength": np.float64(0.4), "strength_by_hour": {4: 0.2}, "interpolation": "smooth"},
    opening={"diameters_mm": [5.2, 4.8]},
    events=[{"day": 30, "relaxing_cuts": {"hours": [12, 6], "length_mm": 0.5}}],
    mesh={"level": "coarse"},
    tension_ring=scenario.tension_ring,
)
scenario.opening.diameter_mm = 4.5
scenario.zonule.strength_by_hour[4] = 0.2
scenario.events.append({"day": 30, "relaxing_cuts": {"hours": [12], "length_mm": 0.5}})
history: capsim.History = capsim.simulate(scenario, progress=lambda progress: progress.fraction < 0.5)
loss: float = capsim.outcomes(history)["area_loss_percent"]
area: NDArray[np.float64] = history.opening_area_mm2
name: Optional[str] = scenario.eye
gape: NDArray[np.float64] = history.cut_gape_mm
fallbacks: int = history.diagnostics.projected_factorizations
"""

# Each line, and what must be said about it.
WRONG = {
    "scenario.opening.diamter_mm = 4.5": '"Opening" has no attribute "diamter_mm"',
    'capsim.Scenario(zonul={"strength": 0.3})': 'Unexpected keyword argument "zonul" for "Scenario"',
    'capsim.Scenario(zonule={"strenght": 0.3})': 'Argument "zonule" to "Scenario" has incompatible type',
    'capsim.Scenario(zonule={"interpolation": "smoth"})': 'TypedDict item "interpolation" has type',
    "scenario.zonule.strength.by_hour": '"float" has no attribute "by_hour"',
    "capsim.simulate(3)": 'Argument 1 to "simulate" has incompatible type "int"',
    "history.save(5)": 'Argument 1 to "save" of "History" has incompatible type "int"',
    "history.opening_aera_mm2": '"History" has no attribute "opening_aera_mm2"',
    "history.diagnostics.newton": '"Diagnostics" has no attribute "newton"',
    "capsim.outcomes(scenario)": 'Argument 1 to "outcomes" has incompatible type "Scenario"',
}


def numbered_examples():
    return sorted((ROOT / "examples").glob("[0-9][0-9]_*.py"))


@pytest.fixture(scope="module")
def said(request, tmp_path_factory):
    """What `mypy --strict` says with the package's settings, lines by the name of the file: one run over all of it, since
    reading what NumPy and xarray declare takes most of the time."""
    pytest.importorskip("mypy", reason="mypy is not installed: types were not checked")
    scripts = tmp_path_factory.mktemp("types")
    (scripts / "right.py").write_text(RIGHT, encoding="utf-8")
    (scripts / "wrong.py").write_text(RIGHT + "\n".join(WRONG) + "\n", encoding="utf-8")
    done = subprocess.run(
        [
            sys.executable,
            "-m",
            "mypy",
            "--strict",
            "--config-file",
            PACKAGE / "pyproject.toml",
            "--cache-dir",
            request.config.cache.mkdir("mypy") if request.config.cache is not None else os.devnull,
            PACKAGE / "capsim",
            *numbered_examples(),
            ROOT / "examples" / "demo.py",
            ROOT / "examples" / "demo_crowd.py",
            ROOT / "benchmarks" / "sweep_rate.py",
            scripts / "right.py",
            scripts / "wrong.py",
        ],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env={**os.environ, "MYPYPATH": str(PACKAGE)},
        timeout=600,
    )
    assert done.stderr == ""
    assert done.returncode == 1, done.stdout  # since wrong.py is wrong
    *lines, total = done.stdout.splitlines()
    return lines, total


def test_package_examples_benchmark_and_right_script_pass_strictly(said):
    lines, total = said
    elsewhere = [line for line in lines if ": error:" in line and not re.match(r"\S*wrong\.py:", line)]
    assert elsewhere == []
    checked = int(re.fullmatch(r"Found \d+ errors in 1 file \(checked (\d+) source files\)", total).group(1))
    of_package = [path for path in (PACKAGE / "capsim").rglob("*") if path.suffix in (".py", ".pyi")]
    assert checked == len(of_package) + len(numbered_examples()) + 5


def test_each_wrong_line_is_found(said):
    of_wrong = "\n".join(said[0])
    first = RIGHT.count("\n") + 1
    for number, (line, words) in enumerate(WRONG.items(), first):
        assert re.search(rf"wrong\.py:{number}: error: .*{re.escape(words)}", of_wrong), f"{line}\n{of_wrong}"
    assert not re.search(rf"wrong\.py:({'|'.join(map(str, range(1, first)))}): error", of_wrong)


def test_pyright_finds_each_wrong_line_and_no_other(tmp_path):
    """The type checker inside many editors; from npm, with the tools of the browser package."""
    tools = Path(os.environ.get("CAPSIM_BUILD_DIR", ROOT / "build")) / "web" / "node_modules" / ".bin"
    pyright = shutil.which("pyright", path=os.pathsep.join([str(tools), os.environ["PATH"]]))
    if pyright is None:
        pytest.skip("pyright is not installed: what it says of a user's script was not looked at")
    script = tmp_path / "wrong.py"
    script.write_text(RIGHT + "\n".join(WRONG) + "\n", encoding="utf-8")
    done = subprocess.run(
        [pyright, "--outputjson", "--pythonpath", sys.executable, script],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(PACKAGE)},
        timeout=600,
    )
    said = json.loads(done.stdout)["generalDiagnostics"]
    found = {entry["range"]["start"]["line"] for entry in said if entry["severity"] == "error"}
    first = RIGHT.count("\n")
    assert found == set(range(first, first + len(WRONG))), said


@pytest.mark.parametrize(
    ("line", "offered"),
    [
        ("capsim.Scenario(zonu", {"zonule="}),
        ("capsim.Scenario().opening.diam", {"diameter_mm", "diameters_mm"}),
        ("capsim.Scenario().contraction.fib", {"fibre_modulus_kPa"}),
        ("capsim.simulate(capsim.Scenario()).opening_a", {"opening_area_mm2"}),
        ("capsim.simulate(capsim.Scenario()).diagnostics.proj", {"projected_factorizations"}),
    ],
)
def test_an_editor_completes_what_there_is(line, offered):
    jedi = pytest.importorskip("jedi", reason="jedi is not installed: completion was not tried")
    script = jedi.Script("import capsim\n" + line, project=jedi.Project(ROOT, added_sys_path=[str(PACKAGE)]))
    assert offered <= {completion.name_with_symbols for completion in script.complete(2, len(line))}


def test_stub_of_the_compiled_module_has_all_its_names_and_no_other():
    stub = ast.parse((PACKAGE / "capsim" / "_core.pyi").read_text(encoding="utf-8"))
    public = {name for name in vars(_core) if not name.startswith("_")}
    declared = {
        getattr(node, "name", None) or node.target.id
        for node in stub.body
        if isinstance(node, (ast.ClassDef, ast.FunctionDef, ast.AnnAssign))
    }
    assert declared == public
    for node in stub.body:
        if isinstance(node, ast.ClassDef):
            members = {name for name in vars(getattr(_core, node.name)) if not name.startswith("_")}
            assert {item.name for item in node.body if isinstance(item, ast.FunctionDef)} == members, node.name


def test_stub_of_the_compiled_module_has_the_arguments_of_its_functions():
    """As pybind11 writes them in the docstrings."""
    stub = ast.parse((PACKAGE / "capsim" / "_core.pyi").read_text(encoding="utf-8"))
    for node in stub.body:
        for item in (
            [node] if isinstance(node, ast.FunctionDef) else node.body if isinstance(node, ast.ClassDef) else []
        ):
            owner = getattr(_core, node.name) if isinstance(node, ast.ClassDef) else _core
            function = getattr(owner, item.name)
            if isinstance(function, property):
                continue
            said = re.match(rf"{item.name}\((.*)\) -> ", function.__doc__.splitlines()[0]).group(1)
            names = [argument.split(":")[0].strip() for argument in re.split(r", (?=\w+:)", said) if argument]
            written = [argument.arg for argument in item.args.args]
            assert len(written) == len(names), f"{item.name}: {written}, {names}"
            for one, other in zip(written, names):
                assert one == other or other == "self" or re.fullmatch(r"arg\d+", other), (
                    f"{item.name}: {written}, {names}"
                )
