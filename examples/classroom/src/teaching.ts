// SPDX-License-Identifier: BSD-3-Clause
/** Six lessons, each a pair of invented eyes that differ in one thing. */

import type { Scenario, ScenarioEvent } from "capsim";

export interface Lesson {
  key: string;
  title: string;
  look: string;
  day: number;
  a: Scenario;
  b: Scenario;
}

const eye = (name: string, rest: Partial<Scenario>): Scenario => ({
  format: "capsim-scenario",
  version: 1,
  name,
  eye: "right",
  ...rest,
});
const cuts = (day: number, hours: number[], length_mm = 0.75): ScenarioEvent => ({
  day,
  relaxing_cuts: { hours, length_mm },
});
// An eye in which the opening closes enough for cuts to matter: small opening, loose zonule, inflamed.
const closing: Partial<Scenario> = {
  opening: { diameter_mm: 4 },
  zonule: { strength: 0.3 },
  contraction: { chronic_signal: 0.2 },
};
const loose = { strength: 0.3, strength_by_hour: { "3": 0, "4": 0, "5": 0 } };

export const lessons: Lesson[] = [
  {
    key: "small",
    title: "Why a small opening closes",
    day: 365,
    look: "Same eye, same cells. The smaller opening leaves a broader band of capsule on the optic, so more tissue pulls on a shorter rim.",
    a: eye("Opening 5.5 mm", { opening: { diameter_mm: 5.5 } }),
    b: eye("Opening 4.0 mm", { opening: { diameter_mm: 4 } }),
  },
  {
    key: "sector",
    title: "A weak sector pulls the lens away",
    day: 365,
    look: "In B no fibres hold 3 to 5 o'clock. The fibres opposite meet no counter-pull: opening, bag and lens drift away from the gap.",
    a: eye("Loose all round", {
      opening: { diameter_mm: 5 },
      zonule: { strength: 0.3 },
      lens: { axis_hour: 1 },
      contraction: { chronic_signal: 0.2 },
    }),
    b: eye("Loose, 3 to 5 o'clock missing", {
      opening: { diameter_mm: 5 },
      zonule: loose,
      lens: { axis_hour: 1 },
      contraction: { chronic_signal: 0.2 },
    }),
  },
  {
    key: "ring",
    title: "What a ring does and does not do",
    day: 365,
    look: "The ring holds the equator out, so the bag keeps its size and the load is shared. It does not stop the rim from contracting, and it leaves the opening a little oval.",
    a: eye("Loose zonule, no ring", {
      opening: { diameter_mm: 4.5 },
      zonule: { strength: 0.2 },
      contraction: { chronic_signal: 0.2 },
    }),
    b: eye("Loose zonule, ring", {
      opening: { diameter_mm: 4.5 },
      zonule: { strength: 0.2 },
      tension_ring: { free_diameter_mm: 12.3, gap_hour: 12 },
      contraction: { chronic_signal: 0.2 },
    }),
  },
  {
    key: "when",
    title: "Early against late cuts",
    day: 365,
    look: "The same four cuts at 1 month and at 6 months. Compare the step on the day itself with what is left at 12 months.",
    a: eye("Four cuts at 1 month", { ...closing, events: [cuts(30, [12, 3, 6, 9])] }),
    b: eye("Four cuts at 6 months", { ...closing, events: [cuts(182, [12, 3, 6, 9])] }),
  },
  {
    key: "number",
    title: "Two cuts against four",
    day: 182,
    look: "Two cuts make an oval, long along the cuts; four keep it rounder and give more. Then make two of them longer and compare again.",
    a: eye("Two cuts", { ...closing, events: [cuts(91, [12, 6])] }),
    b: eye("Four cuts", { ...closing, events: [cuts(91, [12, 3, 6, 9])] }),
  },
  {
    key: "side",
    title: "Cuts all on one side",
    day: 182,
    look: "Four cuts either spread or crowded on one side. Watch where the opening's centre goes and which hours carry the load.",
    a: eye("Four cuts, spread", { ...closing, events: [cuts(91, [12, 3, 6, 9])] }),
    b: eye("Four cuts, one side", { ...closing, events: [cuts(91, [1, 2, 3, 4])] }),
  },
];
