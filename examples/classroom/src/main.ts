// SPDX-License-Identifier: BSD-3-Clause
/** The page begins here, when all of it has been read and its first picture stands (`first.ts`): a worker that sets out for the eyes that the
 *  address asks for, the page around them, then the page's own engine, and what that knows. */

import { loadEngine, Solver } from "capsim";
import { Classroom } from "./classroom.js";
import { Exports } from "./exports/exports.js";
import { hooks } from "./hooks.js";
import { listenToButtons } from "./panels/buttons.js";
import { type Address, readAddress } from "./state/address.js";
import { dayAt, lessonAt, pairOf, stepAt } from "./state/landing.js";
import { freshPair } from "./state/notebook.js";
import { listenToAddress, take } from "./state/route.js";
import { kindOf } from "./state/whole_bag.js";
import { fitTables } from "./stage/fit_tables.js";
import { fillPage } from "./stage/page_texts.js";
import { setMode } from "./stage/presenting.js";
import { listenToClock, listenToRoomKeys } from "./stage/transport.js";
import { populationInWords, speak, t } from "./words/texts.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;

/** Lets the browser do what is waiting. */
const turn = (milliseconds = 0): Promise<void> => new Promise((go) => setTimeout(go, milliseconds));
/** A worker is not waited for longer than this: the page comes without it, too. */
const wakingMilliseconds = 50;

function listenToWindow(room: Classroom): void {
  const layOut = (): void => {
    room.view.layOut();
    room.draw();
  };
  addEventListener("resize", layOut);
  document.addEventListener("fullscreenchange", layOut);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => room.draw());
}

function listenToExports(room: Classroom): void {
  new Exports({
    show: () => room.show(),
    pair: () => room.notebook.pair,
    editing: () => room.editing,
    lesson: () => room.panel.lesson,
    link: () => $<HTMLInputElement>("link").value,
    version: () => room.engine?.about.version ?? "",
    open(scenario) {
      if (room.engine === undefined) return;
      const error = room.refusal(scenario);
      if (error) return room.trouble.show("link", t().trouble.file, error.violations ?? []);
      room.choose({ ...room.notebook.pair, [room.editing]: scenario });
    },
    unreadable: (words) => room.trouble.show("link", words, []),
  });
}

/** A link that is followed while the page comes up is where it comes up: nothing stands on it yet that could be lost. */
async function stillAsked(hash: string): Promise<void> {
  if (location.hash === hash) return;
  location.reload();
  await new Promise(() => undefined);
}

/** The page as its address wants it: words, controls, and the first lesson's eyes on their way to the worker. */
async function open(hash: string, start: Address, quick: Solver): Promise<Classroom> {
  const firstLesson = lessonAt(start);
  const room = new Classroom(firstLesson ? pairOf(firstLesson) : freshPair(), start.mode ?? "page", quick);
  await turn();
  await stillAsked(hash);
  for (const listen of [listenToButtons, listenToClock, listenToRoomKeys, listenToAddress]) listen(room);
  listenToWindow(room);
  fitTables();
  listenToExports(room);
  document.body.dataset.mode = room.mode;
  if (start.eyes === undefined) {
    room.panel.take(firstLesson, stepAt(start));
    room.player.go(dayAt(start, firstLesson));
    room.showPair();
  }
  return room;
}

/** What the engine of the page itself says: it draws eyes, checks files and links, and knows the cautions. */
async function complete(room: Classroom, start: Address): Promise<void> {
  const engine = await loadEngine();
  room.started(engine);
  $<HTMLSelectElement>("spread").append(
    // Kinds of eyes; which of the two populations of a kind is drawn from follows from what contracts in the eye on the stage.
    ...engine.populations
      .filter(({ name }) => name === kindOf(name))
      .map((population) => new Option(populationInWords(population), population.name)),
  );
  if (start.eyes !== undefined) take(room, start);
  setMode(room, room.mode);
  room.desk.newCrowds();
  room.refreshButtons();
  room.tell();
  hooks.ready();
}

async function begin(): Promise<void> {
  const { hash } = location,
    start = readAddress(hash);
  speak(start.language ?? navigator.language.slice(0, 2));
  // The engine is unpacked and compiled in the worker while the page is filled.
  const quick = new Solver(),
    started = quick.start();
  await Promise.race([started, turn(wakingMilliseconds)]).catch(() => undefined); // said below
  fillPage();
  await turn();
  const room = await open(hash, start, quick);
  started.catch(() => room.answers.none()); // no worker: the first run says so, too
  // Answers for the eyes on screen come before an engine that only later pictures need.
  if (start.eyes === undefined) await room.answers.first;
  await complete(room, start).catch((error: unknown) => {
    // A browser that lacks what the engine needs: said in words, with the browser's own reason for those who look.
    console.warn(error);
    room.cannotRun();
    room.trouble.show("link", t().trouble.tooOld, []);
  });
}

void begin();
