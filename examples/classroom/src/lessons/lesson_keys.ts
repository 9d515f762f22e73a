// SPDX-License-Identifier: BSD-3-Clause
/** The lessons by key, in the order of their numbers: what addresses, words and lessons have in common. */

export const lessonKeys = [
  "small",
  "sector",
  "polish",
  "look",
  "ring",
  "ringsize",
  "when",
  "number",
  "side",
  "laws",
] as const;
export type LessonKey = (typeof lessonKeys)[number];
