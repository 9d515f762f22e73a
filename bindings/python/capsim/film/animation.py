# SPDX-License-Identifier: BSD-3-Clause
"""Animations of runs: a GIF, an MP4 film, or a web page that plays without a network."""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ..errors import ArgumentError
from ..history import History
from ..optional import needed
from ..plot.curves import Histories, as_list
from ..plot.sheet import cautions_for
from ..plot.stage import Stage, Step, steps
from .indexed_colours import IndexedColours

# How much longer the pictures on either side of an event are shown.
EVENT_HOLD_SECONDS = 1.0
AS_BEFORE = 255  # the colour of a GIF that leaves a pixel as it was


def animate(
    histories: Histories,
    path: str | os.PathLike[str],
    *,
    days: Sequence[float] | None = None,
    frames_per_second: float = 10,
    hold_seconds: float = 2.0,
    dpi: float = 90,
    title: str | None = None,
    progress: Callable[[int, int], Any] | None = None,
) -> Path:
    """Front views of one or several runs, side by side, over their curves, day by day; returns the path.

    The ending of `path` chooses the kind: ``.gif`` always works, ``.html`` is one page that plays
    offline, ``.mp4`` needs the program ffmpeg. All output days and both sides of each event are
    shown, or `days`; the picture rests for a moment after an event, and for `hold_seconds` at the
    end. `progress` is called with the number of frames done and of all frames.
    Wrong endings, a missing folder and a missing ffmpeg are reported before any work.

    >>> capsim.animate(history, folder / "film.gif", days=[0, 60], dpi=40).name
    'film.gif'
    """
    runs, target = as_list(histories), Path(path)
    if not 0 < frames_per_second <= 50:
        raise ArgumentError("frames_per_second must be above 0 and at most 50")
    write = _writer(target)
    needed("matplotlib", "Drawing with capsim.plot and capsim.animate")
    moments = steps(runs, days)
    seconds = [1 / frames_per_second + (EVENT_HOLD_SECONDS if step.side != 0 else 0.0) for step in moments]
    seconds[-1] += hold_seconds
    film = Film(Stage(runs, moments, dpi, title), moments, seconds, frames_per_second, runs, progress)
    partial = target.with_name(f".{target.stem}.{os.getpid()}.partial{target.suffix}")
    try:
        write(partial, film)
        os.replace(partial, target)
    finally:
        if partial.exists():
            partial.unlink()
    return target


@dataclass(frozen=True)
class Film:
    """What is to be written: the pictures in their order, and for how long each is shown."""

    stage: Stage
    moments: Sequence[Step]
    seconds: Sequence[float]
    frames_per_second: float
    runs: Sequence[History]
    progress: Callable[[int, int], Any] | None

    def sample(self) -> list[Any]:
        """A few pictures that have all colours between them."""
        last = len(self.moments) - 1
        return list(self.stage.pictures([self.moments[number] for number in sorted({last * i // 8 for i in range(9)})]))

    def pictures(self) -> Iterator[Any]:
        """Each picture as [height, width, 3] bytes, made when it is asked for."""
        for done, picture in enumerate(self.stage.pictures(self.moments), 1):
            yield picture
            if self.progress is not None:
                self.progress(done, len(self.moments))


def _writer(target: Path) -> Callable[[Path, Film], None]:
    """The function that writes the kind of file that the ending asks for; raises when that can't be done here."""
    kinds = {".gif": _write_gif, ".mp4": _write_mp4, ".html": _write_html, ".htm": _write_html}
    ending = target.suffix.lower()
    if ending not in kinds:
        raise ArgumentError(f"{target}: the ending must be one of {', '.join(sorted(kinds))}")
    if ending == ".mp4" and shutil.which("ffmpeg") is None:
        raise RuntimeError(
            "an MP4 film needs the program ffmpeg, which is not on the PATH "
            "(`apt install ffmpeg`); .gif and .html need nothing"
        )
    if target.is_dir():
        raise IsADirectoryError(f"{target} is a folder")
    if not target.parent.is_dir():
        raise FileNotFoundError(f"can't write {target}: there is no folder {target.parent}")
    return kinds[ending]


def _write_gif(path: Path, film: Film) -> None:
    colours = IndexedColours(film.sample())
    images: list[Any] = []
    before = None
    for picture in film.pictures():
        now = colours.indices(picture)
        # What stays as it was is left out of a frame: a third of the size.
        images.append(
            colours.image(now if before is None else np.where(now == before, AS_BEFORE, now).astype(np.uint8))
        )
        before = now
    # GIF counts in hundredths of a second.
    milliseconds = [max(2, round(100 * second)) * 10 for second in film.seconds]
    images[0].save(
        path,
        format="GIF",
        save_all=True,
        append_images=images[1:],
        duration=milliseconds,
        loop=0,
        optimize=False,
        transparency=AS_BEFORE,
        disposal=1,
        comment=cautions_for(film.runs, short=True)[0].encode("ascii", "replace")[:255],
    )


def _write_mp4(path: Path, film: Film) -> None:
    process: subprocess.Popen[bytes] | None = None
    try:
        for picture, second in zip(film.pictures(), film.seconds):
            if process is None:
                process = _ffmpeg(path, picture.shape[1], picture.shape[0], film.frames_per_second)
            assert process.stdin is not None
            for _ in range(max(1, round(second * film.frames_per_second))):
                process.stdin.write(picture.tobytes())
    except BrokenPipeError:
        pass  # ffmpeg ended early; its message follows below
    except BaseException:
        if process is not None:
            process.kill()
            process.communicate()
        raise
    assert process is not None
    _, complaint = process.communicate()
    if process.returncode != 0:
        raise RuntimeError(f"ffmpeg failed: {complaint.decode(errors='replace').strip()[-500:]}")


def _ffmpeg(path: Path, width: int, height: int, frames_per_second: float) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [
            "ffmpeg",
            "-y",
            "-loglevel",
            "error",
            "-f",
            "rawvideo",
            "-pix_fmt",
            "rgb24",
            "-s",
            f"{width}x{height}",
            "-r",
            f"{frames_per_second:g}",
            "-i",
            "-",
            "-an",
            # Players want even sizes and this pixel format.
            "-vf",
            "pad=ceil(iw/2)*2:ceil(ih/2)*2:color=white",
            "-pix_fmt",
            "yuv420p",
            "-movflags",
            "+faststart",
            str(path.absolute()),
        ],
        stdin=subprocess.PIPE,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.PIPE,
    )


def _write_html(path: Path, film: Film) -> None:
    from .player import page

    labels = [f"day {step.day:g}" for step in film.moments]
    names = [run.scenario.name for run in film.runs]
    path.write_text(
        page(film.pictures(), IndexedColours(film.sample()), film.seconds, labels, names, cautions_for(film.runs)),
        encoding="utf-8",
    )
