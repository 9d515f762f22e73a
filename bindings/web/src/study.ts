// SPDX-License-Identifier: BSD-3-Clause
/** Plans of a crowd: what is asked, and the library's own answer. The theory page says how each number is made. */

import type { ContractionLaw, Scenario } from "./scenario.js";

interface StudyOf {
  population: string;
  eyes: number; // the first so many of the population
  laws?: ContractionLaw[]; // left out: all that the population was fitted for
}

/** Every plan for every eye under every law. */
export interface CompareRequest extends StudyOf {
  kind: "compare";
  plans: Scenario[];
}
/** When to look: on which days eyes cross a threshold, and what schedules of visits find. */
export interface VisitsRequest extends StudyOf {
  kind: "visits";
  plans: [Scenario];
  threshold?: { quantity?: string; limit?: number; below?: boolean };
}
/** Where to cut: layouts side by side. Left out: two, three and four cuts evenly and three on one side. */
export interface CutsRequest extends StudyOf {
  kind: "cuts";
  plans: [Scenario];
  layouts?: { name: string; hours: number[]; length_mm: number; day: number }[];
}
export type StudyRequest = CompareRequest | VisitsRequest | CutsRequest;

/** k of n eyes with the interval that holds the true share in about 95 of 100 crowds. */
export interface Proportion {
  count: number;
  of: number;
  share: number | null;
  low: number;
  high: number;
}
/** A tenth of the eyes lie below `low` and above `high`; null of no eye at all. */
export interface Quantiles {
  low: number | null;
  median: number | null;
  high: number | null;
}

interface StudyAnswer {
  population: string; // with its edition
  laws: ContractionLaw[];
  eyes: number;
  cancelled: boolean;
  cautions: string[]; // to be shown wherever the result is shown
  status: string[];
}
export interface Comparison extends StudyAnswer {
  format: "capsim-comparison";
  plans: string[];
  values: (number | null)[]; // [quantity, law, plan, eye]
}
export interface VisitStudy extends StudyAnswer {
  format: "capsim-visit-study";
  plan: string;
  threshold: { quantity: string; limit: number; below: boolean };
  duration_days: number;
  crossing_day: (number | null)[]; // [law, eye]; null: never
  crosses: Proportion[]; // [law]
  day_quantiles: Quantiles[]; // [law]
  schedules: {
    schedule: string;
    law: ContractionLaw;
    days: number[];
    found: Proportion[];
    ever_found: Proportion;
    days_late: Quantiles;
    opening_diameter_mm: Quantiles;
    days_late_at: Quantiles[]; // [visit] of the eyes found there
    opening_diameter_mm_at: Quantiles[];
  }[];
  signs: {
    measurement: string;
    unit: string;
    day: number;
    cut: number;
    below: boolean;
    sensitivity: Proportion[]; // [law], then all together
    specificity: Proportion[];
  }[];
}
/** What a layout of cuts does, by law. */
export type CutQuantity =
  | "area_back_mm2"
  | "clear_circle_back_mm"
  | "area_kept_mm2"
  | "clear_circle_kept_mm"
  | "lens_decentration_change_mm"
  | "opening_decentration_change_mm"
  | "zonule_load_max_mN"
  | "tip_to_optic_edge_mm"
  | "tip_to_equator_mm"
  | "tip_release_mN";
export type LayoutRow = {
  name: string;
  hours: number[];
  length_mm: number;
  day: number;
  nothing_beats: boolean;
  unbeaten_in: Proportion;
  beyond_optic: Proportion;
  near_equator: Proportion;
  lips_overlap: Proportion;
} & Record<CutQuantity, Partial<Record<ContractionLaw, Quantiles>>>;
export interface CutStudy extends StudyAnswer {
  format: "capsim-cut-study";
  plan: string;
  layouts: LayoutRow[];
}

/** The answer that belongs to a request. */
export type StudyOfRequest<R extends StudyRequest> = R extends { kind: "compare" }
  ? Comparison
  : R extends { kind: "visits" }
    ? VisitStudy
    : CutStudy;
