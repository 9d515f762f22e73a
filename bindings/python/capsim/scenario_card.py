# SPDX-License-Identifier: BSD-3-Clause
"""The front view of a scenario as a small drawing for notebooks, as it is on the day of surgery.

Seen by the examiner who faces the patient: 12 o'clock up, hours clockwise. Made of SVG text
only; `capsim.plot` draws results, with scales and legends.
"""

from __future__ import annotations

import html
import math
from collections.abc import Iterable
from typing import TYPE_CHECKING

from . import _core

if TYPE_CHECKING:
    from .scenario import Scenario

Point = tuple[float, float]

# Colours that stay apart for the colour-blind (after Okabe and Ito), and in grey.
_ZONULE, _BAG, _OPENING, _OPTIC, _RING, _CUT = "#0072b2", "#777777", "#d55e00", "#56b4e9", "#009e73", "#000000"


def scenario_html(scenario: Scenario) -> str:
    """Drawing, what differs from the default eye, and the caution, as HTML."""
    rows = "".join(
        f"<tr><td><code>{html.escape(path)}</code></td><td>{html.escape(text)}</td></tr>"
        for path, text in _differences(scenario)
    )
    table = f"<table>{rows}</table>" if rows else "<p>the default eye</p>"
    caution = html.escape(_core.research_caution.split(". ")[0] + ".")
    return (
        f"<div><strong>{html.escape(str(scenario.name))}</strong>"
        f"<div style='display:flex;gap:1em;align-items:flex-start'>{scenario_svg(scenario)}{table}</div>"
        f"<small>{caution}</small></div>"
    )


def _differences(scenario: Scenario) -> list[tuple[str, str]]:
    rows = []
    for name, item in scenario._unusual():
        if isinstance(item, dict) and item:
            rows += [(f"{name}.{key}", str(inner)) for key, inner in item.items()]
        elif name != "name":
            rows.append((name, str(item)))
    return rows


def scenario_svg(scenario: Scenario, size_px: int = 260) -> str:
    """The front view as an SVG element; a value that is not valid leaves its part out."""
    ring_radius = scenario.zonule.ciliary_ring_diameter_mm / 2
    reach = ring_radius + 1.3
    parts: list[str] = []
    for draw in (_zonule, _leaf, _lens, _tension_ring, _opening, _cuts, _clock):
        try:
            parts += draw(scenario)
        except (AttributeError, TypeError, ValueError, LookupError):
            continue
    title = html.escape(f"Front view of {scenario.name}")
    return (
        f"<svg xmlns='http://www.w3.org/2000/svg' width='{size_px}' height='{size_px}' role='img' style='flex-shrink:0' "
        f"viewBox='{-reach:.3f} {-reach:.3f} {2 * reach:.3f} {2 * reach:.3f}'><title>{title}</title>"
        + "".join(parts)
        + "</svg>"
    )


def at_hour(hour: float, radius: float, center: Iterable[float] = (0.0, 0.0)) -> Point:
    """A point at a clock hour and a distance [mm] from a centre, y up."""
    angle = math.radians(90 - 30 * hour)
    x, y = center
    return x + radius * math.cos(angle), y + radius * math.sin(angle)


def _zonule(scenario: Scenario) -> list[str]:
    zonule = scenario.zonule
    inner, outer = scenario.bag.equator_diameter_mm / 2, zonule.ciliary_ring_diameter_mm / 2
    lines = [f"<circle r='{outer:.3f}' fill='none' stroke='#bbbbbb' stroke-width='.08' stroke-dasharray='.25 .2'/>"]
    for hour in range(1, 13):
        strength = float(zonule.strength_by_hour.get(hour, zonule.strength))
        for shift in (-1 / 3, 0, 1 / 3):
            style = f"stroke='{_ZONULE}' stroke-opacity='{0.2 + 0.8 * strength:.2f}'" + (
                " stroke-dasharray='.06 .15'" if strength < 0.05 else ""
            )
            lines.append(
                _line(at_hour(hour + shift, inner), at_hour(hour + shift, outer), style, 0.03 + 0.07 * strength)
            )
    return lines


def _leaf(scenario: Scenario) -> list[str]:
    return [
        f"<circle r='{scenario.bag.equator_diameter_mm / 2:.3f}' fill='#f2f2f2' fill-opacity='.6' "
        f"stroke='{_BAG}' stroke-width='.1'/>"
    ]


def _lens(scenario: Scenario) -> list[str]:
    lens = scenario.lens
    if lens is None:
        return []
    radius, equator = lens.optic_diameter_mm / 2, scenario.bag.equator_diameter_mm / 2
    parts = []
    for k in range(lens.haptics):
        hour, half = lens.axis_hour + 12 * k / lens.haptics, lens.haptic_arc_degrees / 60
        parts.append(_line(at_hour(hour, radius), at_hour(hour, equator), f"stroke='{_OPTIC}'", 0.12))
        parts.append(
            _path([at_hour(hour + half * t / 6, equator) for t in range(-6, 7)], f"fill='none' stroke='{_OPTIC}'", 0.2)
        )
    return parts + [
        f"<circle r='{radius:.3f}' fill='{_OPTIC}' fill-opacity='.15' stroke='{_OPTIC}' stroke-width='.08'/>"
    ]


def _tension_ring(scenario: Scenario) -> list[str]:
    ring = scenario.tension_ring
    if ring is None:
        return []
    radius = scenario.bag.equator_diameter_mm / 2 - 0.12
    # As it lies inside the equator: the wire keeps its length, the gap changes.
    half = min(5.9, ring.arc_degrees / 60 * ring.free_diameter_mm / (2 * radius))
    hours = [ring.gap_hour + 6 + half * t / 40 for t in range(-40, 41)]
    return [_path([at_hour(hour, radius) for hour in hours], f"fill='none' stroke='{_RING}'", 0.16)]


def outline_of_opening(scenario: Scenario, points: int = 96) -> list[Point]:
    """The stated opening as a polygon [mm], y up."""
    opening = scenario.opening
    if opening.outline_mm:
        return [(float(x), float(y)) for x, y in opening.outline_mm]
    along, across = opening.diameters_mm or (opening.diameter_mm, opening.diameter_mm)
    axis, (cx, cy) = math.radians(90 - 30 * opening.axis_hour), opening.center_mm
    outline = []
    for k in range(points):
        turn = 2 * math.pi * k / points
        u, v = along / 2 * math.cos(turn), across / 2 * math.sin(turn)
        outline.append((cx + u * math.cos(axis) - v * math.sin(axis), cy + u * math.sin(axis) + v * math.cos(axis)))
    return outline


def _opening(scenario: Scenario) -> list[str]:
    return [
        _path(outline_of_opening(scenario), f"fill='#ffffff' fill-opacity='.7' stroke='{_OPENING}'", 0.12, closed=True)
    ]


def _cuts(scenario: Scenario) -> list[str]:
    parts = []
    outline = outline_of_opening(scenario)
    for event in scenario.events:
        if "relaxing_cuts" not in list(event):
            continue
        cuts = event.relaxing_cuts
        for hour in cuts.hours:
            start = min(outline, key=lambda point: _angle_between(point, at_hour(hour, 1)))
            radius = math.hypot(*start)
            parts.append(_line(at_hour(hour, radius), at_hour(hour, radius + cuts.length_mm), f"stroke='{_CUT}'", 0.12))
    return parts


def _clock(scenario: Scenario) -> list[str]:
    radius = scenario.zonule.ciliary_ring_diameter_mm / 2 + 0.55
    texts = [_text(at_hour(hour, radius), str(hour)) for hour in range(1, 13)]
    if scenario.eye in ("right", "left"):
        sides = ("nasal", "temporal") if scenario.eye == "right" else ("temporal", "nasal")
        texts += [_text((sign * (radius - 0.2), -0.75), side, 0.42) for sign, side in zip((1, -1), sides)]
    return texts


def _angle_between(a: Point, b: Point) -> float:
    return abs(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]))


def _line(a: Point, b: Point, style: str, width: float) -> str:
    return (
        f"<line x1='{a[0]:.3f}' y1='{-a[1]:.3f}' x2='{b[0]:.3f}' y2='{-b[1]:.3f}' {style} stroke-width='{width:.3f}'/>"
    )


def _path(points: list[Point], style: str, width: float, closed: bool = False) -> str:
    text = "L".join(f"{x:.3f},{-y:.3f}" for x, y in points)
    return f"<path d='M{text}{'Z' if closed else ''}' {style} stroke-width='{width:.3f}'/>"


def _text(at: Point, text: str, size: float = 0.6) -> str:
    return (
        f"<text x='{at[0]:.3f}' y='{-at[1]:.3f}' font-size='{size}' font-family='sans-serif' fill='#444444' "
        f"text-anchor='middle' dominant-baseline='central'>{html.escape(text)}</text>"
    )
