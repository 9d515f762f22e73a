// SPDX-License-Identifier: BSD-3-Clause
/** Who solves what, and which answers count.
 *
 *  While a control moves, the scenario is solved on the coarse level, newest position next; when it
 *  rests, on the standard level and with the margin to runaway, in a second worker. An answer is shown when it is newer, or finer,
 *  than what is shown, and belongs to the scenario on screen: all others are dropped.
 *
 *  An eye that has just come on the desk is handed over twice: day 0 as soon as it is at rest, then its whole course.
 *
 *  When all of that is done the crowds and the other law are run (`CrowdRuns`). A control that moves ends what is
 *  under way; what belongs to it starts again. */

import { CapsimError, type History, type Progress, type Scenario, Solver } from "capsim";
import { type CrowdListener, CrowdRuns, helpersWanted } from "./crowd_runs.js";
import { atLevel, type Level } from "./eye_settings.js";
import type { Plan } from "./frame.js";

export interface DeskListener extends CrowdListener {
  /** The eye as surgery leaves it, while its course is still computed. */
  begun(side: Plan, history: History): void;
  answer(side: Plan, history: History, level: Level, milliseconds: number): void;
  problem(side: Plan, error: CapsimError): void;
  busy(busy: boolean): void;
  /** The standard answer is on its way: share of its days that are done. */
  progress(side: Plan, share: number): void;
}

interface Wish {
  scenario: Scenario;
  version: number;
  epoch: number;
}
interface Tray {
  version: number; // of the newest position of the controls
  epoch: number; // raised when another scenario is put on the desk
  shown: { version: number; level: Level } | undefined;
  coarse: Wish | undefined; // waiting, newest only
  standard: Wish | undefined;
  steady: AbortController | undefined; // the standard run under way
  quick: { version: number; history: History } | undefined; // newest coarse answer
}

const newTray = (): Tray => ({
  version: 0,
  epoch: 0,
  shown: undefined,
  coarse: undefined,
  standard: undefined,
  steady: undefined,
  quick: undefined,
});
const sides = ["a", "b", "c", "d"] as const;
/** A control that has not moved for this long rests; but not before its quick answer has been on screen for a moment: on a busy machine
 *  a finer run that starts earlier holds up the quick ones, only to be thrown away at the next move. */
const restMilliseconds = 220,
  momentMilliseconds = 100;

export class Desk {
  readonly #steady = new Solver();
  readonly #trays: Record<Plan, Tray> = { a: newTray(), b: newTray(), c: newTray(), d: newTray() };
  readonly #running = { coarse: false, standard: false, steady: false };
  readonly #crowds: CrowdRuns;
  #rest: ReturnType<typeof setTimeout> | undefined;
  #resting = true;
  #late = false; // it would rest by now, were its quick answer there

  /** `quick`: the worker of the quick answers, which may have been started before. */
  constructor(
    private readonly listener: DeskListener,
    private readonly quick: Solver,
  ) {
    const helpers = Array.from({ length: helpersWanted(navigator.hardwareConcurrency || 1) }, () => new Solver());
    this.#crowds = new CrowdRuns(this.#steady, helpers, listener);
  }

  /** The control of `side` has moved. `replaced`: another scenario has come on the desk altogether. */
  want(side: Plan, scenario: Scenario, replaced = false): void {
    const tray = this.#trays[side];
    ++tray.version;
    if (replaced) {
      ++tray.epoch;
      tray.shown = undefined;
    }
    const wish = { scenario: structuredClone(scenario), version: tray.version, epoch: tray.epoch };
    this.#crowds.begin(side, undefined);
    tray.steady?.abort();
    this.#crowds.abort(); // also eyes of the other side's crowd: they can wait
    tray.coarse = wish;
    tray.standard = wish;
    this.#resting = false;
    this.#restIn(restMilliseconds);
    void this.#solveCoarse();
    this.#tell();
  }

  #restIn(milliseconds: number): void {
    clearTimeout(this.#rest);
    this.#late = false;
    this.#rest = setTimeout(() => {
      if (this.#running.coarse) {
        this.#late = true;
        return;
      }
      this.#resting = true;
      void this.#solveSteady();
    }, milliseconds);
  }

  /** Forgets a side that is no longer shown. */
  clear(side: Plan): void {
    const tray = this.#trays[side];
    tray.steady?.abort();
    this.#crowds.abort();
    this.#trays[side] = { ...newTray(), epoch: tray.epoch + 1, version: tray.version };
    this.#crowds.begin(side, undefined);
    this.#tell();
  }

  /** Other eyes are wanted about the scenarios on screen. */
  newCrowds(): void {
    this.#crowds.again();
    if (this.#resting) void this.#solveSteady();
  }

  async #solveCoarse(): Promise<void> {
    if (this.#running.coarse) return;
    this.#running.coarse = true;
    for (let side = this.#next("coarse"); side !== undefined; side = this.#next("coarse")) {
      const wish = this.#trays[side].coarse!;
      this.#trays[side].coarse = undefined;
      await this.#solve(side, wish, "coarse", this.quick);
    }
    this.#running.coarse = false;
    if (this.#late) this.#restIn(momentMilliseconds);
    this.#tell();
  }

  // The second worker, as long as the controls rest: standard answers first, then the crowds.
  async #solveSteady(): Promise<void> {
    if (this.#running.steady) return;
    this.#running.steady = true;
    while (this.#resting) {
      const waiting = this.#next("standard");
      if (waiting !== undefined) await this.#solveStandard(waiting);
      else if (!this.#crowds.isDone) await this.#crowds.run();
      else break;
    }
    this.#running.steady = false;
  }

  async #solveStandard(side: Plan): Promise<void> {
    const tray = this.#trays[side],
      wish = tray.standard!;
    tray.standard = undefined;
    tray.steady = new AbortController();
    this.#running.standard = true;
    const { signal } = tray.steady;
    const shown = await this.#solve(side, wish, "standard", this.#steady, signal, ({ day, durationDays }) => {
      if (!signal.aborted) this.listener.progress(side, day / durationDays);
    });
    const quick = tray.quick?.version === tray.version ? tray.quick.history : undefined;
    if (shown && wish.version === tray.version) this.#crowds.begin(side, wish.scenario, quick);
    tray.steady = undefined;
    this.#running.standard = false;
    this.#tell();
  }

  #next(level: Level): Plan | undefined {
    return sides.find((side) => this.#trays[side][level] !== undefined);
  }

  /** True when the answer was shown. */
  async #solve(
    side: Plan,
    wish: Wish,
    level: Level,
    solver: Solver,
    signal?: AbortSignal,
    onProgress?: (progress: Progress) => void,
  ): Promise<boolean> {
    const started = performance.now();
    try {
      const history = await solver.simulate(atLevel(wish.scenario, level), {
        runawayMargin: level === "standard",
        ...(signal ? { signal } : {}),
        ...(this.#trays[side].shown === undefined ? { onDay0: (history) => this.#begun(side, wish, history) } : {}),
        ...(onProgress ? { onProgress } : {}),
      });
      if (level === "coarse") this.#trays[side].quick = { version: wish.version, history };
      if (!this.#counts(side, wish, level)) return false;
      this.listener.answer(side, history, level, performance.now() - started);
      return history.status === "completed";
    } catch (error) {
      if (!(error instanceof CapsimError)) throw error;
      if (error.status !== "cancelled" && wish.version === this.#trays[side].version)
        this.listener.problem(side, error);
      return false;
    }
  }

  #begun(side: Plan, wish: Wish, history: History): void {
    const { epoch, shown } = this.#trays[side];
    if (wish.epoch === epoch && shown === undefined) this.listener.begun(side, history);
  }

  #counts(side: Plan, wish: Wish, level: Level): boolean {
    const tray = this.#trays[side];
    if (wish.epoch !== tray.epoch) return false;
    const { shown } = tray;
    const newer =
      shown === undefined ||
      wish.version > shown.version ||
      (wish.version === shown.version && level === "standard" && shown.level === "coarse");
    if (newer) tray.shown = { version: wish.version, level };
    return newer;
  }

  #tell(): void {
    this.listener.busy(
      this.#running.coarse ||
        this.#running.standard ||
        Object.values(this.#trays).some((t) => t.coarse !== undefined || t.standard !== undefined),
    );
  }
}
