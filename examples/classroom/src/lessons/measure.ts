// SPDX-License-Identifier: BSD-3-Clause
/** What a lesson asks, answered from the runs: the eye on screen and every eye of the crowd by the same rule. */

import type { Course } from "../state/course.js";
import { strengths } from "../state/eye_settings.js";
import { allHours, pointAt } from "../state/frame.js";

/** Share of the area lost; area; way of the opening's centre; where the lens goes; when half of the loss is there. */
export type Measure = "lost" | "area" | "offCentre" | "direction" | "half";

/** Below these no difference is claimed: percent of the area, mm2, mm. About what a slit lamp lets one see. */
export const alikeWithin = { lost: 2, area: 0.5, offCentre: 0.1 } as const;
const noticedShift = 0.05; // mm

/** True of what is asked about where something lies. */
export const isOfPlace = (measure: Measure): boolean => measure === "offCentre" || measure === "direction";

export interface Finding {
  answer: string; // "a", "b", "alike", or what the measure can say
  a: number;
  b: number;
}

/** Percent of the area at surgery that is lost by then; negative where it has grown. */
export const lostPercent = (course: Course, day: number): number => 100 * course.loss(course.at(day));

const compared: Record<keyof typeof alikeWithin, (course: Course, day: number) => number> = {
  lost: lostPercent,
  area: (course, day) => course.at(day).area,
  offCentre: (course, day) => Math.hypot(...course.at(day).opening),
};

/** The day by which half of what is lost on the last day was lost. */
export function halfDay(course: Course, last: number): number {
  const end = lostPercent(course, last);
  for (let day = 1; day < last; ++day) if (lostPercent(course, day) >= end / 2) return day;
  return last;
}

/** How far the lens has moved away from the hours that lack fibres [mm]; negative: towards them. */
function awayFromGap(course: Course, day: number): number {
  let x = 0,
    y = 0;
  const held = strengths(course.scenario);
  for (const hour of allHours) {
    const [px, py] = pointAt(hour, Math.max(...held) - held[hour - 1]!);
    x += px;
    y += py;
  }
  const length = Math.hypot(x, y),
    [lx, ly] = course.at(day).lens;
  return length < 1e-9 ? 0 : -(lx * x + ly * y) / length;
}

/** What the runs answer; undefined where the question does not apply to them. */
export function find(measure: Measure, a: Course, b: Course | undefined, day: number): Finding | undefined {
  if (measure === "half") {
    const half = halfDay(a, day);
    return { answer: half <= 30 ? "month" : half <= 91 ? "quarter" : "later", a: half, b: half };
  }
  if (b === undefined || (isOfPlace(measure) && (a.unheld || b.unheld))) return undefined;
  if (measure === "direction") {
    const away = awayFromGap(b, day);
    const answer = Math.abs(away) < noticedShift ? "still" : away > 0 ? "away" : "towards";
    return { answer, a: away, b: Math.hypot(...b.at(day).lens) };
  }
  const of = compared[measure];
  const [p, q] = [of(a, day), of(b, day)];
  const answer = Math.abs(p - q) < alikeWithin[measure] ? "alike" : p > q ? "a" : "b";
  return { answer, a: p, b: q };
}

/** The answers one may give. */
export const answersTo = (measure: Measure): string[] =>
  measure === "half"
    ? ["month", "quarter", "later"]
    : measure === "direction"
      ? ["away", "towards", "still"]
      : ["a", "b", "alike"];
