// SPDX-License-Identifier: BSD-3-Clause
/** What is read off at the hour or the day that is pointed at. */

import { hoursInWords } from "../state/frame.js";
import type { Loads } from "../state/loads.js";
import { type Quantity, valueAt } from "../state/quantity.js";
import { type Show, sidesOf, toldOf } from "../state/show.js";
import { rimWay } from "../stage/rim.js";
import { fixed, t } from "./texts.js";

/** Of both eyes at one hour: how far the rim has come, and what the fibres there carry. */
export function hourReadOut(show: Show, hour: number, loads: Loads): string {
  const say = t().pointed;
  const eyes = sidesOf(show).map((side) => {
    const course = show.courses[side]!,
      now = course.at(show.day),
      way = rimWay(course.start, now, hour);
    return say.eye(side.toUpperCase(), fixed(Math.abs(way), 2), way >= 0, loads.hour(now.load[hour % 12]!));
  });
  return say.at(hoursInWords([hour]), eyes.join("; "));
}

/** Of both eyes on one day: one quantity, with its unit. */
export function dayReadOut(show: Show, quantity: Quantity, day: number): string {
  const values = sidesOf(toldOf(quantity.key, show)).flatMap((side) => {
    const course = show.courses[side]!;
    if (day > course.lastDay) return [];
    return [`${side.toUpperCase()} ${fixed(valueAt(quantity, course, day), quantity.digits)} ${quantity.unit}`];
  });
  return t().pointed.at(t().day(day), values.join(", "));
}
