// SPDX-License-Identifier: BSD-3-Clause
/** The front view of the eye on one day: bag, rim, optic, haptics, ring, zonule, tissue, cuts, clock hours. */

import type { Point, Scenario } from "capsim";
import type { Moment } from "../state/course.js";
import { cutOccasions, defaults, lensOf, strengths } from "../state/eye_settings.js";
import { allHours, angleOfHour, pointAt } from "../state/frame.js";
import { fixed, t } from "../words/texts.js";
import { drawLabels } from "./eye_labels.js";
import { ciliaryRadius, type EyeLook, halfView } from "./eye_look.js";
import type { Pen } from "./pen.js";
import { eyeColours as colour, loadColour } from "./palette.js";
import { farthestNear, hourOfLongestWay, reachTo, rimWay } from "./rim.js";

/** Draws one eye on one day, layer by layer from the back to the front. */
export function drawEye(g: Pen, scenario: Scenario, moment: Moment, start: Moment, look: EyeLook): void {
  new EyeDrawing(g, scenario, moment, start, look).draw();
}

class EyeDrawing {
  readonly px: number;
  readonly line: number;
  readonly outer: number;

  constructor(
    private readonly g: Pen,
    private readonly scenario: Scenario,
    private readonly moment: Moment,
    private readonly start: Moment,
    private readonly look: EyeLook,
  ) {
    this.px = look.pxPerMm;
    this.line = Math.max(1, this.px / 28);
    this.outer = ciliaryRadius(scenario);
  }

  draw(): void {
    const { g, scenario, look } = this;
    const lens = lensOf(scenario);
    const optic = lens?.optic_diameter_mm ?? defaults.opticDiameter;
    g.save();
    g.lineJoin = g.lineCap = "round";
    this.#ciliaryBody();
    this.#zonule();
    this.#path(this.moment.equator);
    g.fillStyle = colour.posterior;
    g.fill();
    if (lens) this.#lens(optic, lens.haptics ?? defaults.haptics, lens.axis_hour ?? defaults.axisHour);
    this.#leaf((scenario.contraction?.contact_diameter_mm as number | undefined) ?? optic);
    this.#ring();
    this.#lost();
    this.#rims();
    this.#cuts();
    this.#centres();
    if (look.pointed !== undefined) this.#pointed(look.pointed);
    if (look.labels) drawLabels(g, scenario, this.moment, look);
    if (look.labels && look.pxPerMm > 18) this.#inset();
    g.restore();
  }

  #at([x, y]: Point): Point {
    return [this.look.x + x * this.px, this.look.y - y * this.px];
  }
  #trace(points: readonly Point[], close = true): void {
    points.forEach((p, i) => {
      const [x, y] = this.#at(p);
      if (i === 0) this.g.moveTo(x, y);
      else this.g.lineTo(x, y);
    });
    if (close) this.g.closePath();
  }
  #path(points: readonly Point[], close = true): void {
    this.g.beginPath();
    this.#trace(points, close);
  }
  #circle(center: Point, radius: number): void {
    const [x, y] = this.#at(center);
    this.g.beginPath();
    this.g.arc(x, y, radius * this.px, 0, 2 * Math.PI);
  }

  #ciliaryBody(): void {
    const { g, outer } = this;
    this.#circle([0, 0], outer + 0.55);
    g.fillStyle = colour.ciliaryBody;
    g.fill();
    this.#circle([0, 0], outer);
    g.fillStyle = colour.field;
    g.fill();
    g.strokeStyle = colour.ciliaryEdge;
    g.lineWidth = this.line;
    g.stroke();
  }

  /** The anterior leaf: everything inside the equator but the opening. */
  #leaf(contact: number): void {
    const { g, moment } = this;
    g.beginPath();
    this.#trace(moment.equator);
    this.#trace(moment.rim);
    g.fillStyle = colour.leaf;
    g.fill("evenodd");
    this.#tissue(contact);
    this.#path(moment.equator);
    g.strokeStyle = colour.leafEdge;
    g.lineWidth = 1.5 * this.line;
    g.stroke();
  }

  #ring(): void {
    const { g, line } = this,
      { ring } = this.moment;
    if (ring === null) return;
    this.#path(ring, false);
    g.strokeStyle = colour.field;
    g.lineWidth = 6 * line;
    g.stroke();
    g.strokeStyle = colour.ring;
    g.lineWidth = 4 * line;
    g.stroke();
    for (const end of [ring[0]!, ring[ring.length - 1]!]) {
      this.#circle(end, 0.16);
      g.fillStyle = colour.ring;
      g.fill();
    }
  }

  /** What the opening has lost since day 0, tinted: inside the first rim and outside the rim of now. */
  #lost(): void {
    const { g, moment, start } = this;
    g.save();
    this.#path(start.rim);
    g.clip();
    g.beginPath();
    const [x, y] = this.#at([0, 0]),
      all = 2 * halfView * this.px;
    g.rect(x - all, y - all, 2 * all, 2 * all);
    this.#trace(moment.rim);
    g.fillStyle = colour.lost;
    g.fill("evenodd");
    g.restore();
  }

  #rims(): void {
    const { g, line } = this;
    this.#path(this.start.rim);
    g.setLineDash([2 * line, 4 * line]);
    g.strokeStyle = colour.startRim;
    g.lineWidth = line;
    g.stroke();
    g.setLineDash([]);
    this.#path(this.moment.rim);
    g.strokeStyle = colour.rim;
    g.lineWidth = 2.2 * line;
    g.stroke();
  }

  /** The rim where it has moved most, up to six times as large, with its way in millimetres; cuts tell their own way. */
  #inset(): void {
    const { g, moment, start, look, px } = this;
    const cut = cutOccasions(this.scenario)
      .filter((occasion) => moment.day >= occasion.day - 1e-9)
      .flatMap((occasion) => occasion.relaxing_cuts.hours);
    const whole = allHours.filter((h) => cut.every((c) => Math.min(Math.abs(c - h), 12 - Math.abs(c - h)) > 0.6));
    const hour = hourOfLongestWay(start, moment, whole) ?? 12;
    const moved = rimWay(start, moment, hour);
    if (Math.abs(moved) < 0.02) return;
    const side = (look.letters === undefined ? 2.9 : 4.2) * px,
      x = look.x - (halfView - 0.2) * px,
      y = look.y - halfView * px + (look.letters === undefined ? 0.95 * px : 1.25 * look.letters);
    const angle = angleOfHour(hour),
      from = reachTo(start.rim, start.opening, angle);
    const middle: Point = [
      start.opening[0] + (from - moved / 2) * Math.cos(angle),
      start.opening[1] + (from - moved / 2) * Math.sin(angle),
    ];
    const scale = Math.min(6, 2.2 / Math.max(0.2, Math.abs(moved)));
    const zoom = new EyeDrawing(g, this.scenario, moment, start, {
      ...look,
      pxPerMm: px * scale,
      x: x + side / 2 - middle[0] * px * scale,
      y: y + side / 2 + middle[1] * px * scale,
      labels: false,
    });
    g.save();
    g.beginPath();
    g.rect(x, y, side, side);
    g.clip();
    g.fillStyle = colour.posterior;
    g.fillRect(x, y, side, side);
    zoom.#leaf(0);
    zoom.#lost();
    zoom.#rims();
    g.restore();
    // What it is, on a ground of its own below.
    const size = look.letters ?? Math.max(9, 0.42 * px);
    g.fillStyle = colour.field;
    g.fillRect(x, y + side - 1.5 * size, side, 1.5 * size);
    g.strokeStyle = colour.faint;
    g.lineWidth = 1;
    g.strokeRect(x, y, side, side);
    g.fillStyle = colour.text;
    g.textAlign = "left";
    g.textBaseline = "alphabetic";
    g.font = `600 ${size}px system-ui, sans-serif`;
    const place = look.letters === undefined ? `${t().clock.short(hour)}  ` : "";
    g.fillText(`${place}${fixed(moved, 2)} mm`, x + 4, y + side - 0.45 * size, side - 8);
  }

  #zonule(): void {
    const { g, moment, look, line, px, outer, scenario } = this;
    const strength = strengths(scenario);
    const threads = 7;
    for (const hour of allHours) {
      const load = moment.load[hour % 12]!;
      const weak = strength[hour - 1]!;
      if (weak < 0.01) {
        // No fibres: the ciliary edge is marked with a broken arc.
        const [x, y] = this.#at([0, 0]);
        g.beginPath();
        g.arc(x, y, outer * px, -angleOfHour(hour - 0.46), -angleOfHour(hour + 0.46));
        g.setLineDash([3 * line, 4 * line]);
        g.strokeStyle = colour.absent;
        g.lineWidth = 3 * line;
        g.stroke();
        g.setLineDash([]);
        continue;
      }
      const count = Math.max(2, Math.round(threads * (0.35 + 0.65 * weak)));
      const slack = load < 0.02 * look.loadTop;
      g.strokeStyle = slack ? colour.faint : loadColour(load, look.loadTop);
      g.lineWidth = slack ? 0.6 * line : line * (0.7 + 2.4 * Math.min(1, load / look.loadTop));
      if (slack) g.setLineDash([line, 3 * line]);
      for (let i = 0; i < count; ++i) {
        const at12 = hour - 0.42 + (0.84 * (i + 0.5)) / count;
        const end = pointAt(at12, outer);
        const angle = Math.atan2(end[1] - moment.bag[1], end[0] - moment.bag[0]);
        const reach = reachTo(moment.equator, moment.bag, angle);
        this.#path([[moment.bag[0] + reach * Math.cos(angle), moment.bag[1] + reach * Math.sin(angle)], end], false);
        g.stroke();
      }
      g.setLineDash([]);
    }
  }

  #lens(optic: number, haptics: number, axisHour: number): void {
    const { g, moment, line } = this;
    const turn = (moment.lensTurn * Math.PI) / 180;
    const [cx, cy] = moment.lens;
    g.strokeStyle = colour.haptic;
    g.lineWidth = 3.4 * line;
    for (let k = 0; k < haptics; ++k) {
      const tip = angleOfHour(axisHour) - (k * 2 * Math.PI) / haptics + turn;
      const reach = reachTo(moment.equator, [cx, cy], tip) - 0.1;
      const spread = haptics === 2 ? 1.15 : haptics === 3 ? 0.8 : 0.6;
      const polar = (angle: number, radius: number): Point => [
        cx + radius * Math.cos(angle),
        cy + radius * Math.sin(angle),
      ];
      // A loop from the edge of the optic to the fornix, and along it.
      const [x0, y0] = this.#at(polar(tip + spread, optic / 2));
      const [x1, y1] = this.#at(polar(tip + 0.62 * spread, 1.02 * reach));
      g.beginPath();
      g.moveTo(x0, y0);
      for (let i = 0; i <= 6; ++i) {
        const a = tip + 0.18 - 0.09 * i;
        const [x, y] = this.#at(polar(a, reachTo(moment.equator, [cx, cy], a) - 0.1));
        if (i === 0) g.quadraticCurveTo(x1, y1, x, y);
        else g.lineTo(x, y);
      }
      g.stroke();
    }
    this.#circle([cx, cy], optic / 2);
    g.fillStyle = colour.optic;
    g.fill();
    g.strokeStyle = colour.opticEdge;
    g.lineWidth = 1.6 * line;
    g.stroke();
  }

  #tissue(contact: number): void {
    const { g, moment, px, line } = this;
    if (moment.tissue < 0.005) return;
    g.save();
    g.beginPath();
    this.#trace(moment.equator);
    this.#trace(moment.rim);
    g.clip("evenodd");
    this.#circle(moment.lens, contact / 2);
    g.clip();
    const [x0, y0] = this.#at(moment.lens);
    const r = (contact / 2) * px;
    // Round the clock as thick as it is at each hour: cells may have been polished away at some.
    const byHour = (least: number, more: number): CanvasGradient => {
      const shade = g.createConicGradient(-Math.PI / 2, x0, y0);
      for (let k = 0; k <= 12; ++k)
        shade.addColorStop(k / 12, `rgba(243,230,220,${least + more * moment.tissueByHour[k % 12]!})`);
      return shade;
    };
    g.fillStyle = byHour(0.12, 0.3);
    g.fillRect(x0 - r, y0 - r, 2 * r, 2 * r);
    // Hoop lines, the more the denser the tissue: a pattern besides the shade.
    g.strokeStyle = byHour(0.05, 0.75);
    g.lineWidth = 0.7 * line;
    const rings = Math.round(4 + 14 * moment.tissue);
    for (let i = 0; i < rings; ++i) {
      const radius = (contact / 2) * (0.25 + (0.75 * (i + 0.5)) / rings);
      for (let k = 0; k < 9; ++k) {
        const from = k * 0.698 + i * 0.37;
        g.beginPath();
        g.arc(x0, y0, radius * px, from, from + 0.56);
        g.stroke();
      }
    }
    g.restore();
  }

  #cuts(): void {
    const { g, moment, scenario, line } = this;
    for (const occasion of cutOccasions(scenario)) {
      const made = moment.day >= occasion.day - 1e-9;
      const length = occasion.relaxing_cuts.length_mm ?? defaults.cutLength;
      for (const hour of occasion.relaxing_cuts.hours) {
        const reach = reachTo(moment.rim, moment.opening, angleOfHour(hour));
        if (made) {
          const [x, y] = this.#at(farthestNear(moment.rim, moment.opening, hour));
          g.beginPath();
          g.arc(x, y, 2.6 * line, 0, 2 * Math.PI);
          g.fillStyle = colour.cut;
          g.fill();
        } else {
          // planned: where the tip will be
          this.#path(
            [
              [
                moment.opening[0] + reach * Math.cos(angleOfHour(hour)),
                moment.opening[1] + reach * Math.sin(angleOfHour(hour)),
              ],
              [
                moment.opening[0] + (reach + length) * Math.cos(angleOfHour(hour)),
                moment.opening[1] + (reach + length) * Math.sin(angleOfHour(hour)),
              ],
            ],
            false,
          );
          g.setLineDash([3 * line, 3 * line]);
          g.strokeStyle = colour.cut;
          g.lineWidth = 1.4 * line;
          g.stroke();
          g.setLineDash([]);
        }
      }
    }
  }

  #centres(): void {
    const { g, moment, line, scenario } = this;
    const arm = 0.22;
    g.strokeStyle = colour.faint;
    g.lineWidth = line;
    this.#path(
      [
        [-arm, 0],
        [arm, 0],
      ],
      false,
    );
    g.stroke();
    this.#path(
      [
        [0, -arm],
        [0, arm],
      ],
      false,
    );
    g.stroke();
    if (!lensOf(scenario)) return;
    const shift = Math.hypot(moment.lens[0], moment.lens[1]);
    if (shift > 0.03) {
      this.#path([[0, 0], moment.lens], false);
      g.strokeStyle = colour.opticEdge;
      g.lineWidth = 2 * line;
      g.stroke();
    }
    this.#circle(moment.lens, 0.11);
    g.fillStyle = colour.opticEdge;
    g.fill();
  }

  /** The hour that is pointed at: its sector between the first rim and the ciliary body. */
  #pointed(hour: number): void {
    const { g, start, outer, line } = this,
      [cx, cy] = start.opening;
    for (const side of [-0.5, 0.5]) {
      const angle = angleOfHour(hour + side),
        reach = 0.9 * reachTo(start.rim, start.opening, angle);
      this.#path([[cx + reach * Math.cos(angle), cy + reach * Math.sin(angle)], pointAt(hour + side, outer)], false);
      g.setLineDash([2 * line, 3 * line]);
      g.strokeStyle = colour.text;
      g.lineWidth = 1.2 * line;
      g.stroke();
    }
    g.setLineDash([]);
  }
}
