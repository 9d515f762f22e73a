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

/** Every outcome that a run can have; with a number, one for each day of cuts. */
export type OutcomeName =
  | "completed" // 1 when the run reached its last day.
  | "day" // Last day reached.
  | "opening_area_mm2" // Visible area of the opening on the last day.
  | "opening_area_start_mm2" // Visible area of the opening on day 0.
  | "opening_diameter_mm" // Equivalent diameter on the last day.
  | "opening_min_diameter_mm" // Smallest diameter on the last day.
  | "opening_max_diameter_mm" // Largest diameter on the last day.
  | "clear_circle_diameter_mm" // Largest clear circle about the visual axis on the last day.
  | "area_loss_percent" // Loss of opening area from day 0 to the last day.
  | "area_loss_30d_percent" // Loss of opening area from day 0, on day 30 (between output days: linear).
  | "area_loss_90d_percent" // Loss of opening area from day 0, on day 90 (between output days: linear).
  | "area_loss_180d_percent" // Loss of opening area from day 0, on day 180 (between output days: linear).
  | "area_loss_365d_percent" // Loss of opening area from day 0, on day 365 (between output days: linear).
  | "clear_of_2_2_mm_pupil" // Part of a 2.2 mm pupil left clear on the last day.
  | "clear_of_4_0_mm_pupil" // Part of a 4.0 mm pupil left clear on the last day.
  | "clear_of_5_0_mm_pupil" // Part of a 5.0 mm pupil left clear on the last day.
  | "rim_overlap_min_mm" // Smallest overlap of rim on optic on the last day.
  | "rim_overlap_min_hour" // Clock hour of the smallest overlap.
  | "opening_decentration_mm" // Distance of the opening's centre from the pupil centre on the last day.
  | "opening_decentration_hour" // Clock hour towards which the opening has moved.
  | "opening_shift_mm" // Movement of the opening's centre since day 0.
  | "opening_nasal_mm" // Nasal component of the opening's place; negative is temporal.
  | "opening_superior_mm" // Upward component of the opening's place; negative is inferior.
  | "lens_decentration_mm" // Distance of the optic's centre from the pupil centre on the last day.
  | "lens_decentration_hour" // Clock hour towards which the optic has moved.
  | "lens_shift_mm" // Movement of the optic's centre since day 0.
  | "lens_nasal_mm" // Nasal component of the optic's place; negative is temporal.
  | "lens_superior_mm" // Upward component of the optic's place; negative is inferior.
  | "equator_decentration_mm" // Distance of the bag's centre from the pupil centre on the last day.
  | "equator_decentration_hour" // Clock hour towards which the bag has moved.
  | "equator_shift_mm" // Movement of the bag's centre since day 0.
  | "equator_nasal_mm" // Nasal component of the bag's place; negative is temporal.
  | "equator_superior_mm" // Upward component of the bag's place; negative is inferior.
  | "lens_rotation_deg" // Rotation of the optic since day 0, counter-clockwise.
  | "equator_diameter_mm" // Equivalent diameter of the equator on the last day.
  | "equator_loss_mm" // Loss of equator diameter since day 0.
  | "zonule_load_total_mN" // Sum of all zonular tensions on the last day.
  | "zonule_load_max_mN" // Largest load of one clock hour over the whole course.
  | "zonule_load_max_hour" // Clock hour of that load.
  | "zonule_load_max_day" // Day of that load.
  | "rim_tension_mN_per_mm" // Hoop tension at the rim on the last day.
  | "ring_load_mN" // Push of the tension ring on the last day.
  | "ring_end_gap_mm" // Gap between the ring's ends on the last day; negative: they overlap.
  | "fibrous_tissue" // Mean fraction of the full fibrous thickness on the last day.
  | "rim_stretch_max" // Largest hoop stretch at the rim over the whole course.
  | `relief_day_${number}_mm2` // Area given back at once by the cuts of that day.
  | `relief_day_${number}_percent` // The same over the area just before.
  | `clear_circle_gain_day_${number}_mm` // Growth of the largest clear circle.
  | `zonule_load_change_day_${number}_mN` // Change of the total zonular load.
  | `relief_kept_day_${number}_mm2` // Area on the last day over that just before the cuts.
  | "cut_tip_release_max_mN" // Largest energy release per mm of further cut at any tip, over the whole course.
  | "cut_tip_to_optic_edge_mm" // Smallest distance of a tip from the edge of the optic on the last day.
  | "cut_tip_to_equator_mm" // Smallest distance of a tip from the equator on the last day.
  | "runaway_margin"; // Times its present pull that the tissue could sustain for good; only where it was asked for.

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
  outline_off_mm: number; // Largest distance of the rim from the stated outline where it can't lie there and only its area is as stated; 0: it does.
}

/** Pupils that a clear fraction is given for. */
export const pupilDiameters_mm = [2.2, 4, 5] as const;
