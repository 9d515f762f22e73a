// SPDX-License-Identifier: BSD-3-Clause
/** The scenario with the words a surgeon uses: what a control reads and writes. */

import type { ByHour, ClockHour, Lens, RelaxingCuts, Scenario, ScenarioEvent, TensionRing } from "capsim";
import { fixed, inText, t } from "../words/texts.js";
import { allHours } from "./frame.js";
import { wholeBag } from "./whole_bag.js";

export const plainEye = (): Scenario => ({
  format: "capsim-scenario",
  version: 1,
  name: t().summary.plain,
  eye: "right",
});

export const defaults = {
  openingDiameter: 5.25,
  opticDiameter: 6.0,
  haptics: 2,
  axisHour: 3,
  cutLength: 0.75,
  ringDiameter: 12.3,
  gapHour: 12,
} as const;

const keyOf = (hour: number): ClockHour => String(hour) as ClockHour;

export const clone = <T>(value: T): T => structuredClone(value);

export const openingDiameter = (s: Scenario): number => s.opening?.diameter_mm ?? defaults.openingDiameter;
/** The two diameters of an oval opening, or the extent of one given by its outline; undefined for a round one. */
export function ovalOf(s: Scenario): [string, string] | undefined {
  const { diameters_mm: both, outline_mm: outline } = s.opening ?? {};
  if (both) return [fixed(both[0], 2), fixed(both[1], 2)];
  if (!outline || outline.length < 3) return undefined;
  const extent = (k: 0 | 1): string =>
    fixed(Math.max(...outline.map((p) => p[k])) - Math.min(...outline.map((p) => p[k])), 2);
  return [extent(0), extent(1)];
}
export const openingCenter = (s: Scenario): [number, number] => s.opening?.center_mm ?? [0, 0];

/** Strength of the zonule at each hour, [0] for 1 o'clock. */
export function strengths(s: Scenario): number[] {
  return allHours.map((h) => s.zonule?.strength_by_hour?.[keyOf(h)] ?? s.zonule?.strength ?? 1);
}
export function setStrengths(s: Scenario, values: readonly number[]): void {
  s.zonule = { ...s.zonule, ...byHour(values, "strength", "strength_by_hour") };
}

/** Cells left at each hour, [0] for 1 o'clock. */
export function cells(s: Scenario): number[] {
  return allHours.map((h) => s.contraction?.cells_left_by_hour?.[keyOf(h)] ?? s.contraction?.cells_left ?? 1);
}
export function setCells(s: Scenario, values: readonly number[]): void {
  s.contraction = { ...s.contraction, ...byHour(values, "cells_left", "cells_left_by_hour") };
}

// The value most hours share goes into the plain field, the others are listed.
function byHour<A extends string, B extends string>(
  values: readonly number[],
  all: A,
  listed: B,
): Record<A, number> & Record<B, ByHour> {
  const count = new Map<number, number>();
  for (const v of values) count.set(v, (count.get(v) ?? 0) + 1);
  const common = [...count].sort((a, b) => b[1] - a[1])[0]![0];
  const others: ByHour = {};
  values.forEach((v, i) => {
    if (v !== common) others[keyOf(allHours[i]!)] = v;
  });
  return { [all]: common, [listed]: others } as Record<A, number> & Record<B, ByHour>;
}

export const lensOf = (s: Scenario): Lens | null => (s.lens === undefined ? {} : s.lens);
export const ringOf = (s: Scenario): TensionRing | null => s.tension_ring ?? null;

export const isCuts = (e: ScenarioEvent): e is ScenarioEvent & { relaxing_cuts: RelaxingCuts } =>
  e.relaxing_cuts !== undefined;
/** Occasions with relaxing cuts, in the order of the scenario. */
export const cutOccasions = (s: Scenario): (ScenarioEvent & { relaxing_cuts: RelaxingCuts })[] =>
  (s.events ?? []).filter(isCuts);
export const hasCuts = (s: Scenario): boolean => cutOccasions(s).some((e) => e.relaxing_cuts.hours.length > 0);

/** What can be run: occasions without a chosen hour are left out. */
export function runnable(s: Scenario): Scenario {
  const events = (s.events ?? []).filter((e) => !isCuts(e) || e.relaxing_cuts.hours.length > 0);
  return { ...s, events };
}

export type Level = "coarse" | "standard";
/** The scenario at one of the two levels of detail. A file's own mesh is its standard level. */
export function atLevel(s: Scenario, level: Level): Scenario {
  const run = runnable(s);
  return level === "coarse" ? { ...run, mesh: { around: 24, radial: 4 }, output_every_days: 14 } : run;
}

/** Hours at which the zonule is clearly weaker than at its best. */
export function weakHours(s: Scenario): number[] {
  const values = strengths(s);
  const best = Math.max(...values);
  return allHours.filter((_, i) => values[i]! < 0.6 * best);
}

/** What has been set, in a few words: the size of the opening, and what else is not as in a plain eye. */
export function titleOf(s: Scenario): string {
  const say = t().summary,
    held = strengths(s),
    oval = ovalOf(s),
    ring = ringOf(s),
    cut = cutOccasions(s).reduce((n, e) => n + e.relaxing_cuts.hours.length, 0);
  const words = [`${oval ? say.by(oval) : fixed(openingDiameter(s), 2)} mm`];
  if (Math.min(...held) < 0.01 && Math.max(...held) >= 0.01) words.push(say.gap);
  else if (Math.min(...held) < 0.6) words.push(say.weak);
  if (ring) words.push(say.ring(inText(String(ring.free_diameter_mm ?? defaults.ringDiameter))));
  if (lensOf(s) === null) words.push(say.noLens);
  if (Math.min(...cells(s)) < 0.6) words.push(say.polished);
  if ((s.contraction?.chronic_signal ?? 0) > 0) words.push(say.stimulated);
  if (wholeBag(s)) words.push(say.wholeBag);
  if (cut > 0) words.push(say.cut(cut));
  return words.join(", ");
}

/** One line on what distinguishes this eye. */
export function summary(s: Scenario): string {
  const say = t().summary,
    oval = ovalOf(s),
    ring = ringOf(s),
    lens = lensOf(s);
  const percent = (values: readonly number[]): [number, number] => [
    Math.round(100 * Math.min(...values)),
    Math.round(100 * Math.max(...values)),
  ];
  const words = [
    say.eye(s.eye === "left" || s.eye === "right" ? s.eye : undefined),
    say.opening(oval ? say.by(oval) : fixed(openingDiameter(s), 2)),
    say.zonule(...percent(strengths(s))),
  ];
  if (ring) words.push(say.ring(inText(String(ring.free_diameter_mm ?? defaults.ringDiameter))));
  words.push(lens ? say.optic(fixed(lens.optic_diameter_mm ?? defaults.opticDiameter, 1)) : say.noLens);
  if (Math.min(...cells(s)) < 1) words.push(say.cells(...percent(cells(s))));
  if ((s.contraction?.chronic_signal ?? 0) > 0) words.push(say.stimulus(inText(String(s.contraction!.chronic_signal))));
  if (wholeBag(s)) words.push(say.wholeBagContracts);
  for (const e of cutOccasions(s))
    if (e.relaxing_cuts.hours.length > 0)
      words.push(
        say.cuts(e.relaxing_cuts.hours.length, fixed(e.relaxing_cuts.length_mm ?? defaults.cutLength, 2), e.day),
      );
  return words.join(", ");
}
