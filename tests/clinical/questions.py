# SPDX-License-Identifier: BSD-3-Clause
"""What the scoreboard asks the arms of a trial: each function makes a question, or is one, and answers with a verdict."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping

import numpy as np
from arms import Eyes
from cohorts import row
from eyes import AREA_ERROR
from fitted_rows import BETWEEN_STUDIES, LASER_CLEAR_MM, MONTH, UNKNOWN_SD
from verdicts import Answer, Trial, band, between, count, difference, none, number, within

DIAMETER_ERROR = 0.005  # of one measured bag diameter, relative; assumed

AREA_NOISE = 100 * AREA_ERROR * math.sqrt(2)
BAG_NOISE = 100 * DIAMETER_ERROR * math.sqrt(2)

DAY = 1 / MONTH
WEEK = 7 / MONTH


def fell(arm: str, start: float, end: float, eyes: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss = arms[arm].loss(start, end)
        return difference(f"falls by {band(loss, '%')}", within(loss, eyes, AREA_NOISE))

    return ask


def flat(arm: str, start: float, end: float, eyes: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss = arms[arm].loss(start, end)
        return none(f"falls by {band(loss, '%')}", within(loss, eyes, AREA_NOISE))

    return ask


def more(
    arm: str,
    other: str,
    start: float,
    end: float,
    eyes_a: float,
    eyes_b: float,
    judge: Callable[[str, Trial], Answer] = difference,
) -> Callable[[Mapping[str, Eyes]], Answer]:
    """`arm` loses more than `other`, in different eyes."""

    def ask(arms: Mapping[str, Eyes]) -> Answer:
        a, b = arms[arm].loss(start, end), arms[other].loss(start, end)
        return judge(f"{a.mean():.1f} against {b.mean():.1f} %", between(a, b, eyes_a, eyes_b, AREA_NOISE))

    return ask


def more_paired(
    arm: str, other: str, start: float, end: float, pairs: float, judge: Callable[[str, Trial], Answer] = difference
) -> Callable[[Mapping[str, Eyes]], Answer]:
    """The same in fellow eyes, taken as alike."""

    def ask(arms: Mapping[str, Eyes]) -> Answer:
        a, b = arms[arm].loss(start, end), arms[other].loss(start, end)
        return judge(f"{a.mean():.1f} against {b.mean():.1f} %", within(a - b, pairs, AREA_NOISE * math.sqrt(2)))

    return ask


def joo_mean(arms: Mapping[str, Eyes]) -> Answer:
    loss = 100 * (1 - arms["normal"].at("opening_diameter_mm", 3) / arms["normal"].at("opening_diameter_mm", 0))
    error = math.hypot(UNKNOWN_SD / 2 / math.sqrt(166), BETWEEN_STUDIES / 2)
    return number(band(loss, "% of diameter"), float(loss.mean()), row("JOO96", "validate").value, error)


def joo_sizes(arms: Mapping[str, Eyes]) -> Answer:
    first, last = (arms["normal"].at("opening_diameter_mm", m) for m in (0, 3))
    small, large = 100 * np.mean(last[first < 5.5] < 5.0), 100 * np.mean(last[first > 5.5] > 5.0)
    return Answer(
        f"{small:.0f} % of the smaller end below 5.0 mm, {large:.0f} % of the larger stay above",
        "pass" if small > 50 and large > 50 else "miss",
        round(float(small), 1),
    )


def size_link(eyes: int, months: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    """Correlation of the loss with the first area, against what so many eyes would show."""

    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss, first = arms["normal"].loss(DAY, months), arms["normal"].at("opening_area_mm2", DAY)
        covariance = float(np.mean((loss - loss.mean()) * (first - first.mean())))
        r = covariance / (first.std() * math.hypot(loss.std(), AREA_NOISE))
        t = 1.98 / math.sqrt(eyes - 2)
        limit = t / math.sqrt(1 + t * t)
        test = Trial(math.atanh(r), 1 / math.sqrt(eyes - 3))  # Fisher's z
        return Answer(
            f"r {r:.2f}; {eyes} eyes would show {limit:.2f} (power {test.power:.2f}; 4 in 5 at {math.tanh(test.seen):.2f})",
            "pass" if abs(r) < limit else "miss",
            round(r, 3),
        )

    return ask


def size_of_loss(arms: Mapping[str, Eyes]) -> Answer:
    """The period after six weeks loses less than the one before."""
    early, late = arms["normal"].loss(DAY, 1.4), arms["normal"].loss(1.4, 6)
    return difference(
        f"{early.mean():.1f} before, {late.mean():.1f} % after six weeks",
        within(early - late, 32, AREA_NOISE * math.sqrt(3)),
    )


def no_laser(arms: Mapping[str, Eyes]) -> Answer:
    share = float(
        np.mean(
            np.concatenate([arms[a].at("clear_circle_diameter_mm", 6) < LASER_CLEAR_MM for a in ("normal", "silicone")])
        )
    )
    chance = count(share, 0, 64)
    return Answer(
        f"{100 * share:.1f} % of eyes; none in 64 has chance {chance:.2f}",
        "pass" if chance > 0.05 else "miss",
        round(100 * share, 2),
    )


def bag(arm: str, published: float, eyes: float) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        loss = arms[arm].bag_loss(0, 3)
        return number(f"{np.median(loss):.2f} % (median)", float(np.median(loss)), published, 0.5)

    return ask


def bag_keeps_falling(arms: Mapping[str, Eyes]) -> Answer:
    parts = [within(arms["ring"].bag_loss(a, b), 19, BAG_NOISE).z for a, b in ((DAY, 1), (1, 3))]
    whole = arms["ring"].bag_loss(DAY, 3)
    return Answer(
        f"falls by {band(whole, '%')}, z {parts[0]:.1f} in the first month, {parts[1]:.1f} in the next two",
        "pass" if min(parts) >= 1.96 else "sign" if min(parts) > 0 else "miss",
        round(min(parts), 2),
    )


def ring_spares(arms: Mapping[str, Eyes]) -> Answer:
    a, b = arms["weak zonule"].loss(DAY, 3), arms["weak zonule, ring"].loss(DAY, 3)
    return difference(f"{a.mean():.1f} without, {b.mean():.1f} % with a ring", between(a, b, 21, 21, AREA_NOISE))


def larger_ring(arms: Mapping[str, Eyes]) -> Answer:
    none_, small, large = (arms[a].bag_loss(DAY, 6) for a in ("normal", "ring", "larger ring"))
    trial = between(small, large, 40, 40, BAG_NOISE)
    return difference(
        f"bag shrinks by {none_.mean():.2f} without, {small.mean():.2f} with a 12.3, {large.mean():.2f} % with a 13 mm ring",
        trial,
    )


def syndrome(arm: str, published: int, eyes: int) -> Callable[[Mapping[str, Eyes]], Answer]:
    def ask(arms: Mapping[str, Eyes]) -> Answer:
        share = float(np.mean(arms[arm].at("clear_circle_diameter_mm", 12) < LASER_CLEAR_MM))
        chance = count(share, published, eyes)
        return Answer(
            f"{100 * share:.1f} % of eyes within 12 months; as far out as {published} of {eyes} has chance {chance:.2f}",
            "pass" if chance > 0.05 else "miss",
            round(100 * share, 2),
        )

    return ask


def zonule_lets_go(arms: Mapping[str, Eyes]) -> Answer:
    """No number is published: "hardly any" is taken as less than half of what it carries on day 0."""
    before, after = (arms["normal"].at("zonule_load_total_mN", m) for m in (0, 12))
    kept = float(np.mean(after / before))
    return Answer(
        f"the zonule carries {100 * kept:.0f} % of its first load",
        "pass" if kept < 0.5 else "miss",
        round(100 * kept, 1),
    )
