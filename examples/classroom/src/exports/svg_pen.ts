// SPDX-License-Identifier: BSD-3-Clause
/** A pen with the strokes of a canvas that the pictures use, which writes SVG: lines stay lines at any size.
 *
 *  It has what `stage/pen.ts` names and no more; a picture that asks for another stroke does not compile. */

import type { Pen } from "../stage/pen.js";

/** Colours round a point, as `createConicGradient` gives them. */
class Fan {
  readonly stops: { at: number; colour: number[] }[] = [];

  constructor(
    readonly start: number,
    readonly x: number,
    readonly y: number,
  ) {}

  addColorStop(at: number, colour: string): void {
    this.stops.push({ at, colour: colour.match(/[\d.]+/g)!.map(Number) });
  }

  /** The colour in a direction, on the line between its neighbours. */
  at(angle: number): string {
    const turn = ((((angle - this.start) / (2 * Math.PI)) % 1) + 1) % 1;
    const next = Math.max(
      1,
      this.stops.findIndex((stop) => stop.at >= turn),
    );
    const [low, high] = [this.stops[next - 1]!, this.stops[next]!];
    const share = (turn - low.at) / (high.at - low.at);
    return `rgba(${low.colour.map((v, i) => v + share * (high.colour[i]! - v)).join(",")})`;
  }
}

interface Settings {
  fillStyle: string | Fan;
  strokeStyle: string | Fan;
  lineWidth: number;
  lineCap: CanvasLineCap;
  lineJoin: CanvasLineJoin;
  font: string;
  textAlign: CanvasTextAlign;
  textBaseline: CanvasTextBaseline;
  dash: number[];
  groups: number; // opened since the last save
}

const wedges = 96;
const n = (value: number): string => String(Number(value.toFixed(2)));
const escaped = (text: string): string => text.replace(/[<>&"]/g, (c) => `&#${c.charCodeAt(0)};`);

/** Colour and opacity apart: not every reader of SVG knows `rgba()`. */
function paint(name: "fill" | "stroke", colour: string): string {
  const rgba = /^rgba\(([^)]*)\)$/.exec(colour)?.[1]?.split(",").map(Number);
  if (rgba === undefined) return ` ${name}="${colour}"`;
  return ` ${name}="rgb(${rgba.slice(0, 3).map(Math.round).join(",")})" ${name}-opacity="${n(rgba[3] ?? 1)}"`;
}

const fresh = (): Settings => ({
  fillStyle: "#000",
  strokeStyle: "#000",
  lineWidth: 1,
  lineCap: "butt",
  lineJoin: "miter",
  font: "10px sans-serif",
  textAlign: "left",
  textBaseline: "alphabetic",
  dash: [],
  groups: 0,
});

class SvgPen {
  readonly #parts: string[] = [];
  readonly #kept: Settings[] = [];
  readonly #measure = document.createElement("canvas").getContext("2d")!;
  #now = fresh();
  #path = "";
  #middle = 0; // direction of the last arc, for a stroke whose colour goes round
  #clips = 0;

  constructor(
    private readonly width: number,
    private readonly height: number,
  ) {}

  declare fillStyle: string | Fan;
  declare strokeStyle: string | Fan;
  declare lineWidth: number;
  declare lineCap: CanvasLineCap;
  declare lineJoin: CanvasLineJoin;
  declare font: string;
  declare textAlign: CanvasTextAlign;
  declare textBaseline: CanvasTextBaseline;

  static {
    const looks = ["fillStyle", "strokeStyle", "lineWidth", "lineCap", "lineJoin", "font", "textAlign", "textBaseline"];
    for (const look of looks)
      Object.defineProperty(SvgPen.prototype, look, {
        get(this: SvgPen) {
          return this.#now[look as keyof Settings];
        },
        set(this: SvgPen, value: never) {
          this.#now[look as keyof Settings] = value;
        },
      });
  }

  save(): void {
    this.#kept.push({ ...this.#now });
    this.#now.groups = 0;
  }
  restore(): void {
    this.#parts.push("</g>".repeat(this.#now.groups));
    this.#now = this.#kept.pop() ?? fresh();
  }
  #group(attributes: string): void {
    this.#parts.push(`<g ${attributes}>`);
    ++this.#now.groups;
  }
  scale(x: number, y: number): void {
    this.#group(`transform="scale(${x} ${y})"`);
  }

  beginPath(): void {
    this.#path = "";
  }
  moveTo(x: number, y: number): void {
    this.#path += `M${n(x)} ${n(y)}`;
  }
  lineTo(x: number, y: number): void {
    this.#path += `${this.#path === "" ? "M" : "L"}${n(x)} ${n(y)}`;
  }
  closePath(): void {
    this.#path += "Z";
  }
  quadraticCurveTo(a: number, b: number, x: number, y: number): void {
    this.#path += `Q${n(a)} ${n(b)} ${n(x)} ${n(y)}`;
  }
  rect(x: number, y: number, width: number, height: number): void {
    this.#path += `M${n(x)} ${n(y)}h${n(width)}v${n(height)}h${n(-width)}Z`;
  }
  /** As on a canvas: clockwise on screen unless the end lies before the start; a whole turn as two halves. */
  arc(x: number, y: number, r: number, from: number, to: number): void {
    const on = (angle: number): string => `${n(x + r * Math.cos(angle))} ${n(y + r * Math.sin(angle))}`;
    const sweep =
      to - from >= 2 * Math.PI ? 2 * Math.PI : (((to - from) % (2 * Math.PI)) + 2 * Math.PI) % (2 * Math.PI);
    this.#middle = from + sweep / 2;
    this.#path += `${this.#path === "" ? "M" : "L"}${on(from)}`;
    for (const share of [0.5, 1]) this.#path += `A${n(r)} ${n(r)} 0 0 1 ${on(from + share * sweep)}`;
  }

  clip(rule?: unknown): void {
    const id = `c${++this.#clips}`;
    const how = rule === "evenodd" ? ' clip-rule="evenodd"' : "";
    this.#parts.push(`<clipPath id="${id}"><path d="${this.#path}"${how}/></clipPath>`);
    this.#group(`clip-path="url(#${id})"`);
  }
  fill(rule?: unknown): void {
    const { fillStyle } = this.#now;
    const how = rule === "evenodd" ? ' fill-rule="evenodd"' : "";
    this.#parts.push(`<path d="${this.#path}"${how}${paint("fill", this.#plain(fillStyle))}/>`);
  }
  stroke(): void {
    this.#parts.push(`<path d="${this.#path}" fill="none"${this.#line()}/>`);
  }
  #plain(colour: string | Fan): string {
    return typeof colour === "string" ? colour : colour.at(this.#middle);
  }
  #line(): string {
    const { strokeStyle, lineWidth, lineCap, lineJoin, dash } = this.#now;
    const dashes = dash.length > 0 ? ` stroke-dasharray="${dash.map(n).join(" ")}"` : "";
    const ends = `${lineCap === "butt" ? "" : ` stroke-linecap="${lineCap}"`}`;
    const joins = `${lineJoin === "miter" ? "" : ` stroke-linejoin="${lineJoin}"`}`;
    return `${paint("stroke", this.#plain(strokeStyle))} stroke-width="${n(lineWidth)}"${ends}${joins}${dashes}`;
  }
  setLineDash(dash: number[]): void {
    this.#now.dash = dash;
  }

  fillRect(x: number, y: number, width: number, height: number): void {
    const { fillStyle } = this.#now;
    if (typeof fillStyle === "string") {
      const box = `x="${n(x)}" y="${n(y)}" width="${n(width)}" height="${n(height)}"`;
      this.#parts.push(`<rect ${box}${paint("fill", fillStyle)}/>`);
      return;
    }
    const far = Math.hypot(width, height),
      turn = (2 * Math.PI) / wedges;
    for (let k = 0; k < wedges; ++k) {
      const [a, b] = [k * turn, (k + 1) * turn];
      const on = (angle: number): string =>
        `${n(fillStyle.x + far * Math.cos(angle))} ${n(fillStyle.y + far * Math.sin(angle))}`;
      const d = `M${n(fillStyle.x)} ${n(fillStyle.y)}L${on(a)}L${on(b)}Z`;
      this.#parts.push(`<path d="${d}" shape-rendering="crispEdges"${paint("fill", fillStyle.at((a + b) / 2))}/>`);
    }
  }
  strokeRect(x: number, y: number, width: number, height: number): void {
    this.beginPath();
    this.rect(x, y, width, height);
    this.stroke();
  }
  createConicGradient(start: number, x: number, y: number): Fan {
    return new Fan(start, x, y);
  }

  measureText(text: string): TextMetrics {
    this.#measure.font = this.#now.font;
    return this.#measure.measureText(text);
  }
  fillText(text: string, x: number, y: number, most = Infinity): void {
    const { font, textAlign, textBaseline, fillStyle } = this.#now;
    const [, weight = "", size = "10"] = /^(?:(\d{3}) )?([\d.]+)px/.exec(font) ?? [];
    const anchor = textAlign === "center" ? "middle" : textAlign === "right" ? "end" : "start";
    const lower = textBaseline === "middle" ? 0.35 * Number(size) : 0; // read the same everywhere, unlike dominant-baseline
    const squeezed =
      this.measureText(text).width > most ? ` textLength="${n(most)}" lengthAdjust="spacingAndGlyphs"` : "";
    this.#parts.push(
      `<text x="${n(x)}" y="${n(y + lower)}" font-size="${size}"${weight === "" ? "" : ` font-weight="${weight}"`}` +
        ` text-anchor="${anchor}"${squeezed}${paint("fill", this.#plain(fillStyle))}>${escaped(text)}</text>`,
    );
  }

  /** The picture, with words for those who do not see it and what it was made of. */
  finish(title: string, metadata: string): string {
    const size = `width="${this.width}" height="${this.height}" viewBox="0 0 ${this.width} ${this.height}"`;
    return (
      `<svg xmlns="http://www.w3.org/2000/svg" ${size} role="img" font-family="system-ui, sans-serif">` +
      `<title>${escaped(title)}</title><metadata>${escaped(metadata)}</metadata>${this.#parts.join("")}</svg>\n`
    );
  }
}

/** A picture as SVG text: `draw` gets a pen and draws as on a canvas. */
export function svgOf(
  width: number,
  height: number,
  title: string,
  metadata: string,
  draw: (pen: Pen) => void,
): string {
  const pen = new SvgPen(width, height);
  draw(pen as unknown as Pen);
  return pen.finish(title, metadata);
}
