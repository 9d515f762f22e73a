// SPDX-License-Identifier: BSD-3-Clause
/** Runs scenarios in a worker, so that the page stays alive. Works from a file opened from disk. */

import { workerText } from "capsim-worker-text";
import { compileEngine } from "./engine.js";
import type { Progress } from "./engine_core.js";
import { CapsimError } from "./errors.js";
import { History } from "./history.js";
import type { WorkerAnswer, WorkerRequest } from "./messages.js";
import type { Scenario } from "./scenario.js";

export interface SolveOptions {
  /** Aborting rejects the promise with a `CapsimError` of status "cancelled", and frees the worker. */
  signal?: AbortSignal;
  onProgress?: (progress: Progress) => void;
  /** As for `Engine.simulate`. */
  runawayMargin?: boolean;
}

interface Job {
  id: number;
  resolve(history: History): void;
  reject(error: CapsimError): void;
  onProgress: ((progress: Progress) => void) | undefined;
}

/** One worker. Scenarios given while it is busy wait their turn. */
export class Solver {
  #worker: Worker | undefined;
  #last: Promise<unknown> = Promise.resolve();
  #job: Job | undefined;
  #ids = 0;
  #closings = 0;

  /** Starts the worker ahead of the first run. */
  async start(): Promise<void> {
    if (this.#worker !== undefined) return;
    const module = await compileEngine();
    if (this.#worker !== undefined) return;
    const url = URL.createObjectURL(new Blob([workerText], { type: "text/javascript" }));
    const worker = new Worker(url, { name: "capsim" });
    URL.revokeObjectURL(url);
    worker.onmessage = (event: MessageEvent<WorkerAnswer>) => this.#hear(event.data);
    worker.onerror = (event) => this.#fail(`the worker stopped: ${event.message}`);
    worker.postMessage({ kind: "start", module } satisfies WorkerRequest);
    this.#worker = worker;
  }

  /** Runs a scenario; rejects with a `CapsimError` for wrong input or when aborted. */
  simulate(scenario: Scenario, options: SolveOptions = {}): Promise<History> {
    const run = this.#last.then(() => this.#run(JSON.stringify(scenario), options));
    this.#last = run.catch(() => undefined);
    return run;
  }

  /** Ends the worker and gives its memory back; a later run starts a new one. */
  close(): void {
    ++this.#closings;
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#job?.reject(cancelled());
    this.#job = undefined;
  }

  async #run(scenario: string, { signal, onProgress, runawayMargin = false }: SolveOptions): Promise<History> {
    if (signal?.aborted) throw cancelled();
    await this.start();
    if (signal?.aborted) throw cancelled();
    // Where memory may be shared the engine stops at its next time step; where it may not (a file
    // opened from disk) the worker is ended, and another one starts at once from the compiled engine.
    const shared = typeof SharedArrayBuffer !== "undefined" && globalThis.crossOriginIsolated === true;
    const cancelFlag = shared ? new Int32Array(new SharedArrayBuffer(4)) : undefined;
    const id = ++this.#ids;
    const abort = () => {
      if (cancelFlag !== undefined) Atomics.store(cancelFlag, 0, 1);
      else this.#restart();
    };
    signal?.addEventListener("abort", abort, { once: true });
    try {
      const history = await new Promise<History>((resolve, reject) => {
        this.#job = { id, resolve, reject, onProgress };
        this.#worker?.postMessage({
          kind: "simulate",
          id,
          scenario,
          reportProgress: onProgress !== undefined,
          runawayMargin,
          ...(cancelFlag === undefined ? {} : { cancelFlag }),
        } satisfies WorkerRequest);
      });
      if (signal?.aborted) throw cancelled();
      return history;
    } finally {
      signal?.removeEventListener("abort", abort);
      if (this.#job?.id === id) this.#job = undefined;
    }
  }

  #restart(): void {
    this.close();
    const closings = this.#closings;
    void compileEngine()
      .then(() => (closings === this.#closings ? this.start() : undefined))
      .catch(() => undefined);
  }

  #hear(answer: WorkerAnswer): void {
    const job = this.#job;
    if (answer.kind === "ready") return;
    if (answer.kind === "problem" && answer.id === -1) this.#fail(answer.problem.message);
    if (job === undefined || answer.id !== job.id) return;
    if (answer.kind === "progress") job.onProgress?.(answer.progress);
    else if (answer.kind === "history") job.resolve(new History(answer.text, answer.numbers));
    else job.reject(new CapsimError(answer.problem));
  }

  #fail(message: string): void {
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#job?.reject(new CapsimError({ status: "internal_error", message, violations: [] }));
    this.#job = undefined;
  }
}

function cancelled(): CapsimError {
  return new CapsimError({ status: "cancelled", message: "the run was cancelled", violations: [] });
}
