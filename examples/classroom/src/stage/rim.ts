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

/** Distance from `from` to the nearest crossing with a closed outline in a direction. */
export function reachTo(outline: readonly Point[], from: Point, angle: number): number {
  const [c, s] = [Math.cos(angle), Math.sin(angle)];
  let found = Infinity;
  outline.forEach((p, i) => {
    const q = outline[(i + 1) % outline.length]!;
    const along = (v: Point): [number, number] => [
      (v[0] - from[0]) * c + (v[1] - from[1]) * s,
      (v[1] - from[1]) * c - (v[0] - from[0]) * s,
    ];
    const [ax, ay] = along(p),
      [bx, by] = along(q);
    if (ay > 0 === by > 0) return;
    const x = ax + ((bx - ax) * ay) / (ay - by);
    if (x > 0) found = Math.min(found, x);
  });
  return Number.isFinite(found) ? found : 0;
}
