// SPDX-License-Identifier: BSD-3-Clause
/** libcapsim in a browser or in node: how the lens capsule's opening contracts after cataract surgery.
 *  For research and teaching, not for treating a patient: show `Engine.about.researchCaution` with every result. */

export { compileEngine, loadEngine } from "./engine.js";
export {
  type About,
  Engine,
  type Population,
  type Progress,
  type SimulateOptions,
  type StudyOptions,
} from "./engine_core.js";
export type { StudyProgress } from "./messages.js";
export { CapsimError, type Problem, type ProblemStatus, type Violation } from "./errors.js";
export {
  type CutRecord,
  History,
  type HistoryText,
  type Outcome,
  type Outcomes,
  type RunawayMargin,
  type SeriesLayout,
} from "./history.js";
export {
  type Axis,
  type Diagnostics,
  type OutcomeName,
  pupilDiameters_mm,
  type SeriesName,
  type Status,
} from "./recorded.js";
export type * from "./scenario.js";
export { Sensitivities, type SensitivityRequest } from "./sensitivities.js";
export { Solver, type SolveOptions, type StudySolveOptions } from "./solver.js";
export type * from "./study.js";
