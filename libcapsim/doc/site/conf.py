# SPDX-License-Identifier: BSD-3-Clause
"""Settings of the documentation site; `build.py` stages the pages and calls Sphinx with them."""

from __future__ import annotations

import html
import os
from pathlib import Path
from typing import Any

import capsim

KATEX = Path("/usr/share/javascript/katex")  # of the Debian packages libjs-katex and fonts-katex

project = "libcapsim"
author = copyright = "The libcapsim maintainers"
version = release = capsim.__version__
language = "en"

extensions = ["myst_parser", "sphinx.ext.autodoc"]
myst_heading_anchors = 4
default_role = "code"  # docstrings mark code with single backticks
exclude_patterns = ["files"]
autodoc_member_order = "bysource"
autodoc_typehints = "signature"
autodoc_typehints_format = "short"
# pybind11's own words about the compiled class aren't this project's.
autodoc_default_options = {"members": True, "show-inheritance": False, "exclude-members": "__init__"}
nitpicky = False

html_theme = "furo"
html_title = f"libcapsim {release}"
html_static_path = [os.path.join(os.environ["CAPSIM_SITE_SOURCE"], "_static")]
html_copy_source = False
html_show_sphinx = False
html_math_renderer = "katex_in_the_browser"
html_css_files = ["katex/katex.min.css"] if KATEX.is_dir() else []
html_js_files = ["katex/katex.min.js", "formulas.js"] if KATEX.is_dir() else []

if KATEX.is_dir():
    html_extra_path: list[str] = []
    _here = Path(os.environ["CAPSIM_SITE_SOURCE"]) / "_static" / "katex"
    if not _here.exists():
        _here.parent.mkdir(parents=True, exist_ok=True)
        import shutil

        shutil.copytree(KATEX, _here, symlinks=False, ignore=shutil.ignore_patterns("contrib", "*.mjs"))


def _formula(tag: str, display: str) -> Any:
    def visit(translator: Any, node: Any) -> None:
        import docutils.nodes

        translator.body.append(f'<{tag} class="formula" data-display="{display}">{html.escape(node.astext())}</{tag}>')
        raise docutils.nodes.SkipNode

    return visit


def setup(app: Any) -> None:
    """Formulas stay TeX in the page; KaTeX, which comes with the site, sets them without a network."""
    app.add_html_math_renderer(
        "katex_in_the_browser",
        inline_renderers=(_formula("span", "inline"), None),
        block_renderers=(_formula("div", "block"), None),
    )
