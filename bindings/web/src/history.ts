// SPDX-License-Identifier: BSD-3-Clause
/** What a run leaves behind: every series in one block of numbers of its own, and how the run ended. */

import type { Axis, Diagnostics, OutcomeName, SeriesName, Status } from "./recorded.js";
import type { Point, Scenario } from "./scenario.js";

/** Where the values of one named quantity stand: rows x columns, row-major, from `offset` on. */
export interface SeriesLayout {
  name: SeriesName; // contract name with the unit as suffix, "opening_area_mm2"
  unit: string;
  description: string;
  columns: number;
  axis: Axis; // what the columns are
  offset: number;
}

export interface CutRecord {
  hour: number;
  length_mm: number; // as asked
  length_on_day_mm: number; // as the leaf lay just before the cut
  day: number;
}

/** One named scalar of the outcomes; null when it is not a number. */
export interface Outcome {
  name: OutcomeName;
  unit: string;
  value: number | null;
  description: string;
}

export interface Outcomes {
  values: Outcome[];
  flags: { code: string; text: string }[];
  cautions: string[]; // to be shown wherever the result is shown
}

/** How much more the rim of the last day would have to pull, and keep it up for good, before the opening gave way. */
export interface RunawayMargin {
  /** What happens at the factor: the opening runs away; it has lost nine tenths of its first area; neither, the
   *  search ended there; no equilibrium was found beyond; or there is no tissue that pulls, and no factor. */
  end: "tips" | "closes" | "holds" | "not_followed" | "nothing_pulls";
  contraction_factor: number; // times the present pull, at least 1; 0 when nothing pulls
  area_mm2: number; // of the opening there
  equilibria: number; // solved to find it
}

/** Everything of a history but its numbers. */
export interface HistoryText {
  status: Status;
  message: string;
  version: string;
  rows: number;
  scenario: Required<Scenario>;
  diagnostics: Diagnostics;
  cuts: CutRecord[];
  outcomes: Outcomes;
  runaway_margin?: RunawayMargin; // when it was asked for and the last day was reached
  series: SeriesLayout[];
}

/** The result of one run. It owns its numbers: nothing in it points into the engine's memory. */
export class History {
  readonly #at: Map<string, SeriesLayout>;

  constructor(
    readonly text: HistoryText,
    readonly numbers: Float64Array,
  ) {
    this.#at = new Map(text.series.map((s) => [s.name, s]));
  }

  get status(): Status {
    return this.text.status;
  }
  /** One sentence: why the run ended. */
  get message(): string {
    return this.text.message;
  }
  get scenario(): Required<Scenario> {
    return this.text.scenario;
  }
  get rows(): number {
    return this.text.rows;
  }
  get cuts(): CutRecord[] {
    return this.text.cuts;
  }
  get outcomes(): Outcomes {
    return this.text.outcomes;
  }
  /** Undefined unless it was asked for. */
  get runawayMargin(): RunawayMargin | undefined {
    return this.text.runaway_margin;
  }
  get day(): Float64Array {
    return this.values("day");
  }

  has(name: SeriesName): boolean {
    return this.#at.has(name);
  }

  layout(name: SeriesName): SeriesLayout {
    const layout = this.#at.get(name);
    if (layout === undefined) throw new RangeError(`no series is called "${name}"`);
    return layout;
  }

  /** All values of one series, rows x columns. */
  values(name: SeriesName): Float64Array {
    const { offset, columns } = this.layout(name);
    return this.numbers.subarray(offset, offset + columns * this.rows);
  }

  value(name: SeriesName, row: number, column = 0): number {
    const { offset, columns } = this.layout(name);
    if (row < 0 || row >= this.rows || column < 0 || column >= columns)
      throw new RangeError(`"${name}" has ${this.rows} rows of ${columns}; asked for row ${row}, column ${column}`);
    return this.numbers[offset + row * columns + column]!;
  }

  /** The points of one row of a series of points (outlines, centres). */
  points(name: SeriesName, row: number): Point[] {
    const { offset, columns } = this.layout(name);
    const points: Point[] = [];
    for (let c = 0; c + 1 < columns; c += 2) {
      const at = offset + row * columns + c;
      points.push([this.numbers[at]!, this.numbers[at + 1]!]);
    }
    return points;
  }

  /** The value of one named outcome; undefined when this run has none of that name. */
  outcome(name: OutcomeName): number | undefined {
    return this.outcomes.values.find((o) => o.name === name)?.value ?? undefined;
  }
}
