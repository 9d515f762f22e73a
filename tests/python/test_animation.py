# SPDX-License-Identifier: BSD-3-Clause
"""Animations: every day is shown for as long as it should be, and what can't be written is said before any work."""

import base64
import copy
import io
import json
import os
import re
import stat
import sys

import capsim
import numpy as np
import pytest
from capsim import _core
from conftest import SMALL

pytest.importorskip("matplotlib")
from capsim.film.indexed_colours import IndexedColours  # noqa: E402
from capsim.plot.stage import MOST_STEPS, Stage, steps  # noqa: E402
from PIL import Image  # noqa: E402

# Of 255 steps; a colour may become the nearest of 255 colours, and a blend at an edge hardly ever more.
COLOUR_TOLERANCE, STRAY_SHARE = 16, 0.002


@pytest.fixture(scope="module")
def even():
    """A run without events, on other days than the first."""
    values = copy.deepcopy(SMALL)
    values.update(name="invented eye, even", events=[], output_every_days=15, duration_days=45)
    return capsim.simulate(values)


def frames(path):
    """Pictures and durations [ms] of a GIF as a viewer shows them."""
    image = Image.open(path)
    found = []
    for number in range(image.n_frames):
        image.seek(number)
        found.append((np.asarray(image.convert("RGB")).astype(int), image.info["duration"]))
    return found


def test_gif_shows_every_output_day_and_both_sides_of_the_cut(history, tmp_path):
    path = capsim.animate(history, tmp_path / "run.gif", frames_per_second=5, hold_seconds=3)
    assert path == tmp_path / "run.gif"
    durations = [duration for _, duration in frames(path)]
    # Days 0 to 60 in tens, day 30 twice and a second longer each; the last one rests.
    assert durations == [200, 200, 200, 1200, 1200, 200, 200, 3200]
    assert Image.open(path).info["loop"] == 0
    assert _core.research_caution.startswith(Image.open(path).info["comment"].decode().rstrip("."))


def test_gif_is_what_was_drawn(history, even, tmp_path):
    runs = [history, even]
    path = capsim.animate(runs, tmp_path / "runs.gif", days=[0, 20, 40], dpi=70)
    drawn = list(Stage(runs, steps(runs, [0, 20, 40]), 70).pictures(steps(runs, [0, 20, 40])))
    shown = [picture for picture, _ in frames(path)]
    assert len(shown) == len(drawn) == 3
    for there, here in zip(shown, drawn):
        assert there.shape == here.shape
        assert (np.abs(there - here).max(axis=2) > COLOUR_TOLERANCE).mean() < STRAY_SHARE
        assert (there[0, 0] == 255).all()
    assert (shown[0] != shown[1]).any() and (shown[1] != shown[2]).any()


def test_frame_does_not_depend_on_those_before_it(history):
    moments = steps([history])
    stage = Stage([history], moments, 60)
    forward = list(stage.pictures(moments))
    backward = list(stage.pictures(moments[::-1]))[::-1]
    assert all((a == b).all() for a, b in zip(forward, backward))


def test_runs_with_other_days_are_shown_on_the_same_days(history, even):
    moments = steps([history, even])
    assert [(step.day, step.side) for step in moments] == [
        (0, 0),
        (10, 0),
        (15, 0),
        (20, 0),
        (30, -1),
        (30, 1),
        (40, 0),
        (45, 0),
        (50, 0),
        (60, 0),
    ]
    before, after = moments[4], moments[5]
    assert (history.event_side[before.rows[0]], history.event_side[after.rows[0]]) == (-1, 1)
    assert even.day[before.rows[1]] == even.day[after.rows[1]] == 30
    assert even.day[moments[-1].rows[1]] == 45


def test_long_run_is_thinned_but_keeps_events_and_last_day():
    values = copy.deepcopy(SMALL)
    values.update(duration_days=59.5, output_every_days=0.25)
    many = capsim.simulate(values)
    assert len(many) > MOST_STEPS
    moments = steps([many])
    assert len(moments) <= MOST_STEPS + 3
    assert [step.side for step in moments].count(-1) == [step.side for step in moments].count(1) == 1
    assert moments[0].day == 0 and moments[-1].day == many.day[-1]


def test_animation_has_name_day_and_cautions(history):
    moments = steps([history])
    stage = Stage([history], moments, 60)
    list(stage.pictures(moments[4:5]))
    text = " ".join(" ".join(text.get_text() for text in stage.figure.texts).split())
    assert "invented eye, small" in text
    assert "day 30, just after the cuts" in text
    assert _core.research_caution in text and _core.relaxing_cut_caution in text


@pytest.mark.parametrize(
    "name, error, words",
    [
        ("run.avi", ValueError, ".gif"),
        ("run", ValueError, ".gif"),
        ("nowhere/run.gif", FileNotFoundError, "nowhere"),
        ("folder.gif", IsADirectoryError, "folder"),
    ],
)
def test_what_can_not_be_written_is_said_before_any_work(history, tmp_path, name, error, words):
    (tmp_path / "folder.gif").mkdir()
    done = []
    with pytest.raises(error, match=re.escape(words)):
        capsim.animate(history, tmp_path / name, progress=lambda *counts: done.append(counts))
    assert done == [] and os.listdir(tmp_path) == ["folder.gif"]


def test_missing_ffmpeg_is_said_before_any_work(history, tmp_path, monkeypatch):
    monkeypatch.setenv("PATH", str(tmp_path))
    done = []
    with pytest.raises(RuntimeError, match="ffmpeg"):
        capsim.animate(history, tmp_path / "run.mp4", progress=lambda *counts: done.append(counts))
    assert done == [] and os.listdir(tmp_path) == []


def stand_in(folder, text):
    """A program called ffmpeg that does what the Python text says."""
    program = folder / "ffmpeg"
    program.write_text(f"#!{sys.executable}\nimport sys\n{text}\n")
    program.chmod(program.stat().st_mode | stat.S_IXUSR)


def test_mp4_gets_every_frame_for_its_time(history, tmp_path, monkeypatch):
    programs = tmp_path / "programs"
    programs.mkdir()
    stand_in(
        programs,
        "import json; data = sys.stdin.buffer.read(); json.dump([sys.argv, len(data)], open(sys.argv[-1], 'w'))",
    )
    monkeypatch.setenv("PATH", str(programs))
    path = capsim.animate(history, tmp_path / "run.mp4", days=[0, 30, 60], frames_per_second=4, hold_seconds=2, dpi=50)
    arguments, size = json.loads(path.read_text())
    width, height = map(int, arguments[arguments.index("-s") + 1].split("x"))
    assert arguments[arguments.index("-r") + 1] == "4"
    # One frame, then one and a second more after the cuts, then one and two seconds more at the end.
    assert size == (1 + 5 + 9) * width * height * 3


def test_failing_ffmpeg_is_told_and_leaves_nothing(history, tmp_path, monkeypatch):
    programs = tmp_path / "programs"
    programs.mkdir()
    stand_in(programs, "sys.stderr.write('no such codec'); sys.exit(1)")
    monkeypatch.setenv("PATH", str(programs))
    with pytest.raises(RuntimeError, match="no such codec"):
        capsim.animate(history, tmp_path / "run.mp4", days=[0, 60], dpi=50)
    assert os.listdir(tmp_path) == ["programs"]


def test_html_is_one_page_that_needs_no_network(history, tmp_path):
    path = capsim.animate(history, tmp_path / "run.html", days=[0, 30, 60], frames_per_second=5, hold_seconds=2, dpi=60)
    page = path.read_text(encoding="utf-8")
    markup = re.sub(r'"png": "[^"]*"', "", page)
    assert len(markup) < 10000
    assert not re.search(r"""https?:|//[a-z]|<link|@import|src\s*=\s*["'](?!data:)""", markup)
    found = json.loads(re.search(r"const frames = (\[.*?\]);\n", page, re.S).group(1))
    assert [frame["label"] for frame in found] == ["day 0", "day 30", "day 60"]
    assert [frame["seconds"] for frame in found] == [0.2, 1.2, 2.2]
    pictures = [Image.open(io.BytesIO(base64.b64decode(frame["png"]))).convert("RGB") for frame in found]
    assert len({picture.tobytes() for picture in pictures}) == 3
    assert pictures[0].getpixel((0, 0)) == (255, 255, 255)
    for caution in (_core.research_caution, _core.relaxing_cut_caution):
        assert caution in page


def test_name_in_a_page_is_text_not_markup(tmp_path):
    values = copy.deepcopy(SMALL)
    values.update(name='</script><b onload="x">&', events=[])
    page = capsim.animate(capsim.simulate(values), tmp_path / "run.html", days=[0], dpi=40).read_text(encoding="utf-8")
    assert "<b onload" not in page
    assert page.count("</script>") == 1


def test_interrupted_animation_leaves_the_old_file(history, tmp_path):
    (tmp_path / "run.gif").write_bytes(b"old")

    def stop(done, total):
        assert (done, total) == (1, 8)
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        capsim.animate(history, tmp_path / "run.gif", progress=stop, dpi=40)
    assert os.listdir(tmp_path) == ["run.gif"] and (tmp_path / "run.gif").read_bytes() == b"old"


def test_wrong_speed_and_days_are_refused(history, tmp_path):
    for speed in (0, -1, 1000, float("nan")):
        with pytest.raises(ValueError, match="frames_per_second"):
            capsim.animate(history, tmp_path / "run.gif", frames_per_second=speed)
    with pytest.raises(ValueError, match="day"):
        capsim.animate(history, tmp_path / "run.gif", days=[])
    with pytest.raises(ValueError, match="history"):
        capsim.animate([], tmp_path / "run.gif")


def test_indexed_colours_keep_frequent_colours_and_take_the_nearest_for_others():
    picture = np.full((40, 40, 3), 255, dtype=np.uint8)
    picture[:10] = (230, 159, 0)
    picture[10:12, :3] = (0, 114, 178)
    colours = IndexedColours([picture])
    other = picture.copy()
    other[20, 20] = (228, 158, 3)
    shown = np.asarray(colours.image(colours.indices(other)).convert("RGB"))
    assert (shown[20, 20] == (230, 159, 0)).all()
    shown = np.asarray(colours.image(colours.indices(picture)).convert("RGB"))
    assert (shown == picture).all()
