// SPDX-License-Identifier: BSD-3-Clause
/** Play, the day, the visits and the keys: all that moves the clock. */

import type { Classroom } from "../classroom.js";
import { lessonKeys } from "../lessons/lesson_keys.js";
import { lessonOf } from "../lessons/lesson_list.js";
import { listenToKeys } from "../panels/keys.js";
import { visits } from "../state/course.js";
import { blank, setMode } from "./presenting.js";

const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;
const on = (id: string, act: () => void): void => $(id).addEventListener("click", act);
/** Days of a jump on the slider. */
const month = 30,
  week = 7;

export function listenToClock(room: Classroom): void {
  const { player, view } = room;
  const step = (days: number): void => {
    player.step(days);
    room.tell();
  };
  on("play", () => player.toggle());
  on("back", () => step(-week));
  on("forth", () => step(week));
  const drag = (day: number): void => {
    player.pause();
    player.go(day);
  };
  const scrub = $<HTMLInputElement>("scrub");
  scrub.addEventListener("input", () => drag(scrub.valueAsNumber));
  scrub.addEventListener("change", () => room.goTo(player.day));
  scrub.addEventListener("keydown", (event) => {
    const jump = event.key === "PageUp" ? month : event.key === "PageDown" ? -month : 0;
    if (jump === 0 || room.mode === "present") return;
    event.preventDefault();
    room.goTo(player.day + jump);
  });
  $<HTMLSelectElement>("speed").addEventListener("change", (event) => {
    player.speed = Number((event.target as HTMLSelectElement).value);
  });
  view.scrubbing(drag, () => room.goTo(player.day));
  for (const visit of visits) {
    const go = document.createElement("button");
    Object.assign(go, { type: "button", textContent: visit.name });
    go.dataset.day = String(visit.day);
    go.addEventListener("click", () => room.goTo(visit.day));
    $("visit-row").append(go);
  }
}

/** The keys of a page that is presented, and of one that is used alone. */
export function listenToRoomKeys(room: Classroom): void {
  const { player, panel } = room,
    days = [0, ...visits.map((v) => v.day)];
  listenToKeys({
    play: () => player.toggle(),
    undo: () => room.undo(),
    redo: () => room.redo(),
    lesson: (index) => room.takeLesson(lessonOf(lessonKeys[index])!, 1),
    visit(forward) {
      const next = forward
        ? days.find((d) => d > player.day + 0.5)
        : [...days].reverse().find((d) => d < player.day - 0.5);
      if (next !== undefined) room.goTo(next);
    },
    step: (forward) => (forward ? panel.next() : panel.back()),
    answer: (number) => panel.answerNumber(number),
    blank,
    leave: () => setMode(room, "page", true),
    presenting: () => room.mode === "present",
    asking: () => panel.lesson !== undefined && panel.step === 1,
  });
}
