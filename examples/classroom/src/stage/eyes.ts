// SPDX-License-Identifier: BSD-3-Clause
/** The pictures of the eyes on the page, and what stands above each. They need nothing else of the page, so that they can be there
 *  before it. */

import type { Scenario } from "capsim";
import { hooks } from "../hooks.js";
import type { Pictured } from "../state/course.js";
import type { Level } from "../state/eye_settings.js";
import { bothSides, type Side } from "../state/frame.js";
import { commonLoadTop, type Eyes } from "../state/show.js";
import { t } from "../words/texts.js";
import { ready } from "./canvas.js";
import { drawDial } from "./eye_labels.js";
import { type EyeLook, halfView } from "./eye_look.js";
import { drawEye } from "./eye_picture.js";
import { eyeColours } from "./palette.js";

/** Letters that the last row of a class can read, px: those of the style sheet for this mode. */
const classLetters = 28;
const figure = (side: Side): HTMLElement => document.querySelector<HTMLElement>(`.eye[data-side=${side}]`)!;

/** Each eye that is known on the clock's day; of one that is not the dial of the clock hours. `hour`: what is pointed at. */
export function drawEyes(eyes: Eyes, scenarios: Record<Side, Scenario | null>, day: number, hour?: number): void {
  const loadTop = commonLoadTop(eyes);
  for (const side of bothSides) {
    const eye = eyes[side];
    if (eye !== undefined) picture(side, eye, day, loadTop, hour);
    else dial(side, scenarios[side]);
  }
  if (Object.keys(eyes).length > 0) hooks.pictured();
}

export function nameEye(side: Side, name: string): void {
  figure(side).querySelector(".eye-name")!.textContent = name;
}

/** What stands: nothing for the standard answer, else that it is the quick one, and how far the other has come. */
export function tellLevel(side: Side, level: Level | undefined, share?: number): void {
  const quick = level !== "standard",
    bar = figure(side).querySelector("progress")!;
  say(side, !quick ? "" : share === undefined ? t().page.quick : t().page.finer(Math.round(100 * share)));
  bar.hidden = !quick || share === undefined;
  bar.value = share ?? 0;
}

/** The day that is pictured, while the clock shows another one. */
export const tellOnly = (side: Side, day: number): void => say(side, t().page.only(day));

function say(side: Side, words: string): void {
  figure(side).querySelector(".level")!.textContent = words;
}

function field(side: Side): { g: CanvasRenderingContext2D; width: number } {
  const { g, width } = ready(document.getElementById(`eye-${side}`) as HTMLCanvasElement);
  g.fillStyle = eyeColours.field;
  g.fillRect(0, 0, width, width);
  return { g, width };
}
function lookOf(side: Side, width: number, loadTop: number): EyeLook {
  return {
    x: width / 2,
    y: width / 2,
    pxPerMm: width / (2 * halfView),
    loadTop,
    side,
    labels: width > 150,
    ...(document.body.dataset.mode === "present" ? { letters: classLetters } : {}),
  };
}

function picture(side: Side, eye: Pictured, day: number, loadTop: number, hour: number | undefined): void {
  const { g, width } = field(side),
    look = lookOf(side, width, loadTop);
  if (hour !== undefined) look.pointed = hour;
  if (!eye.shows(day)) look.tellDay = true;
  drawEye(g, eye.scenario, eye.at(day), eye.start, look);
}

/** The clock hours, until there is an eye between them. */
function dial(side: Side, scenario: Scenario | null): void {
  if (scenario === null) return;
  const { g, width } = field(side),
    look = lookOf(side, width, 0);
  if (look.labels) drawDial(g, scenario, look);
}
