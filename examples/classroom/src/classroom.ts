// SPDX-License-Identifier: BSD-3-Clause
/** The page as one thing: the eyes on screen, what has been computed for them, the clock, and all that shows them. What listens to its
 *  buttons, keys and addresses stands in rooms of its own and acts on it. */

import type { CapsimError, Engine, History, Population, Scenario, Solver } from "capsim";
import { type Lesson, lessonOf } from "./lessons/lesson_list.js";
import { LessonPanel, type Step } from "./lessons/lesson_panel.js";
import { Controls } from "./panels/controls.js";
import { CrowdPlans } from "./panels/crowd_plans.js";
import { InfluencePanel } from "./panels/influence_panel.js";
import { KeptPlans } from "./panels/kept_plans.js";
import { Trouble } from "./panels/trouble.js";
import type { Address, Mode } from "./state/address.js";
import { Answers } from "./state/answers.js";
import type { Pictured } from "./state/course.js";
import { crowdSize } from "./state/crowd.js";
import { Desk } from "./state/desk.js";
import { hasCuts, runnable } from "./state/eye_settings.js";
import { bothSides, keptPlans, type Plan, type Side } from "./state/frame.js";
import { pairOf } from "./state/landing.js";
import { mirrorEye } from "./state/mirror.js";
import { Notebook, type Pair } from "./state/notebook.js";
import { Player } from "./state/player.js";
import { shipped } from "./state/shipped.js";
import type { Show } from "./state/show.js";
import { Titles } from "./state/titles.js";
import { kindOf, populationFor } from "./state/whole_bag.js";
import { tellLevel } from "./stage/eyes.js";
import { View } from "./stage/view.js";
import { fromLibrary, t } from "./words/texts.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;

const isSide = (plan: Plan): plan is Side => plan === "a" || plan === "b";

export class Classroom {
  editing: Side = "a";
  engine: Engine | undefined;
  cautions = [t().short];
  /** What is to happen when the page rests: the address takes up what is on screen. */
  rested: () => void = () => undefined;

  readonly notebook: Notebook;
  readonly player: Player;
  readonly panel: LessonPanel;
  readonly view: View;
  readonly trouble = new Trouble($("trouble"));
  readonly answers: Answers;
  readonly desk: Desk;
  readonly controls: Controls;
  readonly crowdPlans: CrowdPlans;
  readonly influence: InfluencePanel;
  readonly kept: KeptPlans;
  readonly #titles = new Titles();
  #cannotRun = false;

  constructor(
    pair: Pair,
    public mode: Mode,
    quick: Solver,
  ) {
    this.notebook = new Notebook(pair);
    this.player = this.#newPlayer();
    this.panel = this.#newLessonPanel();
    this.view = new View(this.panel, () => this.draw());
    this.answers = this.#newAnswers();
    this.desk = new Desk(this.answers, quick);
    this.crowdPlans = new CrowdPlans({
      scenario: () => this.notebook.scenario(this.editing),
      population: () => this.spread(this.editing),
    });
    this.influence = new InfluencePanel({
      editing: () => this.editing,
      scenario: () => this.notebook.scenario(this.editing),
      changed: () => this.draw(),
    });
    this.kept = new KeptPlans(this);
    this.controls = new Controls($("controls"), {
      scenario: () => this.notebook.scenario(this.editing),
      begin: () => this.notebook.remember(),
      changed: (resting) => this.#changed(this.editing, resting),
      mirror: (eye) => this.#mirror(eye),
    });
  }

  #newPlayer(): Player {
    return new Player({
      moved: () => this.draw(),
      playing: (isOn) => {
        const { panel, player } = this;
        $("play").textContent = isOn ? t().page.pause : t().page.play;
        $("verdict").setAttribute("aria-live", isOn ? "off" : "polite");
        if (isOn && panel.step === 1) panel.go(2);
        if (isOn) return;
        panel.arrived(player.day);
        this.tell();
        this.rest();
      },
    });
  }

  #newLessonPanel(): LessonPanel {
    const { player, notebook } = this;
    return new LessonPanel($("lesson"), $("lesson-row"), {
      play: () => {
        player.pause();
        player.stopAt = this.panel.lesson?.day ?? Infinity;
        player.go(0);
        player.play();
      },
      skip: () => {
        player.pause();
        player.go(this.panel.lesson?.day ?? player.duration);
        this.panel.arrived(player.day);
        this.tell();
      },
      choose: (key) => this.takeLesson(lessonOf(key)!, 1),
      restart: () => this.panel.lesson && this.takeLesson(this.panel.lesson, 1),
      stepped: () => this.#stepped(),
      scenario: (side) => notebook.scenario(side),
      begin: () => notebook.remember(),
      changed: (side, resting) => {
        if (this.editing === side) this.controls.refresh();
        this.#changed(side, resting);
      },
    });
  }

  /** Something has been set on an eye. */
  #changed(side: Side, resting: boolean): void {
    const { lesson } = this.panel,
      given = lesson === undefined ? [] : [lesson.a, lesson.b].map((plan) => plan?.name ?? "");
    this.#titles.follow(side, this.notebook.scenario(side), given);
    if (this.editing === side) this.controls.refreshName();
    if (resting) this.atRest();
    this.solve(side);
  }

  #stepped(): void {
    const { panel, player } = this;
    if (panel.step === 1) {
      player.pause();
      player.go(0);
    } else if (panel.step > 2) {
      player.stopAt = Infinity;
      if (panel.step === 4) this.edit(panel.lesson!.trial.side);
    }
    this.view.layOut();
    this.draw();
    this.tell();
    this.rest();
  }

  #newAnswers(): Answers {
    return new Answers({
      engine: () => this.engine,
      spread: (plan) => this.spread(plan),
      among: (plan) => this.spread(plan) ?? this.#fitted(this.engine?.populations[0]?.name, plan),
      shows: (plan) => this.scenarioOf(plan) !== undefined,
      begun: (side) => {
        if (isSide(side)) this.view.eyes(this.show());
      },
      answered: (side, history) => {
        if (isSide(side)) this.#tellStatus(side, history);
        const last = bothSides.map((s) => this.answers.courses[s]?.history.scenario.duration_days ?? 0);
        this.player.duration = Math.max(...last);
        this.draw();
        if (!this.player.isPlaying) this.tell();
      },
      failed: (side, error) => isSide(side) && !this.#cannotRun && this.#showTrouble(side, error),
      progress: (side, share) => isSide(side) && tellLevel(side, this.answers.levels[side], share),
      changed: (whole) => {
        this.draw();
        if (whole && !this.player.isPlaying) this.tell();
      },
      noBand: () => void ($("crowd-status").textContent = t().status.noBand),
      noOtherLaw: (why) => void ($("law-status").textContent = why === "" ? "" : t().status.noOtherLaw),
      crowdsGrew: () => this.#tellCrowds(),
    });
  }

  /** No run will ever come, and that is told in one sentence instead of run by run. */
  cannotRun(): void {
    this.#cannotRun = true;
    for (const side of bothSides) this.trouble.clear(side);
  }

  #tellCrowds(): void {
    const eyes = bothSides.flatMap((side) => {
      const crowd = this.answers.crowds[side];
      return crowd ? [t().status.eyesIn(side.toUpperCase(), crowd.eyes, crowdSize)] : [];
    });
    $("crowd-status").textContent = eyes.length > 0 ? t().status.soFar(eyes.join(", ")) : "";
    if (!this.player.isPlaying) this.view.verdict(this.show());
  }

  #tellStatus(side: Side, history: History): void {
    if (history.rows === 0 || history.status !== "completed")
      this.trouble.show(side, t().trouble.early(side.toUpperCase()), [], history.message);
    else this.trouble.clear(side);
  }

  #showTrouble(side: Side, { status, message, violations }: CapsimError): void {
    if (status === "wrong_input") this.trouble.show(side, t().trouble.cannotBe(side.toUpperCase()), violations);
    else this.trouble.show(side, t().trouble.stopped, violations, message);
  }

  /** The scenario of a plan of the table; undefined when there is no such plan. */
  scenarioOf(plan: Plan): Scenario | undefined {
    const { pair } = this.notebook;
    if (isSide(plan)) return plan === "a" ? pair.a : (pair.b ?? undefined);
    return pair.kept?.[keptPlans.indexOf(plan)];
  }

  /** The eyes whose spread the band of a plan shows. */
  spread(plan: Plan): Population | undefined {
    return this.#fitted(this.notebook.pair.spread ?? this.engine?.populations[0]?.name, plan);
  }
  /** Of a kind of eyes the population that was fitted to what contracts in this plan: the rim, or the whole bag. */
  #fitted(kind: string | undefined, plan: Plan): Population | undefined {
    const scenario = this.scenarioOf(plan);
    if (!kind || scenario === undefined) return undefined;
    const name = populationFor(kind, scenario);
    return this.engine?.populations.find((population) => population.name === name);
  }

  show(): Show {
    const { notebook, answers } = this,
      two = notebook.pair.b !== null;
    const shown = <T>({ a, b }: Partial<Record<Plan, T>>): Partial<Record<Side, T>> => ({
      ...(a === undefined ? {} : { a }),
      ...(b === undefined || !two ? {} : { b }),
    });
    const cut = bothSides.some((s) => (s === "a" || two) && hasCuts(notebook.scenario(s)));
    return {
      courses: shown(answers.courses),
      begun: shown(answers.begunEyes),
      crowds: shown(answers.standing),
      otherLaws: shown(answers.otherLaws),
      further: keptPlans.flatMap((plan) => {
        const course = this.scenarioOf(plan) && answers.courses[plan];
        if (course === undefined) return [];
        const [crowd, otherLaw] = [answers.standing[plan], answers.otherLaws[plan]];
        return [{ letter: plan.toUpperCase(), course, crowd, otherLaw }];
      }),
      scenarios: { a: runnable(notebook.pair.a), b: notebook.pair.b && runnable(notebook.pair.b) },
      day: this.player.day,
      duration: this.player.duration,
      cautions: cut ? this.cautions : this.cautions.slice(0, 1),
      pending: answers.pending,
    };
  }

  draw(): void {
    this.view.draw(this.show());
    this.view.influence(this.influence.shown, this.editing);
  }
  tell(): void {
    this.view.tell(this.show(), this.answers.levels);
  }
  rest(): void {
    this.rested();
  }
  solve(side: Side, replaced = false): void {
    this.crowdPlans.eyeChanged();
    this.influence.eyeChanged();
    this.desk.want(side, this.notebook.scenario(side), replaced);
  }

  /** True while the eyes are those of the lesson as it begins. */
  get untouched(): boolean {
    const { lesson } = this.panel,
      { a, b, kept } = this.notebook.pair;
    return (
      lesson !== undefined && JSON.stringify([a, b]) === JSON.stringify([lesson.a, lesson.b]) && kept === undefined
    );
  }
  get address(): Address {
    const { lesson, step } = this.panel,
      { pair } = this.notebook;
    return {
      ...(lesson === undefined ? {} : { lesson: lesson.key, step }),
      ...(this.untouched && pair.spread === undefined ? {} : { eyes: pair }),
      day: this.player.day,
      mode: this.mode,
      language: t().locale,
    };
  }

  atRest(): void {
    this.notebook.forgetIdle();
    this.panel.edited = this.panel.lesson !== undefined && !this.untouched;
    this.refreshButtons();
  }

  refreshButtons(): void {
    for (const side of bothSides) $(`edit-${side}`).setAttribute("aria-pressed", String(this.editing === side));
    $<HTMLButtonElement>("undo").disabled = !this.notebook.canUndo;
    $<HTMLButtonElement>("redo").disabled = !this.notebook.canRedo;
    document.body.dataset.editing = this.editing;
    $<HTMLSelectElement>("spread").value = kindOf(this.spread(this.editing)?.name ?? "");
    this.rest();
  }

  /** After the pair has been replaced: lesson, undo, file, link. */
  showPair(): void {
    const { notebook, panel, answers } = this;
    for (const what of [...bothSides, "link"] as const) this.trouble.clear(what);
    const two = notebook.pair.b !== null;
    for (const side of bothSides) this.#titles.read(side, notebook.scenario(side));
    $<HTMLInputElement>("compare").checked = two;
    document.body.dataset.eyes = two ? "2" : "1";
    if (!two) {
      this.editing = "a";
      answers.forget("b");
      this.desk.clear("b");
    }
    if (notebook.pair.lesson !== panel.lesson?.key) panel.take(lessonOf(notebook.pair.lesson), 4);
    panel.edited = panel.lesson !== undefined && !this.untouched;
    const known = (side: Side): Pictured | undefined => shipped(notebook.scenario(side));
    answers.await({ a: known("a"), ...(two ? { b: known("b") } : {}) });
    this.view.layOut();
    this.draw();
    this.tell();
    this.controls.refresh();
    this.refreshButtons();
    this.solve("a", true);
    if (two) this.solve("b", true);
    this.kept.solve();
  }

  choose(pair: Pair): void {
    this.notebook.replace(pair);
    this.showPair();
  }
  undo(): void {
    if (this.notebook.undo()) this.showPair();
  }
  redo(): void {
    if (this.notebook.redo()) this.showPair();
  }

  takeLesson(lesson: Lesson, step: Step): void {
    const { player, panel, notebook } = this;
    player.pause();
    player.stopAt = Infinity;
    panel.take(lesson, step);
    this.editing = lesson.trial.side;
    this.choose({ ...(notebook.pair.spread === undefined ? {} : { spread: notebook.pair.spread }), ...pairOf(lesson) });
    player.go(step === 1 ? 0 : lesson.day);
    this.tell();
    this.rest();
  }

  edit(side: Side): void {
    this.editing = side;
    this.kept.name();
    this.crowdPlans.eyeChanged();
    this.influence.eyeChanged();
    this.refreshButtons();
    this.controls.refresh();
  }

  goTo(day: number): void {
    this.player.pause();
    this.player.go(day);
    this.panel.arrived(day);
    this.tell();
    this.rest();
  }

  #mirror(eye: "right" | "left"): void {
    if (this.engine === undefined) return;
    try {
      mirrorEye(this.engine, this.notebook.scenario(this.editing), eye);
    } catch (error) {
      this.#showTrouble(this.editing, error as CapsimError);
    }
  }

  /** What the engine has against a scenario of somebody else's; asked before anything on screen changes. */
  refusal(scenario: Scenario): CapsimError | undefined {
    try {
      this.engine!.complete(scenario);
      return undefined;
    } catch (error) {
      return error as CapsimError;
    }
  }

  /** The engine is there: what it says of itself and of its eyes is put on the page. */
  started(engine: Engine): void {
    this.engine = engine;
    const { researchCaution, relaxingCutCaution, version } = engine.about;
    this.cautions = [researchCaution, relaxingCutCaution].map(fromLibrary);
    $("caution").textContent = this.cautions[0]!;
    for (const id of ["caution-cuts", "cut-caution"]) $(id).textContent = this.cautions[1]!;
    $("about").textContent = `libcapsim ${version}. ${t().page.invented}`;
  }
}
