// SPDX-License-Identifier: BSD-3-Clause
/** Eyes that are in the page when it comes: those of the lessons, as surgery leaves them and on the day that the lesson asks about.
 *
 *  The build of the page runs them with the engine that it puts into the page; nobody writes them down. They are what is pictured until the
 *  page's own engine has answered, and nothing is said of them. An eye is found by its whole scenario but for its name: one that
 *  differs in anything else is not among them. */

import type { Engine, Scenario } from "capsim";
import { lessons } from "../lessons/lesson_list.js";
import { Course, type Moment, type Pictured } from "./course.js";
import { atLevel } from "./eye_settings.js";

/** What the build leaves in the page. */
export interface ShippedEyes {
  version: string; // of the engine that has run them
  /** `ShippedEye` as text, by what `keyOf` makes of its scenario: only those that are looked at are read. */
  eyes: Record<string, string>;
}
export interface ShippedEye {
  loadTop: number; // of the whole course, so that colours stay when that is there
  moments: Moment[]; // day 0, then the lesson's day
}

/** Digits after the point of what is shipped: a hundredth of a micrometre, in a picture of some tens of pixels to the millimetre. */
const digits = 5;

/** A scenario whose text is longer than this is none of them; it may be anything, for it comes from a link. */
const longest = 2000;

/** The scenario as one text, whatever the order of its fields; its name, and a list of events with nothing in it, left out. */
export function keyOf(scenario: Scenario): string {
  const sorted = (value: unknown): unknown =>
    Array.isArray(value)
      ? value.map(sorted)
      : typeof value === "object" && value !== null
        ? Object.fromEntries(
            Object.entries(value)
              .sort(([p], [q]) => (p < q ? -1 : 1))
              .map(([key, held]) => [key, sorted(held)]),
          )
        : value;
  const { name: _name, events, ...rest } = scenario;
  const empty = Array.isArray(events) && events.length === 0;
  return JSON.stringify(sorted(events === undefined || empty ? rest : { ...rest, events }));
}

/** Runs the eyes of all lessons, as the page would: their quick answers. */
export function shippedBy(engine: Engine): ShippedEyes {
  const eyes: Record<string, string> = {};
  const rounded = (_: string, value: unknown): unknown =>
    typeof value === "number" ? Number(value.toFixed(digits)) : value;
  for (const { a, b, day } of lessons())
    for (const scenario of b === null ? [a] : [a, b]) {
      const course = new Course(engine.simulate(atLevel(scenario, "coarse")));
      const eye: ShippedEye = { loadTop: course.loadTop, moments: [course.start, course.at(day)] };
      eyes[keyOf(scenario)] = JSON.stringify(eye, rounded);
    }
  return { version: engine.about.version, eyes };
}

class Shipped implements Pictured {
  constructor(
    readonly scenario: Scenario,
    private readonly eye: ShippedEye,
  ) {}
  get loadTop(): number {
    return this.eye.loadTop;
  }
  get start(): Moment {
    return this.eye.moments[0]!;
  }
  #on(day: number): Moment | undefined {
    return this.eye.moments.find((moment) => Math.abs(moment.day - day) < 0.5);
  }
  shows(day: number): boolean {
    return this.#on(day) !== undefined;
  }
  at(day: number): Moment {
    return this.#on(day) ?? this.start;
  }
}

let read: ShippedEyes | undefined;

/** The eye of a scenario as it came with the page; undefined for all but those that did. */
export function shipped(scenario: Scenario): Pictured | undefined {
  read ??= JSON.parse(document.getElementById("shipped-eyes")!.textContent!) as ShippedEyes;
  if (JSON.stringify(scenario).length > longest) return undefined;
  const key = keyOf(scenario);
  return Object.hasOwn(read.eyes, key) ? new Shipped(scenario, JSON.parse(read.eyes[key]!) as ShippedEye) : undefined;
}
