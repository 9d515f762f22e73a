// SPDX-License-Identifier: BSD-3-Clause
/** What a `Solver` and its worker say to each other. */

import type { Progress } from "./engine_core.js";
import type { Problem } from "./errors.js";
import type { HistoryText } from "./history.js";
import type { SensitivityRequest, SensitivityText } from "./sensitivities.js";
import type { StudyOfRequest, StudyRequest } from "./study.js";

export type WorkerRequest =
  /** With the compiled engine; or with the packed one, which the worker compiles and hands back. */
  | { kind: "start"; engine: WebAssembly.Module | string }
  | {
      kind: "simulate";
      id: number;
      scenario: string;
      reportProgress: boolean;
      tellDay0: boolean;
      runawayMargin: boolean;
      cancelFlag?: Int32Array;
    }
  | { kind: "study"; id: number; request: StudyRequest; cancelFlag?: Int32Array }
  | { kind: "sensitivities"; id: number; request: SensitivityRequest };

export interface StudyProgress {
  done: number;
  total: number;
}

export type WorkerAnswer =
  | { kind: "awake" }
  | { kind: "compiled"; module: WebAssembly.Module }
  | { kind: "ready" }
  | { kind: "progress"; id: number; progress: Progress }
  | { kind: "begun"; id: number; text: HistoryText; numbers: Float64Array }
  | { kind: "history"; id: number; text: HistoryText; numbers: Float64Array }
  | { kind: "counted"; id: number; progress: StudyProgress }
  | { kind: "study"; id: number; study: StudyOfRequest<StudyRequest> }
  | { kind: "sensitivities"; id: number; text: SensitivityText; numbers: Float64Array }
  | { kind: "problem"; id: number; problem: Problem };
