// SPDX-License-Identifier: BSD-3-Clause
/** What is written on the front view: clock hours, nasal and temporal, scale bar, day, diameter. */

import type { Scenario } from "capsim";
import type { Moment } from "../state/course.js";
import { ovalOf } from "../state/eye_settings.js";
import { allHours, nasalIsRight, pointAt } from "../state/frame.js";
import { fixed, t } from "../words/texts.js";
import { ciliaryRadius, type EyeLook, halfView, sparing } from "./eye_look.js";
import { eyeColours as colour } from "./palette.js";
import type { Pen } from "./pen.js";

/** Letters keep this far from the edge of the picture, px: on a phone that is the edge of the screen. */
const edge = (px: number): number => Math.max(0.2 * px, 6);
const fontOf = (size: number): string => `600 ${size}px system-ui, sans-serif`;

const sizeOf = (look: EyeLook): number => look.letters ?? Math.max(9, Math.min(17, 0.52 * look.pxPerMm));

/** What can be written before anything has been computed. */
export function drawDial(g: Pen, scenario: Scenario, look: EyeLook): void {
  const size = sizeOf(look);
  g.textBaseline = "middle";
  g.fillStyle = colour.text;
  hours(g, scenario, look, size);
  g.font = fontOf(size);
  sides(g, scenario, look, size);
  scaleBar(g, look, size);
}

export function drawLabels(g: Pen, scenario: Scenario, moment: Moment, look: EyeLook): void {
  drawDial(g, scenario, look);
  dayAndDiameter(g, scenario, moment, look, sizeOf(look));
}

function hours(g: Pen, scenario: Scenario, look: EyeLook, size: number): void {
  const px = look.pxPerMm,
    outer = ciliaryRadius(scenario);
  g.font = fontOf(look.letters ?? 0.82 * size);
  g.textAlign = "center";
  for (const hour of allHours) {
    if (sparing(look) && hour % 3 !== 0) continue;
    // Digits of the usual size lie on the ciliary body; large ones begin outside the fibres and reach outward.
    const half = (0.36 * size) / px, // of a digit's height
      [x, y] = pointAt(hour, Math.min(outer + Math.max(0.28, half + 0.1), halfView - half));
    g.fillText(String(hour), look.x + x * px, look.y - y * px);
  }
}

/** Which side is nasal, in the upper corners. */
function sides(g: Pen, scenario: Scenario, look: EyeLook, size: number): void {
  const px = look.pxPerMm,
    nasal = nasalIsRight(scenario.eye),
    say = t().picture;
  if (nasal === undefined) return;
  const [left, right] = nasal ? [say.temporal, say.nasal] : [say.nasal, say.temporal];
  const top = look.y - halfView * px + Math.max(0.5 * px, 0.62 * size),
    reach = halfView * px - edge(px);
  g.textAlign = "left";
  g.fillText(left, look.x - reach, top);
  g.textAlign = "right";
  g.fillText(right, look.x + reach, top);
}

function scaleBar(g: Pen, look: EyeLook, size: number): void {
  const px = look.pxPerMm,
    x = look.x - halfView * px + edge(px),
    y = look.y + (halfView - 0.35) * px;
  g.strokeStyle = colour.text;
  g.lineWidth = 2;
  g.beginPath();
  g.moveTo(x, y);
  g.lineTo(x + 2 * px, y);
  g.stroke();
  g.textAlign = "left";
  g.fillText("2 mm", x, y - 0.75 * size);
}

function dayAndDiameter(g: Pen, scenario: Scenario, moment: Moment, look: EyeLook, size: number): void {
  const px = look.pxPerMm,
    x = look.x + halfView * px - edge(px),
    low = look.y + (halfView - 0.35) * px,
    few = sparing(look);
  g.textAlign = "right";
  // Where there is little room the clock below tells the day.
  const day = !few || look.tellDay === true;
  if (day) g.fillText(t().day(moment.day), x, low - 0.1 * size);
  const unit = look.letters === undefined ? " mm" : "",
    oval = ovalOf(scenario) !== undefined && [moment.largest, moment.smallest].map((mm) => fixed(mm, 2)).join(" × ");
  g.fillText(oval ? `${oval}${unit}` : `Ø ${fixed(moment.diameter, 2)}${unit}`, x, low - (day ? 1.6 : 0.35) * size);
}
