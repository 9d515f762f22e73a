# SPDX-License-Identifier: BSD-3-Clause
"""Drawings in 255 colours, for GIF and small PNG files.

A drawing has few colours and their blends at edges, so the most frequent ones that differ to the eye
are kept exactly and every other becomes the nearest of them; no dithering, so that nothing flickers.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]  # [height, width, 3]

COLOURS = 255
UNKNOWN = -1
# Colours closer than this (of 255 steps per channel) look the same.
ALIKE = 7.0
# So many of the most frequent colours are looked at.
CANDIDATES = 6000


class IndexedColours:
    """A palette, and the index into it for every colour met so far."""

    def __init__(self, samples: Sequence[Picture]) -> None:
        colours, counts = np.unique(np.concatenate([_codes(sample).ravel() for sample in samples]), return_counts=True)
        chosen = _apart(colours[np.argsort(counts, kind="stable")[::-1][:CANDIDATES]])
        self._colours = _channels(chosen)
        self._index = np.full(1 << 24, UNKNOWN, dtype=np.int16)
        self._index[chosen] = np.arange(len(chosen))

    def indices(self, picture: Picture) -> NDArray[np.uint8]:
        """Index of each pixel, 0 .. 254."""
        codes = _codes(picture)
        found = self._index[codes]
        new = np.unique(codes[found == UNKNOWN])
        if len(new):
            # In blocks, so that many new colours don't need much memory.
            for block in np.array_split(new, -(-len(new) // 4096)):
                distance = ((_channels(block)[:, None, :] - self._colours[None]) ** 2).sum(axis=2)
                self._index[block] = distance.argmin(axis=1)
            found = self._index[codes]
        return found.astype(np.uint8)

    def image(self, indices: NDArray[np.uint8]) -> Any:
        """A Pillow image of these indices; index 255 is free for the caller."""
        from PIL import Image

        image = Image.fromarray(indices, mode="P")
        filled = np.zeros((256, 3), dtype=np.uint8)
        filled[: len(self._colours)] = self._colours
        image.putpalette(filled.ravel().tolist())
        return image


def _apart(codes: NDArray[np.uint32]) -> NDArray[np.uint32]:
    """The first of the colours, in their order, that are not alike."""
    values = _channels(codes)
    nearest = np.full(len(codes), np.inf)
    chosen: list[int] = []
    while len(chosen) < COLOURS:
        left = np.flatnonzero(nearest >= ALIKE**2)
        if len(left) == 0:
            break
        chosen.append(int(left[0]))
        nearest = np.minimum(nearest, ((values - values[chosen[-1]]) ** 2).sum(axis=1))
    return codes[chosen]


def _codes(picture: Picture) -> NDArray[np.uint32]:
    channels = picture.astype(np.uint32)
    codes: NDArray[np.uint32] = channels[..., 0] * 65536 + channels[..., 1] * 256 + channels[..., 2]
    return codes


def _channels(codes: NDArray[np.uint32]) -> NDArray[np.int32]:
    channels: NDArray[np.int32] = np.stack([codes >> 16, codes >> 8 & 255, codes & 255], axis=-1).astype(np.int32)
    return channels
