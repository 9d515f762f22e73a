// SPDX-License-Identifier: BSD-3-Clause
/** The one sentence, the one number of the crowd and the one table. All of it comes from the runs. */

import { find, isOfPlace, lostPercent, type Measure } from "../lessons/measure.js";
import type { Lesson } from "../lessons/lesson_list.js";
import { type Course, dayInWords } from "../state/course.js";
import { type Crowd, crowdSize } from "../state/crowd.js";
import { cutOccasions } from "../state/eye_settings.js";
import { laws, type OtherLaw } from "../state/other_law.js";
import { type Show, sidesOf } from "../state/show.js";
import { fixed, t } from "./texts.js";

/** What the verdict is about: what the lesson asks, as far as it can be told on that day and of these eyes. */
function measureOf({ courses: { a, b }, day }: Show, lesson: Lesson | undefined): Measure {
  if (lesson === undefined) return "lost";
  const early = lesson.measure === "half" && day < lesson.day - 1,
    nowhere = isOfPlace(lesson.measure) && [a, b].some((course) => course?.unheld);
  return early || nowhere ? "lost" : lesson.measure;
}

/** At most twenty words on the day shown. `lesson`: says it in the terms of its question. */
export function verdictOf(show: Show, lesson: Lesson | undefined): string {
  const { a, b } = show.courses,
    words = t().verdict;
  if (a === undefined) return "";
  if (show.day < 0.5) {
    const wide = (course: Course): string => `${fixed(course.start.diameter, 1)} mm`;
    return words.start(wide(a), b ? wide(b) : null);
  }
  const when = dayInWords(show.day);
  const measure = measureOf(show, lesson);
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
  const measure = lesson?.measure === "half" ? "half" : measureOf(show, lesson);
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

/** One plan of the table, with its letter. */
interface Planned {
  letter: string;
  course: Course;
  crowd: Crowd | undefined;
  otherLaw: OtherLaw | undefined;
}

const plansOf = (show: Show): Planned[] => [
  ...sidesOf(show).map((side) => ({
    letter: side.toUpperCase(),
    course: show.courses[side]!,
    crowd: show.crowds[side],
    otherLaw: show.otherLaws[side],
  })),
  ...(show.further ?? []),
];

const whole = (value: number): string => fixed(value, 0);
const lostInAll = (course: Course): number => lostPercent(course, course.lastDay);

/** One row for each plan: the same words on the page, on paper and in a test. `own`: the column of the law that the plan is run with. */
export function planRows(show: Show): { head: string[]; rows: string[][]; own: number[]; note: string } {
  const words = t().table,
    plans = plansOf(show),
    losses = plans.map(({ course }) => lostInAll(course));
  // What the plans differ by, against what the two laws differ by.
  const between = plans.length > 1 ? Math.max(...losses) - Math.min(...losses) : Number.NaN;
  const own: number[] = [];
  let part = false;
  const rows = plans.map(({ letter, course, crowd, otherLaw }, i) => {
    const end = course.at(course.lastDay),
      cuts = cutOccasions(course.scenario).map((e) => course.relief(e.day));
    const other = otherLaw?.instead(course, lostInAll);
    const parts = other !== undefined && Math.abs(other - losses[i]!) > between;
    part ||= parts;
    const place = Math.max(
      0,
      laws.findIndex((law) => law === course.scenario.contraction.law),
    );
    own.push(firstLaw + place);
    const byLaw = laws.map(() => words.none);
    byLaw[place] = `${whole(losses[i]!)} %`;
    if (other !== undefined) byLaw[1 - place] = `${whole(other)} %${parts ? " ≠" : ""}`;
    return [
      `${letter} ${course.scenario.name}`,
      `${fixed(course.start.diameter, 1)} → ${fixed(end.diameter, 1)}`,
      ...byLaw,
      bandOf(crowd),
      course.unheld || course.scenario.lens === null ? words.none : fixed(Math.hypot(...end.lens), 2),
      cuts.length === 0 ? words.none : cuts.map((v) => (v === undefined ? "?" : fixed(v, 1))).join(", "),
    ];
  });
  const unheld = plans.some(({ course }) => course.unheld) ? `${t().verdict.unheld} ` : "";
  return {
    head: [words.plan, words.opening, ...words.byLaw, words.crowd, words.shift, words.cuts],
    rows,
    own,
    note: `${unheld}${part ? words.part : ""}`.trim(),
  };
}
/** The columns of the two laws begin here. */
const firstLaw = 2;

/** Where eight of ten eyes of a crowd lie. */
function bandOf(crowd: Crowd | undefined): string {
  const lost = crowd?.complete
    ? [...crowd.courses.filter((c) => c !== undefined)].map(lostInAll).sort((p, q) => p - q)
    : [];
  if (lost.length === 0) return t().table.none;
  const at = (share: number): string => whole(lost[Math.round(share * (lost.length - 1))]!);
  return t().table.to(at(0.1), at(0.9), " %");
}
