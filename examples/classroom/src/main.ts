// SPDX-License-Identifier: BSD-3-Clause
/** The page: puts the scenarios, the desk that solves them, the pictures and the controls together. */

import { type CapsimError, type Engine, loadEngine, type Population, type Scenario } from "capsim";
import { Controls } from "./controls.js";
import { Course, visits } from "./course.js";
import { Crowd, crowdBatch, crowdSize } from "./crowd.js";
import type { Crowds } from "./curves.js";
import { Desk } from "./desk.js";
import { hasCuts, type Level, runnable } from "./eye_settings.js";
import { Exports } from "./exports.js";
import { fromLink, freshPair, Notebook, type Pair, toLink } from "./notebook.js";
import type { Side } from "./palette.js";
import { OtherLaw, type OtherLaws, otherThan } from "./other_law.js";
import { Player } from "./player.js";
import type { Show } from "./sheet.js";
import { lessons } from "./teaching.js";
import { Trouble } from "./trouble.js";
import { View } from "./view.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;
const button = (id: string, act: () => void): void => $(id).addEventListener("click", act);
const researchCaution =
  "For research and teaching, not for treating a patient; decisions belong to the licensed clinician and local protocols.";

const start = fromLink(location.hash);
const notebook = new Notebook(start ?? { a: lessons[0]!.a, b: lessons[0]!.b });
const courses: Partial<Record<Side, Course>> = {};
const levels: Partial<Record<Side, Level>> = {};
const crowds: Crowds = {}; // growing
const standing: Crowds = {}; // as far as they are shown
const otherLaws: OtherLaws = {};
let editing: Side = "a";
let engine: Engine | undefined;
let cautions = [researchCaution];

const view = new View();
const trouble = new Trouble($("trouble"));
const player = new Player({
  moved: () => draw(),
  playing(on) {
    const play = $("play");
    play.textContent = on ? "Pause" : "Play";
    play.setAttribute("aria-pressed", String(on));
    if (!on) tell();
  },
});

const desk = new Desk({
  answer(side, history, level, milliseconds) {
    if (side === "b" && notebook.pair.b === null) return;
    if (history.rows === 0 || history.status !== "completed")
      trouble.show(side, `The run of eye ${side.toUpperCase()} ended early: ${history.message}.`, []);
    else trouble.clear(side);
    if (history.rows === 0) return;
    if (performance.getEntriesByName("first-picture").length === 0) performance.mark("first-picture");
    courses[side] = new Course(history);
    levels[side] = level;
    document.body.dataset[`level${side.toUpperCase()}`] = level;
    document.body.dataset[`milliseconds${level === "coarse" ? "Coarse" : "Standard"}`] = milliseconds.toFixed(1);
    document.body.dataset[`opening${side.toUpperCase()}`] = String(history.scenario.opening.diameter_mm);
    document.body.dataset.answers = String(Number(document.body.dataset.answers ?? 0) + 1);
    player.duration = Math.max(...(["a", "b"] as const).map((s) => courses[s]?.history.scenario.duration_days ?? 0));
    draw();
    if (!player.isPlaying) tell();
  },
  problem(side, error) {
    trouble.show(side, wordsOf(error), error.violations);
  },
  busy(busy) {
    const { dataset } = document.body;
    if (dataset.busy === "true" && !busy) dataset.settled = String(Number(dataset.settled ?? 0) + 1);
    dataset.busy = String(busy);
  },
  progress(side, share) {
    view.level(side, levels[side], share);
  },
  variant(side, scenario, index) {
    const population = spread();
    if (engine === undefined || population === undefined) return undefined;
    try {
      const eye = engine.drawAround(population.name, scenario, index);
      crowds[side] ??= new Crowd(population);
      return eye;
    } catch (error) {
      // it was not fitted for the way of contraction of this scenario
      $("crowd-status").textContent = `No band: ${(error as CapsimError).message}.`;
      return undefined;
    }
  },
  crowd(side, index, history) {
    const crowd = crowds[side]!;
    if (history === undefined) crowd.miss();
    else crowd.add(index, history);
    document.body.dataset[`crowd${side.toUpperCase()}`] = String(crowd.eyes);
    tellCrowds();
    // A band that grows is a picture that moves: where that is unwelcome it comes once, whole.
    if (crowd.eyes % crowdBatch !== 0 || (matchMedia("(prefers-reduced-motion: reduce)").matches && !crowd.complete))
      return;
    standing[side] = crowd;
    draw();
    if (crowd.complete && !player.isPlaying) tell();
  },
  otherLaw(side, scenario) {
    const population = spread() ?? engine?.populations[0]; // without a band too: a place among eyes is needed to go over
    if (engine === undefined || population === undefined) return undefined;
    try {
      return engine.underLaw(population.name, scenario, otherThan(scenario.contraction?.law));
    } catch (error) {
      // no law but this one was fitted for these eyes
      noOtherLaw(side, (error as CapsimError).message);
      return undefined;
    }
  },
  underOtherLaw(side, own, other) {
    if (own?.status !== "completed" || other?.status !== "completed")
      return noOtherLaw(side, other?.message ?? "the run failed");
    otherLaws[side] = new OtherLaw(own, other);
    document.body.dataset[`law${side.toUpperCase()}`] = otherLaws[side].law;
    draw();
    if (!player.isPlaying) tell();
  },
  crowdCleared(side) {
    delete crowds[side];
    delete otherLaws[side];
    delete document.body.dataset[`law${side.toUpperCase()}`];
    $("law-status").textContent = "";
    delete document.body.dataset[`crowd${side.toUpperCase()}`];
    if (standing[side] === undefined) return;
    delete standing[side];
    tellCrowds();
  },
});

/** The eyes whose spread the bands show. */
function spread(): Population | undefined {
  const wanted = notebook.pair.spread;
  return wanted === undefined ? engine?.populations[0] : engine?.populations.find((p) => p.name === wanted);
}

function noOtherLaw(side: Side, why: string): void {
  document.body.dataset[`law${side.toUpperCase()}`] = "none";
  $("law-status").textContent = `No thin line: ${why.replace(/\.$/, "")}.`;
}

function tellCrowds(): void {
  const eyes = (["a", "b"] as const).flatMap((side) =>
    crowds[side] ? [`${side.toUpperCase()} ${crowds[side]!.eyes} of ${crowdSize}`] : [],
  );
  $("crowd-status").textContent = eyes.length > 0 ? `Eyes in so far: ${eyes.join(", ")}.` : "";
}

function wordsOf(error: CapsimError): string {
  return error.status === "wrong_input"
    ? `Eye ${editing.toUpperCase()} cannot be as set. The pictures show the last one that could.`
    : `The engine stopped: ${error.message}`;
}

const show = (): Show => ({
  courses: notebook.pair.b === null ? { ...(courses.a ? { a: courses.a } : {}) } : courses,
  crowds: notebook.pair.b === null ? { ...(standing.a ? { a: standing.a } : {}) } : { ...standing },
  otherLaws: notebook.pair.b === null ? { ...(otherLaws.a ? { a: otherLaws.a } : {}) } : { ...otherLaws },
  scenarios: { a: runnable(notebook.pair.a), b: notebook.pair.b && runnable(notebook.pair.b) },
  day: player.day,
  duration: player.duration,
  cautions:
    (["a", "b"] as const).some((s) => (s === "a" || notebook.pair.b ? hasCuts(notebook.scenario(s)) : false)) ||
    cautions.length < 2
      ? cautions
      : cautions.slice(0, 1),
});

function draw(): void {
  view.draw(show());
}
function tell(): void {
  view.tell(show(), levels);
}

function solve(side: Side, replaced = false): void {
  desk.want(side, notebook.scenario(side), replaced);
}

/** After the pair has been replaced: lesson, undo, file, link. */
function showPair(): void {
  trouble.clear("a");
  trouble.clear("b");
  const two = notebook.pair.b !== null;
  $<HTMLInputElement>("compare").checked = two;
  document.body.dataset.eyes = two ? "2" : "1";
  if (!two) {
    editing = "a";
    delete courses.b;
    desk.clear("b");
  }
  view.layOut();
  draw();
  tell();
  refreshButtons();
  controls.refresh();
  solve("a", true);
  if (two) solve("b", true);
}

function refreshButtons(): void {
  for (const side of ["a", "b"] as const) $(`edit-${side}`).setAttribute("aria-pressed", String(editing === side));
  $<HTMLButtonElement>("undo").disabled = !notebook.canUndo;
  $<HTMLButtonElement>("redo").disabled = !notebook.canRedo;
  $<HTMLInputElement>("link").value = location.href.split("#")[0]! + toLink(notebook.pair);
  document.body.dataset.editing = editing;
  $("panel-title").textContent = `Eye ${editing.toUpperCase()}`;
  $<HTMLSelectElement>("spread").value = spread()?.name ?? "";
}

const controls = new Controls($("controls"), {
  scenario: () => notebook.scenario(editing),
  begin: () => notebook.remember(),
  changed(resting) {
    if (resting) {
      notebook.forgetIdle();
      refreshButtons();
    }
    $("lesson-look").textContent = "";
    solve(editing);
  },
  mirror(eye) {
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
      trouble.show(editing, wordsOf(error as CapsimError), (error as CapsimError).violations);
    }
  },
});

function choose(pair: Pair): void {
  notebook.replace(pair);
  showPair();
}

function listen(): void {
  button("play", () => player.toggle());
  button("back", () => player.step(-7));
  button("forth", () => player.step(7));
  button("undo", () => {
    if (notebook.undo()) showPair();
  });
  button("redo", () => {
    if (notebook.redo()) showPair();
  });
  button("reset", () => {
    $("lesson-look").textContent = "";
    choose(freshPair());
  });
  button("edit-a", () => edit("a"));
  button("edit-b", () => {
    if (notebook.pair.b === null) compare(true);
    edit("b");
  });
  button("copy", () => {
    const other: Side = editing === "a" ? "b" : "a";
    choose({ ...notebook.pair, [other]: structuredClone(notebook.scenario(editing)) });
  });
  button("theme", () => {
    view.nextTheme();
    draw();
  });
  const scrub = $<HTMLInputElement>("scrub");
  scrub.addEventListener("input", () => {
    player.pause();
    player.go(scrub.valueAsNumber);
  });
  scrub.addEventListener("change", () => tell());
  scrub.addEventListener("keydown", (event) => {
    const jump = event.key === "PageUp" ? 30 : event.key === "PageDown" ? -30 : 0;
    if (jump !== 0) {
      event.preventDefault();
      player.pause();
      player.go(player.day + jump);
      tell();
    }
  });
  $<HTMLSelectElement>("speed").addEventListener("change", (event) => {
    player.speed = Number((event.target as HTMLSelectElement).value);
  });
  $<HTMLInputElement>("compare").addEventListener("change", (event) =>
    compare((event.target as HTMLInputElement).checked),
  );
  for (const id of ["true-size", "screen-mm"])
    $(id).addEventListener("input", () => {
      view.layOut();
      draw();
    });
  $<HTMLSelectElement>("spread").addEventListener("change", (event) => {
    notebook.remember();
    notebook.pair.spread = (event.target as HTMLSelectElement).value;
    refreshButtons();
    desk.newCrowds();
    draw();
    tell();
  });
  view.scrubbing(
    (day) => {
      player.pause();
      player.go(day);
    },
    () => tell(),
  );
  for (const visit of visits) {
    const go = document.createElement("button");
    go.type = "button";
    go.textContent = visit.name;
    go.dataset.day = String(visit.day);
    go.addEventListener("click", () => {
      player.pause();
      player.go(visit.day);
      tell();
    });
    $("visit-row").append(go);
  }
  for (const lesson of lessons) {
    const take = document.createElement("button");
    take.type = "button";
    take.textContent = lesson.title;
    take.dataset.lesson = lesson.key;
    take.addEventListener("click", () => {
      player.pause();
      choose({ ...notebook.pair, a: lesson.a, b: lesson.b });
      player.go(lesson.day);
      $("lesson-look").textContent = lesson.look;
    });
    $("lesson-row").append(take);
  }
  document.addEventListener("keydown", (event) => {
    const at = event.target as HTMLElement;
    const typing = at.matches("input[type=text], input[type=number], textarea");
    if (
      event.key === " " &&
      !typing &&
      !at.matches("button, select, summary, input[type=checkbox], input[type=radio], [role=button]")
    ) {
      event.preventDefault();
      player.toggle();
    }
    if ((event.ctrlKey || event.metaKey) && !typing && (event.key === "z" || event.key === "y")) {
      event.preventDefault();
      if (event.key === "z" && !event.shiftKey ? notebook.undo() : notebook.redo()) showPair();
    }
  });
  addEventListener("hashchange", () => {
    const pair = fromLink(location.hash);
    if (pair) choose(pair);
  });
  addEventListener("resize", () => {
    view.layOut();
    draw();
  });
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => draw());
}

function edit(side: Side): void {
  editing = side;
  refreshButtons();
  controls.refresh();
}

function compare(on: boolean): void {
  choose({ ...notebook.pair, b: on ? { ...structuredClone(notebook.pair.a), name: "B" } : null });
}

async function begin(): Promise<void> {
  listen();
  new Exports({
    show,
    pair: () => notebook.pair,
    editing: () => editing,
    open(scenario: Scenario) {
      if (engine === undefined) return;
      try {
        engine.complete(scenario); // refuses before anything on screen changes
        choose({ ...notebook.pair, [editing]: scenario });
      } catch (error) {
        trouble.show(editing, "The file holds no scenario that can be run.", (error as CapsimError).violations);
      }
    },
    unreadable: (words) => trouble.show(editing, words, []),
  });
  $("lesson-look").textContent = start ? "" : lessons[0]!.look;
  view.layOut();
  player.go(start ? 182 : lessons[0]!.day);
  showPair();
  engine = await loadEngine();
  cautions = [engine.about.researchCaution, engine.about.relaxingCutCaution];
  $("caution").textContent = cautions[0]!;
  for (const id of ["caution-cuts", "cut-caution"]) $(id).textContent = cautions[1]!;
  $<HTMLSelectElement>("spread").append(
    ...engine.populations.map(({ name, description }) => new Option(description.replace(/\.$/, ""), name)),
  );
  refreshButtons();
  desk.newCrowds();
  $("about").textContent =
    `libcapsim ${engine.about.version}. Everything is computed in this page; nothing is sent anywhere. All eyes are invented.`;
  tell();
}

void begin();
