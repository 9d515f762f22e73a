// SPDX-License-Identifier: BSD-3-Clause
/** The one sentence, the one number of the crowd and the one table. All of it comes from the runs. */

import { find, lostPercent } from "../lessons/measure.js";
import type { Lesson } from "../lessons/lesson_list.js";
import { type Course, dayInWords } from "../state/course.js";
import { crowdSize } from "../state/crowd.js";
import { cutOccasions, strengths } from "../state/eye_settings.js";
import { type Show, sidesOf } from "../state/show.js";
import { t } from "./texts.js";

/** True when no fibre holds the bag: where it lies then is not for the model to say. */
export const isUnheld = (course: Course): boolean => Math.max(...strengths(course.history.scenario)) < 1e-3;

/** At most twenty words on the day shown. `lesson`: says it in the terms of its question. */
export function verdictOf(show: Show, lesson: Lesson | undefined): string {
  const { a, b } = show.courses,
    words = t().verdict;
  if (a === undefined) return "";
  if (show.day < 0.5) {
    const wide = (course: Course): string => `${course.start.diameter.toFixed(1)} mm`;
    return words.start(wide(a), b ? wide(b) : null);
  }
  const when = dayInWords(show.day);
  const measure = lesson?.measure === "half" && show.day < lesson.day - 1 ? "lost" : (lesson?.measure ?? "lost");
  const found = find(measure, a, b, show.day);
  if (found === undefined) return words.lostOne(when, lostPercent(a, show.day));
  switch (measure) {
    case "half":
      return words.half(found.a);
    case "direction":
      return words.direction(when, found.b, found.answer);
    default:
      return words[measure](when, found.a, found.b, found.answer);
  }
}

/** In how many eyes of the crowd it is as in the eyes on screen. */
export function crowdVerdict(show: Show, lesson: Lesson | undefined): string {
  const { a, b } = show.courses,
    crowd = show.crowds.a;
  if (a === undefined || crowd === undefined || show.day < 0.5) return "";
  if (b !== undefined && show.crowds.b === undefined) return "";
  const measure = lesson?.measure ?? "lost";
  const day = measure === "half" && lesson ? lesson.day : show.day;
  const own = find(measure, a, b, day)?.answer;
  if (own === undefined) return "";
  const ready = Math.min(crowd.eyes, show.crowds.b?.eyes ?? crowd.eyes);
  if (ready < crowdSize) return t().verdict.counting(ready, crowdSize);
  const answers = crowd.courses.flatMap((course, index) => {
    const twin = show.crowds.b?.courses[index];
    return b !== undefined && twin === undefined ? [] : [find(measure, course, twin, day)?.answer];
  });
  return t().verdict.crowd(answers.filter((answer) => answer === own).length, answers.length);
}

/** "12 months", "day 30": to where the run goes. */
export function endInWords(days: number): string {
  return Math.abs(days - 365) < 0.75 ? t().table.months(12) : t().table.days(Math.round(days));
}

/** One row for each plan: the same words on the page, on paper and in a test. */
export function planRows(show: Show): { head: string[]; rows: string[][]; note: string } {
  const words = t().table,
    sides = sidesOf(show);
  const digits = (value: number, n: number): string => value.toFixed(n);
  let part = false;
  const lost = (course: Course): number => lostPercent(course, course.lastDay);
  const between = show.courses.a && show.courses.b ? Math.abs(lost(show.courses.a) - lost(show.courses.b)) : Number.NaN;
  const rows = sides.map((side) => {
    const course = show.courses[side]!,
      crowd = show.crowds[side],
      law = show.otherLaws[side],
      end = course.at(course.lastDay);
    const cuts = cutOccasions(course.history.scenario).map((e) => course.relief(e.day));
    const other = law?.instead(course, lost);
    const parts = other !== undefined && Math.abs(other - lost(course)) > between;
    part ||= parts;
    const band = crowd?.complete
      ? [...crowd.courses.filter((c) => c !== undefined)].map(lost).sort((p, q) => p - q)
      : undefined;
    const at = (share: number): string =>
      `${band![Math.round(share * (band!.length - 1))]!.toFixed(0).replace("-", "−")} %`;
    return [
      `${side.toUpperCase()} ${course.history.scenario.name}`,
      `${digits(course.start.diameter, 1)} → ${digits(end.diameter, 1)}`,
      `${digits(lost(course), 0).replace("-", "−")} %`,
      band && band.length > 0 ? words.to(at(0.1), at(0.9)) : words.none,
      isUnheld(course) || course.history.scenario.lens === null
        ? words.none
        : `${digits(Math.hypot(...end.lens), 2)} mm`,
      cuts.length === 0 ? words.none : cuts.map((v) => (v === undefined ? "?" : `${digits(v, 1)} mm²`)).join(", "),
      other === undefined ? words.none : `${digits(other, 0).replace("-", "−")} %${parts ? " ≠" : ""}`,
    ];
  });
  const unheld = sides.some((side) => isUnheld(show.courses[side]!)) ? `${t().verdict.unheld} ` : "";
  return {
    head: [words.plan, words.opening, words.lost, words.crowd, words.shift, words.cuts, words.laws],
    rows,
    note: `${unheld}${part ? words.part : ""}`.trim(),
  };
}
