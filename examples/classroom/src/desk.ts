// SPDX-License-Identifier: BSD-3-Clause
/** Who solves what, and which answers count.
 *
 *  While a control moves, the scenario is solved on the coarse level, newest position next; when it
 *  rests, on the standard level, in a second worker. An answer is shown when it is newer, or finer,
 *  than what is shown, and belongs to the scenario on screen: all others are dropped. */

import { CapsimError, type History, type Scenario, Solver } from "capsim";
import { atLevel, type Level } from "./eye_settings.js";
import type { Side } from "./palette.js";

export interface DeskListener {
  answer(side: Side, history: History, level: Level, milliseconds: number): void;
  problem(side: Side, error: CapsimError): void;
  busy(busy: boolean): void;
}

interface Wish { scenario: Scenario; version: number; epoch: number }
interface Tray {
  version: number; // of the newest position of the controls
  epoch: number; // raised when another scenario is put on the desk
  shown: { version: number; level: Level } | undefined;
  coarse: Wish | undefined; // waiting, newest only
  standard: Wish | undefined;
  steady: AbortController | undefined; // the standard run under way
}

const newTray = (): Tray => ({ version: 0, epoch: 0, shown: undefined, coarse: undefined, standard: undefined, steady: undefined });
/** A control that has not moved for this long rests. */
const restMilliseconds = 220;

export class Desk {
  readonly #quick = new Solver();
  readonly #steady = new Solver();
  readonly #trays: Record<Side, Tray> = { a: newTray(), b: newTray() };
  #running = { coarse: false, standard: false };
  #rest: ReturnType<typeof setTimeout> | undefined;

  constructor(private readonly listener: DeskListener) {}

  async start(): Promise<void> { await Promise.all([this.#quick.start(), this.#steady.start()]); }

  /** The control of `side` has moved. `replaced`: another scenario has come on the desk altogether. */
  want(side: Side, scenario: Scenario, replaced = false): void {
    const tray = this.#trays[side];
    ++tray.version;
    if (replaced) { ++tray.epoch; tray.shown = undefined; }
    const wish = { scenario: structuredClone(scenario), version: tray.version, epoch: tray.epoch };
    tray.steady?.abort();
    tray.coarse = wish;
    tray.standard = wish;
    clearTimeout(this.#rest);
    this.#rest = setTimeout(() => void this.#solveStandard(), restMilliseconds);
    void this.#solveCoarse();
    this.#tell();
  }

  /** Forgets a side that is no longer shown. */
  clear(side: Side): void {
    const tray = this.#trays[side];
    tray.steady?.abort();
    this.#trays[side] = { ...newTray(), epoch: tray.epoch + 1, version: tray.version };
    this.#tell();
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
    this.#tell();
  }

  async #solveStandard(): Promise<void> {
    if (this.#running.standard) return;
    this.#running.standard = true;
    for (let side = this.#next("standard"); side !== undefined; side = this.#next("standard")) {
      const tray = this.#trays[side], wish = tray.standard!;
      tray.standard = undefined;
      tray.steady = new AbortController();
      await this.#solve(side, wish, "standard", this.#steady, tray.steady.signal);
      tray.steady = undefined;
    }
    this.#running.standard = false;
    this.#tell();
  }

  #next(level: Level): Side | undefined { return (["a", "b"] as const).find((side) => this.#trays[side][level] !== undefined); }

  async #solve(side: Side, wish: Wish, level: Level, solver: Solver, signal?: AbortSignal): Promise<void> {
    const started = performance.now();
    try {
      const history = await solver.simulate(atLevel(wish.scenario, level), signal ? { signal } : {});
      if (this.#counts(side, wish, level)) this.listener.answer(side, history, level, performance.now() - started);
    } catch (error) {
      if (!(error instanceof CapsimError)) throw error;
      if (error.status !== "cancelled" && wish.version === this.#trays[side].version) this.listener.problem(side, error);
    }
  }

  #counts(side: Side, wish: Wish, level: Level): boolean {
    const tray = this.#trays[side];
    if (wish.epoch !== tray.epoch) return false;
    const { shown } = tray;
    const newer = shown === undefined || wish.version > shown.version
      || (wish.version === shown.version && level === "standard" && shown.level === "coarse");
    if (newer) tray.shown = { version: wish.version, level };
    return newer;
  }

  #tell(): void {
    const { a, b } = this.#trays;
    this.listener.busy(this.#running.coarse || this.#running.standard
      || [a, b].some((t) => t.coarse !== undefined || t.standard !== undefined));
  }
}
