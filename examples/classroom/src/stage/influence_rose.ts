// SPDX-License-Identifier: BSD-3-Clause
/** Influence of the clock hours as a rose: a full petal makes more of what is asked about, an open one less. */

import { allHours, angleOfHour } from "../state/frame.js";
import { t } from "../words/texts.js";
import type { PageColours } from "./palette.js";

export function drawInfluence(
  g: CanvasRenderingContext2D,
  width: number,
  height: number,
  title: string,
  changes: readonly number[],
  colour: string,
  colours: PageColours,
  unit: string,
): void {
  const [x, y] = [width / 2, 26 + (height - 26) / 2],
    radius = Math.min(width / 2, (height - 26) / 2) - 20,
    inner = 0.12 * radius;
  if (radius <= 0) return;
  const most = Math.max(0, ...changes.filter((v) => !Number.isNaN(v)).map(Math.abs));
  g.fillStyle = colours.ink;
  g.font = "600 14px system-ui, sans-serif";
  g.textAlign = "left";
  g.fillText(title, 4, 17);
  g.font = "12px system-ui, sans-serif";
  g.strokeStyle = colours.line;
  g.fillStyle = colours.faint;
  g.lineWidth = 1;
  g.beginPath();
  g.arc(x, y, radius, 0, 2 * Math.PI);
  g.stroke();
  g.textAlign = "center";
  g.textBaseline = "middle";
  for (const hour of allHours)
    g.fillText(
      String(hour),
      x + (radius + 11) * Math.cos(angleOfHour(hour)),
      y - (radius + 11) * Math.sin(angleOfHour(hour)),
    );
  g.strokeStyle = g.fillStyle = colour;
  g.lineWidth = 1.6;
  drawPetals(g, x, y, inner, radius, changes, most);
  g.textBaseline = "alphabetic";
  g.fillStyle = colours.ink;
  g.textAlign = "right";
  g.fillText(t().influence.top(most, unit), width - 4, 17);
  g.textAlign = "left";
}

/** The hour of the largest change has the longest petal; a cross marks an hour that has none. */
function drawPetals(
  g: CanvasRenderingContext2D,
  x: number,
  y: number,
  inner: number,
  radius: number,
  changes: readonly number[],
  most: number,
): void {
  for (const hour of allHours) {
    const change = changes[hour - 1]!,
      to = inner + (radius - inner) * (most > 0 ? Math.abs(change) / most : 0);
    g.beginPath();
    if (Number.isNaN(change)) {
      const [cx, cy] = [x + 2 * inner * Math.cos(angleOfHour(hour)), y - 2 * inner * Math.sin(angleOfHour(hour))];
      for (const way of [-1, 1]) {
        g.moveTo(cx - 4, cy - 4 * way);
        g.lineTo(cx + 4, cy + 4 * way);
      }
      g.stroke();
      continue;
    }
    g.arc(x, y, inner, -angleOfHour(hour - 0.38), -angleOfHour(hour + 0.38));
    g.arc(x, y, to, -angleOfHour(hour + 0.38), -angleOfHour(hour - 0.38), true);
    g.closePath();
    if (change > 0) g.fill();
    g.stroke();
  }
}
