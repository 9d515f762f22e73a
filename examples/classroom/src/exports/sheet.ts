// SPDX-License-Identifier: BSD-3-Clause
/** One picture that can stand alone: the eyes, the verdict and the cautions, on white. */

import type { Pen } from "../stage/pen.js";
import type { Lesson } from "../lessons/lesson_list.js";
import { halfView } from "../stage/eye_look.js";
import { drawEye } from "../stage/eye_picture.js";
import { dashOf, eyeColours, paperColours, type Side } from "../stage/palette.js";
import { commonLoadTop, type Show, sidesOf } from "../state/show.js";
import { crowdVerdict, verdictOf } from "../words/verdict.js";

/** Text broken into lines of a width; returns the y below it. */
export function paragraph(g: Pen, text: string, x: number, y: number, width: number, lineHeight: number): number {
  let line = "";
  for (const word of text.split(" ")) {
    if (line !== "" && g.measureText(`${line} ${word}`).width > width) {
      g.fillText(line, x, y);
      y += lineHeight;
      line = word;
    } else line = line === "" ? word : `${line} ${word}`;
  }
  g.fillText(line, x, y);
  return y + lineHeight;
}

export const sheetSize = { width: 1920, height: 1080 };

/** The picture is laid out for this width and height and scaled to what is wanted. */
const base = { width: 1280, height: 720 };

/** The eyes on one day with their names, the verdict and the cautions burnt in: a picture, or one frame of a film. */
export function drawFrame(g: Pen, width: number, height: number, show: Show, lesson: Lesson | undefined): void {
  const sides = sidesOf(show);
  g.save();
  g.fillStyle = paperColours.paper;
  g.fillRect(0, 0, width, height);
  g.scale(width / base.width, height / base.height);
  const column = base.width / sides.length,
    size = 500,
    top = 50;
  sides.forEach((side, i) => {
    const course = show.courses[side]!,
      left = i * column + (column - size) / 2;
    drawTitle(g, side, course.scenario.name, left, 6, size);
    g.fillStyle = eyeColours.field;
    g.fillRect(left, top, size, size);
    drawEye(g, course.scenario, course.at(show.day), course.start, {
      x: left + size / 2,
      y: top + size / 2,
      pxPerMm: size / (2 * halfView),
      loadTop: commonLoadTop(show.courses),
      side,
      labels: true,
    });
  });
  drawCaption(g, show, lesson, top + size + 34);
  g.restore();
}

function drawCaption(g: Pen, show: Show, lesson: Lesson | undefined, y: number): void {
  const left = 24,
    wide = base.width - 2 * left;
  g.textAlign = "left";
  g.textBaseline = "alphabetic";
  g.fillStyle = paperColours.ink;
  g.font = "700 24px system-ui, sans-serif";
  y = paragraph(g, verdictOf(show, lesson), left, y, wide, 28);
  g.font = "18px system-ui, sans-serif";
  y = paragraph(g, crowdVerdict(show, lesson), left, y, wide, 24);
  g.fillStyle = paperColours.faint;
  // All of the cautions stay on the picture, smaller when they are long.
  let letters = 14;
  const height = (): number => Math.ceil(g.measureText(show.cautions.join(" ")).width / (0.94 * wide)) * (letters + 3);
  for (; letters > 8; --letters) {
    g.font = `${letters}px system-ui, sans-serif`;
    if (y + height() < base.height) break;
  }
  paragraph(g, show.cautions.join(" "), left, y, wide, letters + 3);
}

/** The letter of the scenario and its name, above a picture. */
function drawTitle(g: Pen, side: Side, name: string, x: number, y: number, width: number): void {
  g.save();
  g.fillStyle = side === "a" ? paperColours.a : paperColours.b;
  g.fillRect(x, y, 30, 30);
  g.fillStyle = "#ffffff";
  g.font = "700 20px system-ui, sans-serif";
  g.textAlign = "center";
  g.textBaseline = "middle";
  g.fillText(side.toUpperCase(), x + 15, y + 16);
  g.fillStyle = paperColours.ink;
  g.textAlign = "left";
  g.font = "600 18px system-ui, sans-serif";
  g.fillText(name, x + 40, y + 16, width - 40);
  g.strokeStyle = side === "a" ? paperColours.a : paperColours.b;
  g.setLineDash(dashOf(side));
  g.lineWidth = 3;
  g.beginPath();
  g.moveTo(x, y + 36);
  g.lineTo(x + width, y + 36);
  g.stroke();
  g.restore();
}
