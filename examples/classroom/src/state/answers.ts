// SPDX-License-Identifier: BSD-3-Clause
/** What has been computed for the eyes on screen: their runs, the crowds about them, and the runs under the other law. */

import type { CapsimError, Engine, History, Population, Scenario } from "capsim";
import { hooks } from "../hooks.js";
import { Course, type Pictured } from "./course.js";
import { Crowd, crowdBatch } from "./crowd.js";
import type { DeskListener } from "./desk.js";
import type { Level } from "./eye_settings.js";
import type { Plan } from "./frame.js";
import { OtherLaw, otherThan } from "./other_law.js";

export interface AnswersPage {
  engine(): Engine | undefined;
  /** The eyes whose spread the band of a plan shows. */
  spread(side: Plan): Population | undefined;
  /** Eyes among which a plan's has its place, also where no band is shown. */
  among(side: Plan): Population | undefined;
  shows(side: Plan): boolean;
  /** Something of an eye is there to be pictured, before its course. */
  begun(side: Plan): void;
  /** An eye has a new run. */
  answered(side: Plan, history: History): void;
  failed(side: Plan, error: CapsimError): void;
  progress(side: Plan, share: number): void;
  /** Something that stands beside the runs has changed; `whole`: it is complete. */
  changed(whole: boolean): void;
  noBand(why: string): void;
  noOtherLaw(why: string): void;
  crowdsGrew(): void;
}

export class Answers implements DeskListener {
  readonly courses: Partial<Record<Plan, Course>> = {};
  /** What is known of the eyes whose course is awaited: what came with the page, or day 0. */
  readonly begunEyes: Partial<Record<Plan, Pictured>> = {};
  readonly levels: Partial<Record<Plan, Level>> = {};
  readonly crowds: Partial<Record<Plan, Crowd>> = {}; // growing
  readonly standing: Partial<Record<Plan, Crowd>> = {}; // as far as they are shown
  readonly otherLaws: Partial<Record<Plan, OtherLaw>> = {};

  /** Until anything at all has been computed of an eye, or nothing will be. */
  readonly first: Promise<void>;
  #known: () => void = () => undefined;

  readonly #awaited = new Set<Plan>();

  constructor(private readonly page: AnswersPage) {
    this.first = new Promise((known) => (this.#known = known));
  }

  /** Another pair has been put on screen: what stands there until it has run belongs to the one before. `known`: what is known of it. */
  await(known: Partial<Record<Plan, Pictured | undefined>>): void {
    this.#awaited.clear();
    for (const [side, eye] of Object.entries(known) as [Plan, Pictured | undefined][]) {
      this.#awaited.add(side);
      if (eye === undefined) delete this.begunEyes[side];
      else this.begunEyes[side] = eye;
    }
  }
  get pending(): boolean {
    return this.#awaited.size > 0;
  }

  begun(side: Plan, history: History): void {
    if (!this.page.shows(side) || !this.#awaited.has(side)) return;
    this.begunEyes[side] ??= new Course(history); // what came with the page has that day, too
    this.page.begun(side);
    this.#known();
  }
  answer(side: Plan, history: History, level: Level, milliseconds: number): void {
    if (!this.page.shows(side)) return;
    this.#awaited.delete(side);
    delete this.begunEyes[side];
    if (history.rows > 0) {
      this.courses[side] = new Course(history);
      this.levels[side] = level;
      hooks.answer(side, history, level, milliseconds);
    }
    this.page.answered(side, history);
    this.#known();
  }
  problem(side: Plan, error: CapsimError): void {
    this.#awaited.delete(side);
    delete this.begunEyes[side];
    this.page.failed(side, error);
    this.#known();
  }
  /** There is no worker: nothing will come. */
  none(): void {
    this.#known();
  }
  busy(busy: boolean): void {
    hooks.busy(busy);
  }
  progress(side: Plan, share: number): void {
    this.page.progress(side, share);
  }

  variant(side: Plan, scenario: Scenario, index: number): Scenario | undefined {
    const population = this.page.spread(side);
    try {
      const eye = population && this.page.engine()?.drawAround(population.name, scenario, index);
      if (eye !== undefined) this.crowds[side] ??= new Crowd(population!);
      return eye;
    } catch (error) {
      // it was not fitted for the way of contraction of this scenario
      this.page.noBand((error as CapsimError).message);
      return undefined;
    }
  }
  crowd(side: Plan, index: number, history: History | undefined): void {
    const crowd = this.crowds[side]!;
    if (history === undefined) crowd.miss();
    else crowd.add(index, history);
    hooks.crowd(side, crowd.eyes);
    this.page.crowdsGrew();
    // A band that grows is a picture that moves: where that is unwelcome it comes once, whole.
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    if (crowd.eyes % crowdBatch !== 0 || (still && !crowd.complete)) return;
    this.standing[side] = crowd;
    this.page.changed(crowd.complete);
  }

  otherLaw(side: Plan, scenario: Scenario): Scenario | undefined {
    const engine = this.page.engine();
    const population = this.page.among(side); // without a band too: it needs a place among eyes
    if (engine === undefined || population === undefined) return undefined;
    try {
      return engine.underLaw(population.name, scenario, otherThan(scenario.contraction?.law));
    } catch (error) {
      // no law but this one was fitted for these eyes
      this.#noOtherLaw(side, (error as CapsimError).message);
      return undefined;
    }
  }
  underOtherLaw(side: Plan, own: History | undefined, other: History | undefined): void {
    if (own?.status !== "completed" || other?.status !== "completed")
      return this.#noOtherLaw(side, other?.message ?? "the run failed");
    this.otherLaws[side] = new OtherLaw(own, other);
    hooks.law(side, this.otherLaws[side].law);
    this.page.changed(true);
  }
  #noOtherLaw(side: Plan, why: string): void {
    hooks.law(side, "none");
    this.page.noOtherLaw(why);
  }

  crowdCleared(side: Plan): void {
    const shown = this.standing[side] !== undefined;
    for (const all of [this.crowds, this.otherLaws, this.standing]) delete all[side];
    hooks.law(side, undefined);
    hooks.crowd(side, undefined);
    this.page.noOtherLaw("");
    if (shown) this.page.crowdsGrew();
  }

  forget(side: Plan): void {
    delete this.courses[side];
    delete this.levels[side];
  }
}
