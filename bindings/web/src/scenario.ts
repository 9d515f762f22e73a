// SPDX-License-Identifier: BSD-3-Clause
/** A scenario as the library reads and writes it: plain JSON, the unit of each number in its name.
 *  Every field but `format` and `version` may be left out; the engine fills in its default. */

/** Values by clock hour, "1" .. "12". */
export type ByHour = Record<string, number>;
export type Point = [number, number];
export type Eye = "unspecified" | "right" | "left";

export interface Opening {
  diameter_mm?: number;
  diameters_mm?: Point | null;
  axis_hour?: number;
  center_mm?: Point;
  outline_mm?: Point[];
  measured_under?: "own_zonule" | "full_strength_zonule" | "stress_free";
}

export interface Capsule {
  law?: "neo_hookean" | "fung";
  modulus_kPa?: number;
  fung_c_kPa?: number;
  fung_a1?: number;
  fung_a2?: number;
  anterior_thickness_um?: number;
  anterior_thickness_profile?: { radius_ratio: number; thickness_um: number }[];
  posterior_thickness_um?: number;
  compression_fraction?: number;
}

export interface Zonule {
  stiffness_mN_per_mm?: number;
  pull_mN?: number;
  strength?: number;
  strength_by_hour?: ByHour;
  interpolation?: "stepwise" | "smooth";
  ciliary_ring_diameter_mm?: number;
  attachment?: "equator" | "split";
  anterior_share?: number;
  anterior_inset_mm?: number;
  failure_elongation_mm?: number | null;
}

export interface TensionRing {
  free_diameter_mm?: number;
  wire_diameter_mm?: number;
  modulus_kPa?: number;
  creep_fraction?: number;
  creep_time_days?: number;
  gap_hour?: number;
  arc_degrees?: number;
  eyelet_hour?: number | null;
  eyelet_stiffness_mN_per_mm?: number;
}

export interface Lens {
  optic_diameter_mm?: number;
  haptics?: number;
  axis_hour?: number;
  haptic_force_mN?: number;
  overall_diameter_mm?: number;
  haptic_arc_degrees?: number;
  relaxed_fraction?: number;
  relaxation_days?: number;
  adhesion_kPa_per_mm?: number;
}

export type ContractionLaw = "fibre_remodelling" | "active_lock_in";

export interface Contraction {
  cells_left?: number;
  cells_left_by_hour?: ByHour;
  interpolation?: "stepwise" | "smooth";
  chronic_signal?: number;
  law?: ContractionLaw;
  /** The rates and stiffnesses of the law: see the library's parameter table. */
  [parameter: string]: number | string | ByHour | null | undefined;
}

export interface RelaxingCuts {
  hours: number[];
  length_mm?: number;
}

/** What happens on one day: exactly one action. */
export interface ScenarioEvent {
  day: number;
  relaxing_cuts?: RelaxingCuts;
  zonule_damage?: { strength_by_hour: ByHour };
  tension_ring?: TensionRing;
}

export interface Scenario {
  format: "capsim-scenario";
  version: 1;
  name?: string;
  eye?: Eye;
  duration_days?: number;
  output_every_days?: number;
  bag?: { equator_diameter_mm?: number };
  opening?: Opening;
  capsule?: Capsule;
  zonule?: Zonule;
  tension_ring?: TensionRing | null;
  lens?: Lens | null;
  contraction?: Contraction;
  events?: ScenarioEvent[];
  mesh?: { around?: number; radial?: number; order?: number };
  numerics?: { time_tolerance?: number; force_tolerance?: number; max_step_days?: number; max_steps?: number };
}
