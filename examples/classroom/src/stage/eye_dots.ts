// SPDX-License-Identifier: BSD-3-Clause
/** Every eye of the crowd as a dot: what it loses under A across, what it loses under B up. On the line both are alike. */

import { lostPercent } from "../lessons/measure.js";
import type { Crowds } from "../state/show.js";
import { t } from "../words/texts.js";
import type { PageColours } from "./palette.js";

/** Percent lost by each eye that has run under both; under A alone the second number is left out. */
export function dotsOf(crowds: Crowds, day: number): [a: number, b: number | undefined][] {
  return (crowds.a?.courses ?? []).flatMap((course, index): [number, number | undefined][] => {
    if (course === undefined) return [];
    const twin = crowds.b?.courses[index];
    if (crowds.b !== undefined && twin === undefined) return [];
    return [[lostPercent(course, day), twin && lostPercent(twin, day)]];
  });
}

export function dotsInWords(crowds: Crowds, day: number): string {
  const dots = dotsOf(crowds, day),
    more = dots.filter(([a, b]) => b !== undefined && b > a).length;
  if (dots.length === 0) return t().crowdPlans.noDots;
  return crowds.b === undefined ? t().crowdPlans.dotsOne(dots.length) : t().crowdPlans.dots(dots.length, more);
}

export function drawDots(
  g: CanvasRenderingContext2D,
  width: number,
  height: number,
  crowds: Crowds,
  day: number,
  colours: PageColours,
): void {
  const dots = dotsOf(crowds, day);
  const all = dots.flatMap(([a, b]) => (b === undefined ? [a] : [a, b]));
  const low = Math.min(0, ...all.map((v) => 10 * Math.floor(v / 10))),
    high = Math.max(10, ...all.map((v) => 10 * Math.ceil(v / 10)));
  const box = { left: 40, right: width - 12, top: 30, bottom: height - 34 };
  const x = (v: number): number => box.left + ((v - low) / (high - low)) * (box.right - box.left);
  const y = (v: number): number => box.bottom - ((v - low) / (high - low)) * (box.bottom - box.top);
  g.font = "600 14px system-ui, sans-serif";
  g.fillStyle = colours.ink;
  g.fillText(t().crowdPlans.dotsTitle, 4, 17);
  g.font = "12px system-ui, sans-serif";
  g.strokeStyle = colours.line;
  g.fillStyle = colours.faint;
  const step = high - low > 50 ? 20 : 10;
  for (let v = low; v <= high; v += step) {
    g.strokeRect(x(v), box.top, 0, box.bottom - box.top);
    g.textAlign = "center";
    g.fillText(`${v}`.replace("-", "−"), x(v), box.bottom + 14);
    if (crowds.b === undefined) continue;
    g.textAlign = "right";
    g.fillText(`${v}`.replace("-", "−"), box.left - 5, y(v) + 4);
  }
  g.textAlign = "right";
  g.fillText(t().crowdPlans.across, box.right, box.bottom + 29);
  if (crowds.b !== undefined) {
    g.textAlign = "left";
    g.fillText(t().crowdPlans.up, box.left + 4, box.top + 10);
    g.strokeStyle = colours.faint;
    g.setLineDash([5, 4]);
    g.beginPath();
    g.moveTo(x(low), y(low));
    g.lineTo(x(high), y(high));
    g.stroke();
    g.setLineDash([]);
  }
  for (const [a, b] of dots) {
    // Filled where B loses more, open where A does: colour is not all that tells.
    g.beginPath();
    g.arc(x(a), b === undefined ? (box.top + box.bottom) / 2 : y(b), 4.5, 0, 2 * Math.PI);
    g.strokeStyle = g.fillStyle = b === undefined || b <= a ? colours.a : colours.b;
    g.lineWidth = 1.6;
    if (b === undefined || b > a) g.fill();
    else g.stroke();
  }
  g.textAlign = "left";
}
