# SPDX-License-Identifier: BSD-3-Clause
"""The package as a whole: what it brings along, and what importing it does."""

import ast
import re
from importlib import metadata
from pathlib import Path

import capsim
import pytest

ROOT = Path(__file__).resolve().parents[2]
PACKAGE = ROOT / "bindings" / "python"


def test_version_is_the_same_everywhere():
    of_library = re.search(r"project\(capsim VERSION (\S+)", (ROOT / "CMakeLists.txt").read_text()).group(1)
    of_package = re.search(r'^version = "(\S+)"', (PACKAGE / "pyproject.toml").read_text(), re.MULTILINE).group(1)
    cited = re.search(r"^version: (\S+)$", (ROOT / "libcapsim/doc/CITATION.cff").read_text(), re.MULTILINE).group(1)
    assert capsim.__version__ == of_library == of_package == cited
    try:
        assert metadata.version("capsim") == of_library
    except metadata.PackageNotFoundError:
        pass  # used from a build folder


def test_build_and_commit_are_named():
    assert re.fullmatch("[0-9a-f]{16}", capsim.build)
    assert re.fullmatch(r"([0-9a-f]{40}\+?)?", capsim.commit)


def test_every_file_of_the_package_is_in_the_build_folder():
    """A file that CMake does not list is missing for those who use PYTHONPATH."""
    files = {
        path.relative_to(PACKAGE / "capsim")
        for path in (PACKAGE / "capsim").rglob("*")
        if path.suffix in (".py", ".pyi") or path.name == "py.typed"
    }
    here = Path(capsim.__file__).parent
    assert {str(path) for path in files if not (here / path).exists()} == set()


def test_everything_public_is_there_and_described():
    for name in capsim.__all__:
        item = getattr(capsim, name)
        assert name == "__version__" or len(item.__doc__) > 20, name
        for method, function in vars(item).items() if isinstance(item, type) else ():
            if not method.startswith("_") and callable(function):
                assert function.__doc__, f"{name}.{method}"


def test_import_is_light(python):
    loaded = python("import sys, capsim; print(' '.join(sys.modules))").split()
    for heavy in ("matplotlib", "scipy", "xarray", "pandas", "h5py", "distributed", "tqdm", "PIL"):
        assert heavy not in loaded


def test_marker_of_types_is_there():
    assert (Path(capsim.__file__).parent / "py.typed").exists()


def test_only_what_is_documented_is_needed(python):
    """Simulating, outcomes and files need NumPy alone."""
    blocked = "import sys\nfor name in ('matplotlib', 'scipy', 'xarray', 'pandas', 'h5py', 'tqdm', 'PIL'): sys.modules[name] = None\n"
    script = (
        blocked
        + """
import capsim, tempfile, os
history = capsim.simulate({"format": "capsim-scenario", "version": 1, "duration_days": 10, "mesh": {"around": 12, "radial": 2}})
path = os.path.join(tempfile.mkdtemp(), "result.h5")
history.save(path)
print(capsim.load(path).status, capsim.outcomes(history)["completed"])
"""
    )
    assert python(script).split() == ["completed", "1.0"]


@pytest.mark.parametrize("name", ["Scenario", "History", "simulate", "sweep", "fit", "read_visits"])
def test_help_says_what_goes_wrong(name):
    text = (
        getattr(capsim, name).__doc__
        + "".join(method.__doc__ or "" for method in vars(getattr(capsim, name)).values() if callable(method))
        if isinstance(getattr(capsim, name), type)
        else getattr(capsim, name).__doc__
    )
    assert re.search(r"[Rr]aises|Error", text)


def imports_of(path):
    """The modules of the package that a file imports when it is loaded or read by a type checker."""
    folder = path.relative_to(PACKAGE / "capsim").parent.parts

    def statements(nodes):
        for node in nodes:
            if isinstance(node, ast.ImportFrom) and node.level:
                yield node
            for field in ("body", "orelse", "handlers", "finalbody"):
                if not isinstance(node, (ast.FunctionDef, ast.Lambda)):
                    yield from statements(getattr(node, field, []))

    for node in statements(ast.parse(path.read_text(encoding="utf-8")).body):
        base = [*folder[: len(folder) - (node.level - 1)], *(node.module.split(".") if node.module else [])]
        for alias in node.names:
            yield ".".join([*base, alias.name])
            if base:
                yield ".".join(base)


def test_no_module_imports_itself_by_way_of_others():
    names = {
        path: ".".join(path.relative_to(PACKAGE / "capsim").with_suffix("").parts)
        for path in (PACKAGE / "capsim").rglob("*.py")
    }
    known = set(names.values())
    uses = {name: {used for used in imports_of(path) if used in known} for path, name in names.items()}

    def circle_from(name, way=()):
        if name in way:
            return [*way[way.index(name) :], name]
        return next((found for used in uses[name] if (found := circle_from(used, (*way, name)))), None)

    uses.pop("__main__")
    assert len(uses) > 40
    assert [circle_from(name) for name in uses if circle_from(name)] == []


def test_wrong_arguments_are_refused_with_the_root_of_errors():
    """A bare ValueError would pass by `except capsim.Error`."""
    for path in (PACKAGE / "capsim").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
                assert ast.unparse(node.exc.func) != "ValueError", f"{path.name}, line {node.lineno}"
    with pytest.raises(capsim.Error, match="no outcome"):
        capsim.sweep(capsim.Scenario(), {"opening.diameter_mm": [5.0]}, outcomes=["area_los_percent"])
