// SPDX-License-Identifier: BSD-3-Clause
/** Where an outline lies from a point within it: at an hour, in a direction, and how far it has come since day 0. */

import type { Point } from "capsim";
import type { Moment } from "../state/course.js";
import { angleOfHour, hourOfDirection } from "../state/frame.js";

/** The tip of an open cut: the point of the rim farthest from `from` within half an hour of an hour. */
export function farthestNear(outline: readonly Point[], from: Point, hour: number): Point {
  const off = ([x, y]: Point): [number, number] => [x - from[0], y - from[1]];
  const near = outline.filter((p) => {
    const gap = Math.abs(hourOfDirection(...off(p)) - hour);
    return Math.min(gap, 12 - gap) < 0.5;
  });
  return near.reduce((best, p) => (Math.hypot(...off(p)) > Math.hypot(...off(best)) ? p : best), near[0] ?? from);
}

/** How far the rim has come in at a clock hour since day 0 [mm], along the ray from the first centre. */
export function rimWay(start: Moment, moment: Moment, hour: number): number {
  const angle = angleOfHour(hour);
  return reachTo(start.rim, start.opening, angle) - reachTo(moment.rim, start.opening, angle);
}

/** Of some hours the one at which the rim has come farthest. Where it has come as far at several, to a micrometre, the first of them: the last
 *  digits of a run, which no picture shows, do not decide. */
export function hourOfLongestWay(start: Moment, moment: Moment, hours: readonly number[]): number | undefined {
  const alike = 1e-3, // mm
    ways = hours.map((hour) => Math.abs(rimWay(start, moment, hour))),
    longest = Math.max(...ways);
  return hours[ways.findIndex((way) => way > longest - alike)];
}

/** Distance from `from` to the nearest crossing with a closed outline in a direction. Asked some hundred times for each picture, so that it
 *  makes no points of its own. */
export function reachTo(outline: readonly Point[], from: Point, angle: number): number {
  const c = Math.cos(angle),
    s = Math.sin(angle),
    along = ([x, y]: Point): number => (x - from[0]) * c + (y - from[1]) * s,
    across = ([x, y]: Point): number => (y - from[1]) * c - (x - from[0]) * s;
  let found = Infinity,
    last = outline.at(-1)!,
    lastAcross = outline.length > 0 ? across(last) : 0;
  for (const point of outline) {
    const now = across(point);
    if (now > 0 !== lastAcross > 0) {
      const start = along(last),
        x = start + ((along(point) - start) * lastAcross) / (lastAcross - now);
      if (x > 0) found = Math.min(found, x);
    }
    last = point;
    lastAcross = now;
  }
  return Number.isFinite(found) ? found : 0;
}
