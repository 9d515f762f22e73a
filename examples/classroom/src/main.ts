// SPDX-License-Identifier: BSD-3-Clause
/** The page: puts the scenarios, the desk that solves them, the pictures, the lessons and the controls together. */

import { type CapsimError, type Engine, type History, loadEngine, type Population, type Scenario } from "capsim";
import { Exports } from "./exports/exports.js";
import { hooks } from "./hooks.js";
import { lessonKeys, type Lesson, lessonOf, lessons } from "./lessons/lesson_list.js";
import { LessonPanel, type Step } from "./lessons/lesson_panel.js";
import { Controls } from "./panels/controls.js";
import { CrowdPlans } from "./panels/crowd_plans.js";
import { InfluencePanel } from "./panels/influence_panel.js";
import { listenToKeys } from "./panels/keys.js";
import { Trouble } from "./panels/trouble.js";
import { Answers } from "./state/answers.js";
import { type Address, type Mode, published, readAddress, writeAddress } from "./state/address.js";
import { visits } from "./state/course.js";
import { crowdSize } from "./state/crowd.js";
import { Desk } from "./state/desk.js";
import { hasCuts, runnable } from "./state/eye_settings.js";
import { keptPlans, type Plan, type Side } from "./state/frame.js";
import { freshPair, Notebook, type Pair } from "./state/notebook.js";
import { Player } from "./state/player.js";
import type { Show } from "./state/show.js";
import { fillPage } from "./stage/page_texts.js";
import { View } from "./stage/view.js";
import { speak, t } from "./words/texts.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;
const on = (id: string, act: () => void): void => $(id).addEventListener("click", act);
const bothSides = ["a", "b"] as const;

const start = readAddress(location.hash);
speak(start.language ?? navigator.language.slice(0, 2));
fillPage();

const firstLesson = lessonOf(start.lesson) ?? (start.eyes === undefined ? lessons()[0] : undefined);
const pairOf = (lesson: Lesson): Pair => ({ a: lesson.a, b: lesson.b, lesson: lesson.key });
const notebook = new Notebook(firstLesson ? pairOf(firstLesson) : freshPair());
let editing: Side = "a";
let mode: Mode = start.mode ?? "page";
let engine: Engine | undefined;
let cautions = [t().short];

const player = new Player({
  moved: () => draw(),
  playing(isOn) {
    $("play").textContent = isOn ? t().page.pause : t().page.play;
    $("verdict").setAttribute("aria-live", isOn ? "off" : "polite");
    if (isOn && panel.step === 1) panel.go(2);
    if (isOn) return;
    panel.arrived(player.day);
    tell();
    rest();
  },
});

const panel = new LessonPanel($("lesson"), $("lesson-row"), {
  play() {
    player.pause();
    player.stopAt = panel.lesson?.day ?? Infinity;
    player.go(0);
    player.play();
  },
  skip() {
    player.pause();
    player.go(panel.lesson?.day ?? player.duration);
    panel.arrived(player.day);
    tell();
  },
  choose: (key) => takeLesson(lessonOf(key)!, 1),
  restart: () => panel.lesson && takeLesson(panel.lesson, 1),
  stepped() {
    if (panel.step === 1) {
      player.pause();
      player.go(0);
    } else if (panel.step > 2) {
      player.stopAt = Infinity;
      if (panel.step === 4) edit(panel.lesson!.trial.side);
    }
    view.layOut();
    draw();
    tell();
    rest();
  },
  scenario: (side) => notebook.scenario(side),
  begin: () => notebook.remember(),
  changed(side, resting) {
    if (resting) atRest();
    if (editing === side) controls.refresh();
    solve(side);
  },
});
const view = new View(panel);
const trouble = new Trouble($("trouble"));

const answers = new Answers({
  engine: () => engine,
  spread,
  shows: (plan) => scenarioOf(plan) !== undefined,
  answered(side, history) {
    if (isSide(side)) tellStatus(side, history);
    player.duration = Math.max(...bothSides.map((s) => answers.courses[s]?.history.scenario.duration_days ?? 0));
    draw();
    if (!player.isPlaying) tell();
  },
  failed: (side, error) => isSide(side) && trouble.show(side, wordsOf(side, error), error.violations),
  progress: (side, share) => isSide(side) && view.level(side, answers.levels[side], share),
  changed(whole) {
    draw();
    if (whole && !player.isPlaying) tell();
  },
  noBand: (why) => void ($("crowd-status").textContent = `No band: ${why}.`),
  noOtherLaw: (why) =>
    void ($("law-status").textContent = why === "" ? "" : `No thin line: ${why.replace(/\.$/, "")}.`),
  crowdsGrew() {
    const eyes = bothSides.flatMap((side) => {
      const crowd = answers.crowds[side];
      return crowd ? [`${side.toUpperCase()} ${crowd.eyes} of ${crowdSize}`] : [];
    });
    $("crowd-status").textContent = eyes.length > 0 ? `Eyes in so far: ${eyes.join(", ")}.` : "";
    if (!player.isPlaying) view.verdict(show());
  },
});
const desk = new Desk(answers);

const isSide = (plan: Plan): plan is Side => plan === "a" || plan === "b";
/** The scenario of a plan of the table; undefined when there is no such plan. */
function scenarioOf(plan: Plan): Scenario | undefined {
  if (isSide(plan)) return plan === "a" ? notebook.pair.a : (notebook.pair.b ?? undefined);
  return notebook.pair.kept?.[keptPlans.indexOf(plan)];
}

function tellStatus(side: Side, history: History): void {
  if (history.rows === 0 || history.status !== "completed")
    trouble.show(side, `The run of eye ${side.toUpperCase()} ended early: ${history.message}.`, []);
  else trouble.clear(side);
}

function spread(): Population | undefined {
  const wanted = notebook.pair.spread;
  return wanted === undefined ? engine?.populations[0] : engine?.populations.find((p) => p.name === wanted);
}

function wordsOf(side: Side, error: CapsimError): string {
  return error.status === "wrong_input"
    ? `Eye ${side.toUpperCase()} cannot be as set. The pictures show the last one that could.`
    : `The engine stopped: ${error.message}`;
}

function show(): Show {
  const two = notebook.pair.b !== null;
  const shown = <T>({ a, b }: Partial<Record<Plan, T>>): Partial<Record<Side, T>> => ({
    ...(a === undefined ? {} : { a }),
    ...(b === undefined || !two ? {} : { b }),
  });
  const cut = bothSides.some((s) => (s === "a" || two) && hasCuts(notebook.scenario(s)));
  return {
    courses: shown(answers.courses),
    crowds: shown(answers.standing),
    otherLaws: shown(answers.otherLaws),
    further: keptPlans.flatMap((plan) => {
      const course = scenarioOf(plan) && answers.courses[plan];
      if (course === undefined) return [];
      return [{ letter: plan.toUpperCase(), course, crowd: answers.standing[plan], otherLaw: answers.otherLaws[plan] }];
    }),
    scenarios: { a: runnable(notebook.pair.a), b: notebook.pair.b && runnable(notebook.pair.b) },
    day: player.day,
    duration: player.duration,
    cautions: cut ? cautions : cautions.slice(0, 1),
    pending: answers.pending,
  };
}

function draw(): void {
  view.draw(show());
  view.influence(influence.shown, editing);
}
function tell(): void {
  view.tell(show(), answers.levels);
}
function solve(side: Side, replaced = false): void {
  crowdPlans.eyeChanged();
  influence.eyeChanged();
  desk.want(side, notebook.scenario(side), replaced);
}

/** True while the eyes are those of the lesson as it begins. */
function untouched(): boolean {
  const { lesson } = panel;
  const { a, b } = notebook.pair;
  return (
    lesson !== undefined &&
    JSON.stringify([a, b]) === JSON.stringify([lesson.a, lesson.b]) &&
    notebook.pair.kept === undefined
  );
}

function address(): Address {
  const { lesson, step } = panel;
  return {
    ...(lesson === undefined ? {} : { lesson: lesson.key, step }),
    ...(untouched() && notebook.pair.spread === undefined ? {} : { eyes: notebook.pair }),
    day: player.day,
    mode,
    language: t().locale,
  };
}

const publicAddress = $<HTMLInputElement>("public-address");

/** The address holds what is on screen, so that a reload and a copied link bring it back. */
function rest(): void {
  const hash = writeAddress(address());
  $<HTMLInputElement>("link").value = (published(publicAddress.value) ?? location.href.split("#")[0]!) + hash;
  try {
    history.replaceState(null, "", hash);
  } catch {
    // in a sandboxed frame the address is not the page's to change
  }
}

function atRest(): void {
  notebook.forgetIdle();
  panel.edited = panel.lesson !== undefined && !untouched();
  refreshButtons();
}

/** After the pair has been replaced: lesson, undo, file, link. */
function showPair(): void {
  for (const what of [...bothSides, "link"] as const) trouble.clear(what);
  const two = notebook.pair.b !== null;
  $<HTMLInputElement>("compare").checked = two;
  document.body.dataset.eyes = two ? "2" : "1";
  if (!two) {
    editing = "a";
    answers.forget("b");
    desk.clear("b");
  }
  if (notebook.pair.lesson !== panel.lesson?.key) panel.take(lessonOf(notebook.pair.lesson), 4);
  panel.edited = panel.lesson !== undefined && !untouched();
  answers.await(two ? bothSides : ["a"]);
  view.layOut();
  draw();
  tell();
  controls.refresh();
  refreshButtons();
  solve("a", true);
  if (two) solve("b", true);
  solveKept();
}

/** What stands behind C and D. */
const keptRuns: Partial<Record<Plan, string | undefined>> = {};

/** The plans that have been kept, those that are no longer there forgotten. */
function solveKept(): void {
  for (const plan of keptPlans) {
    const scenario = scenarioOf(plan),
      text = JSON.stringify(scenario);
    if (keptRuns[plan] === text) continue; // its run stands, or is on its way
    keptRuns[plan] = text;
    answers.forget(plan);
    if (scenario === undefined) desk.clear(plan);
    else desk.want(plan, scenario, true);
  }
  const kept = notebook.pair.kept ?? [];
  const keep = $<HTMLButtonElement>("keep");
  keep.textContent = t().table.keep(editing.toUpperCase());
  keep.disabled = kept.length >= keptPlans.length;
  $("dropped").replaceChildren(
    ...kept.map((_, i) => {
      const letter = keptPlans[i]!.toUpperCase();
      const drop = Object.assign(document.createElement("button"), {
        type: "button",
        textContent: t().table.drop(letter),
      });
      drop.id = `drop-${keptPlans[i]!}`;
      drop.addEventListener("click", () => keepPlans(kept.filter((_, k) => k !== i)));
      return drop;
    }),
  );
}

/** Other plans are kept from now on; A and B stay as they are, and are not run again. */
function keepPlans(kept: readonly Scenario[]): void {
  notebook.remember();
  if (kept.length === 0) delete notebook.pair.kept;
  else notebook.pair.kept = structuredClone([...kept]);
  solveKept();
  refreshButtons();
  tell();
}

function takeLesson(lesson: Lesson, step: Step): void {
  player.pause();
  player.stopAt = Infinity;
  panel.take(lesson, step);
  editing = lesson.trial.side;
  choose({ ...(notebook.pair.spread === undefined ? {} : { spread: notebook.pair.spread }), ...pairOf(lesson) });
  player.go(step === 1 ? 0 : lesson.day);
  tell();
  rest();
}

function refreshButtons(): void {
  for (const side of bothSides) $(`edit-${side}`).setAttribute("aria-pressed", String(editing === side));
  $<HTMLButtonElement>("undo").disabled = !notebook.canUndo;
  $<HTMLButtonElement>("redo").disabled = !notebook.canRedo;
  document.body.dataset.editing = editing;
  $<HTMLSelectElement>("spread").value = spread()?.name ?? "";
  rest();
}

const controls = new Controls($("controls"), {
  scenario: () => notebook.scenario(editing),
  begin: () => notebook.remember(),
  changed(resting) {
    if (resting) atRest();
    solve(editing);
  },
  mirror: (eye) => mirror(eye),
});

/** Turns the eye over; what a file chose for mesh and numerics stays. */
function mirror(eye: "right" | "left"): void {
  const scenario = notebook.scenario(editing);
  if (engine === undefined || (scenario.eye ?? "right") === eye) return;
  try {
    const { mesh, numerics, output_every_days, ...twin } = engine.mirrored({
      ...scenario,
      eye: scenario.eye ?? "right",
    });
    const kept = {
      ...(scenario.mesh ? { mesh } : {}),
      ...(scenario.numerics ? { numerics } : {}),
      ...(scenario.output_every_days ? { output_every_days } : {}),
    };
    for (const key of Object.keys(scenario)) delete (scenario as unknown as Record<string, unknown>)[key];
    Object.assign(scenario, twin, kept, { eye });
  } catch (error) {
    trouble.show(editing, wordsOf(editing, error as CapsimError), (error as CapsimError).violations);
  }
}

const crowdPlans = new CrowdPlans({ scenario: () => notebook.scenario(editing), population: spread });

const influence = new InfluencePanel({
  editing: () => editing,
  scenario: () => notebook.scenario(editing),
  changed: () => draw(),
});

function choose(pair: Pair): void {
  notebook.replace(pair);
  showPair();
}
function edit(side: Side): void {
  editing = side;
  $("keep").textContent = t().table.keep(editing.toUpperCase());
  crowdPlans.eyeChanged();
  influence.eyeChanged();
  refreshButtons();
  controls.refresh();
}
function compare(two: boolean): void {
  choose({ ...notebook.pair, b: two ? { ...structuredClone(notebook.pair.a), name: "B" } : null });
}
function undo(): void {
  if (notebook.undo()) showPair();
}
function redo(): void {
  if (notebook.redo()) showPair();
}
function goTo(day: number): void {
  player.pause();
  player.go(day);
  panel.arrived(day);
  tell();
  rest();
}

function setMode(to: Mode): void {
  mode = to;
  document.body.dataset.mode = to;
  delete document.body.dataset.blank;
  $("present").textContent = to === "present" ? t().page.leave : t().page.present;
  view.layOut();
  draw();
  rest();
}
function present(start: boolean): void {
  setMode(start ? "present" : "page");
  if (start) void document.documentElement.requestFullscreen?.().catch(() => undefined);
  else if (document.fullscreenElement) void document.exitFullscreen();
}

function listenToPanel(): void {
  on("undo", undo);
  on("redo", redo);
  on("reset", () => {
    panel.take(undefined, 1);
    choose(freshPair());
  });
  on("edit-a", () => edit("a"));
  on("edit-b", () => {
    if (notebook.pair.b === null) compare(true);
    edit("b");
  });
  on("copy", () => {
    const other: Side = editing === "a" ? "b" : "a";
    choose({ ...notebook.pair, [other]: structuredClone(notebook.scenario(editing)) });
  });
  on("keep", () => keepPlans([...(notebook.pair.kept ?? []), runnable(notebook.scenario(editing))]));
  on("theme", () => {
    view.nextTheme();
    draw();
  });
  on("present", () => present(mode !== "present"));
  $<HTMLInputElement>("compare").addEventListener("change", (event) =>
    compare((event.target as HTMLInputElement).checked),
  );
  $<HTMLSelectElement>("spread").addEventListener("change", (event) => {
    notebook.remember();
    notebook.pair.spread = (event.target as HTMLSelectElement).value;
    refreshButtons();
    desk.newCrowds();
    draw();
    tell();
  });
  $<HTMLSelectElement>("language").addEventListener("change", (event) => {
    location.hash = writeAddress({ ...address(), language: (event.target as HTMLSelectElement).value || "en" });
    location.reload();
  });
  for (const id of ["true-size", "screen-mm"]) $(id).addEventListener("input", layOut);
}

function layOut(): void {
  view.layOut();
  draw();
}

function listenToClock(): void {
  on("play", () => player.toggle());
  on("back", () => (player.step(-7), tell()));
  on("forth", () => (player.step(7), tell()));
  const scrub = $<HTMLInputElement>("scrub");
  scrub.addEventListener("input", () => {
    player.pause();
    player.go(scrub.valueAsNumber);
  });
  scrub.addEventListener("change", () => goTo(player.day));
  scrub.addEventListener("keydown", (event) => {
    const jump = event.key === "PageUp" ? 30 : event.key === "PageDown" ? -30 : 0;
    if (jump === 0 || mode === "present") return;
    event.preventDefault();
    goTo(player.day + jump);
  });
  $<HTMLSelectElement>("speed").addEventListener("change", (event) => {
    player.speed = Number((event.target as HTMLSelectElement).value);
  });
  view.scrubbing(
    (day) => {
      player.pause();
      player.go(day);
    },
    () => goTo(player.day),
  );
  for (const visit of visits) {
    const go = document.createElement("button");
    Object.assign(go, { type: "button", textContent: visit.name });
    go.dataset.day = String(visit.day);
    go.addEventListener("click", () => goTo(visit.day));
    $("visit-row").append(go);
  }
}

function listen(): void {
  listenToPanel();
  listenToClock();
  const days = [0, ...visits.map((v) => v.day)];
  listenToKeys({
    play: () => player.toggle(),
    undo,
    redo,
    lesson: (index) => takeLesson(lessonOf(lessonKeys[index])!, 1),
    visit(forward) {
      const next = forward
        ? days.find((d) => d > player.day + 0.5)
        : [...days].reverse().find((d) => d < player.day - 0.5);
      if (next !== undefined) goTo(next);
    },
    step: (forward) => (forward ? panel.next() : panel.back()),
    answer: (number) => panel.answerNumber(number),
    blank() {
      if (document.body.dataset.blank === "b") delete document.body.dataset.blank;
      else document.body.dataset.blank = "b";
    },
    leave: () => present(false),
    presenting: () => mode === "present",
    asking: () => panel.lesson !== undefined && panel.step === 1,
  });
  addEventListener("hashchange", () => take(readAddress(location.hash)));
  addEventListener("resize", layOut);
  document.addEventListener("fullscreenchange", layOut);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => draw());
}

/** What the engine has against a scenario of somebody else's; asked before anything on screen changes. */
function refusal(scenario: Scenario): CapsimError | undefined {
  try {
    engine!.complete(scenario);
    return undefined;
  } catch (error) {
    return error as CapsimError;
  }
}

/** Goes where an address says; where it says nothing that can be, to the first lesson. */
function take(to: Address): void {
  const words = t().trouble;
  const given = to.eyes !== undefined && to.eyes !== "damaged" ? to.eyes : undefined;
  const wrong =
    given && [given.a, given.b, ...(given.kept ?? [])].flatMap((s) => (s === null ? [] : (refusal(s) ?? [])));
  const refused = to.eyes !== undefined && (given === undefined || wrong!.length > 0);
  const lesson = lessonOf(to.lesson) ?? (refused && answers.courses.a === undefined ? lessons()[0] : undefined);
  if (!refused || lesson !== undefined) {
    const step = (lesson ? (to.step ?? 1) : 1) as Step;
    panel.take(lesson, step);
    if (!refused && given) choose({ ...given, ...(lesson ? { lesson: lesson.key } : {}) });
    else if (lesson) choose(pairOf(lesson));
    player.go(to.day ?? (lesson ? (step > 2 ? lesson.day : 0) : 182));
    tell();
  }
  if (refused)
    trouble.show("link", given ? words.link : words.damaged, wrong?.flatMap((error) => error.violations ?? []) ?? []);
  rest();
}

function listenToExports(): void {
  publicAddress.addEventListener("input", () => {
    const wrong = publicAddress.value.trim() !== "" && published(publicAddress.value) === undefined;
    publicAddress.setAttribute("aria-invalid", String(wrong));
    rest();
  });
  new Exports({
    show,
    pair: () => notebook.pair,
    editing: () => editing,
    lesson: () => panel.lesson,
    link: () => $<HTMLInputElement>("link").value,
    version: () => engine?.about.version ?? "",
    open(scenario: Scenario) {
      if (engine === undefined) return;
      const error = refusal(scenario);
      if (error) return trouble.show("link", t().trouble.file, error.violations ?? []);
      choose({ ...notebook.pair, [editing]: scenario });
    },
    unreadable: (words) => trouble.show("link", words, []),
  });
}

async function begin(): Promise<void> {
  listen();
  listenToExports();
  document.body.dataset.mode = mode;
  if (start.eyes === undefined) {
    panel.take(firstLesson, (start.step ?? 1) as Step);
    showPair();
    player.go(start.day ?? (panel.step > 2 ? firstLesson!.day : 0));
  }
  engine = await loadEngine();
  cautions = [engine.about.researchCaution, engine.about.relaxingCutCaution];
  $("caution").textContent = cautions[0]!;
  for (const id of ["caution-cuts", "cut-caution"]) $(id).textContent = cautions[1]!;
  $<HTMLSelectElement>("spread").append(
    // Eyes are drawn about those on the stage, whose bags do not contract as a whole.
    ...engine.populations
      .filter(({ name }) => !name.endsWith("_whole_bag"))
      .map(({ name, description }) => new Option(description.replace(/\.$/, ""), name)),
  );
  $("about").textContent = `libcapsim ${engine.about.version}. ${t().page.invented}`;
  if (start.eyes !== undefined) take(start);
  setMode(mode);
  desk.newCrowds();
  refreshButtons();
  tell();
  hooks.ready();
}

void begin();
