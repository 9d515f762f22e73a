# SPDX-License-Identifier: BSD-3-Clause
# Written by bindings/generate.py from the lists of the library: change those, not this file.
"""What a run records: every series declared with its shape and unit, its diagnostics, and how it may end."""

from __future__ import annotations

from dataclasses import dataclass

from .series_attribute import FloatArray, series

STATUSES = {
    "completed": "The run reached its last day.",
    "cancelled": "The caller asked it to stop.",
    "no_equilibrium": "No shape at rest was found.",
    "folded_element": "An element of the leaf would have folded over.",
    "too_many_steps": "The limit on time steps was reached.",
    "non_finite": "A number became infinite or undefined.",
    "too_much_work": "The budget of work was spent.",
    "step_too_small": "The time step shrank away.",
}
"""How a run may end, and what each word means."""


class RecordedSeries:
    """Every series that a run can record, as an attribute of its own name."""

    day: FloatArray = series("Days since the end of surgery [d], [rows].")
    event_side: FloatArray = series("-1 just before an event, 1 just after, 0 on other days, [rows].")
    opening_area_mm2: FloatArray = series("Visible area of the opening, slits that gape included [mm2], [rows].")
    opening_diameter_mm: FloatArray = series("Diameter of the circle of the same area [mm], [rows].")
    opening_min_diameter_mm: FloatArray = series("Smallest chord through the opening's centroid [mm], [rows].")
    opening_max_diameter_mm: FloatArray = series("Largest chord through the opening's centroid [mm], [rows].")
    opening_min_meridian_hour: FloatArray = series("Clock hour (0..6] of the smallest chord [h], [rows].")
    opening_max_meridian_hour: FloatArray = series("Clock hour (0..6] of the largest chord [h], [rows].")
    clear_circle_diameter_mm: FloatArray = series(
        "Largest circle about the pupil centre inside the opening [mm], [rows]."
    )
    opening_center_mm: FloatArray = series("Centroid of the opening [mm], [rows, 2].")
    lens_center_mm: FloatArray = series("Centre of the optic; the pupil centre when there is no lens [mm], [rows, 2].")
    lens_rotation_deg: FloatArray = series("Rotation of the optic, counter-clockwise [deg], [rows].")
    equator_center_mm: FloatArray = series("Centroid of the area inside the equator [mm], [rows, 2].")
    equator_diameter_mm: FloatArray = series("Diameter of the circle of the equator's area [mm], [rows].")
    equator_min_diameter_mm: FloatArray = series("Smallest chord of the equator through its centroid [mm], [rows].")
    equator_max_diameter_mm: FloatArray = series("Largest chord of the equator through its centroid [mm], [rows].")
    zonule_load_mN: FloatArray = series(
        "Tension of the zonule per clock hour, 12 o'clock first [mN], [rows, 12]; column 0 is 12 o'clock, column 3 is "
        "3 o'clock."
    )
    zonule_load_total_mN: FloatArray = series("Sum of the tensions of all bundles [mN], [rows].")
    zonule_load_max_mN: FloatArray = series("Largest load of one clock hour [mN], [rows].")
    rim_tension_mN_per_mm: FloatArray = series(
        "Mean hoop tension at the rim, leaf and fibres, per reference length [mN/mm], [rows]."
    )
    rim_stretch: FloatArray = series("Mean hoop stretch at the rim over its stress-free length, [rows].")
    rim_stretch_max: FloatArray = series("Largest hoop stretch at the rim, [rows].")
    fibrous_tissue: FloatArray = series("Mean fraction of the full fibrous thickness over the contact zone, [rows].")
    fibrous_tissue_by_hour: FloatArray = series(
        "The same within each clock hour, 12 o'clock first: where cells were polished away there is less, [rows, 12]; "
        "column 0 is 12 o'clock, column 3 is 3 o'clock."
    )
    fibrous_tissue_volume_mm3: FloatArray = series(
        "Fibrous tissue: fraction times full thickness times reference area [mm3], [rows]."
    )
    rim_overlap_mm: FloatArray = series(
        "Overlap of rim on optic at each clock hour seen from the optic's centre; negative: the rim has retracted "
        "[mm], [rows, 12]; column 0 is 12 o'clock, column 3 is 3 o'clock."
    )
    rim_overlap_min_mm: FloatArray = series("Smallest overlap of rim on optic all round [mm], [rows].")
    rim_overlap_min_hour: FloatArray = series("Where the overlap is smallest [h], [rows].")
    pupil_clear_fraction: FloatArray = series(
        "Part of a 2.2, 4.0 and 5.0 mm pupil that the opening leaves clear, [rows, 3]."
    )
    haptic_push_mN: FloatArray = series("Sum of the pushes of the haptics on the equator [mN], [rows].")
    ring_load_mN: FloatArray = series("Sum of the push of the tension ring on the equator [mN], [rows].")
    ring_end_gap_mm: FloatArray = series(
        "Gap between the ring's ends along the fornix; negative: they overlap [mm], [rows]."
    )
    energy_uJ: FloatArray = series("Potential energy of all parts [uJ], [rows].")
    residual_mN: FloatArray = series("Largest unbalanced force [mN], [rows].")
    cut_gape_mm: FloatArray = series(
        "Gap between the lips at the rim, per cut line; 0 before the cut, negative when the lips cross [mm], [rows, "
        "cuts]; only with cut lines."
    )
    cut_tip_release_mN: FloatArray = series(
        "Energy released per mm of further cut at each tip; 0 before the cut [mN], [rows, cuts]; only with cut lines."
    )
    cut_tip_to_optic_edge_mm: FloatArray = series(
        "Distance of each tip inside the edge of the optic; negative: outside [mm], [rows, cuts]; only with cut lines."
    )
    cut_tip_to_equator_mm: FloatArray = series(
        "Distance of each tip from the equator [mm], [rows, cuts]; only with cut lines."
    )
    lips_cross: FloatArray = series("1 when lips of a cut have crossed, so that the area is not to be trusted, [rows].")
    rim_outline_mm: FloatArray = series(
        "Rim polygon, counter-clockwise, round every planned cut line [mm], [rows, 2 x points], x0 y0 x1 y1 ...."
    )
    equator_outline_mm: FloatArray = series(
        "Equator polygon, counter-clockwise [mm], [rows, 2 x points], x0 y0 x1 y1 ...."
    )
    ring_outline_mm: FloatArray = series(
        "Nodes of the tension ring from end to end; all zero before insertion [mm], [rows, 2 x nodes], x0 y0 x1 y1 "
        "...; only with a ring."
    )


@dataclass(frozen=True)
class Diagnostics:
    """How the run went, in numbers.

    >>> history.diagnostics.steps > 0
    True
    """

    steps: int
    """Accepted time steps."""
    rejected_steps: int
    """Time steps that were tried and repeated with a shorter one."""
    right_hand_sides: int
    """Evaluations of the contraction law."""
    equilibria: int
    """Equilibria that were solved."""
    newton_iterations: int
    """Newton iterations of all equilibria."""
    max_newton_iterations: int
    """Most Newton iterations in one equilibrium of a time step (not at day 0 or an event)."""
    factorizations: int
    """Factorizations of the stiffness matrix."""
    residual_mN: float
    """Largest unbalanced nodal force at the last equilibrium [mN]."""
    tolerance_mN: float
    """What the unbalanced force has to fall below [mN]."""
    worst_element_hour: float
    """Clock hour of the most distorted element [clock hour]."""
    worst_element_ratio: float
    """Smallest area ratio of an element, deformed over reference."""
    last_good_day: float
    """Last day whose equilibrium was found [day]."""
    wall_seconds: float
    """Time taken by model, day 0 and all steps [s]."""
    projected_factorizations: int
    """Factorizations with the positive-definite fallback."""
    seconds_elements: float
    """Time taken by energies, gradients and Hessians of the parts [s]."""
    seconds_factor: float
    """Time taken by factorizations [s]."""
    seconds_solve: float
    """Time taken by solves with a factor [s]."""
    work: float
    """What the unloaded shape and all equilibria took, in factorizations; an evaluation of all forces counts an eighth."""
    least_pivot_mN_per_mm: float
    """Least pivot of the exact stiffness at the last equilibrium that was looked at; 0: none was [mN/mm]."""
    saddles_left: int
    """Times that balanced forces were a saddle, which was left downhill."""
    outline_off_mm: float
    """Largest distance of the rim from the stated outline where it can't lie there and only its area is as stated; 0: it does [mm]."""
