// SPDX-License-Identifier: BSD-3-Clause
// Written by bindings/generate.py from the lists of the library: change those, not this file.
/** A scenario as the library reads and writes it: plain JSON, the unit of each number in its name.
 *  Every field but `format` and `version` may be left out; the engine fills in its default. */

export type ClockHour = "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "10" | "11" | "12";
/** Values by clock hour. */
export type ByHour = { [hour in ClockHour]?: number };
export type Point = [number, number];

export interface TensionRing {
  free_diameter_mm?: number; // >= 5 and <= 25
  wire_diameter_mm?: number; // >= 0.05 and <= 1
  modulus_kPa?: number; // >= 10000 and <= 1e+08
  creep_fraction?: number; // >= 0.01 and <= 1
  creep_time_days?: number; // >= 0.01 and <= 10000
  gap_hour?: number; // > 0 and <= 12
  arc_degrees?: number; // >= 60 and <= 350
  eyelet_hour?: number | null; // > 0 and <= 12
  eyelet_stiffness_mN_per_mm?: number; // >= 0 and <= 10000
}

export interface Lens {
  optic_diameter_mm?: number; // >= 3 and <= 9
  haptics?: number; // >= 2 and <= 4
  axis_hour?: number; // > 0 and <= 12
  haptic_force_mN?: number; // >= 0 and <= 100
  overall_diameter_mm?: number; // >= 5 and <= 25
  haptic_arc_degrees?: number; // >= 5 and <= 170
  relaxed_fraction?: number; // >= 0 and <= 1
  relaxation_days?: number; // >= 0.01 and <= 10000
  adhesion_kPa_per_mm?: number; // >= 0 and <= 1e+06
}

export type Eye = "right" | "left" | null;

export interface Bag {
  equator_diameter_mm?: number; // >= 4 and <= 20
}

export interface Opening {
  diameter_mm?: number; // >= 0.5 and <= 19
  diameters_mm?: Point | null;
  axis_hour?: number; // > 0 and <= 12
  center_mm?: Point;
  outline_mm?: Point[];
  measured_under?: "end_of_surgery" | "own_zonule" | "full_strength_zonule" | "stress_free";
}

export interface Capsule {
  law?: "neo_hookean" | "fung";
  modulus_kPa?: number; // >= 1 and <= 100000
  fung_c_kPa?: number; // >= 1 and <= 100000
  fung_a1?: number; // > 0 and <= 100
  fung_a2?: number; // >= -100 and <= 100
  anterior_thickness_um?: number; // >= 0.5 and <= 100
  anterior_thickness_profile?: { radius_ratio?: number; thickness_um: number }[];
  posterior_thickness_um?: number;
  compression_fraction?: number; // >= 0.001 and <= 1
}

export interface Zonule {
  stiffness_mN_per_mm?: number; // >= 0 and <= 5000
  pull_mN?: number; // >= 0 and <= 1000
  strength?: number; // >= 0 and <= 1
  strength_by_hour?: ByHour;
  interpolation?: "stepwise" | "smooth";
  ciliary_ring_diameter_mm?: number; // >= 5 and <= 25
  attachment?: "equator" | "split";
  anterior_share?: number; // >= 0 and <= 1
  anterior_inset_mm?: number; // >= 0.1 and <= 4
  failure_elongation_mm?: number | null; // >= 0.1 and <= 20
}

export interface Contraction {
  cells_left?: number; // >= 0 and <= 1
  cells_left_by_hour?: ByHour;
  interpolation?: "stepwise" | "smooth";
  chronic_signal?: number; // >= 0 and <= 1
  signal_days?: number; // >= 0.01 and <= 10000
  regrowth_per_day?: number; // >= 0 and <= 10
  activation_per_day?: number; // >= 0 and <= 10
  deactivation_per_day?: number; // >= 0 and <= 10
  tissue_per_day?: number; // >= 0 and <= 10
  remodelling_days?: number; // >= 0.01 and <= 10000
  laying_stretch?: number; // >= 1 and <= 2
  packing_limit?: number; // >= 0.05 and <= 0.95
  fibre_modulus_kPa?: number; // >= 0 and <= 100000
  matrix_modulus_kPa?: number; // >= 0 and <= 100000
  tissue_thickness_mm?: number; // >= 0 and <= 0.5
  hoop_weight?: number; // >= 0 and <= 10
  diagonal_weight?: number; // >= 0 and <= 10
  radial_weight?: number; // >= 0 and <= 10
  band_width_mm?: number | null; // >= 0.05 and <= 100
  edge_width_mm?: number; // >= 0 and <= 1
  contact_diameter_mm?: number | null; // >= 0.5 and <= 20
  cells_beyond_contact?: number; // >= 0 and <= 1
  unloaded_deactivation_per_day?: number; // >= 0 and <= 10
  law?: "fibre_remodelling" | "active_lock_in";
  active_tension_mN_per_mm?: number; // >= 0 and <= 1000
  active_radial_share?: number; // >= 0 and <= 10
  lock_in_per_day?: number; // >= 0 and <= 10
  locked_modulus_kPa?: number; // >= 0 and <= 1e+06
}

export interface BagTissue {
  fibre_modulus_kPa?: number; // >= 0 and <= 100000
  active_tension_mN_per_mm?: number; // >= 0 and <= 1000
  tissue_thickness_mm?: number; // >= 0.001 and <= 0.5
  hoop_weight?: number; // >= 0 and <= 10
  diagonal_weight?: number; // >= 0 and <= 10
  radial_weight?: number; // >= 0 and <= 10
  cells_left?: number; // >= 0 and <= 1
  cells_left_by_hour?: ByHour;
  clear_zone_mm?: number; // >= 0 and <= 5
  bond_kPa_per_mm?: number; // >= 0 and <= 100000
  haptic_bond_mN_per_mm?: number; // >= 0 and <= 10000
  inner_diameter_mm?: number | null; // >= 0.5 and <= 20
}

/** Numbers of elements, or a level that stands for them. */
export type Mesh =
  | { around?: number; radial?: number; order?: number; tip_layers?: number }
  | { level: "coarse" | "standard" | "fine" };

export interface Numerics {
  time_tolerance?: number; // >= 1e-09 and <= 0.05
  force_tolerance?: number; // >= 1e-11 and <= 0.0001
  max_step_days?: number; // >= 0.001 and <= 100
  max_steps?: number; // >= 1 and <= 1e+07
  max_work?: number; // >= 100 and <= 1e+09
}

export interface RelaxingCuts {
  hours: number[];
  length_mm?: number; // >= 0.05 and <= 8
}

export interface ZonuleDamage {
  strength_by_hour: ByHour;
}

export interface ContractionChange {
  chronic_signal?: number | null; // >= 0 and <= 1
  signal_days?: number | null; // >= 0.01 and <= 10000
  regrowth_per_day?: number | null; // >= 0 and <= 10
  activation_per_day?: number | null; // >= 0 and <= 10
  deactivation_per_day?: number | null; // >= 0 and <= 10
  tissue_per_day?: number | null; // >= 0 and <= 10
  remodelling_days?: number | null; // >= 0.01 and <= 10000
  laying_stretch?: number | null; // >= 1 and <= 2
  unloaded_deactivation_per_day?: number | null; // >= 0 and <= 10
  active_tension_mN_per_mm?: number | null; // >= 0 and <= 1000
  active_radial_share?: number | null; // >= 0 and <= 10
  lock_in_per_day?: number | null; // >= 0 and <= 10
}

/** What happens on one day: exactly one action. */
export type ScenarioEvent =
  | {
      day: number;
      relaxing_cuts: RelaxingCuts;
      zonule_damage?: never;
      tension_ring?: never;
      contraction_change?: never;
    }
  | {
      day: number;
      zonule_damage: ZonuleDamage;
      relaxing_cuts?: never;
      tension_ring?: never;
      contraction_change?: never;
    }
  | {
      day: number;
      tension_ring: TensionRing;
      relaxing_cuts?: never;
      zonule_damage?: never;
      contraction_change?: never;
    }
  | {
      day: number;
      contraction_change: ContractionChange;
      relaxing_cuts?: never;
      zonule_damage?: never;
      tension_ring?: never;
    };

export interface Scenario {
  format: "capsim-scenario";
  version: 1;
  name?: string;
  eye?: Eye;
  duration_days?: number; // >= 0 and <= 10000
  output_every_days?: number; // >= 0.01 and <= 10000
  bag?: Bag;
  opening?: Opening;
  capsule?: Capsule;
  zonule?: Zonule;
  tension_ring?: TensionRing | null;
  lens?: Lens | null;
  contraction?: Contraction;
  bag_tissue?: BagTissue;
  events?: ScenarioEvent[];
  mesh?: Mesh;
  numerics?: Numerics;
}

export type ContractionLaw = NonNullable<Contraction["law"]>;
