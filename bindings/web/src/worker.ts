// SPDX-License-Identifier: BSD-3-Clause
/** Inside the worker: one engine that runs one scenario at a time for a `Solver`. */

import createCapsimEngine from "capsim-engine";
import { Engine } from "./engine_core.js";
import { CapsimError, type Problem } from "./errors.js";
import type { WorkerAnswer, WorkerRequest } from "./messages.js";
import { compilePacked } from "./unpack.js";

const page = self as unknown as {
  onmessage: ((event: MessageEvent<WorkerRequest>) => void) | null;
  postMessage(answer: WorkerAnswer, transfer?: Transferable[]): void;
};

let engine: Promise<Engine> | undefined;
page.postMessage({ kind: "awake" });

page.onmessage = async ({ data }) => {
  if (data.kind === "start") {
    engine = started(data.engine);
    engine.then(() => page.postMessage({ kind: "ready" }), fail(-1));
    return;
  }
  if (engine === undefined) return;
  const { id } = data;
  try {
    const ready = await engine;
    if (data.kind === "study") return study(ready, data);
    if (data.kind === "sensitivities") {
      const { text, numbers } = ready.sensitivities(data.request);
      return page.postMessage({ kind: "sensitivities", id, text, numbers }, [numbers.buffer as ArrayBuffer]);
    }
    const { cancelFlag, scenario, reportProgress, runawayMargin, tellDay0 } = data;
    let reported = performance.now();
    const history = ready.simulate(scenario, {
      runawayMargin,
      ...(cancelFlag === undefined ? {} : { cancelFlag }),
      ...(!tellDay0
        ? {}
        : {
            onDay0({ text, numbers }) {
              page.postMessage({ kind: "begun", id, text, numbers }, [numbers.buffer as ArrayBuffer]);
            },
          }),
      ...(!reportProgress
        ? {}
        : {
            onProgress(progress) {
              const now = performance.now();
              if (now - reported < 30) return; // more often than a screen could show
              reported = now;
              page.postMessage({ kind: "progress", id, progress });
            },
          }),
    });
    page.postMessage({ kind: "history", id, text: history.text, numbers: history.numbers }, [history.numbers.buffer]);
  } catch (error) {
    fail(id)(error);
  }
};

async function started(from: WebAssembly.Module | string): Promise<Engine> {
  if (typeof from !== "string") return Engine.create(createCapsimEngine, from);
  const module = await compilePacked(from);
  page.postMessage({ kind: "compiled", module });
  return Engine.create(createCapsimEngine, module);
}

function study(ready: Engine, { id, request, cancelFlag }: Extract<WorkerRequest, { kind: "study" }>): void {
  let told = -1;
  const study = ready.study(request, {
    ...(cancelFlag === undefined ? {} : { cancelFlag }),
    onProgress(done, total) {
      if (done === told) return; // asked after every time step
      told = done;
      page.postMessage({ kind: "counted", id, progress: { done, total } });
    },
  });
  page.postMessage({ kind: "study", id, study });
}

function fail(id: number): (error: unknown) => void {
  return (error) => {
    const problem: Problem =
      error instanceof CapsimError
        ? error.toProblem()
        : { status: "internal_error", message: String(error), violations: [] };
    page.postMessage({ kind: "problem", id, problem });
  };
}
