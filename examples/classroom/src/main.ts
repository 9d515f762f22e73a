// SPDX-License-Identifier: BSD-3-Clause
/** The page begins here: first the eyes that its address asks for, then the engine of the page itself, then what that knows. */

import { loadEngine, Solver } from "capsim";
import { Classroom, pairOf } from "./classroom.js";
import { Exports } from "./exports/exports.js";
import { hooks } from "./hooks.js";
import { lessonOf, lessons } from "./lessons/lesson_list.js";
import type { Step } from "./lessons/lesson_panel.js";
import { listenToButtons } from "./panels/buttons.js";
import { readAddress } from "./state/address.js";
import { freshPair } from "./state/notebook.js";
import { listenToAddress, take } from "./state/route.js";
import { fillPage } from "./stage/page_texts.js";
import { setMode } from "./stage/presenting.js";
import { listenToClock, listenToRoomKeys } from "./stage/transport.js";
import { populationInWords, speak, t } from "./words/texts.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;

// Before anything else: the engine is unpacked and compiled in the worker while the page is filled.
const quick = new Solver();
quick.start().catch(() => undefined); // told by the first run

const start = readAddress(location.hash);
speak(start.language ?? navigator.language.slice(0, 2));
fillPage();

const firstLesson = lessonOf(start.lesson) ?? (start.eyes === undefined ? lessons()[0] : undefined);
const room = new Classroom(firstLesson ? pairOf(firstLesson) : freshPair(), start.mode ?? "page", quick);

function listenToWindow(): void {
  const layOut = (): void => {
    room.view.layOut();
    room.draw();
  };
  addEventListener("resize", layOut);
  document.addEventListener("fullscreenchange", layOut);
  matchMedia("(prefers-color-scheme: dark)").addEventListener("change", () => room.draw());
}

function listenToExports(): void {
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

async function begin(): Promise<void> {
  for (const listen of [listenToButtons, listenToClock, listenToRoomKeys, listenToAddress]) listen(room);
  listenToWindow();
  listenToExports();
  document.body.dataset.mode = room.mode;
  if (start.eyes === undefined) {
    room.panel.take(firstLesson, (start.step ?? 1) as Step);
    room.showPair();
    room.player.go(start.day ?? (room.panel.step > 2 ? firstLesson!.day : 0));
  }
  const engine = await loadEngine();
  room.started(engine);
  $<HTMLSelectElement>("spread").append(
    // Eyes are drawn about those on the stage, whose bags do not contract as a whole.
    ...engine.populations
      .filter(({ name }) => !name.endsWith("_whole_bag"))
      .map((population) => new Option(populationInWords(population), population.name)),
  );
  if (start.eyes !== undefined) take(room, start);
  setMode(room, room.mode);
  room.desk.newCrowds();
  room.refreshButtons();
  room.tell();
  hooks.ready();
}

begin().catch((error: unknown) => {
  // A browser that lacks what the engine needs: said in words, with the browser's own reason for those who look.
  console.warn(error);
  room.trouble.show("link", t().trouble.tooOld, []);
});
