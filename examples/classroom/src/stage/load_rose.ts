// SPDX-License-Identifier: BSD-3-Clause
/** The load that the zonule carries at each clock hour, as a rose: the longer the petal the higher the load. */

import type { Scenario } from "capsim";
import type { Moment } from "../state/course.js";
import { strengths } from "../state/eye_settings.js";
import { allHours, angleOfHour, hoursInWords } from "../state/frame.js";
import type { Loads } from "../state/loads.js";
import { fixed, inText, t } from "../words/texts.js";
import { dashOf, type PageColours, type Side } from "./palette.js";

export type RoseEyes = Partial<Record<Side, { scenario: Scenario; moment: Moment }>>;

export function drawRose(
  g: CanvasRenderingContext2D,
  x: number,
  y: number,
  radius: number,
  eyes: RoseEyes,
  loads: Loads,
  loadTop: number,
  colours: PageColours,
  pointed?: number,
): void {
  const top = roseTop(loadTop, loads);
  const inner = radius * 0.12;
  const R = (load: number): number => inner + (radius - inner) * Math.min(1, load / top);
  g.save();
  g.lineWidth = 1;
  g.strokeStyle = colours.line;
  g.fillStyle = colours.faint;
  g.font = "12px system-ui, sans-serif";
  g.textAlign = "center";
  g.textBaseline = "middle";
  for (const share of [0.5, 1]) {
    g.beginPath();
    g.arc(x, y, R(top * share), 0, 2 * Math.PI);
    g.stroke();
  }
  for (const hour of allHours) {
    const a = angleOfHour(hour);
    g.fillText(String(hour), x + (radius + 11) * Math.cos(a), y - (radius + 11) * Math.sin(a));
  }
  const petal = (hour: number, load: number, from: number, to: number): void => {
    g.beginPath();
    g.arc(x, y, inner, -angleOfHour(hour + from), -angleOfHour(hour + to));
    g.arc(x, y, R(load), -angleOfHour(hour + to), -angleOfHour(hour + from), true);
    g.closePath();
  };
  if (pointed !== undefined) {
    petal(pointed, top, -0.5, 0.5);
    g.strokeStyle = colours.ink;
    g.setLineDash([2, 3]);
    g.stroke();
    g.setLineDash([]);
  }
  const both = eyes.a !== undefined && eyes.b !== undefined;
  for (const side of ["a", "b"] as const) {
    const eye = eyes[side];
    if (!eye) continue;
    const colour = side === "a" ? colours.a : colours.b;
    const [from, to] = !both ? [-0.4, 0.4] : side === "a" ? [-0.42, -0.02] : [0.02, 0.42];
    const strength = strengths(eye.scenario);
    for (const hour of allHours) {
      const load = eye.moment.load[hour % 12]!;
      petal(hour, load, from, to);
      g.fillStyle = g.strokeStyle = colour;
      g.globalAlpha = side === "a" ? 0.85 : 0.25;
      g.fill();
      g.globalAlpha = 1;
      g.setLineDash(dashOf(side));
      g.lineWidth = 1.5;
      g.stroke();
      g.setLineDash([]);
      if (strength[hour - 1]! < 0.01) {
        // absent: a cross instead of a petal
        const a = angleOfHour(hour + (from + to) / 2),
          cx = x + 1.9 * inner * Math.cos(a),
          cy = y - 1.9 * inner * Math.sin(a);
        g.beginPath();
        g.moveTo(cx - 4, cy - 4);
        g.lineTo(cx + 4, cy + 4);
        g.moveTo(cx + 4, cy - 4);
        g.lineTo(cx - 4, cy + 4);
        g.stroke();
      }
    }
  }
  g.fillStyle = colours.ink;
  g.font = "12px system-ui, sans-serif";
  const length = inText(String(Number((top / loads.perHour).toPrecision(2))));
  const words = loads.inMillinewton ? `${length} mN` : t().picture.times(length);
  const width = g.measureText(words).width + 6;
  g.fillStyle = colours.paper;
  g.globalAlpha = 0.85;
  g.fillRect(x - width / 2, y - R(top) + 3, width, 14);
  g.globalAlpha = 1;
  g.fillStyle = colours.ink;
  g.fillText(words, x, y - R(top) + 10);
  g.restore();
}

/** The load [mN] at the rim of the rose: a round number of what is shown, at or above the largest load of one hour. */
function roseTop(loadTop: number, { perHour }: Loads): number {
  const most = loadTop / perHour,
    power = 10 ** Math.floor(Math.log10(most));
  return perHour * power * [1, 1.5, 2, 3, 5, 8, 10].find((step) => step * power >= most * (1 - 1e-9))!;
}

export function roseInWords(eyes: RoseEyes, loads: Loads): string {
  const say = t().words;
  const parts = (["a", "b"] as const).flatMap((side) => {
    const eye = eyes[side];
    const at = (hour: number): string => fixed(eye!.moment.load[hour % 12]! / loads.perHour, 1);
    return eye ? [`${side.toUpperCase()}: ${allHours.map((h) => `${hoursInWords([h])} ${at(h)}`).join(", ")}`] : [];
  });
  return say.rose(loads.inMillinewton ? say.millinewton : say.times, parts.join(". "));
}
