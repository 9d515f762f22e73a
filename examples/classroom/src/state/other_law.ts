// SPDX-License-Identifier: BSD-3-Clause
/** The same eye under the other of the two contraction laws: how much of the answer hangs on the hypothesis.
 *
 *  Both are computed on the coarse level and compared with each other; what they differ by is put on top of the standard answer, so
 *  that what the levels differ by is not taken for the law's. */

import type { ContractionLaw, History } from "capsim";
import { Course, dayInWords } from "./course.js";
import type { Side } from "./frame.js";
import { t } from "../words/texts.js";

/** What pulls, in the words of the control. */
export const laws: [ContractionLaw, string][] = [
  ["fibre_remodelling", "fibres, laid down stretched"],
  ["active_lock_in", "cells, whose contraction is locked in"],
];
/** As the lesson on the two calls it. */
export const shortNameOf = (law: ContractionLaw): string =>
  [t().lessons.laws.a, t().lessons.laws.b][laws.findIndex(([name]) => name === law)] ?? law;
export const otherThan = (law: ContractionLaw = "fibre_remodelling"): ContractionLaw =>
  laws.find(([name]) => name !== law)![0];

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
    return laws.find(([name]) => name === this.law)![1];
  }
}
export type OtherLaws = Partial<Record<Side, OtherLaw>>;

/** Below half of what the digit says [mm] the two are called the same. */
const noticed = 0.05;
/** One digit, or two where one would not tell them apart. */
const inMm = (value: number, beside: number): string => value.toFixed(value.toFixed(1) === beside.toFixed(1) ? 2 : 1);

/** The opening on that day under both; nothing on day 0, when both are as measured. */
export function otherLawInWords(under: OtherLaw | undefined, course: Course, day: number): string[] {
  if (under === undefined || day < 0.5) return [];
  const diameter = (of: Course): number => of.at(day).diameter;
  const own = diameter(course),
    other = under.instead(course, diameter);
  const when = dayInWords(day),
    said = when[0]!.toLowerCase() + when.slice(1);
  return [
    `Under the other hypothesis of what pulls (${under.words}) the opening ${said} would be ` +
      (Math.abs(own - other) < noticed
        ? `the same to within ${noticed} mm`
        : `${inMm(other, own)} mm across instead of ${inMm(own, other)} mm`) +
      " (the difference is that of the quick, coarse answer).",
  ];
}
