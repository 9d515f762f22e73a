// SPDX-License-Identifier: BSD-3-Clause
/** Ten lessons: invented eyes, what is measured on them, and the one thing to try. No lesson knows its answer. */

import type { ContractionLaw, Scenario, ScenarioEvent } from "capsim";
import { cutOccasions, setStrengths, strengths } from "../state/eye_settings.js";
import type { Side } from "../state/frame.js";
import { setWholeBag } from "../state/whole_bag.js";
import { t } from "../words/texts.js";
import { type LessonKey, lessonKeys } from "./lesson_keys.js";
import type { Measure } from "./measure.js";

/** The one control of the step "try". */
export interface Trial {
  side: Side;
  label: "diameter" | "gap" | "strength" | "cells" | "chronic" | "ring" | "cutDay" | "cutLength";
  range: [min: number, max: number, step: number];
  digits: number;
  unit: string;
  get(s: Scenario): number;
  set(s: Scenario, value: number): void;
}

export interface Lesson {
  key: LessonKey;
  measure: Measure;
  day: number; // on which it is measured
  a: Scenario;
  b: Scenario | null;
  trial: Trial;
}

const eye = (rest: Partial<Scenario>): Scenario => ({ format: "capsim-scenario", version: 1, eye: "right", ...rest });
/** What weak fibres and a ring do is told with the whole bag: tissue outside the optic shrinks it, and a ring keeps its leaves apart. */
const contracting = (rest: Partial<Scenario>): Scenario => {
  const made = eye(rest);
  setWholeBag(made, true);
  return made;
};
const cuts = (day: number, hours: number[], length_mm = 0.75): ScenarioEvent => ({
  day,
  relaxing_cuts: { hours, length_mm },
});
/** An eye in which the opening closes enough for cuts to matter: small opening, loose zonule, inflamed. */
const closing: Partial<Scenario> = {
  opening: { diameter_mm: 4 },
  zonule: { strength: 0.3 },
  contraction: { chronic_signal: 0.2 },
};
const loose: Partial<Scenario> = {
  opening: { diameter_mm: 5 },
  zonule: { strength: 0.3 },
  lens: { axis_hour: 1 },
};
const ringed = (free: number | null, strength: number): Scenario =>
  contracting({
    opening: { diameter_mm: 4.5 },
    zonule: { strength },
    ...(free === null ? {} : { tension_ring: { free_diameter_mm: free, gap_hour: 12 } }),
  });
const pulled = (law: ContractionLaw): Scenario => eye({ ...closing, contraction: { chronic_signal: 0.2, law } });

const percentOf = (label: Trial["label"], side: Side, get: Trial["get"], set: Trial["set"]): Trial => ({
  side,
  label,
  range: [0, 100, 5],
  digits: 0,
  unit: "%",
  get: (s) => Math.round(100 * get(s)),
  set: (s, value) => set(s, value / 100),
});
const chronic = (side: Side): Trial => ({
  side,
  label: "chronic",
  range: [0, 1, 0.05],
  digits: 2,
  unit: "",
  get: (s) => s.contraction?.chronic_signal ?? 0,
  set: (s, v) => {
    s.contraction = { ...s.contraction, chronic_signal: v };
  },
});
const cutLength = (side: Side): Trial => ({
  side,
  label: "cutLength",
  range: [0.2, 1.2, 0.05],
  digits: 2,
  unit: "mm",
  get: (s) => cutOccasions(s)[0]?.relaxing_cuts.length_mm ?? 0.75,
  set: (s, v) => {
    for (const occasion of cutOccasions(s)) occasion.relaxing_cuts.length_mm = v;
  },
});

const plans: Omit<Lesson, "key">[] = [
  {
    measure: "lost",
    day: 365,
    a: eye({ opening: { diameter_mm: 5.5 } }),
    b: eye({ opening: { diameter_mm: 4 } }),
    trial: {
      side: "b",
      label: "diameter",
      range: [3, 7, 0.05],
      digits: 2,
      unit: "mm",
      get: (s) => s.opening?.diameter_mm ?? 5.25,
      set: (s, v) => {
        s.opening = { ...s.opening, diameter_mm: v };
      },
    },
  },
  {
    measure: "direction",
    day: 365,
    a: contracting(loose),
    b: contracting({ ...loose, zonule: { strength: 0.3, strength_by_hour: { "3": 0, "4": 0, "5": 0 } } }),
    trial: percentOf(
      "gap",
      "b",
      (s) => strengths(s)[3]!,
      (s, v) =>
        setStrengths(
          s,
          strengths(s).map((old, i) => (i >= 2 && i <= 4 ? v : old)),
        ),
    ),
  },
  {
    measure: "lost",
    day: 365,
    a: eye({ ...closing, contraction: { chronic_signal: 0.05 } }),
    b: eye({ ...closing, contraction: { chronic_signal: 0.05, cells_left: 0.3 } }),
    trial: percentOf(
      "cells",
      "b",
      (s) => s.contraction?.cells_left ?? 1,
      (s, v) => {
        s.contraction = { ...s.contraction, cells_left: v };
      },
    ),
  },
  {
    measure: "half",
    day: 365,
    a: eye({ opening: { diameter_mm: 4.5 }, contraction: { chronic_signal: 0.2 } }),
    b: null,
    trial: chronic("a"),
  },
  {
    measure: "lost",
    day: 365,
    a: ringed(null, 0.1),
    b: ringed(12.3, 0.1),
    trial: percentOf(
      "strength",
      "a",
      (s) => s.zonule?.strength ?? 1,
      (s, v) => {
        s.zonule = { ...s.zonule, strength: v };
      },
    ),
  },
  {
    measure: "lost",
    day: 365,
    a: ringed(12.3, 0.15),
    b: ringed(14.5, 0.15),
    trial: {
      side: "b",
      label: "ring",
      range: [11.5, 14.5, 0.1],
      digits: 1,
      unit: "mm",
      get: (s) => s.tension_ring?.free_diameter_mm ?? 12.3,
      set: (s, v) => {
        s.tension_ring = { ...s.tension_ring, free_diameter_mm: v };
      },
    },
  },
  {
    measure: "area",
    day: 365,
    a: eye({ ...closing, events: [cuts(30, [12, 3, 6, 9])] }),
    b: eye({ ...closing, events: [cuts(182, [12, 3, 6, 9])] }),
    trial: {
      side: "b",
      label: "cutDay",
      range: [7, 357, 7],
      digits: 0,
      unit: "d",
      get: (s) => cutOccasions(s)[0]?.day ?? 182,
      set: (s, v) => {
        for (const occasion of cutOccasions(s)) occasion.day = v;
      },
    },
  },
  {
    measure: "area",
    day: 182,
    a: eye({ ...closing, events: [cuts(91, [12, 6])] }),
    b: eye({ ...closing, events: [cuts(91, [12, 3, 6, 9])] }),
    trial: cutLength("a"),
  },
  {
    measure: "offCentre",
    day: 182,
    a: eye({ ...closing, events: [cuts(91, [12, 3, 6, 9])] }),
    b: eye({ ...closing, events: [cuts(91, [1, 2, 3, 4])] }),
    trial: cutLength("b"),
  },
  { measure: "lost", day: 365, a: pulled("fibre_remodelling"), b: pulled("active_lock_in"), trial: chronic("b") },
];

/** The lessons, their eyes named in the language in use. */
export const lessons = (): Lesson[] =>
  plans.map((plan, i) => {
    const key = lessonKeys[i]!,
      { a, b } = t().lessons[key];
    return { ...plan, key, a: { ...plan.a, name: a }, b: plan.b && { ...plan.b, name: b } };
  });

export const lessonOf = (key: string | undefined): Lesson | undefined => lessons().find((l) => l.key === key);
