// SPDX-License-Identifier: BSD-3-Clause
/** The engine in this thread: scenario in, history out. `Solver` does the same without blocking the page. */

import type { EngineLoader, EngineModule } from "./engine_module.js";
import { CapsimError, type Problem } from "./errors.js";
import { History, type HistoryText } from "./history.js";
import type { ContractionLaw, Scenario } from "./scenario.js";
import { Sensitivities, type SensitivityRequest, type SensitivityText } from "./sensitivities.js";
import type { StudyOfRequest, StudyRequest } from "./study.js";

/** What a progress callback is told after every time step. */
export interface Progress {
  day: number;
  durationDays: number;
  openingAreaMm2: number;
}

export interface SimulateOptions {
  /** Look, once the last day is reached, how far the eye is from runaway: `History.runawayMargin`, and the outcome
   *  `runaway_margin`. Takes a tenth to two fifths of the run's time; off unless asked for. */
  runawayMargin?: boolean;
  /** Told of the eye as surgery leaves it, while the rest of its course is still computed: a history that ends on
   *  day 0. Not called when the eye finds no rest. */
  onDay0?: (history: History) => void;
  /** Called after every time step; returning false ends the run with status "cancelled". */
  onProgress?: (progress: Progress) => boolean | void;
  /** A flag in shared memory: the run ends with status "cancelled" once its first entry is not 0. */
  cancelFlag?: Int32Array;
}

export interface StudyOptions {
  /** Told how many runs are done; returning false ends the study, which keeps the runs that are done. */
  onProgress?: (done: number, total: number) => boolean | void;
  cancelFlag?: Int32Array;
}

export interface About {
  version: string;
  researchCaution: string; // to be shown with every result
  relaxingCutCaution: string; // to be shown next to relaxing cuts
}

/** Eyes of one kind, as published cohorts let them be known: see `Engine.drawFromPopulation`. */
export interface Population {
  name: string; // "age_related_cataract"
  edition: string; // of its numbers, "2026-11"
  description: string; // which eyes these are
  laws: ContractionLaw[]; // contraction laws it was fitted for
}

type TextCall = (text: number, bytes: number) => number;

export class Engine {
  readonly about: About;
  #populations: Population[] | undefined;

  /** An engine with memory of its own, from emscripten's loader and the compiled binary. */
  static async create(loader: EngineLoader, binary: WebAssembly.Module): Promise<Engine> {
    let fail: (reason: unknown) => void = () => undefined;
    const failed = new Promise<never>((_, reject) => (fail = reject));
    const module = loader({
      instantiateWasm(imports, done) {
        WebAssembly.instantiate(binary, imports).then(done, fail);
        return {};
      },
      goOn: () => true,
      begun: () => undefined,
      print: () => undefined,
      printErr: () => undefined,
    });
    return new Engine(await Promise.race([module, failed]));
  }

  private constructor(private readonly module: EngineModule) {
    this.about = JSON.parse(this.#take(module._capsim_about()).text) as About;
  }

  /** Runs a scenario. Throws `CapsimError` for wrong input, before any work is done. */
  simulate(scenario: Scenario | string, options: SimulateOptions = {}): History {
    const { onDay0, onProgress, cancelFlag, runawayMargin = false } = options;
    const told =
      onProgress &&
      ((day: number, durationDays: number, openingAreaMm2: number) =>
        onProgress({ day, durationDays, openingAreaMm2 }));
    const { text, numbers } = this.#heard(told, cancelFlag, onDay0, (listen) =>
      this.#call((t, n) => this.module._capsim_simulate(t, n, listen, runawayMargin ? 1 : 0, onDay0 ? 1 : 0), scenario),
    );
    return new History(JSON.parse(text) as HistoryText, numbers);
  }

  /** Plans of a crowd: compares them, says when to look or where to cut. Takes seconds to minutes: see `Solver.study`. */
  study<R extends StudyRequest>(request: R, options: StudyOptions = {}): StudyOfRequest<R> {
    const { onProgress, cancelFlag } = options;
    const { text } = this.#heard(onProgress, cancelFlag, undefined, (listen) =>
      this.#call((t, n) => this.module._capsim_study(t, n, listen), JSON.stringify(request)),
    );
    return JSON.parse(text) as StudyOfRequest<R>;
  }

  /** Runs a scenario once and differentiates the run. Throws `CapsimError` for what it can't be differentiated by. */
  sensitivities(request: SensitivityRequest): Sensitivities {
    const { text, numbers } = this.#call((t, n) => this.module._capsim_sensitivities(t, n), JSON.stringify(request));
    return new Sensitivities(JSON.parse(text) as SensitivityText, numbers);
  }

  // Runs while somebody listens, or may say stop. What the listener throws must not unwind the engine's stack.
  #heard<T>(
    told: ((a: number, b: number, c: number) => boolean | void) | undefined,
    cancelFlag: Int32Array | undefined,
    onDay0: ((history: History) => void) | undefined,
    run: (listen: number) => T,
  ): T {
    let thrown: { error: unknown } | undefined;
    this.module.begun = (answer) => {
      try {
        const { text, numbers } = this.#copied(answer);
        onDay0?.(new History(JSON.parse(text) as HistoryText, numbers));
      } catch (error) {
        thrown = { error };
      }
    };
    this.module.goOn = (a, b, c) => {
      if (thrown !== undefined) return false;
      if (cancelFlag !== undefined && Atomics.load(cancelFlag, 0) !== 0) return false;
      try {
        return told?.(a, b, c) !== false;
      } catch (error) {
        thrown = { error };
        return false;
      }
    };
    try {
      const result = run(told !== undefined || cancelFlag !== undefined || onDay0 !== undefined ? 1 : 0);
      if (thrown !== undefined) throw thrown.error;
      return result;
    } finally {
      this.module.goOn = () => true;
      this.module.begun = () => undefined;
    }
  }

  /** The scenario, checked, with every field written. Throws `CapsimError` with every violation. */
  complete(scenario: Scenario | string): Required<Scenario> {
    return JSON.parse(this.#call(this.module._capsim_complete, scenario).text) as Required<Scenario>;
  }

  /** The scenario seen in a mirror: right eye <-> left eye, hour -> 12 - hour, x -> -x. */
  mirrored(scenario: Scenario | string): Required<Scenario> {
    return JSON.parse(this.#call(this.module._capsim_mirrored, scenario).text) as Required<Scenario>;
  }

  /** The populations that come with the library. */
  get populations(): Population[] {
    this.#populations ??= JSON.parse(this.#take(this.module._capsim_populations()).text) as Population[];
    return this.#populations;
  }
  populationNames(): string[] {
    return this.populations.map((p) => p.name);
  }

  /** Eye number `index` (0, 1, ...) of a population, otherwise like the scenario: the population's own settings,
   *  then what differs between its eyes. The same index is always the same eye, under every plan. */
  drawFromPopulation(name: string, scenario: Scenario | string, index: number): Required<Scenario> {
    return this.#eye(name, scenario, index, true);
  }

  /** Eye number `index` spread about the scenario as it is: for an eye whose own settings are known. */
  drawAround(name: string, scenario: Scenario | string, index: number): Required<Scenario> {
    return this.#eye(name, scenario, index, false);
  }

  /** The same eye under another contraction law, at the same place among the eyes of a population: the middle eye
   *  becomes the middle eye, eye i becomes eye i. To see how much an answer hangs on the law. */
  underLaw(name: string, scenario: Scenario | string, law: ContractionLaw): Required<Scenario> {
    const turn: TextCall = (text, bytes) =>
      this.#lend(name, (at, nameBytes) =>
        this.#lend(law, (lawAt, lawBytes) =>
          this.module._capsim_eye_under_law(at, nameBytes, lawAt, lawBytes, text, bytes),
        ),
      );
    return JSON.parse(this.#call(turn, scenario).text) as Required<Scenario>;
  }

  #eye(name: string, scenario: Scenario | string, index: number, typical: boolean): Required<Scenario> {
    if (!Number.isSafeInteger(index) || index < 0)
      throw new RangeError(`eyes are numbered 0, 1, 2 ...; asked for ${index}`);
    const draw: TextCall = (text, bytes) =>
      this.#lend(name, (at, nameBytes) =>
        this.module._capsim_eye_of_population(at, nameBytes, text, bytes, index, typical ? 1 : 0),
      );
    return JSON.parse(this.#call(draw, scenario).text) as Required<Scenario>;
  }

  /** Bytes of memory the engine holds now; it grows when needed and is kept for the next run. */
  get memoryBytes(): number {
    return this.module.HEAPU8.byteLength;
  }

  #call(call: TextCall, scenario: Scenario | string): { text: string; numbers: Float64Array } {
    const taken = this.#take(this.#lend(typeof scenario === "string" ? scenario : JSON.stringify(scenario), call));
    if (taken.text.startsWith('{"problem":'))
      throw new CapsimError((JSON.parse(taken.text) as { problem: Problem }).problem);
    return taken;
  }

  // Puts text into the engine's memory for the time of one call.
  #lend(text: string, call: TextCall): number {
    const bytes = this.module.lengthBytesUTF8(text);
    const at = this.module._malloc(bytes + 1);
    if (at === 0) throw new CapsimError(outOfMemory);
    try {
      this.module.stringToUTF8(text, at, bytes + 1);
      return call(at, bytes);
    } finally {
      this.module._free(at);
    }
  }

  // Copies an answer out of the engine's memory, whose views die when it grows, and releases it.
  #take(answer: number): { text: string; numbers: Float64Array } {
    if (answer === 0) throw new CapsimError(outOfMemory);
    try {
      return this.#copied(answer);
    } finally {
      this.module._capsim_release(answer);
    }
  }

  #copied(answer: number): { text: string; numbers: Float64Array } {
    const { module } = this;
    const textAt = module._capsim_answer_text(answer);
    const text = new TextDecoder().decode(
      module.HEAPU8.slice(textAt, textAt + module._capsim_answer_text_bytes(answer)),
    );
    const at = module._capsim_answer_numbers(answer);
    const count = module._capsim_answer_count(answer);
    const numbers = new Float64Array(count);
    if (count > 0) numbers.set(new Float64Array(module.HEAPU8.buffer, at, count));
    return { text, numbers };
  }
}

const outOfMemory: Problem = { status: "out_of_memory", message: "the engine ran out of memory", violations: [] };
