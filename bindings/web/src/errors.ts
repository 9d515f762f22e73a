// SPDX-License-Identifier: BSD-3-Clause
/** What the engine says when it has no history to give. */

/** One violated constraint of a scenario. */
export interface Violation {
  path: string; // `events[0].relaxing_cuts.length_mm`
  value: string;
  limit: string;
  hint: string;
  text: string; // all of these in one line
}

/** Why a call gave no answer. Numerical outcomes are not errors: see `History.status`. */
export type ProblemStatus = "wrong_input" | "out_of_memory" | "internal_error" | "cancelled";

export interface Problem {
  status: ProblemStatus;
  message: string;
  violations: Violation[];
}

/** A `Problem` that can be thrown. */
export class CapsimError extends Error implements Problem {
  readonly status: ProblemStatus;
  readonly violations: Violation[];

  constructor(problem: Problem) {
    super(problem.message);
    this.name = "CapsimError";
    this.status = problem.status;
    this.violations = problem.violations;
  }

  /** As plain data, to cross from a worker to its page. */
  toProblem(): Problem {
    return { status: this.status, message: this.message, violations: this.violations };
  }
}
