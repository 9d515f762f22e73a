# SPDX-License-Identifier: BSD-3-Clause
"""The documentation site builds without a warning, its links lead somewhere, and its examples were run."""

import re
import subprocess
import sys
from pathlib import Path

import capsim
import pytest

ROOT = Path(__file__).resolve().parents[2]
SITE = ROOT / "libcapsim" / "doc" / "site"
sys.path.insert(0, str(SITE))

import links  # noqa: E402

for package in ("sphinx", "myst_parser", "furo"):
    pytest.importorskip(package, reason=f"{package} is not installed: the documentation was not built")


@pytest.fixture(scope="module")
def site():
    """The site as the one command makes it."""
    done = subprocess.run([sys.executable, SITE / "build.py"], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
    return Path(done.stdout.split(" in ", 1)[1].strip())


def test_every_page_of_the_documentation_is_in_the_site(site):
    for path in [*(ROOT / "libcapsim" / "doc").glob("*.md"), *(ROOT / "libcapsim" / "doc" / "decisions").glob("*.md")]:
        page = site / path.relative_to(ROOT / "libcapsim" / "doc").with_suffix(".html")
        assert page.is_file(), page


def test_every_public_name_has_its_entry(site):
    text = "".join(path.read_text(encoding="utf-8") for path in (site / "python").glob("*.html"))
    said = set(re.findall(r'id="capsim\.(\w+)', text))
    assert {name for name in capsim.__all__ if name not in ("__version__", "build", "commit", "plot")} <= said


def test_every_public_header_is_shown(site):
    text = "".join(path.read_text(encoding="utf-8") for path in (site / "cpp").glob("*.html"))
    headers = [path.name for path in (ROOT / "libcapsim" / "include" / "capsim").glob("*.hpp")]
    assert [name for name in headers if name != "capsim.hpp" and f"capsim/{name}" not in text] == []
    assert "capsim_simulation_advance_to" in (site / "c.html").read_text(encoding="utf-8")


def test_every_example_was_run_for_the_gallery_or_lacks_a_package(site):
    examples = sorted((ROOT / "examples").glob("[0-9][0-9]_*.py"))
    without = []
    for example in examples:
        page = (site / "gallery" / f"{example.stem}.html").read_text(encoding="utf-8")
        if "It was not run for this page" in page:
            without.append(example.stem)
        else:
            assert "<img" in page and "It prints:" in page
    try:
        import SALib  # noqa: F401
    except ImportError:
        without.remove("08_sobol")
    assert without == []


def test_formulas_are_left_to_the_browser_as_tex_and_nothing_comes_from_a_network(site):
    text = (site / "theory.html").read_text(encoding="utf-8")
    assert text.count('class="formula"') > 20
    for page in site.rglob("*.html"):
        assert not re.search(
            r'<(?:script|img)[^>]*src="https?:|<link[^>]*rel="stylesheet"[^>]*href="https?:', page.read_text("utf-8")
        ), page


def test_broken_links_are_found(tmp_path):
    (tmp_path / "a.html").write_text('<h1 id="top"></h1><a href="b.html#no">1</a><img src="c.png"><a href="#top">2</a>')
    (tmp_path / "b.html").write_text(
        '<a href="a.html#top">3</a><a href="../a.html">4</a><a href="http://example.org">5</a>'
    )
    assert links.broken(tmp_path) == [
        "a.html: b.html#no has no such heading",
        "a.html: c.png is not there",
        "b.html: ../a.html is not there",
    ]
