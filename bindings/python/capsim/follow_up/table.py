# SPDX-License-Identifier: BSD-3-Clause
"""Text tables as people export them: comma, semicolon or tab; decimal point or comma; byte order marks."""

from __future__ import annotations

import csv
import datetime
import io
import json
import math
import re
from collections.abc import Iterable
from dataclasses import dataclass

from ..errors import Error
from ..spelling import did_you_mean
from .events import is_about_events, is_event_column
from .problems import VisitProblem, VisitsError

MISSING = {"", "-", "--", ".", "?", "na", "n/a", "nan", "none", "null", "missing"}
"""What stands for a value that was not measured."""

_NUMBER = re.compile(r"[+-]?(\d+([.,]\d*)?|[.,]\d+)([eE][+-]?\d+)?")


@dataclass(frozen=True)
class Cell:
    """One cell, and where it stands."""

    line: int
    column: str
    text: str

    @property
    def missing(self) -> bool:
        """Whether nothing was entered."""
        return self.text.lower() in MISSING

    def problem(self, text: str) -> VisitProblem:
        """What is wrong with it."""
        return VisitProblem(self.line, self.column, text)


@dataclass(frozen=True)
class TableRow:
    """One row by the names of its columns."""

    line: int
    cells: dict[str, Cell]

    def get(self, column: str) -> Cell | None:
        """The cell in a column, None when there is no such column or nothing was entered."""
        cell = self.cells.get(column)
        return None if cell is None or cell.missing else cell


class CellError(Error, ValueError):
    """A cell that can't be read."""

    def __init__(self, problem: VisitProblem) -> None:
        self.problem = problem
        super().__init__(str(problem))


def read_rows(data: bytes, known: Iterable[str]) -> list[TableRow]:
    """The rows of a text table or of a JSON file; raises `VisitsError` when it can't be read."""
    text = _decoded(data)
    return json_rows(text, known) if text.lstrip().startswith(("[", "{")) else table_rows(text, known)


def table_rows(text: str, known: Iterable[str]) -> list[TableRow]:
    """The rows of a table with a header; raises `VisitsError` when it can't be read.

    Lines that are empty or begin with # are left out. Columns that are not known are ignored,
    unless their name looks like a slip of a known one.
    """
    separator = _separator(text, set(known))
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, skipinitialspace=True)
    header: list[str] = []
    rows, problems = [], []
    line = 1
    try:
        for cells in reader:
            first, line = line, reader.line_num + 1
            cells = [cell.strip() for cell in cells]
            if not any(cells) or cells[0].startswith("#"):
                continue
            if not header:
                header = [name.strip() for name in cells]
                problems += _wrong_names(header, first, list(known))
                continue
            if len(cells) > len(header) and any(cells[len(header) :]):
                problems.append(VisitProblem(first, "", _too_many(cells, header, separator)))
                continue
            cells += [""] * (len(header) - len(cells))
            rows.append(TableRow(first, {name: Cell(first, name, cell) for name, cell in zip(header, cells)}))
    except csv.Error as error:
        problems.append(VisitProblem(line, "", f"can't be read: {error}"))
    if not header:
        problems.append(VisitProblem(0, "", "there is no header line with the names of the columns"))
    if separator == ",":
        problems += _cut_decimals(rows, header, set(known))
    if problems:
        raise VisitsError(problems)
    return rows


def json_rows(text: str, known: Iterable[str]) -> list[TableRow]:
    """The rows of a JSON list of objects, or of an object with such a list as ``visits``."""
    decoder = json.JSONDecoder()
    rows, problems = [], []
    at = _start_of_list(text)

    def line_at(place: int) -> int:
        return text.count("\n", 0, place) + 1

    def skipped(place: int) -> int:
        while place < len(text) and text[place] in " \t\r\n":
            place += 1
        return place

    named: set[str] = set()
    try:
        at = skipped(at + 1)
        while text[at : at + 1] != "]":
            line = line_at(at)
            item, at = decoder.raw_decode(text, at)
            if not isinstance(item, dict):
                raise VisitsError([VisitProblem(line, "", "is not an object with the names of columns")])
            problems += _wrong_names([name for name in item if name not in named], line, list(known))
            named |= set(item)
            rows.append(TableRow(line, {name: Cell(line, name, _cell_text(value)) for name, value in item.items()}))
            at = skipped(at)
            if text[at : at + 1] == ",":
                at = skipped(at + 1)
            elif text[at : at + 1] != "]":
                raise json.JSONDecodeError("a comma or ] is missing", text, at)
    except json.JSONDecodeError as error:
        raise VisitsError([VisitProblem(error.lineno, "", f"is not JSON that can be read: {error.msg}")]) from None
    if problems:
        raise VisitsError(problems)
    columns = {name: Cell(0, name, "") for row in rows for name in row.cells}
    return [TableRow(row.line, {**columns, **row.cells}) for row in rows]


def _start_of_list(text: str) -> int:
    """Where the list of visits begins."""
    begin = len(text) - len(text.lstrip())
    if text[begin] == "[":
        return begin
    try:
        content = json.loads(text)
    except json.JSONDecodeError as error:
        raise VisitsError([VisitProblem(error.lineno, "", f"is not JSON that can be read: {error.msg}")]) from None
    if not isinstance(content.get("visits"), list):
        raise VisitsError([VisitProblem(0, "", 'a JSON file of visits is a list of objects, or has one as "visits"')])
    return next(found.end() - 1 for found in re.finditer(r'"visits"\s*:\s*\[', text))


def _cell_text(value: object) -> str:
    """A value as it would stand in a cell; an outline as its points."""
    if value is None:
        return ""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list):
        return "; ".join(
            " ".join(map(_cell_text, item)) if isinstance(item, list) else _cell_text(item) for item in value
        )
    return value if isinstance(value, str) else repr(value)


def number(cell: Cell) -> float:
    """The number in a cell, with decimal point or comma; raises `CellError`."""
    text = cell.text.replace("\u2212", "-").replace("\u00a0", " ").strip()
    if "." in text and "," in text:
        raise CellError(cell.problem(f"{cell.text!r} has both a point and a comma; write no thousands separators"))
    if not _NUMBER.fullmatch(text):
        with_unit = re.fullmatch(_NUMBER.pattern + r"\s*[^\d\s].*", text)
        hint = "; the unit is in the column's name, leave it out here" if with_unit else ""
        raise CellError(cell.problem(f"{cell.text!r} is not a number{hint}"))
    value = float(text.replace(",", "."))
    if not math.isfinite(value):
        raise CellError(cell.problem(f"{cell.text!r} is too large for a number"))
    return value


def date(cell: Cell) -> datetime.date:
    """The date in a cell, 2024-03-12 or 12.03.2024; raises `CellError`."""
    for pattern in ("%Y-%m-%d", "%d.%m.%Y"):
        try:
            return datetime.datetime.strptime(cell.text, pattern).date()
        except ValueError:
            continue
    hint = "; day and month could be meant either way round" if "/" in cell.text else ""
    raise CellError(cell.problem(f"{cell.text!r} is not a date in the form 2024-03-12{hint}"))


def yes_or_no(cell: Cell) -> bool:
    """Whether a cell says yes; raises `CellError`."""
    answers = {"yes": True, "y": True, "true": True, "1": True, "no": False, "n": False, "false": False, "0": False}
    if cell.text.lower() not in answers:
        raise CellError(cell.problem(f"{cell.text!r} is neither yes nor no"))
    return answers[cell.text.lower()]


def _decoded(data: bytes) -> str:
    encoding = "utf-16" if data[:2] in (b"\xff\xfe", b"\xfe\xff") else "utf-8-sig"
    try:
        return data.decode(encoding)
    except UnicodeDecodeError as error:
        line = data[: error.start].count(b"\n") + 1
        raise VisitsError([VisitProblem(line, "", "is not UTF-8 text; save the file as CSV in UTF-8")]) from None


def _separator(text: str, known: set[str]) -> str:
    """The one that finds most known names in the header."""
    for line in text.splitlines():
        if line.strip() and not line.lstrip().startswith("#"):
            found = {mark: len({n.strip().strip('"') for n in line.split(mark)} & known) for mark in ",;\t"}
            return max(",;\t", key=lambda mark: (found[mark], line.count(mark)))
    return ","


def _wrong_names(header: list[str], line: int, known: list[str]) -> list[VisitProblem]:
    problems = []
    for name in header:
        if name in known or not name or is_event_column(name):
            continue
        if is_about_events(name):
            text = "is not a column that is known; write a column event, or after_laser with yes and no"
            problems.append(VisitProblem(line, name, text))
            continue
        meridian = _MERIDIAN.fullmatch(name.strip().lower())
        if meridian is not None:
            problems.append(VisitProblem(line, name, _MERIDIANS[meridian.group(1)[0]]))
            continue
        if _DIRECTION.fullmatch(name.strip().lower()) and any("diameter" in other for other in header):
            text = "is not a known column; did you mean 'meridian_hour', the clock hour of diameter_1_mm?"
            problems.append(VisitProblem(line, name, text))
            continue
        unit = next(
            (full for full in known if re.fullmatch(re.escape(name.lower()) + r"_(mm2|mm|px|percent|hour)", full)), None
        )
        hint = did_you_mean(name.lower(), known)
        if unit is not None:
            problems.append(VisitProblem(line, name, f"has no unit; did you mean {unit!r}?"))
        elif hint and _alike(name.lower(), known):
            problems.append(VisitProblem(line, name, f"is not a known column{hint}"))
    for name in sorted({name for name in header if name and header.count(name) > 1}):
        problems.append(VisitProblem(line, name, "is there twice"))
    return problems


_MERIDIAN = re.compile(
    r"(?:diam(?:eter)?|d|width|size)?_?(horizontal|horiz|hor|h|vertical|vert|ver|v)(?:_?(?:diam(?:eter)?|d))?(?:_?mm)?"
)
_MERIDIANS = {
    "h": "is not a known column; did you mean 'diameter_1_mm', with 3 in a column meridian_hour (3 to 9 o'clock)?",
    "v": "is not a known column; did you mean 'diameter_2_mm', the one square to diameter_1_mm?",
}


_DIRECTION = re.compile(r"(?:clock_?)?hours?|(?:meridian|axis|direction)(?:_?(?:1|deg|degrees|hours?))?")


def _cut_decimals(rows: list[TableRow], header: list[str], known: set[str]) -> list[VisitProblem]:
    """Numbers that a decimal comma has cut in two: a whole number, and right of it digits in a column of no numbers."""
    problems = []
    for left, right in zip(header, header[1:]):
        if not _NUMERIC.search(left) or right in known:
            continue
        for row in rows:
            whole, rest = row.cells[left].text, row.cells[right].text
            if re.fullmatch(r"\d{1,2}", whole) and re.fullmatch(r"\d{1,4}", rest):
                text = f"{whole},{rest} looks like one number with a decimal comma, cut in two"
                hint = "separate the columns by semicolons, or put numbers in quotes"
                problems.append(VisitProblem(row.line, left, f"{text}; {hint}"))
    return problems


_NUMERIC = re.compile(r"(area|diam|radius)", re.IGNORECASE)


def _alike(name: str, known: list[str]) -> bool:
    """Alike enough for a slip of the pen; other columns (a comment, a clinic) are nobody's business."""
    import difflib

    return bool(difflib.get_close_matches(name, known, n=1, cutoff=0.8))


def _too_many(cells: list[str], header: list[str], separator: str) -> str:
    text = f"has {len(cells)} cells, but the header has {len(header)}"
    if separator == ",":
        text += "; if the comma is the decimal sign, separate the columns by semicolons or put numbers in quotes"
    return text
