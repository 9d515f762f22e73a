# SPDX-License-Identifier: BSD-3-Clause
"""Finds links of a built site that lead nowhere: pages, pictures, scripts and headings."""

from __future__ import annotations

import functools
from html.parser import HTMLParser
from pathlib import Path
from urllib.parse import unquote, urlsplit


class Page(HTMLParser):
    """What a page offers to be linked to, and what it links to."""

    def __init__(self) -> None:
        super().__init__()
        self.anchors: set[str] = set()
        self.targets: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        for name, value in attrs:
            if value is None:
                continue
            if name in ("id", "name") and tag != "meta":
                self.anchors.add(value)
            elif name in ("href", "src"):
                self.targets.append(value)


def broken(site: Path) -> list[str]:
    """A line for each link to what is not there; links to other hosts aren't followed."""
    found = []
    for path in sorted(site.rglob("*.html")):
        for target in dict.fromkeys(_page(path).targets):
            why = _why_broken(path, target, site)
            if why:
                found.append(f"{path.relative_to(site)}: {target} {why}")
    return found


def _why_broken(path: Path, target: str, site: Path) -> str:
    parts = urlsplit(target)
    if parts.scheme or parts.netloc:
        return "" if parts.scheme in ("http", "https", "mailto", "data") else "has an odd scheme"
    file = (path.parent / unquote(parts.path)).resolve() if parts.path else path
    if not file.is_file():
        return "is not there"
    if site.resolve() not in file.parents:
        return "is outside the site"
    if parts.fragment and file.suffix == ".html" and unquote(parts.fragment) not in _page(file).anchors:
        return "has no such heading"
    return ""


@functools.cache
def _page(path: Path) -> Page:
    page = Page()
    page.feed(path.read_text(encoding="utf-8"))
    return page
