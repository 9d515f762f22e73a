// SPDX-License-Identifier: BSD-3-Clause
/** What a little more in each clock hour does to the opening and the lens of the last day, and to the largest load: from the derivatives of
 *  the run itself. */

import type { Scenario, Sensitivities, SensitivityRequest } from "capsim";
import { atLevel } from "./eye_settings.js";
import { allHours } from "./frame.js";

/** Of a healthy hour of the zonule, and of all cells of an hour. */
export const share = 0.1;
/** Hours that differ by less than this part of the largest are called alike: the mesh makes some of it. */
const alike = 0.2;
/** What may be asked about, each with a change in its unit that nobody would see. */
export const measures = {
  area: { outcome: "opening_area_mm2", unit: "mm²", unseen: 0.01 },
  lens: { outcome: "lens_decentration_mm", unit: "mm", unseen: 0.001 },
  load: { outcome: "zonule_load_max_mN", unit: "mN", unseen: 0.01 },
} as const;
export type Measure = keyof typeof measures;

export const places = ["zonule", "cells"] as const;
export type Place = (typeof places)[number];
const pathOf: Record<Place, string> = { zonule: "zonule.strength_by_hour", cells: "contraction.cells_left_by_hour" };

export const influenceRequest = (scenario: Scenario): SensitivityRequest => ({
  scenario: atLevel(scenario, "coarse") as Scenario,
  parameters: places.flatMap((place) => allHours.map((hour) => `${pathOf[place]}.${hour}`)),
});

/** Change of the measure, in its unit, for a tenth more, [0] for 1 o'clock. NaN at an hour that has none: the first fibre of a gap changes
 *  more than a line through it says. */
export type Influence = Record<Place, number[]> & { readonly measure: Measure };

/** Undefined when the run has no such derivatives. */
export function influenceOf(found: Sensitivities, measure: Measure = "area"): Influence | undefined {
  const all = found.of(measures[measure].outcome);
  if (all === undefined || all.some((v) => !Number.isFinite(v))) return undefined;
  const of = (index: number): number[] =>
    allHours.map((_, i) => {
      const at = index * allHours.length + i;
      return found.parameters[at]!.one_sided ? Number.NaN : share * all[at]!;
    });
  return { measure, zonule: of(0), cells: of(1) };
}

/** The hour that matters most and what it does; undefined when no hour stands out. Of the lens it is the hour that moves it back most,
 *  where one does. */
export function strongest(
  changes: readonly number[],
  measure: Measure = "area",
): { hour: number; change: number } | undefined {
  const told = changes.filter((v) => !Number.isNaN(v)),
    most = Math.max(...told.map(Math.abs));
  if (most < measures[measure].unseen || !(Math.max(...told) - Math.min(...told) > alike * most)) return undefined;
  const back = Math.min(...told),
    at = changes.findIndex((v) =>
      measure === "lens" && back < -measures.lens.unseen ? v === back : Math.abs(v) === most,
    );
  return { hour: allHours[at]!, change: changes[at]! };
}
