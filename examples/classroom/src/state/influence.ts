// SPDX-License-Identifier: BSD-3-Clause
/** What a little more in each clock hour does to the opening of the last day: from the derivatives of the run itself. */

import type { Scenario, Sensitivities, SensitivityRequest } from "capsim";
import { atLevel } from "./eye_settings.js";
import { allHours } from "./frame.js";

/** Of a healthy hour of the zonule, and of all cells of an hour. */
export const share = 0.1;
/** Hours that differ by less than this part of the largest are called alike: the mesh makes some of it. */
const alike = 0.2;
/** A change of the area [mm²] that nobody would see. */
const unseen = 0.01;

export const places = ["zonule", "cells"] as const;
export type Place = (typeof places)[number];
const pathOf: Record<Place, string> = { zonule: "zonule.strength_by_hour", cells: "contraction.cells_left_by_hour" };
const outcome = "opening_area_mm2";

export const influenceRequest = (scenario: Scenario): SensitivityRequest => ({
  scenario: atLevel(scenario, "coarse") as Scenario,
  parameters: places.flatMap((place) => allHours.map((hour) => `${pathOf[place]}.${hour}`)),
});

/** Change of the area [mm²] for a tenth more, [0] for 1 o'clock. NaN at an hour that has none: the first fibre of a gap changes more
 *  than a line through it says. */
export type Influence = Record<Place, number[]>;

/** Undefined when the run has no such derivatives. */
export function influenceOf(found: Sensitivities): Influence | undefined {
  const all = found.of(outcome);
  if (all === undefined || all.some((v) => !Number.isFinite(v))) return undefined;
  const of = (index: number): number[] =>
    allHours.map((_, i) => {
      const at = index * allHours.length + i;
      return found.parameters[at]!.one_sided ? Number.NaN : share * all[at]!;
    });
  return { zonule: of(0), cells: of(1) };
}

/** The hour that matters most and what it does; undefined when no hour stands out. */
export function strongest(changes: readonly number[]): { hour: number; change: number } | undefined {
  const told = changes.filter((v) => !Number.isNaN(v)),
    most = Math.max(...told.map(Math.abs)),
    at = changes.findIndex((v) => Math.abs(v) === most);
  if (most < unseen || !(Math.max(...told) - Math.min(...told) > alike * most)) return undefined;
  return { hour: allHours[at]!, change: changes[at]! };
}
