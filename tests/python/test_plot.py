# SPDX-License-Identifier: BSD-3-Clause
"""Pictures: what is on them, that they are true to the run, and that they leave the user's settings alone."""

import copy
import io

import capsim
import numpy as np
import pytest
from capsim import _core
from conftest import SMALL

matplotlib = pytest.importorskip("matplotlib")
import matplotlib.style  # noqa: E402
from capsim.plot import anatomy, palette  # noqa: E402
from capsim.plot.curves import spread  # noqa: E402
from capsim.plot.front_view import FrontView, row_label  # noqa: E402
from matplotlib.collections import LineCollection  # noqa: E402
from matplotlib.figure import Figure  # noqa: E402
from PIL import Image  # noqa: E402

# The history's rim and equator are polygons through the nodes, the area is that of the curved
# elements between them: 48 chords of a circle lose 0.3 %, open lips a little more.
CHORD_TOLERANCE = 0.01
# Snapping of thin grid lines to pixels may differ by a few pixels of several hundred thousand.
STRAY_PIXELS = 20
# Two texts may touch by less than a pixel of rounding.
TOUCH_PX = 1.0
LONG_NAME = (
    "invented eye with a name that goes on and on, for $5 or $6, to see what becomes of one that fits in no line " * 2
)


def run(**changes):
    values = copy.deepcopy(SMALL)
    values.update(changes)
    return capsim.simulate(values)


@pytest.fixture(scope="module")
def plain_run():
    """A run without cuts, of a left eye without any zonule at 4 o'clock."""
    return run(name="invented left eye", eye="left", events=[], zonule={"strength_by_hour": {"4": 0.0, "5": 0.3}})


@pytest.fixture(scope="module")
def stopped_run():
    """A run that did not reach its last day."""
    history = run(name="invented, stops", events=[], numerics={"max_steps": 7})
    assert history.status == "too_many_steps" and 0 < history.day[-1] < 60
    return history


PICTURES = {
    "front_view": lambda runs: capsim.plot.front_view(runs[0], 30),
    "curves": lambda runs: capsim.plot.curves(runs),
    "curves_of_one": lambda runs: capsim.plot.curves(runs[0], "opening_area_mm2"),
    "zonule_rose": lambda runs: capsim.plot.zonule_rose(runs[0], 30),
    "comparison": lambda runs: capsim.plot.comparison(runs, (0, 30, 60)),
    "comparison_of_one": lambda runs: capsim.plot.comparison(runs[0], (0, 60), quantities=()),
}
every_picture = pytest.mark.parametrize("draw", PICTURES.values(), ids=PICTURES.keys())


def words(figure):
    """All text of a figure, in one line."""
    texts = [text.get_text() for text in figure.findobj(matplotlib.text.Text)]
    return " ".join(" ".join(texts).split())


def pixels(figure):
    file = io.BytesIO()
    figure.savefig(file, format="png", dpi=60)
    return np.asarray(Image.open(file).convert("RGB")).astype(int)


@every_picture
def test_cautions_and_scenario_name_are_on_the_picture(draw, history, plain_run):
    text = words(draw([history, plain_run]))
    assert _core.research_caution in text
    assert _core.relaxing_cut_caution in text
    assert "invented eye, small" in text


@every_picture
def test_caution_about_cuts_is_only_where_there_are_cuts(draw, plain_run):
    text = words(draw([plain_run]))
    assert _core.research_caution in text
    assert "Relaxing cuts carry risks" not in text


@every_picture
def test_settings_of_the_user_are_left_alone(draw, history):
    before = dict(matplotlib.rcParams)
    pixels(draw([history]))
    assert dict(matplotlib.rcParams) == before


@pytest.mark.parametrize("style", ["dark_background", "fivethirtyeight"])
@every_picture
def test_picture_looks_the_same_under_any_style(draw, style, history):
    plain = pixels(draw([history]))
    with matplotlib.style.context([style, {"figure.constrained_layout.use": True}]):
        styled = pixels(draw([history]))
    assert styled.shape == plain.shape
    assert (np.abs(styled - plain).max(axis=2) > 3).sum() <= STRAY_PIXELS


@pytest.mark.parametrize("name", ["invented eye", LONG_NAME], ids=["short", "long"])
@every_picture
def test_no_text_overlaps_another_or_leaves_the_sheet(draw, name):
    runs = [run(name=name), run(name=name, numerics={"max_steps": 7})]
    figure = draw(runs)
    renderer = figure.canvas.get_renderer()
    figure.canvas.draw()
    texts = [text for text in figure.findobj(matplotlib.text.Text) if text.get_visible() and text.get_text().strip()]
    boxes = [(text.get_text(), text.get_window_extent(renderer)) for text in texts]
    assert len(boxes) > 5
    for text, box in boxes:
        assert box.x0 >= 0 and box.y0 >= 0 and box.x1 <= figure.bbox.x1 and box.y1 <= figure.bbox.y1, text
    for number, (text, box) in enumerate(boxes):
        for other, place in boxes[:number]:
            width = min(box.x1, place.x1) - max(box.x0, place.x0)
            height = min(box.y1, place.y1) - max(box.y0, place.y0)
            assert width <= TOUCH_PX or height <= TOUCH_PX, (text, other)


def test_importing_capsim_needs_no_matplotlib(python):
    script = "import sys; sys.modules['matplotlib'] = None\nimport capsim\nprint(capsim.plot.__name__)"
    assert python(script).split() == ["capsim.plot"]


def test_missing_matplotlib_is_said_in_words(python):
    script = """
import sys
sys.modules["matplotlib"] = None
import capsim
from conftest import SMALL
history = capsim.simulate(SMALL)
for draw in (lambda: capsim.plot.front_view(history), lambda: capsim.animate(history, "never.gif")):
    try:
        draw()
    except ImportError as error:
        print("pip install matplotlib" in str(error))
"""
    folder = str(__file__).rsplit("/", 1)[0]
    assert python(f"import sys; sys.path.insert(0, {folder!r})\n" + script).split() == ["True", "True"]


def test_pictures_need_no_display_and_leave_the_backend_alone(python, tmp_path):
    script = """
import os, sys
os.environ.pop("DISPLAY", None)
os.environ.pop("WAYLAND_DISPLAY", None)
os.environ["MPLBACKEND"] = "tkagg"
sys.path.insert(0, sys.argv[2])
import capsim, matplotlib
from conftest import SMALL
history = capsim.simulate(SMALL)
capsim.plot.front_view(history).savefig(sys.argv[1] + "/view.png")
capsim.plot.comparison([history, history], (0, 60)).savefig(sys.argv[1] + "/plans.pdf")
capsim.animate(history, sys.argv[1] + "/run.gif", days=[0, 60])
print("matplotlib.pyplot" in sys.modules, matplotlib.rcParams["backend"].lower())
"""
    folder = str(__file__).rsplit("/", 1)[0]
    assert python(script, tmp_path, folder).split() == ["False", "tkagg"]
    assert (tmp_path / "view.png").stat().st_size > 10000
    assert (tmp_path / "plans.pdf").stat().st_size > 10000
    assert (tmp_path / "run.gif").stat().st_size > 10000


def polygon_area(points):
    x, y = np.asarray(points).T
    return 0.5 * abs(np.dot(x, np.roll(y, -1)) - np.dot(y, np.roll(x, -1)))


def test_drawn_hole_has_the_area_of_the_opening_on_every_day(history):
    shapes = anatomy.BagShapes(history)
    for row in range(len(history)):
        area = polygon_area(shapes.rim(row).outline)
        assert area == pytest.approx(history.opening_area_mm2[row], rel=CHORD_TOLERANCE), history.day[row]


def test_cuts_are_drawn_from_the_day_on_which_they_are_made(history):
    shapes = anatomy.BagShapes(history)
    first = int(np.flatnonzero(history.event_side > 0)[0])
    assert all(len(shapes.rim(row).slits) == 0 for row in range(first))
    assert all(len(shapes.rim(row).slits) == 2 for row in range(first, len(history)))
    for slit, hour in zip(sorted(shapes.rim(first).slits, key=lambda points: -points[:, 1].mean()), (12, 6)):
        tip = slit[len(slit) // 2]
        ends = np.hypot(*slit[[0, -1]].T)
        assert np.hypot(*tip) > ends.max()  # the tip lies farther out than the rim
        away = np.arctan2(tip[1], tip[0]) - anatomy.angle_of_hour(hour)
        assert abs((away + np.pi) % (2 * np.pi) - np.pi) < np.radians(3)
        assert np.hypot(*(slit[0] - slit[-1])) == pytest.approx(history.cut_gape_mm[first][0], rel=0.2)


def test_cut_of_a_later_day_stays_closed_until_then():
    twice = run(
        events=[
            {"day": 10, "relaxing_cuts": {"hours": [12], "length_mm": 0.4}},
            {"day": 30, "relaxing_cuts": {"hours": [7.5], "length_mm": 0.6}},
        ]
    )
    shapes = anatomy.BagShapes(twice)
    for row, (day, side) in enumerate(zip(twice.day, twice.event_side)):
        made = sum(bool(day > cut or (day == cut and side > 0)) for cut in (10, 30))
        slits = shapes.rim(row).slits
        assert len(slits) == made
        tips = sorted(
            (slit[len(slit) // 2] / np.hypot(*slit[len(slit) // 2]) for slit in slits), key=lambda tip: -tip[1]
        )
        for tip, hour in zip(tips, (12, 7.5)):
            assert tip == pytest.approx(anatomy.on_circle(1.0, anatomy.angle_of_hour(hour)), abs=0.05)


def test_tissue_band_reaches_from_the_rim_to_the_optic_on_day_0(history):
    quads, angles = anatomy.BagShapes(history).tissue_band(0)
    assert np.hypot(*quads[:, 1].T) == pytest.approx(3.0, abs=1e-6)  # half the optic's diameter
    assert (np.hypot(*quads[:, 0].T) < 2.7).all()
    ends = np.arctan2(quads[:, 0, 1], quads[:, 0, 0])
    assert np.abs((ends - angles + np.pi) % (2 * np.pi) - np.pi).max() < np.radians(10)
    last, _ = anatomy.BagShapes(history).tissue_band(len(history) - 1)
    assert all(polygon_area(quad) > 0 for quad in last)


def test_tissue_is_drawn_as_thick_as_it_is_at_each_hour():
    polished = run(contraction={"cells_left_by_hour": {"3": 0.02, "6": 0}}, events=[])
    row = len(polished) - 1
    by_hour = polished.fibrous_tissue_by_hour[row]
    assert by_hour[6] == 0 and 0 < by_hour[3] < by_hour[9]
    axes = front_axes(polished, row)
    bands = [c for c in axes.collections if type(c).__name__ == "PolyCollection"]
    drawn = {tuple(np.round(colour, 6)) for band in bands for colour in band.get_facecolors()[:, :3]}
    expected = {tuple(np.round(palette.blend(palette.LEAF, palette.TISSUE, by_hour[hour]), 6)) for hour in (3, 9)}
    assert expected <= drawn


def test_no_tissue_is_drawn_where_the_rim_never_lay_on_the_optic():
    wide = run(opening={"diameter_mm": 6.4}, events=[])
    quads, _ = anatomy.BagShapes(wide).tissue_band(0)
    assert len(quads) == 0
    assert len(capsim.plot.front_view(wide).axes) == 2  # view and key


def front_axes(history, row):
    axes = Figure().add_subplot()
    view = FrontView(axes, history)
    view.show(row)
    return axes


def test_zonule_is_thicker_and_darker_where_it_carries_more(plain_run):
    axes = front_axes(plain_run, 0)
    solid = max((c for c in axes.collections if isinstance(c, LineCollection)), key=lambda c: len(c.get_segments()))
    loads = plain_run.zonule_load_mN[0]
    assert len(solid.get_segments()) == 5 * 11  # all but 4 o'clock
    middles = np.array([segment.mean(axis=0) for segment in solid.get_segments()])
    hours = np.rint((np.pi / 2 - np.arctan2(middles[:, 1], middles[:, 0])) / (np.pi / 6)).astype(int) % 12
    order = np.argsort(loads[hours], kind="stable")
    widths, darkness = np.array(solid.get_linewidths())[order], -np.array(solid.get_colors())[order, 1]
    assert (np.diff(widths) >= 0).all() and (np.diff(darkness) >= 0).all()
    assert widths[-1] > 1.5 * widths[0]


def test_hour_without_zonule_is_dashed_and_crossed(plain_run):
    axes = front_axes(plain_run, 0)
    crosses = [line for line in axes.lines if line.get_marker() == "x"]
    assert len(crosses) == 1 and len(crosses[0].get_xdata()) == 1
    angle = np.arctan2(crosses[0].get_ydata()[0], crosses[0].get_xdata()[0])
    assert angle == pytest.approx(anatomy.angle_of_hour(4), abs=np.radians(3))
    dashed = [c for c in axes.collections if isinstance(c, LineCollection) and c.get_linestyle()[0][1] is not None]
    assert [len(c.get_segments()) for c in dashed] == [5]


def test_damaged_zonule_is_absent_from_the_day_of_the_damage():
    damaged = run(events=[{"day": 30, "zonule_damage": {"strength_by_hour": {"7": 0}}}])
    before, after = np.flatnonzero(damaged.event_side)
    assert anatomy.zonule_strengths(damaged, before)[7] == 1
    assert anatomy.zonule_strengths(damaged, after)[7] == 0
    assert anatomy.zonule_strengths(damaged, after)[6] == 1


def places(axes):
    return {text.get_text(): text.get_position() for text in axes.texts}


def test_twelve_is_up_three_is_right_and_sides_follow_the_eye(history, plain_run):
    right, left = places(front_axes(history, 0)), places(front_axes(plain_run, 0))
    for found in (right, left):
        assert set(map(str, range(1, 13))) <= set(found)
        assert found["12"][1] > 6.2 and abs(found["12"][0]) < 1e-9
        assert found["3"][0] > 6.2 and abs(found["3"][1]) < 1e-9
    assert right["nasal"][0] > 0 > right["temporal"][0]
    assert left["nasal"][0] < 0 < left["temporal"][0]


def test_sides_are_not_named_when_the_eye_is_not_known():
    unknown = run(eye=None, events=[])
    assert not {"nasal", "temporal"} & set(places(front_axes(unknown, 0)))
    assert "nasal" not in words(capsim.plot.zonule_rose(unknown))


def test_ring_haptics_and_scale_are_in_the_view():
    ringed = run(
        events=[], tension_ring={"free_diameter_mm": 12.0, "arc_degrees": 265, "gap_hour": 5}, lens={"haptics": 3}
    )
    ringed.raise_if_failed()
    axes = front_axes(ringed, 0)
    rings = [line for line in axes.lines if line.get_color() == palette.RING]
    assert sorted(len(line.get_xdata()) for line in rings)[0] == 2  # its ends
    ends = next(line for line in rings if len(line.get_xdata()) == 2)
    assert np.arctan2(np.mean(ends.get_ydata()), np.mean(ends.get_xdata())) == pytest.approx(
        anatomy.angle_of_hour(5), abs=0.15
    )
    assert len(anatomy.haptic_loops(ringed, 0, anatomy.BagShapes(ringed).equator(0))) == 3
    scale = next(line for line in axes.lines if len(line.get_xdata()) == 2 and line.get_color() == palette.INK)
    assert np.ptp(scale.get_xdata()) == pytest.approx(2.0)
    assert "2 mm" in places(axes)


def test_day_and_side_of_the_cut_are_told(history):
    before, after = np.flatnonzero(history.event_side)
    assert row_label(history, before) == "day 30, just before the cuts"
    assert row_label(history, after) == "day 30, just after the cuts"
    assert "day 30, just after the cuts" in words(capsim.plot.front_view(history, 30))
    assert "day 30, just before the cuts" in words(capsim.plot.front_view(history, row=int(before)))
    assert "day 60" in words(capsim.plot.front_view(history))


def test_day_that_was_not_recorded_is_not_passed_off_as_one(history):
    assert "on day 50" in words(capsim.plot.comparison([history, history], (0, 42)))


def test_run_that_stopped_is_shown_as_such(stopped_run, history):
    day = f"day {stopped_run.day[-1]:g}"
    assert f"the run stopped on {day}: too_many_steps" in words(capsim.plot.comparison([history, stopped_run], (0, 60)))
    assert f"stopped on {day}: too_many_steps" in words(capsim.plot.curves([history, stopped_run]))
    assert "stopped here: too_many_steps" in words(capsim.plot.front_view(stopped_run))
    crosses = [
        line
        for axes in capsim.plot.curves([history, stopped_run]).axes
        for line in axes.lines
        if line.get_marker() == "X"
    ]
    assert len(crosses) == 4 and all(line.get_xdata()[0] == stopped_run.day[-1] for line in crosses)


def test_curves_are_the_series_of_the_run(history, plain_run):
    figure = Figure()
    axes = figure.subplots(1, 3)
    names = ("opening_area_mm2", "area_loss_percent", "lens_decentration_mm")
    assert capsim.plot.curves([history, plain_run], names, axes=axes) is figure
    loss = 100 * (1 - plain_run.opening_area_mm2 / plain_run.opening_area_mm2[0])
    assert (axes[0].lines[0].get_ydata() == history.opening_area_mm2).all()
    assert (axes[1].lines[1].get_ydata() == loss).all()
    assert axes[2].lines[0].get_ydata() == pytest.approx(np.hypot(*history.lens_center_mm.T))
    assert (axes[0].lines[1].get_xdata() == plain_run.day).all()


def test_plans_differ_in_more_than_colour():
    assert len({str(palette.plan_dashes(number)) for number in range(7)}) == 7
    assert len({palette.plan_letter(number) for number in range(30)}) == 30


def test_quantity_that_stays_at_zero_is_not_blown_up():
    even = run(events=[], lens=None)  # the same all round: nothing moves off centre
    assert np.abs(even.opening_center_mm).max() < 1e-6
    axes = Figure().add_subplot()
    capsim.plot.curves(even, "opening_decentration_mm", axes=[axes])
    assert axes.get_ylim()[1] == pytest.approx(0.1)


def test_quantities_that_are_no_curve_are_refused(history):
    with pytest.raises(AttributeError, match="opening_aera"):
        capsim.plot.curves(history, "opening_aera_mm2")
    with pytest.raises(ValueError, match="12 values"):
        capsim.plot.curves(history, "zonule_load_mN")
    with pytest.raises(ValueError, match="as many axes"):
        capsim.plot.curves(history, ("opening_area_mm2",), axes=Figure().subplots(1, 2))


def test_wrong_arguments_are_refused(history):
    with pytest.raises(TypeError, match="not both"):
        capsim.plot.front_view(history, 30, row=2)
    with pytest.raises(IndexError):
        capsim.plot.front_view(history, row=len(history))
    for nothing in ([], ()):
        with pytest.raises(ValueError):
            capsim.plot.curves(nothing)
    with pytest.raises(TypeError, match="capsim.History"):
        capsim.plot.comparison(["result.h5"])
    with pytest.raises(ValueError):
        capsim.plot.comparison(history, ())
    with pytest.raises(ValueError, match="polar"):
        capsim.plot.zonule_rose(history, ax=Figure().add_subplot())


def test_axes_of_the_user_get_the_picture_with_name_and_caution(history):
    figure = Figure((10, 5))
    view = figure.add_subplot(1, 2, 1)
    rose = figure.add_subplot(1, 2, 2, projection="polar")
    assert capsim.plot.front_view(history, 60, ax=view) is figure
    assert capsim.plot.zonule_rose(history, 60, ax=rose) is figure
    for axes in (view, rose):
        text = " ".join(" ".join([axes.get_title()] + [text.get_text() for text in axes.texts]).split())
        assert "invented eye, small" in text and "day 60" in text
        assert "not for treating a patient" in text
        assert "Relaxing cuts carry risks" in text
    assert len(figure.axes) == 2


def test_rose_bars_are_the_loads_by_clock_hour(history):
    figure = capsim.plot.zonule_rose(history, 60)
    (axes,) = figure.axes
    bars = axes.patches[:12]
    assert [bar.get_height() for bar in bars] == pytest.approx(list(history.zonule_load_mN[-1]))
    assert [bar.get_x() + bar.get_width() / 2 for bar in bars] == pytest.approx(
        [hour * np.pi / 6 for hour in range(12)]
    )
    assert axes.get_theta_direction() == -1 and axes.get_theta_offset() == pytest.approx(np.pi / 2)


def test_comparison_has_a_view_for_every_run_and_day_on_one_load_scale(history, plain_run):
    figure = capsim.plot.comparison([history, plain_run], (0, 30, 60))
    views = [axes for axes in figure.axes if any(isinstance(c, LineCollection) for c in axes.collections)]
    assert len(views) == 6
    most = max(history.zonule_load_mN.max(), plain_run.zonule_load_mN.max())
    assert f"0 to {most:.2g} mN" in words(figure)
    assert [len(axes.lines) for axes in figure.axes].count(2) >= 3  # three curves of two runs


def test_spread_keeps_order_and_distance_and_moves_as_little_as_needed():
    assert list(spread([1.0, 5.0, 3.0], 0.5)) == [1.0, 5.0, 3.0]
    assert list(spread([1.0, 1.0], 0.5)) == [0.75, 1.25]
    moved = spread([0.0, 0.1, 0.15, 9.0, np.nan], 1.0)
    assert np.isnan(moved[4]) and moved[3] == 9.0
    assert list(np.diff(moved[:3])) == pytest.approx([1.0, 1.0])
    assert np.mean(moved[:3]) == pytest.approx(np.mean([0.0, 0.1, 0.15]))


def test_small_png_is_the_same_picture_in_a_smaller_file(history, tmp_path):
    figure = capsim.plot.comparison([history, history], (0, 60))
    figure.savefig(tmp_path / "full.png", dpi=100)
    path = capsim.plot.save_small_png(figure, tmp_path / "small.png", dpi=100)
    assert path == tmp_path / "small.png"
    full, small = (
        np.asarray(Image.open(tmp_path / name).convert("RGB")).astype(int) for name in ("full.png", "small.png")
    )
    assert small.shape == full.shape
    # Colours nearer than ALIKE may become one; the nearest of 255 is hardly ever farther.
    assert (np.abs(small - full).max(axis=2) > 16).mean() < 0.002
    assert (small[0, 0] == 255).all()
    assert (tmp_path / "small.png").stat().st_size < 0.5 * (tmp_path / "full.png").stat().st_size


def test_panels_carry_title_and_cautions_and_need_them():
    figure, axes = capsim.plot.panels("invented eye, $5", [_core.research_caution], ["one", "two"], width_in=3.5)
    assert len(axes) == 2 and axes[0].get_position().x1 < axes[1].get_position().x0
    text = words(figure)
    assert _core.research_caution in text and "one" in text and "two" in text
    for axis in axes:
        axis.plot([0, 1], [1, 2])
    assert axes[0].lines[0].get_color() == palette.PLAN_COLOURS[0]
    with pytest.raises(ValueError, match="cautions"):
        capsim.plot.panels("invented eye", [])
    with pytest.raises(ValueError, match="at least one"):
        capsim.plot.panels("invented eye", [_core.research_caution], [])


@every_picture
def test_notebooks_show_the_picture_without_pyplot(draw, history, plain_run):
    image = Image.open(io.BytesIO(draw([history, plain_run])._repr_png_()))
    assert image.format == "PNG" and image.width > 200
