// SPDX-License-Identifier: BSD-3-Clause
/** The frame of the eye, as the examiner sees it: 12 up, hours clockwise, x to the right, y up. */

import type { Eye, Point } from "capsim";
import { inText, t } from "../words/texts.js";

/** Which of the two eyes on screen. */
export type Side = "a" | "b";
export const bothSides = ["a", "b"] as const;
/** Plans that stand in the table: the two on screen, and up to two more that have been kept. */
export type Plan = Side | "c" | "d";
export const keptPlans = ["c", "d"] as const;

export const allHours = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 12] as const;

/** Angle [rad], counter-clockwise from +x. */
export const angleOfHour = (hour: number): number => Math.PI / 2 - (Math.PI / 6) * hour;

/** Hour in (0, 12]. */
export function hourOfDirection(x: number, y: number): number {
  const hour = 3 - Math.atan2(y, x) / (Math.PI / 6);
  const wrapped = ((hour % 12) + 12) % 12;
  return wrapped < 1e-9 ? 12 : wrapped;
}

export const pointAt = (hour: number, radius: number): Point => [
  radius * Math.cos(angleOfHour(hour)),
  radius * Math.sin(angleOfHour(hour)),
];

/** Which side of the picture is nasal: right eye, 3 o'clock. Undefined where nobody has said which eye it is. */
export const nasalIsRight = (eye: Eye | null | undefined): boolean | undefined =>
  eye === "right" ? true : eye === "left" ? false : undefined;

/** "up and nasally", "temporally", ...; "to the left" in an eye whose side is not stated. */
export function directionInWords([x, y]: Point, eye: Eye | null | undefined): string {
  const length = Math.hypot(x, y);
  const say = t().direction;
  if (length === 0) return say.nowhere;
  const words: string[] = [];
  const nasal = nasalIsRight(eye);
  if (Math.abs(y) > 0.38 * length) words.push(y > 0 ? say.up : say.down); // within 67 degrees of it
  if (Math.abs(x) > 0.38 * length)
    words.push(nasal === undefined ? (x > 0 ? say.right : say.left) : x > 0 === nasal ? say.nasally : say.temporally);
  return say.joined(words);
}

/** "3, 4 and 5 o'clock". */
export function hoursInWords(hours: readonly number[]): string {
  const sorted = [...hours].sort((a, b) => a - b).map((h) => inText(String(Math.round(h * 10) / 10)));
  if (sorted.length === 0) return t().clock.none;
  return sorted.length === 12 ? t().clock.all : t().clock.hours(sorted);
}
