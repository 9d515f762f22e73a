// SPDX-License-Identifier: BSD-3-Clause
/** The runs beside those of the eyes on screen: further eyes like them, coarsely, all plans in turns; and last each eye
 *  itself under the other contraction law.
 *
 *  They are spread over several workers. Whichever of these is quicker, the eyes of a crowd come in by their number: a
 *  band of eight eyes is always that of the first eight. */

import { CapsimError, type History, type Scenario, type Solver } from "capsim";
import { crowdSize } from "./crowd.js";
import { atLevel } from "./eye_settings.js";
import type { Plan } from "./frame.js";

export interface CrowdListener {
  /** Eye number `index` of the crowd about a scenario; undefined when there is none to be had. */
  variant(side: Plan, scenario: Scenario, index: number): Scenario | undefined;
  /** What came of that eye; undefined when it could not be computed. */
  crowd(side: Plan, index: number, history: History | undefined): void;
  /** The same eye under the other contraction law; undefined when it is not to be had. */
  otherLaw(side: Plan, scenario: Scenario): Scenario | undefined;
  /** What came of it, and of the eye as it is on the same level; undefined when they could not be computed. */
  underOtherLaw(side: Plan, own: History | undefined, other: History | undefined): void;
  /** The crowd so far, and the eye under the other law, stand about a scenario that is gone. */
  crowdCleared(side: Plan): void;
}

interface Around {
  about: Scenario;
  quick: History | undefined; // the eye itself on the coarse level, where it has been run
  asked: number; // eyes of the crowd that are in, or on their way
  waiting: Map<number, History | undefined>; // in before one of a lower number
  inCrowd: number;
  lawTried: boolean; // the eye under the other law has had its turn, or has it now
}
type Runner = Pick<Solver, "simulate" | "close">;
type Run = (solver: Runner) => Promise<void>;

/** How many workers besides the one of the standard answers: as many as the machine has further cores, up to three. */
export const helpersWanted = (cores: number): number => Math.max(0, Math.min(4, cores) - 1);

export class CrowdRuns {
  readonly #around = new Map<Plan, Around>();
  #stop: AbortController | undefined; // of the runs under way

  /** `steady`: the worker that ran the standard answers, and is free now. `helpers` start with the first run. */
  constructor(
    private readonly steady: Runner,
    private readonly helpers: readonly Runner[],
    private readonly listener: CrowdListener,
  ) {}

  /** From now on these runs are about `about`; undefined: about nothing, until its standard answer is there. */
  begin(side: Plan, about: Scenario | undefined, quick?: History): void {
    this.#around.delete(side);
    if (about) this.#around.set(side, { about, quick, asked: 0, waiting: new Map(), inCrowd: 0, lawTried: false });
    this.listener.crowdCleared(side);
  }

  /** Other eyes are wanted about the same scenarios. */
  again(): void {
    this.abort();
    for (const [side, { about, quick }] of [...this.#around]) this.begin(side, about, quick);
  }

  /** Ends what is under way; it starts again with the next `run`. */
  abort(): void {
    if (this.#stop === undefined) return;
    this.#stop.abort();
    for (const helper of this.helpers) helper.close();
  }

  /** Until all is done, or `abort`. */
  async run(): Promise<void> {
    const { signal } = (this.#stop = new AbortController());
    const work = async (solver: Runner): Promise<void> => {
      for (let run = this.#next(signal); run !== undefined; run = this.#next(signal)) await run(solver);
    };
    await Promise.all([this.steady, ...this.helpers].map(work));
    this.#stop = undefined;
    for (const around of this.#around.values()) {
      around.asked = around.inCrowd; // those that were ended are asked for again
      around.waiting.clear();
    }
  }

  get isDone(): boolean {
    return [...this.#around.values()].every(({ inCrowd, lawTried }) => inCrowd >= crowdSize && lawTried);
  }

  #next(signal: AbortSignal): Run | undefined {
    if (signal.aborted) return undefined;
    const all = [...this.#around].sort(([p], [q]) => (p < q ? -1 : 1));
    const crowds = all.filter(([, { asked }]) => asked < crowdSize).sort(([, p], [, q]) => p.asked - q.asked);
    for (const [side, around] of crowds) {
      const index = around.asked++,
        eye = this.listener.variant(side, atLevel(around.about, "coarse"), index);
      if (eye !== undefined) return (solver) => this.#oneOfCrowd(side, around, index, eye, solver, signal);
      around.asked = around.inCrowd = crowdSize;
    }
    for (const [side, around] of all) {
      if (around.lawTried) continue;
      around.lawTried = true;
      const eye = this.listener.otherLaw(side, atLevel(around.about, "coarse"));
      if (eye !== undefined) return (solver) => this.#otherLaw(side, around, eye, solver, signal);
    }
    return undefined;
  }

  /** Whether the runs still are about what they were begun for. */
  #stands(side: Plan, around: Around, signal: AbortSignal): boolean {
    return !signal.aborted && this.#around.get(side) === around;
  }

  async #oneOfCrowd(
    side: Plan,
    around: Around,
    index: number,
    eye: Scenario,
    solver: Runner,
    signal: AbortSignal,
  ): Promise<void> {
    const history = await inTheBackground(solver, eye, signal);
    if (!this.#stands(side, around, signal)) return;
    const { waiting } = around;
    waiting.set(index, history);
    for (let next = around.inCrowd; waiting.has(next); next = around.inCrowd) {
      const its = waiting.get(next);
      waiting.delete(next);
      ++around.inCrowd;
      this.listener.crowd(side, next, its);
    }
  }

  // Compared with the quick answer, since what the two levels differ by has nothing to do with the law.
  async #otherLaw(side: Plan, around: Around, eye: Scenario, solver: Runner, signal: AbortSignal): Promise<void> {
    const own = around.quick ?? (await inTheBackground(solver, atLevel(around.about, "coarse"), signal));
    const other = await inTheBackground(solver, eye, signal);
    if (this.#stands(side, around, signal)) this.listener.underOtherLaw(side, own, other);
    else around.lawTried = false;
  }
}

function inTheBackground(solver: Runner, scenario: Scenario, signal: AbortSignal): Promise<History | undefined> {
  return solver.simulate(scenario, { signal }).catch((error: unknown) => {
    if (!(error instanceof CapsimError)) throw error;
    return undefined;
  });
}
