// SPDX-License-Identifier: BSD-3-Clause
/** The result in plain words: what happened, why it is thought so, and what is uncertain. */

import type { Point } from "capsim";
import type { Crowd, Range } from "../state/crowd.js";
import { type Course, dayInWords, type Moment } from "../state/course.js";
import {
  cutOccasions,
  defaults,
  hasCuts,
  type Level,
  lensOf,
  ringOf,
  strengths,
  weakHours,
} from "../state/eye_settings.js";
import { type OtherLaw, otherLawInWords } from "../state/other_law.js";
import { allHours, directionInWords, hoursInWords, pointAt } from "../state/frame.js";
import { type Loads, loadsOf } from "../state/loads.js";
import { type Crowds } from "../state/show.js";
import { wholeBag } from "../state/whole_bag.js";
import { fixed, flagInWords, inText, t } from "./texts.js";

/** Weakness of the zonule as a vector: points to where fibres lack. */
function weakness(values: readonly number[]): Point {
  let x = 0,
    y = 0;
  allHours.forEach((hour, i) => {
    const [px, py] = pointAt(hour, 1 - values[i]!);
    x += px;
    y += py;
  });
  return [x, y];
}

/** Moved less than this is "has stayed central": below what a slit lamp shows. */
const central = 0.05;

/** What happened to one eye until that day. */
export function readingOf(course: Course, day: number, loads: Loads = loadsOf(course)): string[] {
  const now = course.at(day);
  return [
    openingInWords(course, now),
    ...shapeInWords(course, now),
    ...placeInWords(course, now),
    loadInWords(course, now, loads),
    ...cutsInWords(course, now),
  ];
}

function openingInWords(course: Course, now: Moment): string {
  const say = t().reading,
    across = fixed(now.diameter, 1);
  if (now.day < 0.5) return say.atEnd(across, fixed(now.area, 1));
  const loss = 100 * course.loss(now);
  const way = Math.abs(loss) < 0.5 ? "same" : loss > 0 ? "smaller" : "larger";
  return say.then(dayInWords(now.day), across, fixed(Math.abs(loss), 0), way);
}

function shapeInWords(course: Course, now: Moment): string[] {
  if (now.largest - now.smallest <= 0.25) return [];
  const lobes = cutOccasions(course.scenario)
    .filter((e) => e.day <= now.day)
    .reduce((n, e) => n + e.relaxing_cuts.hours.length, 0);
  const both = [fixed(now.smallest, 1), fixed(now.largest, 1)] as const;
  return [lobes > 2 ? t().reading.lobed(...both) : t().reading.oval(...both)];
}

/** Where lens or opening have gone, and whether that is towards the weak hours. That nothing holds a bag stands below the table. */
function placeInWords(course: Course, now: Moment): string[] {
  const { scenario } = course.history,
    say = t().reading,
    lens = lensOf(scenario) !== null,
    place = course.placeAt(now),
    shift = Math.hypot(...place);
  if (course.unheld) return [];
  if (shift < central) return [say.central(lens)];
  const lack = weakness(strengths(scenario)),
    length = Math.hypot(lack[0], lack[1]);
  const weak = weakHours(scenario);
  const cosine = length > 0.3 && weak.length > 0 ? (place[0] * lack[0] + place[1] * lack[1]) / (shift * length) : 0;
  const mm = fixed(shift, shift < 0.95 ? 2 : 1),
    way = cosine < -0.5 ? "away" : cosine > 0.5 ? "towards" : "";
  return [say.moved(lens, mm, directionInWords(place, scenario.eye), way, hoursInWords(weak))];
}

function loadInWords(course: Course, now: Moment, loads: Loads): string {
  const say = t().reading,
    top = Math.max(...now.load);
  const hours = allHours.filter((h) => now.load[h % 12]! > 0.97 * top); // as good as equal
  const even = top - Math.min(...now.load) < 0.15 * top;
  const where = even
    ? say.even
    : hours.length > 4
      ? say.nearlyEven
      : say.most(hoursInWords(hours), hours.length > 1, loads.hour(top));
  return say.load(loads.whole(now.loadTotal), loads.brief(course.start.loadTotal), where);
}

function cutsInWords(course: Course, now: Moment): string[] {
  const say = t().reading;
  return cutOccasions(course.scenario).flatMap(({ day, relaxing_cuts: { hours, length_mm } }) => {
    if (hours.length === 0 || day > course.lastDay) return [];
    const cuts = say.cuts(hours.length, fixed(length_mm ?? defaults.cutLength, 2), day),
      relief = course.relief(day);
    if (relief === undefined) return [say.noRelief(cuts)];
    return [now.day < day ? say.toCome(cuts) : say.relief(cuts, hours.length, fixed(relief, 1))];
  });
}

/** How far the eye of the last day is from closing by itself; nothing when the answer does not hold it, as the quick one
 *  never does. */
export function marginInWords(course: Course): string[] {
  const margin = course.history.runawayMargin;
  if (course.unheld || margin === undefined || margin.end === "not_followed") return []; // the last is among the flags
  const when = dayInWords(course.lastDay),
    say = t().reading;
  if (margin.end === "nothing_pulls") return [say.nothingPulls(when)];
  const factor = margin.contraction_factor;
  return [say.margin(when, nearness(factor), margin.end, fixed(factor, factor < 9.95 ? 1 : 0))];
}

// The first bound is the one below which the library raises a flag. Several-fold: 4 to 59 in 8 of 10 eyes like the middle
// one of those without known risk, which itself has 11.
const nearness = (factor: number): "near" | "some" | "far" => (factor < 1.5 ? "near" : factor < 5 ? "some" : "far");

/** How far eyes like this one spread on that day; nothing on day 0, when all are as measured. */
export function bandInWords(crowd: Crowd | undefined, course: Course, day: number): string[] {
  if (!crowd || day < 0.5) return [];
  const say = t().reading,
    off = crowd.at("decentration", day),
    start = crowd.at("area", 0)[1],
    area = crowd.at("area", day);
  const between = ([low, , high]: Range, digits: number): string =>
    say.range(fixed(low, digits), fixed(high, digits), "mm");
  const percent = (left: number): string => fixed(Math.max(0, 100 * (1 - left / start)), 0);
  const lost = start > 0 && area[2] < start ? say.bandLost(percent(area[2]), percent(area[0])) : "";
  const lens = course.scenario.lens !== null;
  const place = course.unheld ? null : off[2] < central ? "" : between(off, 2);
  return [say.band(between(crowd.at("diameter", day), 1), lost, lens, place)];
}

/** What is said of one eye: first in a sentence, then the rest in the order in which it is read. */
export function wholeReading(
  course: Course,
  day: number,
  crowd: Crowd | undefined,
  law: OtherLaw | undefined,
  loads?: Loads,
): { first: string; rest: string[] } {
  const [first = "", ...more] = readingOf(course, day, loads);
  const rest = [
    ...more,
    ...bandInWords(crowd, course, day),
    ...otherLawInWords(law, course, day),
    ...marginInWords(course),
  ];
  return { first, rest };
}

/** What the bands rest on. */
export function aboutBands(crowds: Crowds): string {
  const crowd = crowds.a ?? crowds.b;
  return crowd ? t().reading.aboutBand(crowd.source) : t().reading.noBand;
}

function signed(v: number, digits: number): string {
  const text = fixed(Math.abs(v), digits);
  return `${Number(Math.abs(v).toFixed(digits)) === 0 ? "±" : v > 0 ? "+" : "−"}${text}`;
}

/** B minus A over the same eyes under both plans; nothing before both crowds are in. */
export function crowdDifference({ a, b }: Crowds, day: number): string {
  if (!a || !b || day < 0.5) return "";
  const { range, less, eyes } = a.difference(b, "area", day);
  return eyes === 0 ? "" : t().reading.sameEyes(eyes, signed(range[0], 1), signed(range[2], 1), less);
}

/** B minus A on one day. */
export function differenceOf(a: Course, b: Course, day: number): string {
  const p = a.at(day),
    q = b.at(day);
  const off = (m: Moment, course: Course): number => Math.hypot(...course.placeAt(m)),
    nowhere = a.unheld || b.unheld;
  return t().reading.difference(
    Math.round(day),
    signed(q.area - p.area, 1),
    signed(q.diameter - p.diameter, 2),
    nowhere ? "" : signed(off(q, b) - off(p, a), 2),
    signed(q.loadTotal - p.loadTotal, 1),
  );
}

/** What a listener must know before believing the picture. */
export function uncertainties(
  course: Course,
  level: Level,
  crowd: Crowd | undefined,
  law: OtherLaw | undefined,
): string[] {
  const { scenario } = course.history,
    say = t().doubts;
  return [
    ...course.history.outcomes.flags
      .filter((f) => f.code !== "no_contraction" || course.start.area > 0)
      .filter((f) => !course.unheld || !f.code.includes("runaway")) // that is not told of such an eye
      .map(flagInWords),
    ...(level === "coarse" ? [say.coarse] : []),
    crowd ? say.band(crowd.source) : say.noBand,
    say.front,
    ...(wholeBag(scenario) ? [say.wholeBag] : []),
    say.averages,
    ...(law ? [say.laws] : []),
    say.line,
    ...(ringOf(scenario) ? [say.ring] : []),
    ...(hasCuts(scenario) ? [say.cuts] : []),
  ];
}

/** What the picture shows, for those who do not see it. */
export function pictureInWords(course: Course, day: number): string {
  const { scenario } = course.history,
    say = t().words,
    now = course.at(day);
  const parts = [
    say.view(scenario.eye === "left" || scenario.eye === "right" ? scenario.eye : undefined, Math.round(now.day)),
    say.opening(fixed(now.diameter, 2), fixed(now.smallest, 2), fixed(now.largest, 2)),
    ...fibresInWords(strengths(scenario)),
  ];
  const lens = lensOf(scenario);
  parts.push(
    lens
      ? say.optic(
          inText(String(lens.optic_diameter_mm ?? defaults.opticDiameter)),
          course.unheld ? "" : fixed(Math.hypot(...now.lens), 2),
        )
      : say.noLens,
  );
  if (now.ring) parts.push(say.ring);
  if (now.tissue > 0.01) {
    const least = Math.min(...now.tissueByHour),
      hour = now.tissueByHour.indexOf(least) || 12;
    parts.push(
      say.tissue(Math.round(100 * now.tissue)) +
        (least < 0.8 * now.tissue ? say.leastTissue(hoursInWords([hour]), Math.round(100 * least)) : ""),
    );
  }
  const made = cutOccasions(scenario)
    .filter((e) => e.day <= now.day)
    .flatMap((e) => e.relaxing_cuts.hours);
  if (made.length > 0) parts.push(say.cuts(hoursInWords(made)));
  return `${parts.join("; ")}.`;
}

/** Where fibres lack or are weak. */
function fibresInWords(strength: readonly number[]): string[] {
  const say = t().words;
  const absent = allHours.filter((_, i) => strength[i]! < 0.01),
    weak = allHours.filter((_, i) => strength[i]! >= 0.01 && strength[i]! < 0.6);
  if (absent.length === 0 && weak.length === 0) return [say.held];
  return [
    [
      ...(absent.length > 0 ? [say.absent(hoursInWords(absent))] : []),
      ...(weak.length > 0 ? [say.weak(hoursInWords(weak))] : []),
    ].join(", "),
  ];
}
