// SPDX-License-Identifier: BSD-3-Clause
/** What a test of the page may look at: attributes of the body, all of them written here. */

import type { History } from "capsim";
import type { Level } from "./state/eye_settings.js";
import type { Plan } from "./state/frame.js";

const data = (): DOMStringMap => document.body.dataset;
const more = (name: string): string => String(Number(data()[name] ?? 0) + 1);
const name = (word: string, side: Plan): string => `${word}${side.toUpperCase()}`;

export const hooks = {
  answer(side: Plan, history: History, level: Level, milliseconds: number): void {
    data()[name("level", side)] = level;
    data()[`milliseconds${level === "coarse" ? "Coarse" : "Standard"}`] = milliseconds.toFixed(1);
    data()[name("opening", side)] = String(history.scenario.opening.diameter_mm);
    data().answers = more("answers");
  },
  /** An eye has been drawn from numbers that were computed for it. */
  pictured(): void {
    if (performance.getEntriesByName("first-picture").length === 0) performance.mark("first-picture");
  },
  busy(busy: boolean): void {
    if (data().busy === "true" && !busy) data().settled = more("settled");
    data().busy = String(busy);
  },
  crowd(side: Plan, eyes: number | undefined): void {
    if (eyes === undefined) delete data()[name("crowd", side)];
    else data()[name("crowd", side)] = String(eyes);
  },
  law(side: Plan, law: string | undefined): void {
    if (law === undefined) delete data()[name("law", side)];
    else data()[name("law", side)] = law;
  },
  day(day: number): void {
    data().day = day.toFixed(3);
  },
  ready(): void {
    data().ready = "true";
  },
};
