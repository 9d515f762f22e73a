// SPDX-License-Identifier: BSD-3-Clause
// Written by bindings/generate.py from the lists of the library: change those, not this file.
/** What a run records, and how it may end. */

/** How a run ended. Everything but `completed` leaves a partial history. */
export type Status =
  | "completed" // The run reached its last day.
  | "cancelled" // The caller asked it to stop.
  | "no_equilibrium" // No shape at rest was found.
  | "folded_element" // An element of the leaf would have folded over.
  | "too_many_steps" // The limit on time steps was reached.
  | "non_finite" // A number became infinite or undefined.
  | "too_much_work" // The budget of work was spent.
  | "step_too_small"; // The time step shrank away.

/** What the values of one row of a series are. */
export type Axis =
  | "one" // [rows]
  | "xy" // [rows, 2]
  | "clock_hour" // [rows, 12]; column 0 is 12 o'clock, column 3 is 3 o'clock
  | "pupil" // [rows, 3]
  | "cut" // [rows, cuts]; only with cut lines
  | "rim_point" // [rows, 2 x points], x0 y0 x1 y1 ...
  | "equator_point" // [rows, 2 x points], x0 y0 x1 y1 ...
  | "ring_point" // [rows, 2 x nodes], x0 y0 x1 y1 ...; only with a ring
  | "other"; // of another version

/** Every series that a run can record. */
export type SeriesName =
  | "day" // Days since the end of surgery.
  | "event_side" // -1 just before an event, 1 just after, 0 on other days.
  | "opening_area_mm2" // Visible area of the opening, slits that gape included.
  | "opening_diameter_mm" // Diameter of the circle of the same area.
  | "opening_min_diameter_mm" // Smallest chord through the opening's centroid.
  | "opening_max_diameter_mm" // Largest chord through the opening's centroid.
  | "opening_min_meridian_hour" // Clock hour (0..6] of the smallest chord.
  | "opening_max_meridian_hour" // Clock hour (0..6] of the largest chord.
  | "clear_circle_diameter_mm" // Largest circle about the pupil centre inside the opening.
  | "opening_center_mm" // Centroid of the opening.
  | "lens_center_mm" // Centre of the optic; the pupil centre when there is no lens.
  | "lens_rotation_deg" // Rotation of the optic, counter-clockwise.
  | "equator_center_mm" // Centroid of the area inside the equator.
  | "equator_diameter_mm" // Diameter of the circle of the equator's area.
  | "equator_min_diameter_mm" // Smallest chord of the equator through its centroid.
  | "equator_max_diameter_mm" // Largest chord of the equator through its centroid.
  | "zonule_load_mN" // Tension of the zonule per clock hour, 12 o'clock first.
  | "zonule_load_total_mN" // Sum of the tensions of all bundles.
  | "zonule_load_max_mN" // Largest load of one clock hour.
  | "rim_tension_mN_per_mm" // Mean hoop tension at the rim, leaf and fibres, per reference length.
  | "rim_stretch" // Mean hoop stretch at the rim over its stress-free length.
  | "rim_stretch_max" // Largest hoop stretch at the rim.
  | "fibrous_tissue" // Mean fraction of the full fibrous thickness over the contact zone.
  | "fibrous_tissue_by_hour" // The same within each clock hour, 12 o'clock first: where cells were polished away there is less.
  | "fibrous_tissue_volume_mm3" // Fibrous tissue: fraction times full thickness times reference area.
  | "rim_overlap_mm" // Overlap of rim on optic at each clock hour seen from the optic's centre; negative: the rim has retracted.
  | "rim_overlap_min_mm" // Smallest overlap of rim on optic all round.
  | "rim_overlap_min_hour" // Where the overlap is smallest.
  | "pupil_clear_fraction" // Part of a 2.2, 4.0 and 5.0 mm pupil that the opening leaves clear.
  | "haptic_push_mN" // Sum of the pushes of the haptics on the equator.
  | "ring_load_mN" // Sum of the push of the tension ring on the equator.
  | "ring_end_gap_mm" // Gap between the ring's ends along the fornix; negative: they overlap.
  | "energy_uJ" // Potential energy of all parts.
  | "residual_mN" // Largest unbalanced force.
  | "cut_gape_mm" // Gap between the lips at the rim, per cut line; 0 before the cut, negative when the lips cross.
  | "cut_tip_release_mN" // Energy released per mm of further cut at each tip; 0 before the cut.
  | "cut_tip_to_optic_edge_mm" // Distance of each tip inside the edge of the optic; negative: outside.
  | "cut_tip_to_equator_mm" // Distance of each tip from the equator.
  | "lips_cross" // 1 when lips of a cut have crossed, so that the area is not to be trusted.
  | "rim_outline_mm" // Rim polygon, counter-clockwise, round every planned cut line.
  | "equator_outline_mm" // Equator polygon, counter-clockwise.
  | "ring_outline_mm"; // Nodes of the tension ring from end to end; all zero before insertion.

/** How the run went, in numbers. */
export interface Diagnostics {
  steps: number; // Accepted time steps.
  rejected_steps: number; // Time steps that were tried and repeated with a shorter one.
  right_hand_sides: number; // Evaluations of the contraction law.
  equilibria: number; // Equilibria that were solved.
  newton_iterations: number; // Newton iterations of all equilibria.
  max_newton_iterations: number; // Most Newton iterations in one equilibrium of a time step (not at day 0 or an event).
  factorizations: number; // Factorizations of the stiffness matrix.
  residual_mN: number; // Largest unbalanced nodal force at the last equilibrium.
  tolerance_mN: number; // What the unbalanced force has to fall below.
  worst_element_hour: number; // Clock hour of the most distorted element.
  worst_element_ratio: number; // Smallest area ratio of an element, deformed over reference.
  last_good_day: number; // Last day whose equilibrium was found.
  wall_seconds: number; // Time taken by model, day 0 and all steps.
  projected_factorizations: number; // Factorizations with the positive-definite fallback.
  seconds_elements: number; // Time taken by energies, gradients and Hessians of the parts.
  seconds_factor: number; // Time taken by factorizations.
  seconds_solve: number; // Time taken by solves with a factor.
  work: number; // What the unloaded shape and all equilibria took, in factorizations; an evaluation of all forces counts an eighth.
  least_pivot_mN_per_mm: number; // Least pivot of the exact stiffness at the last equilibrium that was looked at; 0: none was.
  saddles_left: number; // Times that balanced forces were a saddle, which was left downhill.
}

/** Pupils that a clear fraction is given for. */
export const pupilDiameters_mm = [2.2, 4, 5] as const;
