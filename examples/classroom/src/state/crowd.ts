// SPDX-License-Identifier: BSD-3-Clause
/** Many eyes like the one on screen, which differ as real eyes of one kind do, and the band they fill.
 *
 *  Eye number i is the same eye under every plan, so two crowds can be compared eye by eye. */

import type { History, Population } from "capsim";
import { populationInWords, t } from "../words/texts.js";
import { Course } from "./course.js";
import { type Quantity, quantities, type QuantityKey } from "./quantity.js";

/** How many eyes make a band, and after how many more of them it is drawn anew. */
export const crowdSize = 32,
  crowdBatch = 8;
/** Share of the eyes inside the band: a tenth lies on either side. */
export const bandLevel = 0.8;

/** Low end, median and high end. */
export type Range = [low: number, median: number, high: number];
export interface Band {
  day: Float64Array;
  low: number[];
  median: number[];
  high: number[];
}

/** Quantile of sorted values, on a straight line between neighbours. */
export function quantile(sorted: readonly number[], share: number): number {
  const at = share * (sorted.length - 1),
    below = Math.floor(at),
    above = Math.min(below + 1, sorted.length - 1);
  return sorted[below]! + (at - below) * (sorted[above]! - sorted[below]!);
}

function rangeOf(values: number[]): Range {
  values.sort((a, b) => a - b);
  return [quantile(values, (1 - bandLevel) / 2), quantile(values, 0.5), quantile(values, (1 + bandLevel) / 2)];
}

export class Crowd {
  /** Days of the eye that was followed longest. All eyes have the same output days and events. */
  day = new Float64Array();
  eyes = 0; // in so far
  failed = 0; // of these: did not reach the last day; they count up to where they got
  readonly #courses: Record<QuantityKey, number[]>[] = []; // by number of the eye
  readonly courses: Course[] = []; // those that reached the last day, by number of the eye
  readonly #bands = new Map<QuantityKey, { eyes: number; band: Band }>();

  constructor(readonly population: Population) {}

  get complete(): boolean {
    return this.eyes >= crowdSize;
  }

  add(index: number, history: History): void {
    const hasLens = history.scenario.lens !== null;
    const course = (q: Quantity): number[] =>
      Array.from({ length: history.rows }, (_, row) =>
        q.of((name, column = 0) => history.value(name, row, column), hasLens),
      );
    this.#courses[index] = Object.fromEntries(quantities.map((q) => [q.key, course(q)])) as Record<
      QuantityKey,
      number[]
    >;
    if (history.rows > this.day.length) this.day = history.day;
    if (history.status === "completed") this.courses[index] = new Course(history);
    else ++this.failed;
    ++this.eyes;
  }

  /** An eye that could not be computed at all: it is counted, and adds nothing. */
  miss(): void {
    ++this.eyes;
    ++this.failed;
  }

  band(key: QuantityKey): Band {
    const known = this.#bands.get(key);
    if (known?.eyes === this.eyes) return known.band;
    const ranges = Array.from(this.day, (_, row) => rangeOf(this.#courses.flatMap((c) => c[key][row] ?? [])));
    const band = {
      day: this.day,
      low: ranges.map((r) => r[0]),
      median: ranges.map((r) => r[1]),
      high: ranges.map((r) => r[2]),
    };
    this.#bands.set(key, { eyes: this.eyes, band });
    return band;
  }

  /** On a day; on one with events just after them, or `before` them. */
  at(key: QuantityKey, day: number, before = false): Range {
    const { low, median, high } = this.band(key),
      at = this.#place(day, before);
    return [at(low), at(median), at(high)];
  }

  /** The other crowd minus this one, eye by eye; and in how many eyes the other one has less. */
  difference(other: Crowd, key: QuantityKey, day: number): { range: Range; less: number; eyes: number } {
    const here = this.#place(day),
      there = other.#place(day);
    const values = this.#courses.flatMap((course, index) => {
      const twin = other.#courses[index];
      const value = twin ? there(twin[key]) - here(course[key]) : Number.NaN;
      return Number.isFinite(value) ? [value] : [];
    });
    return { range: rangeOf(values), less: values.filter((v) => v < 0).length, eyes: values.length };
  }

  // How to read a course on a day: the side after an event on an event day, a straight line between days.
  #place(day: number, before = false): (values: readonly number[]) => number {
    const days = this.day;
    let row = 0;
    while (row + 1 < days.length && days[row + 1]! <= day + 1e-9) ++row;
    if (before && row > 0 && Math.abs(days[row]! - day) < 1e-9 && days[row - 1] === days[row]) --row;
    const next = Math.min(row + 1, days.length - 1);
    const gap = days[next]! - days[row]!;
    const share = gap > 0 ? Math.max(0, (day - days[row]!) / gap) : 0;
    return (values) => (share > 0 ? values[row]! + share * (values[next]! - values[row]!) : values[row]!);
  }

  /** "32 eyes, spread as in: Eyes without known risk, population age_related_cataract, edition 2026-11" */
  get source(): string {
    const { name, edition } = this.population;
    return t().reading.source(this.eyes, populationInWords(this.population), name, edition, this.failed);
  }
}
