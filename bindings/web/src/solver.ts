// SPDX-License-Identifier: BSD-3-Clause
/** Runs scenarios in a worker, so that the page stays alive. Works from a file opened from disk. */

import { workerText } from "capsim-worker-text";
import { compileEngine, engineOrPacked } from "./engine.js";
import type { Progress } from "./engine_core.js";
import { CapsimError } from "./errors.js";
import { History } from "./history.js";
import type { StudyProgress, WorkerAnswer, WorkerRequest } from "./messages.js";
import type { Scenario } from "./scenario.js";
import { Sensitivities, type SensitivityRequest } from "./sensitivities.js";
import type { StudyOfRequest, StudyRequest } from "./study.js";

export interface SolveOptions {
  /** Aborting rejects the promise with a `CapsimError` of status "cancelled", and frees the worker. */
  signal?: AbortSignal;
  /** As for `Engine.simulate`. */
  onDay0?: (history: History) => void;
  onProgress?: (progress: Progress) => void;
  /** As for `Engine.simulate`. */
  runawayMargin?: boolean;
}

export interface StudySolveOptions {
  signal?: AbortSignal;
  /** Told how many runs are done. */
  onProgress?: (progress: StudyProgress) => void;
}

type Outcome = Extract<WorkerAnswer, { kind: "history" | "study" | "sensitivities" }>;
interface Job {
  id: number;
  resolve(outcome: Outcome): void;
  reject(error: CapsimError): void;
  hear(answer: WorkerAnswer): void;
}
/** A request as far as it is known before its turn has come. */
type Wanted = (id: number, cancel: { cancelFlag?: Int32Array }) => WorkerRequest;

/** One worker. Scenarios given while it is busy wait their turn. */
export class Solver {
  #worker: Worker | undefined;
  #last: Promise<unknown> = Promise.resolve();
  #job: Job | undefined;
  #ids = 0;
  #closings = 0;
  #awake: () => void = () => undefined; // who waits for this worker to wake is told, or that it never will
  #compiled: (module?: WebAssembly.Module) => void = () => undefined; // who waits for this worker to compile is told

  /** Starts the worker ahead of the first run, and resolves when it is awake. The first one goes on to compile the
   *  engine for all: that no longer needs the page's thread, as waking it does. */
  async start(): Promise<void> {
    if (this.#worker !== undefined) return;
    let compiled: (module?: WebAssembly.Module) => void = () => undefined;
    const engine = engineOrPacked(new Promise((resolve) => (compiled = resolve)));
    if (typeof engine !== "string") {
      const module = await engine;
      if (this.#worker !== undefined) return;
      return this.#begin(module);
    }
    this.#compiled = compiled;
    try {
      return this.#begin(engine);
    } catch (error) {
      compiled(); // nobody else will
      throw error;
    }
  }

  #begin(engine: WebAssembly.Module | string): Promise<void> {
    const url = URL.createObjectURL(new Blob([workerText()], { type: "text/javascript" }));
    const worker = new Worker(url, { name: "capsim" });
    URL.revokeObjectURL(url);
    worker.onmessage = (event: MessageEvent<WorkerAnswer>) => this.#hear(event.data);
    worker.onerror = (event) => this.#fail(`the worker stopped: ${event.message}`);
    worker.postMessage({ kind: "start", engine } satisfies WorkerRequest);
    this.#worker = worker;
    return new Promise((awake) => (this.#awake = awake));
  }

  /** Runs a scenario; rejects with a `CapsimError` for wrong input or when aborted. */
  async simulate(scenario: Scenario, options: SolveOptions = {}): Promise<History> {
    const { signal, onDay0, onProgress, runawayMargin = false } = options;
    const text = JSON.stringify(scenario);
    const wanted: Wanted = (id, cancel) => ({
      kind: "simulate",
      id,
      scenario: text,
      reportProgress: onProgress !== undefined,
      tellDay0: onDay0 !== undefined,
      runawayMargin,
      ...cancel,
    });
    const outcome = await this.#inTurn(wanted, signal, (answer) => {
      if (answer.kind === "progress") onProgress?.(answer.progress);
      else if (answer.kind === "begun") onDay0?.(new History(answer.text, answer.numbers));
    });
    if (outcome.kind !== "history") throw new Error("the worker answered something else");
    return new History(outcome.text, outcome.numbers);
  }

  /** Plans of a crowd, as `Engine.study`. */
  async study<R extends StudyRequest>(request: R, options: StudySolveOptions = {}): Promise<StudyOfRequest<R>> {
    const { signal, onProgress } = options;
    const asked = structuredClone(request);
    const wanted: Wanted = (id, cancel) => ({ kind: "study", id, request: asked, ...cancel });
    const outcome = await this.#inTurn(wanted, signal, (answer) => {
      if (answer.kind === "counted") onProgress?.(answer.progress);
    });
    if (outcome.kind !== "study") throw new Error("the worker answered something else");
    return outcome.study as StudyOfRequest<R>;
  }

  /** As `Engine.sensitivities`. Aborting ends the worker. */
  async sensitivities(request: SensitivityRequest, options: { signal?: AbortSignal } = {}): Promise<Sensitivities> {
    const asked = structuredClone(request);
    const wanted: Wanted = (id) => ({ kind: "sensitivities", id, request: asked });
    const outcome = await this.#inTurn(wanted, options.signal, () => undefined);
    if (outcome.kind !== "sensitivities") throw new Error("the worker answered something else");
    return new Sensitivities(outcome.text, outcome.numbers);
  }

  #inTurn(wanted: Wanted, signal: AbortSignal | undefined, hear: Job["hear"]): Promise<Outcome> {
    const run = this.#last.then(() => this.#run(wanted, signal, hear));
    this.#last = run.catch(() => undefined);
    return run;
  }

  /** Ends the worker and gives its memory back; a later run starts a new one. */
  close(): void {
    ++this.#closings;
    this.#awake();
    this.#compiled();
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#job?.reject(cancelled());
    this.#job = undefined;
  }

  async #run(wanted: Wanted, signal: AbortSignal | undefined, hear: Job["hear"]): Promise<Outcome> {
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
      const outcome = await new Promise<Outcome>((resolve, reject) => {
        this.#job = { id, resolve, reject, hear };
        this.#worker?.postMessage(wanted(id, cancelFlag === undefined ? {} : { cancelFlag }));
      });
      if (signal?.aborted) throw cancelled();
      return outcome;
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
    if (answer.kind === "awake") this.#awake();
    if (answer.kind === "compiled") this.#compiled(answer.module);
    if (answer.kind === "awake" || answer.kind === "compiled" || answer.kind === "ready") return;
    if (answer.kind === "problem" && answer.id === -1) this.#fail(answer.problem.message);
    if (job === undefined || answer.id !== job.id) return;
    if (answer.kind === "problem") job.reject(new CapsimError(answer.problem));
    else if (answer.kind === "progress" || answer.kind === "counted" || answer.kind === "begun") job.hear(answer);
    else job.resolve(answer);
  }

  #fail(message: string): void {
    this.#awake();
    this.#compiled();
    this.#worker?.terminate();
    this.#worker = undefined;
    this.#job?.reject(new CapsimError({ status: "internal_error", message, violations: [] }));
    this.#job = undefined;
  }
}

function cancelled(): CapsimError {
  return new CapsimError({ status: "cancelled", message: "the run was cancelled", violations: [] });
}
