// SPDX-License-Identifier: BSD-3-Clause
/** Pictures to keep: of the day that is shown, as pixels and in lines; and of every day on which a film rests, in one file. */

import { strToU8, zipSync, type Zippable } from "fflate";
import type { Lesson } from "../lessons/lesson_list.js";
import { type Show, sidesOf } from "../state/show.js";
import { verdictOf } from "../words/verdict.js";
import { commentOf, staysOf } from "./film.js";
import { withWords } from "./png.js";
import { drawFrame, sheetSize } from "./sheet.js";
import { svgOf } from "./svg_pen.js";

/** Which day a file is of: in a folder the days stand in their order. */
export const nameOf = (show: Show, kind: string): string =>
  `capsule-opening-day-${String(Math.round(show.day)).padStart(3, "0")}.${kind}`;

async function pixels(show: Show, lesson: Lesson | undefined): Promise<Uint8Array<ArrayBuffer>> {
  const canvas = document.createElement("canvas");
  canvas.width = sheetSize.width;
  canvas.height = sheetSize.height;
  drawFrame(canvas.getContext("2d")!, sheetSize.width, sheetSize.height, show, lesson);
  const blob = await new Promise<Blob | null>((done) => canvas.toBlob(done, "image/png"));
  if (blob === null) throw new Error("the browser made no picture");
  const words: Record<string, string> = { Caution: show.cautions.join(" ") };
  for (const side of sidesOf(show)) words[`Scenario ${side.toUpperCase()}`] = JSON.stringify(show.scenarios[side]);
  return withWords(new Uint8Array(await blob.arrayBuffer()), words);
}

/** The same picture in lines. */
function lines(show: Show, lesson: Lesson | undefined): string {
  const { width, height } = sheetSize;
  return svgOf(width, height, verdictOf(show, lesson), commentOf(show), (pen) =>
    drawFrame(pen, width, height, show, lesson),
  );
}

export const pngOf = async (show: Show, lesson: Lesson | undefined): Promise<Blob> =>
  new Blob([await pixels(show, lesson)], { type: "image/png" });
export const drawingOf = (show: Show, lesson: Lesson | undefined): Blob =>
  new Blob([lines(show, lesson)], { type: "image/svg+xml" });

/** Both pictures of surgery, of every visit and of every event day, for slides that are made elsewhere. */
export async function visitsOf(
  show: Show,
  lesson: Lesson | undefined,
  progress: (share: number) => void,
): Promise<Blob> {
  const files: Zippable = {},
    days = staysOf(show);
  for (const [i, day] of days.entries()) {
    const then = { ...show, day };
    files[nameOf(then, "png")] = [await pixels(then, lesson), { level: 0 }]; // packed as it is
    files[nameOf(then, "svg")] = strToU8(lines(then, lesson));
    progress((i + 1) / days.length);
  }
  return new Blob([zipSync(files)], { type: "application/zip" });
}
