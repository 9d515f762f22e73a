# SPDX-License-Identifier: BSD-3-Clause
"""What was done to an eye between visits, in the words that people write beside a visit.

A closed list of words: a text with any other word in it is not guessed at, it is asked about.
"""

from __future__ import annotations

import re

NOTHING, LASER, RELAXING_CUTS = "", "laser", "relaxing_cuts"

_LASER = {"laser", "lasers", "yag", "ndyag", "capsulotomy", "capsulotomies", "membranotomy", "photodisruption"}
_CUTTING = {"cut", "cuts", "incision", "incisions", "slit", "slits", "relaxation", "relaxed"}
_CUT_HOW = {"relaxing", "radial", "relieving"}
_ORDINARY = {
    *("visit", "control", "check", "checkup", "review", "exam", "examination", "routine", "followup", "follow", "up"),
    *(
        "surgery",
        "operation",
        "op",
        "postop",
        "postoperative",
        "phaco",
        "phacoemulsification",
        "cataract",
        "implantation",
    ),
    *(
        "first",
        "second",
        "third",
        "last",
        "final",
        "baseline",
        "day",
        "week",
        "weeks",
        "month",
        "months",
        "year",
        "years",
    ),
    *("none", "nothing", "normal", "missed", "telephone", "photo", "photograph", "measurement", "measured"),
}
_DENYING = {"none", "nothing", "missed", "normal"}
_BETWEEN = {
    *("nd", "q", "qs", "switched", "qswitched", "anterior", "posterior", "front", "back", "capsule", "capsular", "rim"),
    *("opening", "of", "the", "a", "an", "by", "with", "at", "on", "to", "in", "and", "for", "after", "post", "done"),
    *(
        "performed",
        "treatment",
        "treated",
        "procedure",
        "od",
        "os",
        "right",
        "left",
        "eye",
        "oclock",
        "o",
        "clock",
        "h",
    ),
    *("pco", "phimosis", "contraction", "made", "x", "mj", "four", "three", "two", "one", "six", "eight", "small", "s"),
}


def event_in(text: str) -> str | None:
    """What a text says was done: `NOTHING`, `LASER` or `RELAXING_CUTS`; None where it can't be told.

    Case, order, hyphens and numbers don't matter. A laser by which relaxing cuts are made counts as relaxing cuts.
    """
    words = [word for word in re.split(r"[^a-z]+", text.lower()) if word]
    known = _LASER | _CUTTING | _CUT_HOW | _ORDINARY | _BETWEEN
    if any(word not in known for word in words):
        return None
    found = set(words)
    if found & _DENYING and found & (_LASER | _CUTTING | _CUT_HOW):
        return None
    if found & _CUT_HOW:
        return RELAXING_CUTS if found & (_CUTTING | _LASER) else None
    if found & _LASER:
        return LASER if not found & _CUTTING else None
    if found & _CUTTING:
        return None  # cuts of what?
    return NOTHING if not words or found & _ORDINARY else None


def is_event_column(name: str) -> bool:
    """Whether a column's name says that it is about a laser: ``laser``, ``YAG``, ``after_laser``, ``Nd:YAG done``."""
    words = {word for word in re.split(r"[^a-z]+", name.lower()) if word}
    return bool(words & _LASER) and words <= _LASER | {"after", "nd", "done", "post"}


def is_about_events(name: str) -> bool:
    """Whether a column's name has a word for a laser or for cuts in it at all."""
    return bool({word for word in re.split(r"[^a-z]+", name.lower()) if word} & (_LASER | _CUTTING | _CUT_HOW))
