# SPDX-License-Identifier: BSD-3-Clause
"""Visits from files as people make them, and every refusal with its line and column. All values are invented."""

import datetime
import math
import pickle

import capsim
import numpy as np
import pytest
from capsim.follow_up import outline

CIRCLE_PX = [
    (400 + 200 * math.cos(t), 300 + 200 * math.sin(t)) for t in np.linspace(0, 2 * math.pi, 48, endpoint=False)
]
# A regular 48-gon has less area than its circle by sin(2 pi/48)/(2 pi/48).
GON = math.sin(2 * math.pi / 48) / (2 * math.pi / 48)


def cell_of(points):
    return "; ".join(f"{x:.6f} {y:.6f}" for x, y in points)


@pytest.fixture
def read(tmp_path):
    def run(text, encoding="utf-8", **arguments):
        path = tmp_path / "visits.csv"
        path.write_bytes(text if isinstance(text, bytes) else text.encode(encoding))
        return capsim.read_visits(path, **arguments)

    return run


def test_plain_file_gives_its_visits_in_order(read):
    visits = read("eye_id,eye,day,area_mm2,comment\nb,left,30,19.5,fine\na,OD,7,21,\na,right,0,21.5,\n")
    assert visits.eye_ids == ["b", "a"]
    assert visits.of("a").day.tolist() == [0, 7]
    assert visits.of("a").area_mm2.tolist() == [21.5, 21]
    assert visits.of("a").eye == ["right", "right"] and visits.of("b").eye == ["left"]
    assert visits.of("a").line.tolist() == [4, 3]
    assert visits.usable.all()
    assert "2 eyes" in repr(visits)


@pytest.mark.parametrize(
    "text",
    [
        "day;area_mm2\n0;21,5\n7;20,25\n",
        "day\tarea_mm2\n0\t21,5\n7\t20,25\n",
        'day,area_mm2\n0,"21,5"\n7,"20,25"\n',
        "day,area_mm2\n0,21.5\n7,20.25\n",
        "# made up\n\n day , area_mm2 \n0, 21.5\n\n7, 20.25\n",
        "day;area_mm2\r\n0;21,5\r\n7;20,25\r\n",
    ],
)
def test_separators_and_decimal_signs_do_not_matter(read, text):
    for encoding in ("utf-8", "utf-8-sig", "utf-16"):
        visits = read(text, encoding)
        assert visits.day.tolist() == [0, 7]
        assert visits.area_mm2.tolist() == [21.5, 20.25]


def test_dates_count_from_surgery(read):
    expected = [0, 31, 60]
    assert (
        read(
            "date,surgery_date,area_mm2\n2024-01-01,2024-01-01,21\n01.02.2024,2024-01-01,20\n2024-03-01,01.01.2024,19\n"
        ).day.tolist()
        == expected
    )
    text = "date,area_mm2\n2024-01-01,21\n2024-02-01,20\n2024-03-01,19\n"
    assert read(text, surgery_date="2024-01-01").day.tolist() == expected
    assert read(text, surgery_date=datetime.date(2024, 1, 1)).day.tolist() == expected


def test_diameters_and_radius_give_the_area(read):
    assert read("day,diameter_mm\n0,5\n").area_mm2[0] == pytest.approx(math.pi * 2.5**2)
    assert read("day,radius_mm\n0,2.5\n").area_mm2[0] == pytest.approx(math.pi * 2.5**2)
    two = read("day,diameter_1_mm,diameter_2_mm,meridian_hour,eye\n0,5,4,2,left\n")
    assert two.area_mm2[0] == pytest.approx(math.pi * 2.5 * 2)
    assert read("day,diameter_mm\n0,5\n").diameter_mm[0] == pytest.approx(5)


def test_missing_visits_stay_and_are_not_used(read):
    visits = read("day,area_mm2,diameter_mm\n0,21,\n7,,\n30,n/a,-\n60,,5\n")
    assert np.isnan(visits.area_mm2).tolist() == [False, True, True, False]
    assert visits.usable.tolist() == [True, False, False, True]


def test_visits_after_a_laser_are_marked_and_not_used(read):
    for text in (
        "day,area_mm2,event\n0,21,\n30,15,laser\n60,25,\n",
        "day,area_mm2,after_laser\n60,25,yes\n0,21,no\n30,15,yes\n",
    ):
        visits = read(text)
        assert visits.after_laser.tolist() == [False, True, True]
        assert visits.usable.tolist() == [True, False, False]
    two = read("eye_id,day,area_mm2,event\na,0,21,\na,30,15,laser\nb,60,20,\n")
    assert two.of("b").usable.all()


@pytest.mark.parametrize(
    "word",
    ["laser", "LASER", "YAG laser", "Nd:YAG capsulotomy", "Laser (Nd-YAG)", "after YAG", "posterior capsulotomy"],
)
def test_a_laser_is_recognised_in_the_words_of_the_trade(read, word):
    visits = read(f'day,area_mm2,event\n0,21,\n30,15,"{word}"\n60,25,\n')
    assert visits.usable.tolist() == [True, False, False]
    assert visits.event == ["", "laser", ""]
    assert "2 after a laser" in repr(visits)


@pytest.mark.parametrize("column", ["laser", "YAG", "after_YAG", "Nd:YAG"])
def test_a_column_named_after_the_laser_counts(read, column):
    visits = read(f"day,area_mm2,{column}\n0,21,no\n30,15,yes\n60,25,\n")
    assert visits.usable.tolist() == [True, False, False]


@pytest.mark.parametrize("word", ["relaxing cuts", "Cuts, relaxing", "YAG relaxing incisions", "radial YAG cuts"])
def test_relaxing_cuts_are_told_from_other_lasers(read, word):
    visits = read(f'day,area_mm2,event\n0,21,\n30,15,"{word}"\n60,16,\n')
    assert visits.event == ["", "relaxing_cuts", ""]
    assert visits.after_cuts.tolist() == [False, True, True] and not visits.after_laser.any()
    assert visits.until(45).after_cuts.tolist() == [False, True]
    chosen, reasons = visits.usable_with([])
    assert chosen.tolist() == [True, False, False]
    assert reasons == {"after relaxing cuts that the scenario has not": 2}
    assert visits.usable_with([29.0])[0].all()


def test_ordinary_visits_and_answers_in_another_column_are_no_events(read):
    visits = read("day,area_mm2,event,after_laser\n0,21,surgery,\n30,15,routine control,\n60,14,YAG planned,no\n")
    assert visits.usable.all() and visits.event == ["", "", ""]


def test_right_and_left_rows_without_a_name_are_two_eyes(read):
    visits = read("eye,day,area_mm2\nOD,0,21\nOS,0,20\nright,7,20\nleft,7,19\n")
    assert visits.eye_ids == ["right", "left"]
    assert visits.of("left").area_mm2.tolist() == [20, 19]
    arrays = capsim.Visits([0, 0, 7], [21.0, 20, 19], eye=["OD", "OS", "OS"])
    assert arrays.eye_ids == ["right", "left"] and arrays.of("left").day.tolist() == [0, 7]
    with pytest.raises(ValueError, match="A has right and left visits"):
        capsim.Visits([0, 7], [21.0, 20], eye=["OD", "OS"], eye_id="A")
    assert read("eye,day,area_mm2\nOD,0,21\n,7,20\n").eye_ids == ["eye"]
    assert read("day,area_mm2\n0,21\n", eye="OS").eye == ["left"]


def test_json_has_the_same_names_and_gives_the_same_visits(read):
    table = read("eye,day,area_mm2,after_laser\nleft,0,21.5,no\nleft,30,15,yes\nleft,60,,\n")
    for text in (
        '[{"eye": "left", "day": 0, "area_mm2": 21.5, "after_laser": false},\n'
        ' {"eye": "OS", "day": 30, "area_mm2": "15", "after_laser": "yes"},\n {"eye": "left", "day": 60}]',
        '{"visits": [{"eye": "left", "day": 0, "area_mm2": 21.5}, {"eye": "left", "day": 30, "area_mm2": 15, '
        '"event": "laser"}, {"eye": "left", "day": 60, "area_mm2": null}]}',
    ):
        visits = read(text)
        assert visits.day.tolist() == table.day.tolist() and visits.eye == table.eye
        assert np.array_equal(visits.area_mm2, table.area_mm2, equal_nan=True)
        assert visits.after_laser.tolist() == table.after_laser.tolist()
    points = [[x, y] for x, y in CIRCLE_PX]
    text = f'[{{"day": 0, "outline_px": {points}, "optic_diameter_px": 480, "optic_diameter_mm": 6}}]'
    assert read(text).area_mm2[0] == pytest.approx(math.pi * 2.5**2 * GON, rel=1e-6)


def test_two_equal_diameters_give_a_notice(read):
    visits = read("day,eye,diameter_1_mm,diameter_2_mm,meridian_hour\n0,left,5,5,2\n7,left,5,4.5,2\n")
    assert [(notice.line, notice.column) for notice in visits.notices] == [(2, "diameter_1_mm")]
    assert "oval that lies between" in visits.notices[0].text
    assert "1 notices" in repr(visits)


def test_points_given_twice_are_one_point():
    whole = outline.points_in(cell_of(CIRCLE_PX))
    doubled = [point for point in CIRCLE_PX for _ in range(2)]
    for points in (doubled, [*CIRCLE_PX, CIRCLE_PX[0], CIRCLE_PX[0]]):
        assert np.array_equal(np.sort(outline.points_in(cell_of(points)), axis=0), np.sort(whole, axis=0))


def test_help_lists_the_columns():
    for name in ("eye_id", "outline_px", "after_laser", "mm_per_px", "sd_percent"):
        assert f"`{name}`" in capsim.read_visits.__doc__


def test_outline_with_the_optic_as_scale_gives_the_area(read):
    text = f'day,outline_px,optic_diameter_px,optic_diameter_mm\n0,"{cell_of(CIRCLE_PX)}",480,6.0\n'
    exact = math.pi * (200 * 6 / 480) ** 2 * GON
    visits = read(text)
    assert visits.area_mm2[0] == pytest.approx(exact, rel=1e-6)  # six decimals of a pixel
    assert (
        read(text.replace(",optic_diameter_mm", "").replace(",6.0", ""), optic_diameter_mm=6.0).area_mm2[0]
        == visits.area_mm2[0]
    )
    assert np.allclose(np.hypot(*visits.outlines_mm[0].T), 2.5)


@pytest.mark.parametrize(
    "change",
    [
        lambda p: p[::-1],
        lambda p: p[17:] + p[:17],
        lambda p: [(y, x) for x, y in p],
        lambda p: [*p, p[0]],
        lambda p: [(x + 1e4, y - 1e4) for x, y in p],
    ],
)
def test_outline_area_does_not_depend_on_direction_start_or_place(change):
    points = outline.points_in(cell_of(change([(x * (1 + 0.1 * math.sin(0.01 * y)), y) for x, y in CIRCLE_PX])))
    whole = outline.points_in(cell_of([(x * (1 + 0.1 * math.sin(0.01 * y)), y) for x, y in CIRCLE_PX]))
    assert outline.area_of(points) == pytest.approx(outline.area_of(whole), rel=1e-9)


def test_image_runs_down_and_the_eye_up(read):
    below = [(x, y + 50) for x, y in CIRCLE_PX]  # y grows downwards in an image
    visits = read(
        f'day,outline_px,optic_diameter_px,optic_center_px\n0,"{cell_of(below)}",480,400 300\n', optic_diameter_mm=6
    )
    assert outline.centroid_of(visits.outlines_mm[0]) == pytest.approx([0, -50 * 6 / 480], abs=1e-6)


def test_ruler_outside_the_eye_is_corrected_when_it_is_said(read):
    text = f'day,outline_px,mm_per_px\n0,"{cell_of(CIRCLE_PX)}",0.0125\n'
    plain = read(text, ruler="capsule").area_mm2[0]
    assert plain == pytest.approx(math.pi * 2.5**2 * GON, rel=1e-6)
    assert read(text, ruler="outside_eye").area_mm2[0] == pytest.approx(plain / 1.159**2, rel=1e-9)


def crossed():
    points = list(CIRCLE_PX)
    points[10], points[20] = points[20], points[10]
    return points


REFUSED = {
    "outline that crosses itself": (
        f'day,optic_diameter_px,outline_px\n0,480,"{cell_of(crossed())}"\n',
        2,
        "outline_px",
        "crosses itself: the side from point",
    ),
    "outline of too few points": (
        'day,optic_diameter_px,outline_px\n0,480,"1 1; 2 1; 2 2"\n',
        2,
        "outline_px",
        "3 points",
    ),
    "outline with half a point": ('day,optic_diameter_px,outline_px\n0,480,"1 1; 2 1; 2"\n', 2, "outline_px", "is odd"),
    "outline without scale": (f'day,outline_px\n0,"{cell_of(CIRCLE_PX)}"\n', 2, "outline_px", "needs a scale"),
    "scales that disagree": (
        f'day,optic_diameter_px,mm_per_px,outline_px\n0,480,0.0100,"{cell_of(CIRCLE_PX)}"\n',
        2,
        "mm_per_px",
        "two scales disagree: this one says 0.01 mm per pixel, the optic 0.0125",
    ),
    "ruler outside the eye": (
        f'day,optic_diameter_px,mm_per_px,outline_px\n0,480,0.0145,"{cell_of(CIRCLE_PX)}"\n',
        2,
        "mm_per_px",
        "the cornea magnifies by 1.159, so this looks like a ruler outside the eye",
    ),
    "scale of unknown origin": (
        f'day,mm_per_px,outline_px\n0,0.0125,"{cell_of(CIRCLE_PX)}"\n',
        2,
        "mm_per_px",
        "where this scale",
    ),
    "optic in micrometres": (
        f'day,optic_diameter_px,optic_diameter_mm,outline_px\n0,480,6000,"{cell_of(CIRCLE_PX)}"\n',
        2,
        "optic_diameter_mm",
        "it looks like micrometres: 6 mm?",
    ),
    "micrometres": ("day,diameter_mm\n0,5.2\n7,5200\n", 3, "diameter_mm", "it looks like micrometres: 5.2 mm?"),
    "square micrometres": ("day,area_mm2\n0,21000000\n", 2, "area_mm2", "it looks like square micrometres: 21 mm2?"),
    "diameter in the radius column": (
        "day,radius_mm\n0,2.6\n7,5.1\n",
        3,
        "radius_mm",
        "a diameter where a radius is meant",
    ),
    "radius that disagrees with the area": (
        "day,area_mm2,diameter_mm\n0,21.2,2.6\n",
        2,
        "diameter_mm",
        "a radius where a diameter is meant",
    ),
    "diameter that disagrees with the area": (
        "day,area_mm2,radius_mm\n0,5.3,2.6\n",
        2,
        "radius_mm",
        "a diameter where a radius is meant",
    ),
    "radius among diameters": (
        "day,diameter_mm\n0,5.2\n7,2.55\n30,5.0\n",
        3,
        "diameter_mm",
        "a radius where a diameter is meant",
    ),
    "clock hours without a side": (
        "day,diameter_1_mm,diameter_2_mm,meridian_hour\n0,5,4.5,2\n",
        2,
        "meridian_hour",
        "right or left, in column eye",
    ),
    "hour that is none": (
        "day,eye,diameter_1_mm,diameter_2_mm,meridian_hour\n0,left,5,4.5,0\n",
        2,
        "meridian_hour",
        "not a clock hour",
    ),
    "two visits on one day": ("day,area_mm2\n0,21\n7,20\n7,20.5\n", 4, "day", "in line 3"),
    "one diameter of two": ("day,diameter_1_mm,diameter_2_mm\n0,5,\n", 2, "diameter_2_mm", "is missing"),
    "both decimal signs": ("day;area_mm2\n0;1.021,5\n", 2, "area_mm2", "both a point and a comma"),
    "decimal commas between commas": ("day,area_mm2\n0,21,5\n", 2, "", "if the comma is the decimal sign"),
    "unit in the cell": ("day,diameter_mm\n0,5.2 mm\n", 2, "diameter_mm", "leave it out here"),
    "word for a number": ("day,diameter_mm\n0,large\n", 2, "diameter_mm", "'large' is not a number"),
    "unit not in the name": ("day,diameter\n0,5.2\n", 1, "diameter", "did you mean 'diameter_mm'"),
    "unit that is not known": ("day,diameter_um\n0,5200\n", 1, "diameter_um", "did you mean 'diameter_mm'"),
    "slip in the name": ("days,area_mm2\n0,21\n", 1, "days", "did you mean 'day'"),
    "column twice": ("day,area_mm2,area_mm2\n0,21,22\n", 1, "area_mm2", "twice"),
    "day before surgery": ("day,area_mm2\n-3,21\n", 2, "day", "3 days before surgery"),
    "date before surgery": (
        "date,surgery_date,area_mm2\n2024-01-01,2024-02-01,21\n",
        2,
        "date",
        "31 days before surgery",
    ),
    "date of two readings": ("date,surgery_date,area_mm2\n03/04/2024,2024-02-01,21\n", 2, "date", "either way round"),
    "day that disagrees with the date": (
        "day,date,surgery_date,area_mm2\n7,2024-02-01,2024-01-01,21\n",
        2,
        "date",
        "is 31 days after surgery, but column day says 7",
    ),
    "visit without a day": ("day,area_mm2\n0,21\n,20\n", 3, "day", "no day"),
    "no date of surgery": ("date,area_mm2\n2024-01-01,21\n", 0, "date", "needs the date of surgery"),
    "nothing measured": ("day,comment\n0,fine\n", 0, "", "nothing measured"),
    "no visits": ("day,area_mm2\n", 0, "", "no visits"),
    "empty file": ("", 0, "", "no header"),
    "side that is none": ("day,eye,area_mm2\n0,both,21\n", 2, "eye", "neither right (OD) nor left (OS)"),
    "event that is not known": (
        "day,area_mm2,event\n0,21,\n30,20,YAG planned\n",
        3,
        "event",
        "say yes or no in a column",
    ),
    "cuts of what": ("day,area_mm2,event\n0,21,\n30,20,cuts\n", 3, "event", "not an event that is known"),
    "denied laser": ("day,area_mm2,event\n0,21,\n30,20,no laser\n", 3, "event", "not an event that is known"),
    "column about a laser": ("day,area_mm2,laser_date\n0,21,\n", 1, "laser_date", "column event, or after_laser"),
    "two sides under one name": (
        "eye_id,eye,day,area_mm2\nA,right,0,21\nA,OS,7,20\n",
        3,
        "eye_id",
        "A has right and left rows",
    ),
    "side that is missing beside others": (
        "eye,day,area_mm2\nOD,0,21\nOS,0,20\n,7,19\n",
        4,
        "eye",
        "the right or the left",
    ),
    "decimal comma that cuts a number in two": (
        "day,diameter_mm,measured_in\n0,5,2\n",
        2,
        "diameter_mm",
        "5,2 looks like one number with a decimal comma",
    ),
    "horizontal diameter": ("day,diameter_h\n0,5.2\n", 1, "diameter_h", "did you mean 'diameter_1_mm', with 3"),
    "hour of a diameter": (
        "day,diameter_1_mm,diameter_2_mm,hour\n0,5.2,5.0,1.5\n",
        1,
        "hour",
        "did you mean 'meridian_hour'",
    ),
    "axis of a diameter": ("day,diameter_1_mm,axis\n0,5.2,1\n", 1, "axis", "did you mean 'meridian_hour'"),
    "vertical diameter": ("day,diameter_v_mm\n0,5.2\n", 1, "diameter_v_mm", "did you mean 'diameter_2_mm'"),
    "JSON that ends too soon": ('[{"day": 0, "area_mm2": 21},\n {"day": 7, "area_', 2, "", "not JSON"),
    "JSON of something else": ('{"format": "capsim-fit"}', 0, "", 'has one as "visits"'),
    "slip in a name of JSON": ('[{"day": 0,\n  "area": 21}]', 1, "area", "did you mean 'area_mm2'"),
    "value of JSON": ('[{"day": 0, "area_mm2": 21},\n{"day": 7, "area_mm2": "wide"}]', 2, "area_mm2", "not a number"),
    "laser, then none": ("day,area_mm2,after_laser\n0,21,yes\n7,20,no\n", 3, "after_laser", "an earlier visit"),
    "neither yes nor no": ("day,area_mm2,after_laser\n0,21,maybe\n", 2, "after_laser", "neither yes nor no"),
    "not text": (b"day,area_mm2\n0,21\n7,\xff20\n", 3, "", "UTF-8"),
}


@pytest.mark.parametrize("what", REFUSED)
def test_refused_with_line_and_column(read, what):
    text, line, column, words = REFUSED[what]
    with pytest.raises(capsim.VisitsError) as error:
        read(text, optic_diameter_mm=6.0)
    problems = error.value.problems
    assert [(problem.line, problem.column) for problem in problems] == [(line, column)], problems
    assert words in problems[0].text
    assert "visits.csv" in str(error.value)
    if line:
        assert f"line {line}" in str(error.value)


def test_all_problems_are_told_at_once_in_order(read):
    with pytest.raises(capsim.VisitsError) as error:
        read("day,eye,diameter_mm,meridian_hour\n0,left,5200,13\n0,right,5,12\n0,right,wide,12\n7,,5,3\n")
    assert [(problem.line, problem.column) for problem in error.value.problems] == [
        (2, "meridian_hour"),
        (2, "diameter_mm"),
        (4, "diameter_mm"),
        (5, "meridian_hour"),
    ]
    again = pickle.loads(pickle.dumps(error.value))
    assert again.problems == error.value.problems and str(again) == str(error.value)


def test_line_numbers_count_lines_and_not_rows(read):
    with pytest.raises(capsim.VisitsError) as error:
        read('day,area_mm2,comment\n0,21,"two\nlines"\n\n7,wide,\n')
    assert error.value.problems[0].line == 5


def test_decentred_and_dented_outlines_do_not_count_as_crossed():
    dented = [
        ((1 - 0.6 * (abs(t - 3) < 0.3)) * math.cos(t), (1 - 0.6 * (abs(t - 3) < 0.3)) * math.sin(t))
        for t in np.linspace(0, 2 * math.pi, 60, endpoint=False)
    ]
    assert outline.first_crossing(np.array(dented)) is None
    eight = np.array(
        [(math.sin(t), math.sin(2 * t)) for t in np.linspace(0.05, 2 * math.pi + 0.05, 40, endpoint=False)]
    )
    assert outline.first_crossing(eight) is not None
    spike = np.array([(0, 0), (2, 0), (2, 2), (1, 2), (1, 3), (1, 2), (0, 2)], dtype=float)
    assert outline.first_crossing(spike) is not None


def test_visits_from_arrays_are_checked():
    visits = capsim.Visits([30, 0, 7], [19.0, 21.0, np.nan], eye="left", sd_percent=3)
    assert visits.day.tolist() == [0, 7, 30]
    assert visits.area_mm2[[0, 2]].tolist() == [21, 19]
    assert visits.until(7).day.tolist() == [0, 7]
    for wrong, words in (
        (dict(day=[0, 0], area_mm2=[21, 20]), "two visits on day 0"),
        (dict(day=[-1], area_mm2=[21]), "days must be"),
        (dict(day=[0], area_mm2=[-21]), "areas must be above 0"),
        (dict(day=[0], area_mm2=[21], eye="both"), "right"),
        (dict(day=[0, 1], area_mm2=[21]), "2 days, but 1"),
    ):
        with pytest.raises(ValueError, match=words):
            capsim.Visits(**wrong)
    with pytest.raises(KeyError, match="no visit of 'x'"):
        visits.of("x")


def test_visits_become_a_data_frame():
    pytest.importorskip("pandas", reason="pandas is not installed: data frames were not tried")
    frame = capsim.Visits([0, 7], [21.0, 20.0], eye="left").to_dataframe()
    assert frame.day.tolist() == [0, 7] and frame.area_mm2.tolist() == [21, 20]
