// SPDX-License-Identifier: BSD-3-Clause
/** What the browser runs first, when no more of the page has been read than the place for the pictures: the eyes that the address asks for,
 *  as they came with the page. Words, controls, worker and engine follow (`main.ts`). */

import { bothSides } from "./state/frame.js";
import { readAddress } from "./state/address.js";
import { dayAt, lessonAt, pairOf } from "./state/landing.js";
import type { Eyes } from "./state/show.js";
import { shipped } from "./state/shipped.js";
import { drawEyes } from "./stage/eyes.js";
import { speak } from "./words/texts.js";

/** Of an eye that a link brings nothing is believed, nor drawn, before the engine has checked it. */
const nobody = { a: null, b: null };

function firstPicture(): void {
  const to = readAddress(location.hash),
    lesson = lessonAt(to),
    pair = to.eyes ?? pairOf(lesson!);
  if (pair === "damaged") return;
  const scenarios = { a: pair.a, b: pair.b },
    known: Eyes = {};
  for (const side of bothSides) {
    const eye = scenarios[side] === null ? undefined : shipped(scenarios[side]);
    if (eye !== undefined) known[side] = eye;
  }
  if (Object.keys(known).length === 0) return;
  speak(to.language ?? navigator.language.slice(0, 2));
  document.body.dataset.mode = to.mode ?? "page";
  document.body.dataset.eyes = pair.b === null ? "1" : "2";
  drawEyes(known, nobody, dayAt(to, lesson));
}

firstPicture();
