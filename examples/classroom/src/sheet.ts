// SPDX-License-Identifier: BSD-3-Clause
/** One picture that can stand alone: the eyes, the curves, the words and the caution, on white. */

import type { Scenario } from "capsim";
import { type Courses, type Crowds, drawCurve, quantities } from "./curves.js";
import { summary } from "./eye_settings.js";
import { drawEye, drawTitle, halfView } from "./eye_picture.js";
import { drawRose, roseTop } from "./load_rose.js";
import type { OtherLaws } from "./other_law.js";
import { eyeColours, paperColours, type Side } from "./palette.js";
import { aboutBands, crowdDifference, differenceOf, wholeReading } from "./reading.js";

export interface Show {
  courses: Courses;
  crowds: Crowds; // as far as they are to be shown
  otherLaws: OtherLaws;
  scenarios: Record<Side, Scenario | null>;
  day: number;
  duration: number;
  cautions: string[]; // the library's own words
}

export const sidesOf = (show: Show): Side[] => (["a", "b"] as const).filter((side) => show.courses[side] !== undefined);

/** Largest load of one hour over all shown courses: both eyes are coloured on one scale. */
export const commonLoadTop = (courses: Courses): number =>
  Math.max(0.1, ...Object.values(courses).map((c) => c.loadTop));

/** Text broken into lines of a width; returns the y below it. */
export function paragraph(
  g: CanvasRenderingContext2D,
  text: string,
  x: number,
  y: number,
  width: number,
  lineHeight: number,
): number {
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

/** The eyes alone with their names and the caution: one frame of a film. */
export function drawFrame(g: CanvasRenderingContext2D, width: number, height: number, show: Show): void {
  const sides = sidesOf(show);
  g.fillStyle = paperColours.paper;
  g.fillRect(0, 0, width, height);
  const column = width / sides.length,
    loadTop = commonLoadTop(show.courses);
  const size = Math.min(column - 16, height - 150);
  sides.forEach((side, i) => {
    const course = show.courses[side]!,
      x = i * column;
    drawTitle(g, side, course.history.scenario.name, x + 10, 8, column - 20);
    const left = x + (column - size) / 2,
      top = 52;
    g.fillStyle = eyeColours.field;
    g.fillRect(left, top, size, size);
    drawEye(g, course.history.scenario, course.at(show.day), course.start, {
      x: left + size / 2,
      y: top + size / 2,
      pxPerMm: size / (2 * halfView),
      loadTop,
      side,
      labels: true,
    });
  });
  g.fillStyle = paperColours.ink;
  g.textAlign = "left";
  g.textBaseline = "alphabetic";
  g.font = "13px system-ui, sans-serif";
  let y = 52 + size + 18;
  sides.forEach((side) => {
    y = paragraph(g, `${side.toUpperCase()}: ${summary(show.courses[side]!.history.scenario)}.`, 12, y, width - 24, 15);
  });
  g.font = "12px system-ui, sans-serif";
  g.fillStyle = paperColours.faint;
  paragraph(g, show.cautions[0]!.split(". ").slice(0, 2).join(". ") + ".", 12, y + 2, width - 24, 14);
}

export const sheetSize = { width: 1600, height: 1500 };

/** The whole result on one sheet. */
export function drawSheet(g: CanvasRenderingContext2D, show: Show): void {
  const { width, height } = sheetSize,
    sides = sidesOf(show);
  g.fillStyle = paperColours.paper;
  g.fillRect(0, 0, width, height);
  const eye = 620,
    gap = 40,
    left = sides.length === 2 ? 40 : 40;
  const loadTop = commonLoadTop(show.courses);
  sides.forEach((side, i) => {
    const course = show.courses[side]!,
      x = left + i * (eye + gap);
    drawTitle(g, side, course.history.scenario.name, x, 24, eye);
    g.fillStyle = eyeColours.field;
    g.fillRect(x, 68, eye, eye);
    drawEye(g, course.history.scenario, course.at(show.day), course.start, {
      x: x + eye / 2,
      y: 68 + eye / 2,
      pxPerMm: eye / (2 * halfView),
      loadTop,
      side,
      labels: true,
    });
  });
  const roseX = left + sides.length * (eye + gap) + (width - left - sides.length * (eye + gap)) / 2 - 10;
  const eyes = Object.fromEntries(
    sides.map((s) => [s, { scenario: show.courses[s]!.history.scenario, moment: show.courses[s]!.at(show.day) }]),
  );
  const radius = Math.min(110, width - roseX - 40);
  g.fillStyle = paperColours.ink;
  g.font = "600 15px system-ui, sans-serif";
  g.textAlign = "center";
  g.fillText("Zonule load by hour", roseX, 110);
  drawRose(g, roseX, 130 + radius + 20, radius, eyes, roseTop(loadTop), paperColours);

  const curveWidth = (width - 80) / 4;
  quantities.forEach((quantity, i) =>
    drawCurve(
      g,
      { x: 40 + i * curveWidth, y: 710, width: curveWidth, height: 240 },
      quantity,
      show.courses,
      show.day,
      show.duration,
      paperColours,
      show.crowds,
      show.otherLaws,
    ),
  );

  // Whatever has to be said stays on the sheet, the cautions above all: smaller when it is much.
  let size = 1;
  g.save();
  g.beginPath();
  g.clip(); // nothing is drawn outside of nothing
  while (size > 0.5 && drawWords(g, show, width, 990, size) > height - 8) size -= 0.03;
  g.restore();
  drawWords(g, show, width, 990, size);
}

/** What is said under the pictures, from `y` down; returns where it ends. `size`: of the letters, 1 as they should be. */
function drawWords(g: CanvasRenderingContext2D, show: Show, width: number, y: number, size: number): number {
  const font = (weight: string, px: number): void => {
    g.font = `${weight} ${(size * px).toFixed(1)}px system-ui, sans-serif`;
  };
  g.textAlign = "left";
  g.textBaseline = "alphabetic";
  for (const side of sidesOf(show)) {
    g.fillStyle = side === "a" ? paperColours.a : paperColours.b;
    font("700", 19);
    g.fillText(side.toUpperCase(), 40, y);
    g.fillStyle = paperColours.ink;
    font("", 19);
    y =
      paragraph(
        g,
        wholeReading(show.courses[side]!, show.day, show.crowds[side], show.otherLaws[side]),
        70,
        y,
        width - 110,
        26 * size,
      ) + 2;
    g.fillStyle = paperColours.faint;
    font("", 16);
    y =
      paragraph(
        g,
        `Scenario: ${summary(show.courses[side]!.history.scenario)}. Invented eye.`,
        70,
        y,
        width - 110,
        22 * size,
      ) + 8;
  }
  if (show.courses.a && show.courses.b) {
    g.fillStyle = paperColours.ink;
    font("600", 19);
    const words = `${differenceOf(show.courses.a, show.courses.b, show.day)}. ${crowdDifference(show.crowds, show.day)}`;
    y = paragraph(g, words, 40, y + 4, width - 80, 26 * size);
  }
  g.fillStyle = paperColours.ink;
  font("", 17);
  for (const caution of [...show.cautions, aboutBands(show.crowds)])
    y = paragraph(g, caution, 40, y + 8, width - 80, 23 * size);
  return y - 23 * size; // the last line itself
}
