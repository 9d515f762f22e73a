# SPDX-License-Identifier: BSD-3-Clause
"""Every public name and method has an example in its docstring, and each example gives what it says."""

import doctest
import inspect
import shutil
import sys
from pathlib import Path

import capsim
import pytest

ROOT = Path(__file__).resolve().parents[2]
sys.path.insert(0, str(ROOT / "libcapsim" / "doc" / "site"))

import interfaces  # noqa: E402

PUBLIC = [entry for entries in interfaces.public().values() for entry in entries]
METHODS = interfaces.public_methods()
# What some examples need beside NumPy.
NEEDS = {
    "fit": "scipy",
    "sweep": "xarray",
    "samples": "scipy",
    "plot": "matplotlib",
    "sensitivities": "xarray",
    "animate": "matplotlib",
    "Influence.sentence": "xarray",
    "History.to_xarray": "xarray",
    "Comparison.to_dataset": "xarray",
    "Comparison.plot": "matplotlib",
    "CutStudy.to_dataset": "xarray",
    "CutStudy.plot": "matplotlib",
    "VisitStudy.plot": "matplotlib",
    "Population.sweep": "xarray",
    "PosteriorSamples.to_arviz": "arviz",
    "Visits.to_dataframe": "pandas",
}


@pytest.fixture(scope="module")
def prepared():
    """What the site says that examples start from."""
    pytest.importorskip("scipy", reason="SciPy is not installed: no fit to show")
    names = {}
    exec(interfaces.PREPARED, names)
    yield names
    shutil.rmtree(names["folder"])


@pytest.mark.parametrize("name, item", PUBLIC + METHODS, ids=[name for name, _ in PUBLIC + METHODS])
def test_docstring_has_an_example_that_gives_what_it_says(name, item, prepared):
    need = NEEDS.get(name, NEEDS.get(name.split(".")[0]))
    if need is not None:
        pytest.importorskip(need, reason=f"{need} is not installed: the example of {name} was not run")
    text = inspect.getdoc(item)
    assert ">>>" in text, f"capsim.{name} has no example"
    example = doctest.DocTestParser().get_doctest(text, dict(prepared), f"capsim.{name}", None, None)
    said = []
    runner = doctest.DocTestRunner(optionflags=doctest.ELLIPSIS)
    runner.run(example, out=said.append)
    assert runner.summarize(verbose=False).failed == 0, "".join(said)


def test_methods_are_looked_at():
    names = [name for name, _ in METHODS]
    assert len(names) > 80 and {"Simulation.apply", "Comparison.text", "EyeFit.sample"} <= set(names)


def test_every_public_name_stands_in_one_chapter_of_the_reference():
    names = [name for name, _ in PUBLIC]
    assert len(names) == len(set(names))
    told = {name.split(".")[0] for name in names} | {"__version__", "build", "commit"}
    assert told == set(capsim.__all__)
