# SPDX-License-Identifier: BSD-3-Clause
"""The guide `Where to add what` names the places that the tree has, no more and no fewer."""

import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[2]
GUIDE = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split("## Where to add what")[1].split("\n## ")[0]
KINDS = dict(part.split("\n", 1) for part in GUIDE.split("\n### ")[1:])
# Where a kind of thing lives; elsewhere its example is named for other reasons.
WHERE = {"A command": ["bindings/python/capsim/commands", "bindings/python/CMakeLists.txt"]}
WHERE["A control of the page"] = ["examples/classroom/src"]
WHERE["A part of the eye"] = ["libcapsim"]
EVERYWHERE = ["libcapsim/include", "libcapsim/src", "libcapsim/CMakeLists.txt", "libcapsim/doc/parameters.md"]
EVERYWHERE += ["bindings", "examples/classroom/src"]
# Their examples are named further, where a new one has something to fall back on.
WITH_CONVENIENCES = {"A contraction law", "An event", "A control of the page"}
ELSEWHERE = {"A diagnostic": 1}  # what counts it
WRITTEN_BY_THE_GENERATOR = "Written by bindings/generate.py"
BETWEEN_MARKS = re.compile(r"from the library's list: .*?end of the list", re.S)
LARGEST = {"A part of the eye": 5, "A contraction law": 4, "A field of the scenario": 5, "An event": 6}
LARGEST |= {"An observable": 1, "An outcome": 1, "A diagnostic": 1, "A command": 3, "A control of the page": 2}


def places(text):
    """Paths with the symbol to touch there, and paths that may name the example."""
    must = dict(re.findall(r"^- `([\w/.]+)`: `(.+?)`", text, re.M))
    may = [path for line in re.findall(r"^- may: (.*)$", text, re.M) for path in re.findall(r"`([\w/.]+)`", line)]
    return must, may


def example_of(text):
    """Any of the words that the guide names the example by."""
    words = re.findall(r"`(\w+)`", re.search(r"^Example: (.*?)\. At most", text, re.M).group(1))
    return re.compile("|".join(words))


def written(path):
    """What a person wrote in it."""
    text = (ROOT / path).read_text(encoding="utf-8", errors="replace")
    return "" if WRITTEN_BY_THE_GENERATOR in text[:400] else BETWEEN_MARKS.sub("", text)


@pytest.fixture(scope="module")
def tree():
    done = subprocess.run(["git", "ls-files"], capture_output=True, text=True, cwd=ROOT)
    if done.returncode != 0:
        pytest.skip("not a checkout: the files of the tree are not known")
    return [
        path
        for path in done.stdout.splitlines()
        if (ROOT / path).is_file() and not path.endswith(("README.md", "changelog.md"))
    ]


def test_guide_has_every_kind():
    assert set(KINDS) == set(LARGEST)


@pytest.mark.parametrize("kind", LARGEST)
def test_places_are_there_and_few(kind):
    must, _ = places(KINDS[kind])
    assert 1 <= len(must) <= LARGEST[kind]
    assert f"At most {LARGEST[kind]} place" in KINDS[kind]
    for path, symbol in must.items():
        assert symbol in (ROOT / path).read_text(encoding="utf-8"), f"{path} has no {symbol}"


@pytest.mark.parametrize("kind", sorted(set(LARGEST) - WITH_CONVENIENCES))
def test_example_is_named_in_no_more_places_than_the_guide_counts(kind):
    must, may = places(KINDS[kind])
    assert len(must) + len(may) <= LARGEST[kind] + ELSEWHERE.get(kind, 0)


@pytest.mark.parametrize("kind", LARGEST)
def test_example_is_named_where_the_guide_says_and_nowhere_else(kind, tree):
    must, may = places(KINDS[kind])
    example, where = example_of(KINDS[kind]), tuple(WHERE.get(kind, EVERYWHERE))
    naming = {path for path in tree if path.startswith(where) and example.search(written(path) + path)}
    own = {path for path, symbol in must.items() if not example.search(written(path) + path)}
    assert naming - set(must) - set(may) == set(), "named, and not in the guide"
    assert set(may) <= naming | {path for path in may if not path.startswith(where)}, (
        "in the guide, and not named there"
    )
    assert own <= {path for path in must if path.endswith("capsim.hpp") or path.endswith("CMakeLists.txt")}
