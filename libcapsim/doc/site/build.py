#!/usr/bin/env python3
# SPDX-License-Identifier: BSD-3-Clause
"""Builds the documentation site, and checks its links.

    python3 libcapsim/doc/site/build.py            # into <build>/site/html, with `capsim` on PYTHONPATH

Pages are the Markdown files of libcapsim/doc as they are, README.md and DEVELOPERS.md; the interfaces are read from the
package and the headers, and the gallery is made by running the examples at reduced size (once for each state of example and
library; `--no-run` shows what earlier runs left). Warnings are errors, and so is a link to a page, picture or heading that is
not there. Needs Sphinx, myst-parser and furo; formulas are set by KaTeX where Debian's libjs-katex is installed. No network.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import subprocess
import sys
from functools import partial
from pathlib import Path

HERE = Path(__file__).resolve().parent
ROOT = HERE.parents[2]
sys.path.insert(0, str(HERE))

import gallery  # noqa: E402
import interfaces  # noqa: E402
import links  # noqa: E402

DOC = HERE.parent
PAGES = {
    ROOT / "README.md": "overview.md",
    ROOT / "DEVELOPERS.md": "developers.md",
    HERE / "index.md": "index.md",
    **{path: str(path.relative_to(DOC)) for path in [*DOC.glob("*.md"), *DOC.glob("decisions/*.md")]},
}
"""Where each Markdown file stands in the site."""
LINK = re.compile(r"(!?\[(?:[^\]]|\n)*?\])\(([^)\s]+)\)")
PICTURES = (".png", ".svg", ".gif")


class BrokenPage(Exception):
    """A page names a file that is not there."""


def main(arguments: list[str] | None = None) -> int:
    """Builds the site; 0 when nothing was wrong."""
    options = _options(arguments)
    source, output = options.output / "source", options.output / "html"
    for folder in (source, output):
        shutil.rmtree(folder, ignore_errors=True)
    try:
        stage(source)
    except BrokenPage as error:
        print(error, file=sys.stderr)
        return 1
    interfaces.write(ROOT, source)
    gallery.write(ROOT, source / "gallery", options.gallery, run=options.run)
    done = subprocess.run(
        [sys.executable, "-m", "sphinx", "-W", "--keep-going", "-q", "-b", "html", "-d", options.output / "doctrees"]
        + ["-c", HERE, source, output],
        env={**os.environ, "CAPSIM_SITE_SOURCE": str(source), "MPLBACKEND": "Agg"},
        check=False,
    )
    if done.returncode != 0:
        return done.returncode
    broken = links.broken(output)
    for line in broken:
        print(line, file=sys.stderr)
    if not broken:
        print(f"{sum(1 for _ in output.rglob('*.html'))} pages in {output}")
    return 1 if broken else 0


def stage(source: Path) -> None:
    """Copies the pages, with links that hold in the site."""
    for path, place in PAGES.items():
        target = source / place
        target.parent.mkdir(parents=True, exist_ok=True)
        text = path.read_text(encoding="utf-8").replace("```math\n", "```{math}\n")
        target.write_text(LINK.sub(partial(_moved, page=path, place=place, source=source), text), encoding="utf-8")
    index = (source / "index.md").read_text(encoding="utf-8")
    unlisted = [path.stem for path in sorted(DOC.glob("*.md")) if not re.search(rf"^{path.stem}$", index, re.M)]
    (source / "index.md").write_text(
        index.replace("\nclinical\n", "\n".join(["\nclinical", *unlisted, ""])), encoding="utf-8"
    )
    pages = "\n".join(path.stem for path in sorted(DOC.glob("decisions/*.md")) if path.stem != "README")
    with (source / "decisions" / "README.md").open("a", encoding="utf-8") as file:
        file.write(f"\n```{{toctree}}\n:hidden:\n\n{pages}\n```\n")
    (source / "_static").mkdir(exist_ok=True)
    shutil.copy(HERE / "formulas.js", source / "_static")


def _moved(link: re.Match[str], page: Path, place: str, source: Path) -> str:
    """A link of a page as it reads at its place in the site; files that are no pages come along."""
    label, target = link.groups()
    name, _, anchor = target.partition("#")
    if not name or re.match(r"[a-z]+:", name):
        return link.group(0)
    file = (page.parent / name).resolve()
    if not file.exists() or ROOT not in file.parents:
        raise BrokenPage(f"{page.relative_to(ROOT)} links to {name}, which is not there")
    if file.is_dir():
        return label.strip("[]")  # a folder of the repository: only its name
    if file in PAGES:
        there = PAGES[file]
    else:
        there = f"files/{file.relative_to(ROOT)}"
        (source / there).parent.mkdir(parents=True, exist_ok=True)
        shutil.copy(file, source / there)
    moved = os.path.relpath(there, Path(place).parent)
    return f"{label}({moved}{'#' + anchor if anchor else ''})"


def _options(arguments: list[str] | None) -> argparse.Namespace:
    build = Path(os.environ.get("CAPSIM_BUILD_DIR") or ROOT / "build")
    parser = argparse.ArgumentParser(description="Builds the documentation site and checks its links.")
    parser.add_argument("-o", "--output", type=Path, default=build / "site", help="folder (default: %(default)s)")
    parser.add_argument("--gallery", type=Path, default=gallery.folder(build), help="what runs of examples left")
    parser.add_argument("--no-run", dest="run", action="store_false", help="run no example")
    options = parser.parse_args(arguments)
    options.output, options.gallery = options.output.resolve(), options.gallery.resolve()
    return options


if __name__ == "__main__":
    raise SystemExit(main())
