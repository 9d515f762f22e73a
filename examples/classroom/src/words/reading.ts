// SPDX-License-Identifier: BSD-3-Clause
/** The result in plain words: what happened, why it is thought so, and what is uncertain. */

import type { Point } from "capsim";
import type { Crowd, Range } from "../state/crowd.js";
import { type Course, dayInWords } from "../state/course.js";
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
import { type Crowds } from "../state/show.js";

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

export function readingOf(course: Course, day: number): string[] {
  const { scenario } = course.history;
  const now = course.at(day),
    { start } = course;
  const sentences: string[] = [];
  if (now.day < 0.5) {
    sentences.push(
      `At the end of surgery the opening is ${now.diameter.toFixed(1)} mm across (${now.area.toFixed(1)} mm²) and the zonule carries ${now.loadTotal.toFixed(0)} mN in all.`,
    );
  } else {
    const loss = 100 * course.loss(now);
    sentences.push(
      `${dayInWords(now.day)} the opening is ${now.diameter.toFixed(1)} mm across, ` +
        (Math.abs(loss) < 0.5
          ? "about the same area as"
          : `${Math.abs(loss).toFixed(0)} % ${loss > 0 ? "smaller" : "larger"} in area than`) +
        " at the end of surgery.",
    );
  }
  if (now.largest - now.smallest > 0.25) {
    const lobes = cutOccasions(scenario)
      .filter((e) => e.day <= now.day)
      .reduce((n, e) => n + e.relaxing_cuts.hours.length, 0);
    sentences.push(
      lobes > 2
        ? `It is lobed by its cuts: ${now.smallest.toFixed(1)} mm at its narrowest, ${now.largest.toFixed(1)} mm at its widest.`
        : `It is oval: ${now.smallest.toFixed(1)} by ${now.largest.toFixed(1)} mm.`,
    );
  }

  const lens = lensOf(scenario);
  const place = lens ? now.lens : now.opening;
  const who = lens ? "lens" : "opening";
  const shift = Math.hypot(place[0], place[1]);
  if (shift < central) sentences.push(`The ${who} has stayed central.`);
  else {
    const lack = weakness(strengths(scenario));
    const along = place[0] * lack[0] + place[1] * lack[1];
    const weak = weakHours(scenario);
    const uneven = Math.hypot(lack[0], lack[1]) > 0.3 && weak.length > 0;
    const cosine = uneven ? along / (shift * Math.hypot(lack[0], lack[1])) : 0;
    const relation =
      cosine < -0.5
        ? `, away from the weak hours (${hoursInWords(weak)})`
        : cosine > 0.5
          ? `, towards the weak hours (${hoursInWords(weak)})`
          : "";
    sentences.push(
      `The ${who} has moved ${shift.toFixed(shift < 0.95 ? 2 : 1)} mm ${directionInWords(place, scenario.eye)}${relation}.`,
    );
  }

  const top = Math.max(...now.load);
  const hours = allHours.filter((h) => now.load[h % 12]! > 0.97 * top); // as good as equal
  const even = top - Math.min(...now.load) < 0.15 * top;
  sentences.push(
    `The zonule carries ${now.loadTotal.toFixed(0)} mN in all (${start.loadTotal.toFixed(0)} on day 0), ` +
      (even || hours.length > 4
        ? `${even ? "evenly" : "nearly evenly"} round the clock.`
        : `most at ${hoursInWords(hours)} (${hours.length > 1 ? "each " : ""}${top.toFixed(1)} mN).`),
  );

  for (const occasion of cutOccasions(scenario)) {
    const n = occasion.relaxing_cuts.hours.length;
    if (n === 0 || occasion.day > course.lastDay) continue;
    const length = (occasion.relaxing_cuts.length_mm ?? defaults.cutLength).toFixed(2);
    const what = `${["no cut", "one cut", "two cuts", "three cuts", "four cuts", "five cuts", "six cuts"][n] ?? `${n} cuts`} of ${length} mm on day ${occasion.day}`;
    const relief = course.relief(occasion.day);
    const begin = what[0]!.toUpperCase() + what.slice(1);
    if (relief === undefined)
      sentences.push(`${begin}: the lips close or overlap instead of gaping, so no relief can be stated.`);
    else
      sentences.push(
        now.day < occasion.day
          ? `${begin} are still to come.`
          : `${begin} ${n === 1 ? "gives" : "give"} back ${relief.toFixed(1)} mm² at once.`,
      );
  }
  return sentences;
}

/** How far the eye of the last day is from closing by itself; nothing when the answer does not hold it, as the quick one
 *  never does. */
export function marginInWords(course: Course): string[] {
  const margin = course.history.runawayMargin;
  if (margin === undefined || margin.end === "not_followed") return []; // the second is among the flags
  const when = dayInWords(course.lastDay);
  if (margin.end === "nothing_pulls")
    return [`${when} no tissue pulls at the rim: nothing is there that could close the opening.`];
  const factor = margin.contraction_factor;
  const pull = `${factor.toFixed(factor < 9.95 ? 1 : 0)} times as hard as it does, and for good,`;
  const what = {
    tips: `would have to pull about ${pull} before nothing held the opening any more`,
    closes: `would have to pull about ${pull} before the opening had lost nine tenths of its area`,
    holds: `could pull ${pull} and the opening would still hold`,
  }[margin.end];
  return [
    `${when} this eye is ${nearness(factor)} closing: the tissue at its rim ${what}; ` +
      "this does not say whether or when it will, and among real eyes of one kind the number differs several-fold.",
  ];
}

// The first bound is the one below which the library raises a flag. Several-fold: 4 to 59 in 8 of 10 eyes like the middle
// one of those without known risk, which itself has 11.
const nearness = (factor: number): string => (factor < 1.5 ? "near" : factor < 5 ? "some way from" : "far from");

/** How far eyes like this one spread on that day; nothing on day 0, when all are as measured. */
export function bandInWords(crowd: Crowd | undefined, course: Course, day: number): string[] {
  if (!crowd || day < 0.5) return [];
  const off = crowd.at("decentration", day);
  const between = ([low, , high]: Range, digits: number, unit: string): string =>
    low.toFixed(digits) === high.toFixed(digits)
      ? `at ${low.toFixed(digits)} ${unit}`
      : `between ${low.toFixed(digits)} and ${high.toFixed(digits)} ${unit}`;
  const who = course.history.scenario.lens ? "lens" : "opening";
  const start = crowd.at("area", 0)[1],
    area = crowd.at("area", day);
  const percent = (left: number): string => Math.max(0, 100 * (1 - left / start)).toFixed(0);
  const lost = start > 0 && area[2] < start ? ` (${percent(area[2])} to ${percent(area[0])} % of the area lost)` : "";
  return [
    `In 8 of 10 eyes like this one the opening is then ${between(crowd.at("diameter", day), 1, "mm")} across${lost}, ` +
      (off[2] < central
        ? `and the ${who} is central.`
        : `and the ${who} lies ${between(off, 2, "mm")} from the pupil's centre.`),
  ];
}

/** All that is said of one eye, in the order in which it is read. */
export function wholeReading(course: Course, day: number, crowd: Crowd | undefined, law: OtherLaw | undefined): string {
  return [
    ...readingOf(course, day),
    ...bandInWords(crowd, course, day),
    ...otherLawInWords(law, course, day),
    ...marginInWords(course),
  ].join(" ");
}

/** What the bands rest on. */
export function aboutBands(crowds: Crowds): string {
  const crowd = crowds.a ?? crowds.b;
  if (!crowd) return "No band of real eyes is shown: read directions and comparisons, not millimetres.";
  return `In the band lie 8 of 10 eyes, a tenth on either side (${crowd.source}). The spread is fitted to published groups of patients and put about this invented eye.`;
}

function signed(v: number, digits: number): string {
  const text = Math.abs(v).toFixed(digits);
  return `${Number(text) === 0 ? "±" : v > 0 ? "+" : "−"}${text}`;
}

/** B minus A over the same eyes under both plans; nothing before both crowds are in. */
export function crowdDifference({ a, b }: Crowds, day: number): string {
  if (!a || !b || day < 0.5) return "";
  const { range, less, eyes } = a.difference(b, "area", day);
  if (eyes === 0) return "";
  return `The same ${eyes} eyes under both: area ${signed(range[0], 1)} to ${signed(range[2], 1)} mm² in 8 of 10, smaller in B in ${less} of ${eyes}.`;
}

/** B minus A on one day. */
export function differenceOf(a: Course, b: Course, day: number): string {
  const p = a.at(day),
    q = b.at(day);
  const off = (m: typeof p, course: Course): number => {
    const c = course.history.scenario.lens !== null ? m.lens : m.opening;
    return Math.hypot(c[0], c[1]);
  };
  return (
    `B minus A, day ${Math.round(day)}: area ${signed(q.area - p.area, 1)} mm², diameter ${signed(q.diameter - p.diameter, 2)} mm, ` +
    `decentration ${signed(off(q, b) - off(p, a), 2)} mm, zonule load ${signed(q.loadTotal - p.loadTotal, 1)} mN`
  );
}

/** What a listener must know before believing the picture. */
export function uncertainties(
  course: Course,
  level: Level,
  crowd: Crowd | undefined,
  law: OtherLaw | undefined,
): string[] {
  const { scenario } = course.history;
  const list = [
    crowd
      ? `The line is one invented eye; 8 of 10 eyes like it lie in the band (${crowd.source}). The band holds what differed within published groups of patients and nothing else: not the surgeon's or the model's own error.`
      : "The numbers are those of one invented eye, shown without the spread of real eyes: read directions and comparisons, not millimetres.",
    "Seen from the front only: no tilt, no movement forward or back, no gravity, no tearing, no laser shock.",
    "The push of the haptics, the pull of the zonule and the speed of healing are assumed averages; nobody can measure them in a patient today.",
    ...(law
      ? [
          "Two hypotheses of what pulls are fitted to the same groups of patients, and nobody has told them apart in a patient. The thin line is this eye under the other one; the gap to it comes on top of the band.",
        ]
      : []),
    "Days between computed ones lie on a straight line.",
  ];
  if (level === "coarse") list.unshift("This is the quick, coarse answer while a control moves.");
  if (ringOf(scenario))
    list.push("The ring's stiffness after months in the bag is uncertain; so is how its ends slide.");
  if (hasCuts(scenario)) list.push("New tissue bridging a cut is not modelled: late relief may be too good.");
  return [
    ...course.history.outcomes.flags
      .filter((f) => f.code !== "no_contraction" || course.start.area > 0)
      .map((f) => f.text),
    ...list,
  ];
}

/** What the picture shows, for those who do not see it. */
export function pictureInWords(course: Course, day: number): string {
  const { scenario } = course.history;
  const now = course.at(day);
  const parts = [
    `Front view of ${scenario.eye === "left" || scenario.eye === "right" ? `a ${scenario.eye} eye` : "an eye"}, day ${Math.round(now.day)}`,
    `opening ${now.diameter.toFixed(2)} mm, from ${now.smallest.toFixed(2)} to ${now.largest.toFixed(2)} mm`,
  ];
  const z = strengths(scenario);
  const absent = allHours.filter((_, i) => z[i]! < 0.01),
    weak = allHours.filter((_, i) => z[i]! >= 0.01 && z[i]! < 0.6);
  parts.push(
    absent.length === 0 && weak.length === 0
      ? "zonule present all round"
      : [
          absent.length > 0 ? `no zonule at ${hoursInWords(absent)}` : "",
          weak.length > 0 ? `weak zonule at ${hoursInWords(weak)}` : "",
        ]
          .filter(Boolean)
          .join(", "),
  );
  const lens = lensOf(scenario);
  parts.push(
    lens
      ? `optic of ${lens.optic_diameter_mm ?? defaults.opticDiameter} mm, ${Math.hypot(...now.lens).toFixed(2)} mm off centre`
      : "no lens",
  );
  if (now.ring) parts.push("a tension ring lies in the bag");
  if (now.tissue > 0.01) {
    const least = Math.min(...now.tissueByHour),
      hour = now.tissueByHour.indexOf(least) || 12;
    parts.push(
      `fibrous tissue at ${Math.round(100 * now.tissue)} % of its full thickness under the rim` +
        (least < 0.8 * now.tissue ? `, least at ${hour} o'clock (${Math.round(100 * least)} %)` : ""),
    );
  }
  const made = cutOccasions(scenario)
    .filter((e) => e.day <= now.day)
    .flatMap((e) => e.relaxing_cuts.hours);
  if (made.length > 0) parts.push(`relaxing cuts at ${hoursInWords(made)}`);
  return `${parts.join("; ")}.`;
}
