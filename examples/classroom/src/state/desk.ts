// SPDX-License-Identifier: BSD-3-Clause
/** Who solves what, and which answers count.
 *
 *  While a control moves, the scenario is solved on the coarse level, newest position next; when it
 *  rests, on the standard level and with the margin to runaway, in a second worker. An answer is shown when it is newer, or finer,
 *  than what is shown, and belongs to the scenario on screen: all others are dropped.
 *
 *  When all of that is done the second worker runs the crowds: further eyes like those on screen, coarsely, one
 *  after the other, all plans in turns; and last the eye itself under the other contraction law. A control that moves ends the
 *  run under way; what belongs to it starts again. */

import { CapsimError, type History, type Progress, type Scenario, Solver } from "capsim";
import { crowdSize } from "./crowd.js";
import { atLevel, type Level } from "./eye_settings.js";
import type { Plan } from "./frame.js";

export interface DeskListener {
  answer(side: Plan, history: History, level: Level, milliseconds: number): void;
  problem(side: Plan, error: CapsimError): void;
  busy(busy: boolean): void;
  /** The standard answer is on its way: share of its days that are done. */
  progress(side: Plan, share: number): void;
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
  crowd: Scenario | undefined; // what the crowd stands about, once its standard answer is shown
  inCrowd: number; // eyes of it that are in
  lawTried: boolean; // the eye under the other law has had its turn
  quick: { version: number; history: History } | undefined; // newest coarse answer, to compare with it
}

const newTray = (): Tray => ({
  version: 0,
  epoch: 0,
  shown: undefined,
  coarse: undefined,
  standard: undefined,
  steady: undefined,
  crowd: undefined,
  inCrowd: 0,
  lawTried: false,
  quick: undefined,
});
const sides = ["a", "b", "c", "d"] as const;
/** A control that has not moved for this long rests; but not before its quick answer has been on screen for a moment: on a busy machine
 *  a finer run that starts earlier holds up the quick ones, only to be thrown away at the next move. */
const restMilliseconds = 220,
  momentMilliseconds = 100;

export class Desk {
  readonly #quick = new Solver();
  readonly #steady = new Solver();
  readonly #trays: Record<Plan, Tray> = { a: newTray(), b: newTray(), c: newTray(), d: newTray() };
  readonly #running = { coarse: false, standard: false, steady: false };
  #crowdRun: AbortController | undefined; // or that of the other law
  #rest: ReturnType<typeof setTimeout> | undefined;
  #resting = true;
  #late = false; // it would rest by now, were its quick answer there

  constructor(private readonly listener: DeskListener) {}

  async start(): Promise<void> {
    await Promise.all([this.#quick.start(), this.#steady.start()]);
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
    this.#emptyCrowd(side, undefined);
    tray.steady?.abort();
    this.#crowdRun?.abort(); // also an eye of the other side's crowd: it can wait
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
    this.#crowdRun?.abort();
    this.#trays[side] = { ...newTray(), epoch: tray.epoch + 1, version: tray.version };
    this.listener.crowdCleared(side);
    this.#tell();
  }

  /** Other eyes are wanted about the scenarios on screen. */
  newCrowds(): void {
    this.#crowdRun?.abort();
    for (const side of sides) {
      const { crowd } = this.#trays[side];
      this.#emptyCrowd(side, crowd && { ...crowd });
    }
    if (this.#resting) void this.#solveSteady();
  }

  #emptyCrowd(side: Plan, about: Scenario | undefined): void {
    Object.assign(this.#trays[side], { crowd: about, inCrowd: 0, lawTried: false });
    this.listener.crowdCleared(side);
  }

  async #solveCoarse(): Promise<void> {
    if (this.#running.coarse) return;
    this.#running.coarse = true;
    for (let side = this.#next("coarse"); side !== undefined; side = this.#next("coarse")) {
      const wish = this.#trays[side].coarse!;
      this.#trays[side].coarse = undefined;
      await this.#solve(side, wish, "coarse", this.#quick);
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
      if (waiting !== undefined) {
        await this.#solveStandard(waiting);
        continue;
      }
      const crowd = this.#nextCrowd();
      if (crowd !== undefined) {
        await this.#solveOneOfCrowd(crowd);
        continue;
      }
      const law = sides.find((side) => this.#trays[side].crowd !== undefined && !this.#trays[side].lawTried);
      if (law === undefined) break;
      await this.#solveOtherLaw(law);
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
    if (shown && wish.version === tray.version) tray.crowd = wish.scenario;
    tray.steady = undefined;
    this.#running.standard = false;
    this.#tell();
  }

  #next(level: Level): Plan | undefined {
    return sides.find((side) => this.#trays[side][level] !== undefined);
  }

  #nextCrowd(): Plan | undefined {
    const has = (side: Plan): number => this.#trays[side].inCrowd;
    return sides
      .filter((side) => this.#trays[side].crowd !== undefined && has(side) < crowdSize)
      .sort((p, q) => has(p) - has(q))[0];
  }

  async #solveOneOfCrowd(side: Plan): Promise<void> {
    const tray = this.#trays[side],
      about = tray.crowd!,
      index = tray.inCrowd;
    const eye = this.listener.variant(side, atLevel(about, "coarse"), index);
    if (eye === undefined) {
      tray.inCrowd = crowdSize;
      return;
    }
    const run = (this.#crowdRun = new AbortController());
    const history = await this.#inTheBackground(eye, run.signal);
    this.#crowdRun = undefined;
    if (run.signal.aborted || this.#trays[side].crowd !== about) return; // of a scenario that is gone
    ++tray.inCrowd;
    this.listener.crowd(side, index, history);
  }

  // Compared with the quick answer, since what the two levels differ by has nothing to do with the law.
  async #solveOtherLaw(side: Plan): Promise<void> {
    const tray = this.#trays[side],
      about = tray.crowd!,
      quick = atLevel(about, "coarse");
    const eye = this.listener.otherLaw(side, quick);
    if (eye === undefined) {
      tray.lawTried = true;
      return;
    }
    const { signal } = (this.#crowdRun = new AbortController());
    const own = tray.quick?.version === tray.version ? tray.quick.history : await this.#inTheBackground(quick, signal);
    const other = await this.#inTheBackground(eye, signal);
    this.#crowdRun = undefined;
    if (signal.aborted || this.#trays[side].crowd !== about) return; // of a scenario that is gone, or to be tried again
    tray.lawTried = true;
    this.listener.underOtherLaw(side, own, other);
  }

  #inTheBackground(scenario: Scenario, signal: AbortSignal): Promise<History | undefined> {
    return this.#steady.simulate(scenario, { signal }).catch((error: unknown) => {
      if (!(error instanceof CapsimError)) throw error;
      return undefined;
    });
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
