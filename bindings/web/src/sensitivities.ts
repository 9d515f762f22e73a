// SPDX-License-Identifier: BSD-3-Clause
/** Derivatives of the outcomes of a run by numbers of its scenario: of the run itself, without a step size to choose. */

import type { Outcome } from "./history.js";
import type { OutcomeName } from "./recorded.js";
import type { Scenario } from "./scenario.js";

export interface SensitivityRequest {
  scenario: Scenario;
  /** Dotted paths, each clock hour of values by hour on its own: "zonule.strength_by_hour.4". */
  parameters: string[];
}

/** What the engine sends beside the numbers. */
export interface SensitivityText {
  status: string;
  message: string;
  parameters: { path: string; unit: string; value: number; one_sided: boolean }[];
  outcomes: { values: Outcome[]; cautions: string[] };
}

export class Sensitivities {
  constructor(
    readonly text: SensitivityText,
    readonly numbers: Float64Array,
  ) {}

  /** Empty, or why derivatives are missing (NaN). */
  get message(): string {
    return this.text.message;
  }
  get parameters(): SensitivityText["parameters"] {
    return this.text.parameters;
  }
  /** To be shown with every result. */
  get cautions(): string[] {
    return this.text.outcomes.cautions;
  }
  /** Of an outcome by each parameter; undefined when the run has no such outcome. */
  of(outcome: OutcomeName): Float64Array | undefined {
    const at = this.text.outcomes.values.findIndex((o) => o.name === outcome),
      count = this.parameters.length;
    return at < 0 ? undefined : this.numbers.subarray(at * count, (at + 1) * count);
  }
}
