// SPDX-License-Identifier: BSD-3-Clause
/** Between the page and its address: where a link leads, and what the address holds when the page rests. */

import type { Classroom } from "../classroom.js";
import { lessonOf, lessons } from "../lessons/lesson_list.js";
import { setMode } from "../stage/presenting.js";
import { languages, t } from "../words/texts.js";
import { dayAt, pairOf, stepAt } from "./landing.js";
import { type Address, published, readAddress, writeAddress } from "./address.js";

const $ = (id: string): HTMLInputElement => document.getElementById(id) as HTMLInputElement;

/** The address holds what is on screen, so that a reload and a copied link bring it back. */
function keep(room: Classroom): void {
  const hash = writeAddress(room.address);
  $("link").value = (published($("public-address").value) ?? location.href.split("#")[0]!) + hash;
  try {
    history.replaceState(null, "", hash);
  } catch {
    // in a sandboxed frame the address is not the page's to change
  }
}

/** Goes where an address says; where it says nothing that can be, to the first lesson. */
export function take(room: Classroom, to: Address): void {
  const words = t().trouble,
    { panel, player } = room;
  const given = to.eyes !== undefined && to.eyes !== "damaged" ? to.eyes : undefined;
  const plans = given ? [given.a, given.b, ...(given.kept ?? [])] : [];
  const wrong = plans.flatMap((scenario, i) => {
    const error = scenario === null ? undefined : room.refusal(scenario);
    return error === undefined ? [] : [{ error, letter: "ABCD"[i]! }];
  });
  const refused = to.eyes !== undefined && (given === undefined || wrong.length > 0);
  const lesson = lessonOf(to.lesson) ?? (refused && room.answers.courses.a === undefined ? lessons()[0] : undefined);
  if (!refused || lesson !== undefined) {
    panel.take(lesson, lesson ? stepAt(to) : 1);
    if (!refused && given) room.choose({ ...given, ...(lesson ? { lesson: lesson.key } : {}) });
    else if (lesson) room.choose(pairOf(lesson));
    player.go(dayAt(to, lesson));
    room.tell();
  }
  if (refused)
    room.trouble.show(
      "link",
      given ? words.link(wrong.map(({ letter }) => letter)) : words.damaged,
      wrong.flatMap(({ error }) => error.violations ?? []),
    );
  room.rest();
}

export function listenToAddress(room: Classroom): void {
  room.rested = () => keep(room);
  addEventListener("hashchange", () => {
    const to = readAddress(location.hash);
    const otherWords = to.language !== undefined && Object.hasOwn(languages, to.language) && to.language !== t().locale;
    // Words are put in once; and eyes that come before the engine that checks them are those of a page that starts.
    if (otherWords || (to.eyes !== undefined && room.engine === undefined)) return location.reload();
    take(room, to);
    if (to.mode !== undefined && to.mode !== room.mode) setMode(room, to.mode);
  });
  const typed = $("public-address");
  typed.addEventListener("input", () => {
    const wrong = typed.value.trim() !== "" && published(typed.value) === undefined;
    typed.setAttribute("aria-invalid", String(wrong));
    room.rest();
  });
}
