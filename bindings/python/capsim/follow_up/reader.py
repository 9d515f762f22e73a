# SPDX-License-Identifier: BSD-3-Clause
"""Reading visits from a file, and refusing what would give a wrong answer, by line and column.

The columns are listed at `read_visits`.
"""

from __future__ import annotations

import datetime
import math
import os
from collections.abc import Callable
from pathlib import Path
from typing import TypeVar

import numpy as np

from ..errors import ArgumentError
from ..sides import side_of
from .events import NOTHING, event_in, is_event_column
from .outline import CORNEAL_MAGNIFICATION, CORNEAL_MAGNIFICATION_SD, FloatArray, area_of, in_millimetres, points_in
from .problems import VisitProblem, VisitsError
from .rows import Row, contradictions, doubled, duplicates, one_side_each, visits_of
from .table import Cell, CellError, TableRow, date, number, read_rows, yes_or_no
from .visits import Visits

T = TypeVar("T")

COLUMNS = (
    "eye_id",
    "eye",
    "day",
    "date",
    "surgery_date",
    "area_mm2",
    "diameter_mm",
    "diameter_1_mm",
    "diameter_2_mm",
    "meridian_hour",
    "radius_mm",
    "outline_px",
    "optic_diameter_px",
    "optic_diameter_mm",
    "optic_center_px",
    "mm_per_px",
    "sd_percent",
    "event",
    "after_laser",
)
MEASURES = ("area_mm2", "diameter_mm", "diameter_1_mm", "radius_mm", "outline_px")

# What can be in an eye: the emptied bag is about 10.3 mm wide.
_SMALLEST_DIAMETER_MM, _LARGEST_DIAMETER_MM = 0.3, 10.0
_LARGEST_RADIUS_MM = 3.3  # larger ones are openings above 6.6 mm, which nobody describes by a radius
_SCALES_AGREE = 0.05  # two scales of one photograph; half of what would pass for the cornea's magnification
_MEASURES_AGREE = 1.5  # areas from two measures of one opening, which is never quite round


def read_visits(
    path: str | os.PathLike[str],
    *,
    eye: str | None = None,
    surgery_date: None | str | datetime.date = None,
    optic_diameter_mm: float | None = None,
    ruler: str | None = None,
) -> Visits:
    """The visits in a text table or a JSON file, one row or object for each visit.

    - `day`, or `date` and `surgery_date`: when; dates as 2024-03-12 or 12.03.2024
    - `eye_id`, `eye`: which eye (any text), and right or left (OD or OS); without `eye_id`, two sides are two eyes
    - `area_mm2`: area of the opening
    - `diameter_mm`, or `diameter_1_mm` and `diameter_2_mm`: one diameter, or two square to each other
    - `meridian_hour`: clock hour of `diameter_1_mm`
    - `radius_mm`: half a diameter
    - `outline_px`, `optic_diameter_px`, `optic_diameter_mm`, `optic_center_px`: traced rim, and its scale: the optic
    - `mm_per_px`: another scale
    - `sd_percent`: standard deviation of the area
    - `event`: what was done at or since the last visit: laser, YAG capsulotomy, relaxing cuts ..., in any case
    - `after_laser`, `laser`, `yag`: yes or no: whether a laser has opened the capsule by this visit

    A table has comma, semicolon or tab between its cells, decimal point or comma, and may have a byte order mark. JSON is
    a list of objects with the same names (``[{"day": 0, "area_mm2": 21.5}, ...]``), or an object with such a list as
    ``visits``. A visit with nothing measured stays as a missing one. Visits from a laser on are kept and marked, and
    are not used in a fit; those from relaxing cuts on are used where the scenario of the fit has the cuts. An event
    that is not known is refused: say yes or no in `after_laser`. What is odd but can be used is in `Visits.notices`.

    `eye` ("right", "left", "OD" or "OS"), `surgery_date` and
    `optic_diameter_mm` stand in for columns that are not there. `ruler` says where the scale
    ``mm_per_px`` comes from when there is no optic to check it: "capsule", or "outside_eye", which is
    divided by the cornea's magnification, 1.159.

    Raises `VisitsError` with every problem at once, each with line and column, and OSError for a
    file that can't be read.

    >>> visits = capsim.read_visits(table("day,area_mm2\\n0,21.5\\n30,20.1\\n90,19.2\\n"))
    >>> visits.area_mm2.tolist()
    [21.5, 20.1, 19.2]
    """
    side = None if eye is None else side_of(eye)
    if eye is not None and side is None:
        raise ArgumentError(f'eye is {eye!r}; it must be "right" (OD) or "left" (OS)')
    if ruler not in (None, "capsule", "outside_eye"):
        raise ArgumentError(f'ruler is {ruler!r}; it must be "capsule" or "outside_eye"')
    if isinstance(surgery_date, str):
        surgery_date = datetime.date.fromisoformat(surgery_date)
    source = os.fspath(path)
    try:
        table = read_rows(Path(path).read_bytes(), COLUMNS)
        _check_columns(table, surgery_date)
        reader = _Reader(side, surgery_date, optic_diameter_mm, ruler)
        rows, mixed = one_side_each([row for row in map(reader.row, table) if row is not None])
        problems = [*reader.problems, *mixed, *duplicates(rows), *contradictions(rows), *doubled(rows)]
        if problems:
            raise VisitsError(sorted(problems, key=lambda problem: problem.line))
    except VisitsError as error:
        raise VisitsError(error.problems, source) from None
    return visits_of(rows, reader.notices)


def _check_columns(table: list[TableRow], surgery_date: datetime.date | None) -> None:
    if not table:
        raise VisitsError([VisitProblem(0, "", "there are no visits in it")])
    columns = set(table[0].cells)
    problems = []
    if "day" not in columns and "date" not in columns:
        problems.append(VisitProblem(0, "", "there is neither a column day nor a column date"))
    if not columns & set(MEASURES):
        problems.append(
            VisitProblem(0, "", f"there is nothing measured in it: none of the columns {', '.join(MEASURES)}")
        )
    if "date" in columns and "day" not in columns and "surgery_date" not in columns and surgery_date is None:
        problems.append(VisitProblem(0, "date", "needs the date of surgery: a column surgery_date, or the argument"))
    if problems:
        raise VisitsError(problems)


class _Reader:
    """Turns rows of text into numbers, and gathers what is wrong."""

    def __init__(
        self,
        eye: str | None,
        surgery_date: datetime.date | None,
        optic_diameter_mm: float | None,
        ruler: str | None,
    ) -> None:
        self.eye = eye
        self.surgery_date = surgery_date
        self.optic_diameter_mm = optic_diameter_mm
        self.ruler = ruler
        self.problems: list[VisitProblem] = []
        self.notices: list[VisitProblem] = []

    def row(self, row: TableRow) -> Row | None:
        """The visit in a row, or None when something is wrong with it."""
        before = len(self.problems)
        try:
            day = self._day(row)
        except CellError as error:
            self.problems.append(error.problem)
            day = math.nan
        side = self._attempt(self._side, row)
        self._attempt(self._meridian, row)
        area, measured_in, outline = self._attempt(self._area, row) or (math.nan, "", None)
        sd = self._attempt(self._sd_percent, row)
        laser = self._attempt(self._laser, row)
        event = self._attempt(self._event, row) or NOTHING
        if len(self.problems) > before:
            return None
        name = row.get("eye_id")
        return Row(
            row.line,
            name.text if name else None,
            side,
            day,
            area,
            measured_in,
            math.nan if sd is None else sd,
            laser,
            event,
            outline,
        )

    def _attempt(self, read: Callable[[TableRow], T | None], row: TableRow) -> T | None:
        try:
            return read(row)
        except CellError as error:
            self.problems.append(error.problem)
            return None

    def _day(self, row: TableRow) -> float:
        stated, on = row.get("day"), row.get("date")
        if stated is None and on is None:
            raise CellError(VisitProblem(row.line, "day" if "day" in row.cells else "date", "the visit has no day"))
        day = number(stated) if stated is not None else math.nan
        if on is not None:
            surgery = row.get("surgery_date")
            begin = date(surgery) if surgery is not None else self.surgery_date
            if begin is not None:
                counted = float((date(on) - begin).days)
                if stated is not None and abs(counted - day) > 0.5:
                    raise CellError(on.problem(f"is {counted:g} days after surgery, but column day says {day:g}"))
                day = day if stated is not None else counted
            elif stated is None:
                raise CellError(on.problem("needs the date of surgery, in column surgery_date"))
        where = stated if stated is not None else on
        assert where is not None
        if day < 0:
            raise CellError(where.problem(f"is {-day:g} days before surgery"))
        if day > 10000:
            raise CellError(where.problem(f"is {day:g} days after surgery, more than 27 years"))
        return day

    def _side(self, row: TableRow) -> str | None:
        cell = row.get("eye")
        if cell is None:
            return self.eye
        side = side_of(cell.text)
        if side is None:
            raise CellError(cell.problem(f"{cell.text!r} is neither right (OD) nor left (OS)"))
        return side

    def _meridian(self, row: TableRow) -> None:
        cell = row.get("meridian_hour")
        if cell is None:
            return
        hour = number(cell)
        if not 0 < hour <= 12:
            raise CellError(cell.problem(f"{hour:g} is not a clock hour, above 0 and up to 12"))
        if row.get("eye") is None and self.eye is None:
            raise CellError(
                cell.problem("clock hours need the side: right or left, in column eye; it is never assumed")
            )

    def _area(self, row: TableRow) -> tuple[float, str, FloatArray | None]:
        """Area [mm2], the column it was measured in, and the outline; NaN when nothing was measured."""
        outline = self._outline(row)
        areas: list[tuple[str, float]] = []
        if outline is not None:
            areas.append(("outline_px", area_of(outline)))
        if (cell := row.get("area_mm2")) is not None:
            areas.append(("area_mm2", self._checked_area(cell)))
        if (one := row.get("diameter_1_mm")) is not None or row.get("diameter_2_mm") is not None:
            other = row.get("diameter_2_mm")
            if one is None or other is None:
                missing = "diameter_1_mm" if one is None else "diameter_2_mm"
                raise CellError(
                    VisitProblem(row.line, missing, "one of two diameters is missing; with one only, use diameter_mm")
                )
            across, along = self._diameter(one), self._diameter(other)
            if across == along:
                self.notices.append(
                    one.problem(
                        f"both diameters are {across:g} mm: an oval that lies between the two meridians looks like this "
                        "too, and is then smaller than told and not round; a third diameter or an outline would tell"
                    )
                )
            areas.append(("diameter_1_mm", math.pi / 4 * across * along))
        if (cell := row.get("diameter_mm")) is not None:
            areas.append(("diameter_mm", math.pi / 4 * self._diameter(cell) ** 2))
        if (cell := row.get("radius_mm")) is not None:
            areas.append(("radius_mm", math.pi * self._radius(cell) ** 2))
        for column, area in areas[1:]:
            self._compare(row.cells[column], area, *areas[0])
        return (areas[0][1], areas[0][0], outline) if areas else (math.nan, "", None)

    def _compare(self, cell: Cell, area: float, first_column: str, first: float) -> None:
        ratio = area / first
        if 1 / _MEASURES_AGREE < ratio < _MEASURES_AGREE:
            return
        hint = ""
        for factor, word in ((0.25, "a radius where a diameter is meant"), (4.0, "a diameter where a radius is meant")):
            if 0.75 < ratio / factor < 1.35:
                hint = f"; this looks like {word}"
        raise CellError(
            cell.problem(f"{cell.text} gives an area of {area:.3g} mm2, but {first_column} gives {first:.3g}{hint}")
        )

    def _checked_area(self, cell: Cell) -> float:
        area = number(cell)
        low, high = (math.pi / 4 * d * d for d in (_SMALLEST_DIAMETER_MM, _LARGEST_DIAMETER_MM))
        if not low <= area <= high:
            hint = f"; it looks like square micrometres: {area / 1e6:g} mm2?" if low <= area / 1e6 <= high else ""
            raise CellError(
                cell.problem(f"{area:g} is not the area of an opening in mm2, {low:.2g} to {high:.3g}{hint}")
            )
        return area

    def _diameter(self, cell: Cell) -> float:
        return self._length(cell, number(cell), "diameter", _SMALLEST_DIAMETER_MM, _LARGEST_DIAMETER_MM)

    def _radius(self, cell: Cell) -> float:
        radius = number(cell)
        if _LARGEST_RADIUS_MM < radius <= _LARGEST_DIAMETER_MM:
            raise CellError(
                cell.problem(
                    f"a radius of {radius:g} mm is an opening of {2 * radius:g} mm; this looks like a "
                    "diameter where a radius is meant: use the column diameter_mm"
                )
            )
        return self._length(cell, radius, "radius", _SMALLEST_DIAMETER_MM / 2, _LARGEST_RADIUS_MM)

    def _length(self, cell: Cell, length: float, what: str, low: float, high: float) -> float:
        if low <= length <= high:
            return length
        hint = f"; it looks like micrometres: {length / 1000:g} mm?" if low <= length / 1000 <= high else ""
        raise CellError(cell.problem(f"{length:g} is not the {what} of an opening in mm, {low:g} to {high:g}{hint}"))

    def _outline(self, row: TableRow) -> FloatArray | None:
        cell = row.get("outline_px")
        if cell is None:
            return None
        try:
            points = points_in(cell.text)
        except ValueError as error:
            raise CellError(cell.problem(str(error))) from None
        center = row.get("optic_center_px")
        return in_millimetres(points, self._mm_per_px(row, cell), None if center is None else self._point(center))

    def _point(self, cell: Cell) -> FloatArray:
        parts = cell.text.replace(";", " ").split()
        try:
            x, y = (float(part) for part in parts)
        except ValueError:
            raise CellError(cell.problem(f"{cell.text!r} is not a point x y")) from None
        return np.array([x, y])

    def _mm_per_px(self, row: TableRow, outline: Cell) -> float:
        of_optic, given = self._optic_scale(row), row.get("mm_per_px")
        if given is None:
            if of_optic is None:
                raise CellError(
                    outline.problem(
                        "an outline in pixels needs a scale: optic_diameter_px, and the optic's known optic_diameter_mm"
                    )
                )
            return of_optic
        scale = number(given)
        if scale <= 0:
            raise CellError(given.problem(f"{scale:g} is not a scale above 0"))
        if of_optic is not None:
            self._compare_scales(given, scale, of_optic)
            return of_optic
        if self.ruler is None:
            raise CellError(
                given.problem(
                    f'say where this scale comes from: ruler="capsule", or ruler="outside_eye", which the cornea magnifies '
                    f"by {CORNEAL_MAGNIFICATION}; better, give the optic's diameter in the photograph, optic_diameter_px"
                )
            )
        return scale / CORNEAL_MAGNIFICATION if self.ruler == "outside_eye" else scale

    def _optic_scale(self, row: TableRow) -> float | None:
        in_image, cell = row.get("optic_diameter_px"), row.get("optic_diameter_mm")
        if in_image is None:
            return None
        pixels = number(in_image)
        if pixels <= 0:
            raise CellError(in_image.problem(f"{pixels:g} is not a number of pixels above 0"))
        if cell is None and self.optic_diameter_mm is None:
            raise CellError(
                in_image.problem("needs the optic's known diameter: a column optic_diameter_mm, or the argument")
            )
        known = number(cell) if cell is not None else float(self.optic_diameter_mm or 0)
        if not 3 <= known <= 9:
            where = cell if cell is not None else in_image
            hint = f"; it looks like micrometres: {known / 1000:g} mm?" if 3 <= known / 1000 <= 9 else ""
            raise CellError(where.problem(f"{known:g} is not the diameter of an optic in mm, 3 to 9{hint}"))
        return known / pixels

    def _compare_scales(self, cell: Cell, scale: float, of_optic: float) -> None:
        ratio = scale / of_optic
        if abs(ratio - 1) <= _SCALES_AGREE:
            return
        text = (
            f"two scales disagree: this one says {scale:.4g} mm per pixel, the optic {of_optic:.4g}, "
            f"{ratio:.3f} times as much"
        )
        if abs(ratio - CORNEAL_MAGNIFICATION) <= 3 * CORNEAL_MAGNIFICATION_SD:
            text += (
                f"; the cornea magnifies by {CORNEAL_MAGNIFICATION}, so this looks like a ruler outside the eye: "
                "leave the column out, the optic is the right scale"
            )
        raise CellError(cell.problem(text))

    def _sd_percent(self, row: TableRow) -> float | None:
        cell = row.get("sd_percent")
        if cell is None:
            return None
        sd = number(cell)
        if not 0 < sd <= 100:
            raise CellError(cell.problem(f"{sd:g} is not a standard deviation in per cent of the area"))
        return sd

    def _laser(self, row: TableRow) -> bool | None:
        """Whether this visit is after a laser; None when the row does not say."""
        said = [(cell, yes_or_no(cell)) for cell in row.cells.values() if _says_laser(cell) and not cell.missing]
        for cell, answer in said[1:]:
            if answer != said[0][1]:
                raise CellError(cell.problem(f"says {cell.text}, but {said[0][0].column} says {said[0][0].text}"))
        return said[0][1] if said else None

    def _event(self, row: TableRow) -> str:
        """What was done, one of `NOTHING`, `LASER`, `RELAXING_CUTS`."""
        cell = row.get("event")
        if cell is None:
            return NOTHING
        event = event_in(cell.text)
        if event is not None:
            return event
        if any(_says_laser(other) and not other.missing for other in row.cells.values()):
            return NOTHING  # that column has told what matters
        raise CellError(
            cell.problem(
                f"{cell.text!r} is not an event that is known: write laser, relaxing cuts or nothing, or say yes or no "
                "in a column after_laser"
            )
        )


def _says_laser(cell: Cell) -> bool:
    return is_event_column(cell.column)
