# SPDX-License-Identifier: BSD-3-Clause
"""Pictures for the web: PNG files in 255 colours, about a third of the usual size."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import numpy as np

from ..film.indexed_colours import IndexedColours


def save_small_png(figure: Any, path: str | os.PathLike[str], dpi: float = 100) -> Path:
    """Saves a figure as a PNG in 255 colours, which drawings hardly need more of; returns the path.

    Colours and sizes are those of `figure.savefig`, which see for all other formats.

    >>> capsim.plot.save_small_png(capsim.plot.front_view(history, day=30), folder / "day30.png").name
    'day30.png'
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    before = figure.dpi
    canvas = FigureCanvasAgg(figure)
    try:
        figure.dpi = dpi
        canvas.draw()
        picture = np.asarray(canvas.buffer_rgba())[:, :, :3].copy()
    finally:
        figure.dpi = before
    colours = IndexedColours([picture])
    colours.image(colours.indices(picture)).save(path, format="PNG", optimize=True)
    return Path(path)
