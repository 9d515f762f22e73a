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
  new Rose(g, x, y, radius, roseTop(loadTop, loads), colours).draw(eyes, loads, pointed);
}

const sides = ["a", "b"] as const;

class Rose {
  readonly #inner: number;
  constructor(
    private readonly g: CanvasRenderingContext2D,
    private readonly x: number,
    private readonly y: number,
    private readonly radius: number,
    private readonly top: number,
    private readonly colours: PageColours,
  ) {
    this.#inner = radius * 0.12;
  }

  draw(eyes: RoseEyes, loads: Loads, pointed: number | undefined): void {
    const g = this.g;
    g.save();
    this.#rings();
    if (pointed !== undefined) {
      this.#petal(pointed, this.top, -0.5, 0.5);
      g.strokeStyle = this.colours.ink;
      g.setLineDash([2, 3]);
      g.stroke();
      g.setLineDash([]);
    }
    const both = eyes.a !== undefined && eyes.b !== undefined;
    for (const side of sides) {
      const eye = eyes[side];
      const [from, to] = !both ? [-0.4, 0.4] : side === "a" ? [-0.42, -0.02] : [0.02, 0.42];
      if (eye) this.#eye(side, eye, from, to);
    }
    this.#scale(loads);
    g.restore();
  }

  #radiusOf(load: number): number {
    return this.#inner + (this.radius - this.#inner) * Math.min(1, load / this.top);
  }

  #rings(): void {
    const { g, x, y, radius } = this;
    g.lineWidth = 1;
    g.strokeStyle = this.colours.line;
    g.fillStyle = this.colours.faint;
    g.font = "12px system-ui, sans-serif";
    g.textAlign = "center";
    g.textBaseline = "middle";
    for (const share of [0.5, 1]) {
      g.beginPath();
      g.arc(x, y, this.#radiusOf(this.top * share), 0, 2 * Math.PI);
      g.stroke();
    }
    for (const hour of allHours) {
      const a = angleOfHour(hour);
      g.fillText(String(hour), x + (radius + 11) * Math.cos(a), y - (radius + 11) * Math.sin(a));
    }
  }

  #petal(hour: number, load: number, from: number, to: number): void {
    const { g, x, y } = this;
    g.beginPath();
    g.arc(x, y, this.#inner, -angleOfHour(hour + from), -angleOfHour(hour + to));
    g.arc(x, y, this.#radiusOf(load), -angleOfHour(hour + to), -angleOfHour(hour + from), true);
    g.closePath();
  }

  /** Petals of one eye, `from` .. `to` hours wide; where there is no zonule a cross. */
  #eye(side: Side, eye: NonNullable<RoseEyes[Side]>, from: number, to: number): void {
    const { g, colours } = this;
    const colour = side === "a" ? colours.a : colours.b;
    const strength = strengths(eye.scenario);
    for (const hour of allHours) {
      this.#petal(hour, eye.moment.load[hour % 12]!, from, to);
      g.fillStyle = g.strokeStyle = colour;
      g.globalAlpha = side === "a" ? 0.85 : 0.25;
      g.fill();
      g.globalAlpha = 1;
      g.setLineDash(dashOf(side));
      g.lineWidth = 1.5;
      g.stroke();
      g.setLineDash([]);
      if (strength[hour - 1]! < 0.01) this.#cross(hour + (from + to) / 2);
    }
  }

  #cross(hour: number): void {
    const g = this.g;
    const a = angleOfHour(hour),
      cx = this.x + 1.9 * this.#inner * Math.cos(a),
      cy = this.y - 1.9 * this.#inner * Math.sin(a);
    g.beginPath();
    g.moveTo(cx - 4, cy - 4);
    g.lineTo(cx + 4, cy + 4);
    g.moveTo(cx + 4, cy - 4);
    g.lineTo(cx - 4, cy + 4);
    g.stroke();
  }

  /** What the outermost ring stands for. */
  #scale(loads: Loads): void {
    const { g, x, y, top } = this;
    g.font = "12px system-ui, sans-serif";
    const length = inText(String(Number((top / loads.perHour).toPrecision(2))));
    const words = loads.inMillinewton ? `${length} mN` : t().picture.times(length);
    const width = g.measureText(words).width + 6;
    g.fillStyle = this.colours.paper;
    g.globalAlpha = 0.85;
    g.fillRect(x - width / 2, y - this.#radiusOf(top) + 3, width, 14);
    g.globalAlpha = 1;
    g.fillStyle = this.colours.ink;
    g.fillText(words, x, y - this.#radiusOf(top) + 10);
  }
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
