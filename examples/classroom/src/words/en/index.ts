// SPDX-License-Identifier: BSD-3-Clause
/** English: every word that is seen first, by rooms. Another language is another folder of this shape. */

import { listed } from "../listed.js";
import { lessons } from "./lessons.js";
import { panels } from "./panels.js";
import { paper } from "./paper.js";
import { reading } from "./reading.js";
import { stage } from "./stage.js";

export const en = {
  language: "English",
  locale: "en",
  decimal: ".",
  /** Hours of a clock face. */
  clock: {
    none: "no hour",
    all: "all hours",
    hours: (hours: readonly string[]): string => `${listed(hours, "and")} o'clock`,
    short: (hour: number): string => `${hour} h`,
    spoken: "o'clock",
  },
  direction: {
    nowhere: "nowhere",
    up: "up",
    down: "down",
    right: "to the right",
    left: "to the left",
    nasally: "nasally",
    temporally: "temporally",
    joined: (words: readonly string[]): string => words.join(" and "),
  },
  title: "The capsule opening: what if?",
  short: "For research and teaching, not for treating a patient.",
  visit: ["1 day", "1 week", "1 month", "3 months", "6 months", "12 months"] as string[],
  surgery: "surgery",
  at: (visit: string): string => `At ${visit}`,
  onDay: (day: number): string => (day < 0.5 ? "At the end of surgery" : `On day ${Math.round(day)}`),
  day: (day: number): string => `day ${Math.round(day)}`,
  ...lessons,
  ...stage,
  ...reading,
  ...panels,
  ...paper,
};

export type Texts = typeof en;
