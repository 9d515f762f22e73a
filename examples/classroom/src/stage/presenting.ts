// SPDX-License-Identifier: BSD-3-Clause
/** How the page is shown: alone, before a class on the whole screen, or in the frame of a slide. */

import type { Classroom } from "../classroom.js";
import type { Mode } from "../state/address.js";
import { t } from "../words/texts.js";

/** `screen`: takes the whole screen, or gives it back, as the mode asks. */
export function setMode(room: Classroom, to: Mode, screen = false): void {
  room.mode = to;
  document.body.dataset.mode = to;
  delete document.body.dataset.blank;
  document.getElementById("present")!.textContent = to === "present" ? t().page.leave : t().page.present;
  room.view.layOut();
  room.draw();
  room.rest();
  if (!screen) return;
  if (to === "present") void document.documentElement.requestFullscreen?.().catch(() => undefined);
  else if (document.fullscreenElement) void document.exitFullscreen();
}

/** The second picture is hidden until the class has guessed, or shown again. */
export function blank(): void {
  if (document.body.dataset.blank === "b") delete document.body.dataset.blank;
  else document.body.dataset.blank = "b";
}
