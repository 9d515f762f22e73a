# SPDX-License-Identifier: BSD-3-Clause
"""The web page of an animation: one file with all frames in it, play, pause and scrub; asks nothing of a network."""

from __future__ import annotations

import base64
import html
import io
import json
from collections.abc import Iterable, Sequence
from typing import Any

from .indexed_colours import IndexedColours

_PAGE = """<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>@TITLE@</title>
<style>
  body { margin: 1rem auto; max-width: @WIDTH@px; padding: 0 1rem; font: 16px/1.4 sans-serif; color: #1a1a1a; background: #fff; }
  img { width: 100%; height: auto; display: block; }
  .controls { display: flex; gap: .75rem; align-items: center; margin: .5rem 0; }
  .controls input { flex: 1; min-width: 6rem; }
  button { font: inherit; min-width: 5rem; padding: .3rem .8rem; }
  output { min-width: 5rem; text-align: right; font-variant-numeric: tabular-nums; }
</style>
</head>
<body>
<img id="frame" alt="@ALT@">
<div class="controls">
  <button id="play" type="button">Pause</button>
  <input id="scrub" type="range" min="0" max="@LAST@" step="1" value="0" aria-label="Day">
  <output id="day" for="scrub"></output>
</div>
@CAUTIONS@
<script>
"use strict";
const frames = @FRAMES@;
const picture = document.getElementById("frame"), scrub = document.getElementById("scrub");
const play = document.getElementById("play"), day = document.getElementById("day");
const images = frames.map(f => { const image = new Image(); image.src = "data:image/png;base64," + f.png; return image; });
let at = 0, timer = null;
function show(number) {
  at = number;
  picture.src = images[at].src;
  scrub.value = at;
  day.textContent = frames[at].label;
  scrub.setAttribute("aria-valuetext", frames[at].label);
}
function tick() {
  timer = setTimeout(() => { show((at + 1) % frames.length); tick(); }, 1000 * frames[at].seconds);
}
function stop() { clearTimeout(timer); timer = null; play.textContent = "Play"; }
function start() { if (timer === null) { play.textContent = "Pause"; tick(); } }
play.addEventListener("click", () => timer === null ? start() : stop());
scrub.addEventListener("input", () => { stop(); show(Number(scrub.value)); });
show(0);
if (window.matchMedia("(prefers-reduced-motion: reduce)").matches) stop(); else start();
</script>
</body>
</html>
"""


def page(
    pictures: Iterable[Any],
    colours: IndexedColours,
    seconds: Sequence[float],
    labels: Sequence[str],
    names: Sequence[str],
    cautions: Sequence[str],
) -> str:
    """The page as text: pictures are [height, width, 3] bytes, shown for so many seconds each."""
    frames, width = [], 0
    for picture, second, label in zip(pictures, seconds, labels):
        width = picture.shape[1]
        frames.append({"png": _png(picture, colours), "seconds": round(second, 3), "label": label})
    fill = {
        "@TITLE@": html.escape("; ".join(names)),
        "@ALT@": html.escape("Front views of " + "; ".join(names) + ", with their curves", quote=True),
        "@WIDTH@": str(width),
        "@LAST@": str(len(frames) - 1),
        "@CAUTIONS@": "\n".join(f"<p>{html.escape(caution)}</p>" for caution in cautions),
        "@FRAMES@": json.dumps(frames).replace("<", "\\u003c"),
    }
    text = _PAGE
    for mark, value in fill.items():
        text = text.replace(mark, value, 1)
    return text


def _png(picture: Any, colours: IndexedColours) -> str:
    file = io.BytesIO()
    colours.image(colours.indices(picture)).save(file, format="PNG", optimize=True)
    return base64.b64encode(file.getvalue()).decode("ascii")
