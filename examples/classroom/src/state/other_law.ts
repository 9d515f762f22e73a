// SPDX-License-Identifier: BSD-3-Clause
/** The same eye under the other of the two contraction laws: how much of the answer hangs on the hypothesis.
 *
 *  Both are computed on the coarse level and compared with each other; what they differ by is put on top of the standard answer, so
 *  that what the levels differ by is not taken for the law's. */

import type { ContractionLaw, History } from "capsim";
import { Course, dayInWords } from "./course.js";
import type { Side } from "./frame.js";
import { fixed, t } from "../words/texts.js";

/** In the order of the columns and of the control. */
export const laws: ContractionLaw[] = ["fibre_remodelling", "active_lock_in"];
/** What pulls, in the words of the control. */
const nameOf = (law: ContractionLaw): string => t().panel.laws[law] ?? law;
/** As the lesson on the two calls it. */
export const shortNameOf = (law: ContractionLaw): string =>
  [t().lessons.laws.a, t().lessons.laws.b][laws.indexOf(law)] ?? law;
export const otherThan = (law: ContractionLaw = "fibre_remodelling"): ContractionLaw =>
  laws.find((name) => name !== law)!;

export class OtherLaw {
  readonly law: ContractionLaw;
  readonly own: Course;
  readonly other: Course;

  constructor(own: History, other: History) {
    this.law = other.scenario.contraction.law!;
    [this.own, this.other] = [new Course(own), new Course(other)];
  }

  /** A quantity of `course`, the standard answer, as it would be under the other law. */
  instead(course: Course, of: (course: Course) => number): number {
    return of(course) + of(this.other) - of(this.own);
  }

  get words(): string {
    return nameOf(this.law);
  }
}
export type OtherLaws = Partial<Record<Side, OtherLaw>>;

/** Below half of what the digit says [mm] the two are called the same. */
const noticed = 0.05;
/** One digit, or two where one would not tell them apart. */
const inMm = (value: number, beside: number): string => fixed(value, value.toFixed(1) === beside.toFixed(1) ? 2 : 1);

/** The opening on that day under both; nothing on day 0, when both are as measured. */
export function otherLawInWords(under: OtherLaw | undefined, course: Course, day: number): string[] {
  if (under === undefined || day < 0.5) return [];
  const diameter = (of: Course): number => of.at(day).diameter;
  const own = diameter(course),
    other = under.instead(course, diameter);
  const say = t().reading;
  return [
    say.otherLaw(
      under.words,
      dayInWords(day),
      Math.abs(own - other) < noticed
        ? say.otherSame(fixed(noticed, 2))
        : say.otherInstead(inMm(other, own), inMm(own, other)),
    ),
  ];
}
