// SPDX-License-Identifier: BSD-3-Clause
/** A sketch of the bag from the side: leaf over optic, contact zone, leaves that have fused.
 *
 *  Where things lie across the eye is the run's; how high they lie is not computed at all, and the sketch says so. */

import type { Course, Moment } from "../state/course.js";
import { defaults, lensOf } from "../state/eye_settings.js";
import { angleOfHour, hoursInWords } from "../state/frame.js";
import { t } from "../words/texts.js";
import { reachTo } from "./rim.js";
import { dashOf, eyeColours, type PageColours, type Side } from "./palette.js";

/** Half of what is shown across [mm]. */
const halfWidth = 6.6;
/** From the edge of the optic inward the tissue comes to its thickness within this [mm]. */
const ramp = 0.35;
/** Heights of the sketch, as parts of the height there is for one eye. */
const opticHeight = 0.2,
  bagDepth = 0.34,
  tissueHeight = 0.12;
const steps = 24;

export interface SectionEye {
  side: Side;
  course: Course;
  moment: Moment;
}

/** One eye below the other, cut from the hour across from `hour` to it. */
export function drawSection(
  g: CanvasRenderingContext2D,
  width: number,
  height: number,
  eyes: readonly SectionEye[],
  hour: number,
  colours: PageColours,
): void {
  const say = t().section,
    across = ((hour + 5) % 12) + 1;
  g.textAlign = "left";
  g.textBaseline = "alphabetic";
  g.font = "600 14px system-ui, sans-serif";
  g.fillStyle = colours.ink;
  g.fillText(say.title, 4, 17);
  g.font = "12px system-ui, sans-serif";
  g.fillStyle = colours.faint;
  g.fillText(say.note, 4, height - 6, width - 8);
  const top = 24,
    room = (height - top - 22) / Math.max(1, eyes.length);
  eyes.forEach((eye, i) => {
    const section = new Section(
      g,
      eye,
      hour,
      { x: width / 2, y: top + (i + 0.5) * room, width, height: room },
      colours,
    );
    section.draw();
    g.font = "12px system-ui, sans-serif";
    g.fillStyle = colours.faint;
    g.textAlign = "left";
    g.fillText(hoursInWords([across]), 4, top + (i + 1) * room - 4);
    g.textAlign = "right";
    g.fillText(hoursInWords([hour]), width - 4, top + (i + 1) * room - 4);
    g.textAlign = "left";
  });
}

interface Box {
  x: number; // of the middle
  y: number;
  width: number;
  height: number;
}

class Section {
  readonly optic: number; // half its width, mm; 0 without a lens
  readonly lens: number; // where its middle lies along the cut

  constructor(
    private readonly g: CanvasRenderingContext2D,
    private readonly eye: SectionEye,
    private readonly hour: number,
    private readonly box: Box,
    private readonly colours: PageColours,
  ) {
    const { course, moment } = eye,
      lens = lensOf(course.scenario),
      angle = angleOfHour(hour);
    this.optic = lens ? (lens.optic_diameter_mm ?? defaults.opticDiameter) / 2 : 0;
    this.lens = lens ? moment.lens[0] * Math.cos(angle) + moment.lens[1] * Math.sin(angle) : 0;
  }

  draw(): void {
    const { g } = this;
    g.save();
    g.lineJoin = g.lineCap = "round";
    for (const way of [-1, 1] as const) this.#fused(way);
    this.#optic();
    this.#posterior();
    for (const way of [-1, 1] as const) {
      this.#tissue(way);
      this.#leaf(way);
    }
    this.#letter();
    g.restore();
  }

  #x(mm: number): number {
    return this.box.x + (mm / halfWidth) * (this.box.width / 2 - 6);
  }
  /** Height above the plane of the equator, as a part of the room. */
  #y(share: number): number {
    return this.box.y - share * this.box.height;
  }
  /** How far an outline reaches to one side of the cut [mm]. */
  #reach(outline: Moment["rim"], way: -1 | 1): number {
    return way * reachTo(outline, [0, 0], angleOfHour(this.hour) + (way < 0 ? Math.PI : 0));
  }
  /** Front of the optic at x; between its edge and the equator the leaf slopes down to the plane. */
  #front(x: number, equator: number): number {
    const off = Math.abs(x - this.lens);
    if (off <= this.optic) return opticHeight * (0.35 + 0.65 * (1 - (off / this.optic) ** 2));
    const edge = this.lens + Math.sign(equator) * this.optic;
    const share = Math.max(0, 1 - Math.abs(x - edge) / Math.max(0.1, Math.abs(equator - edge)));
    return (this.optic > 0 ? 0.35 * opticHeight : 0.1) * share;
  }
  /** What the tissue lifts the leaf above the optic. */
  #lift(x: number, there: number): number {
    return tissueHeight * there * Math.min(1, Math.max(0, (this.optic - Math.abs(x - this.lens)) / ramp));
  }
  #line(from: number, to: number, height: (x: number) => number): void {
    for (let i = 0; i <= steps; ++i) {
      const x = from + ((to - from) * i) / steps;
      this.g.lineTo(this.#x(x), this.#y(height(x)));
    }
  }

  #optic(): void {
    if (this.optic === 0) return;
    const { g, lens, optic, colours } = this,
      curve = (x: number): number => opticHeight * (0.35 + 0.65 * (1 - ((x - lens) / optic) ** 2));
    g.beginPath();
    this.#line(lens - optic, lens + optic, curve);
    this.#line(lens + optic, lens - optic, (x) => -curve(x));
    g.closePath();
    g.fillStyle = eyeColours.optic;
    g.fill();
    g.strokeStyle = colours.faint;
    g.lineWidth = 1;
    g.stroke();
    this.#label(t().section.optic, lens, -0.02);
  }

  #posterior(): void {
    const { g, colours, eye } = this;
    const [left, right] = ([-1, 1] as const).map((way) => this.#reach(eye.moment.equator, way)) as [number, number];
    g.beginPath();
    this.#line(left, right, (x) => -bagDepth * Math.max(0, 1 - (x / Math.max(-left, right)) ** 4) ** 0.5 * 0.75);
    g.strokeStyle = colours.faint;
    g.lineWidth = 1.2;
    g.stroke();
  }

  /** The tissue between rim and optic, as thick as there is of it at this hour. */
  #tissue(way: -1 | 1): void {
    const { g, eye, lens, optic, hour } = this,
      { scenario } = eye.course.history;
    const contact = ((scenario.contraction.contact_diameter_mm as number | null | undefined) ?? 2 * optic) / 2;
    const rim = this.#reach(eye.moment.rim, way),
      end = lens + way * Math.min(contact, optic),
      there = eye.moment.tissueByHour[(way > 0 ? hour : hour + 6) % 12]!;
    if (way * (end - rim) <= 0 || there < 0.01) return;
    const equator = this.#reach(eye.moment.equator, way);
    g.beginPath();
    this.#line(rim, end, (x) => this.#front(x, equator));
    this.#line(end, rim, (x) => this.#front(x, equator) + this.#lift(x, there));
    g.closePath();
    g.fillStyle = this.colours[eye.side];
    g.globalAlpha = 0.35;
    g.fill();
    g.globalAlpha = 1;
    if (way > 0) this.#label(t().section.contact, (rim + end) / 2, opticHeight + tissueHeight + 0.1);
  }

  #leaf(way: -1 | 1): void {
    const { g, eye, hour } = this,
      equator = this.#reach(eye.moment.equator, way),
      rim = this.#reach(eye.moment.rim, way),
      there = eye.moment.tissueByHour[(way > 0 ? hour : hour + 6) % 12]!;
    g.beginPath();
    this.#line(equator, rim, (x) => this.#front(x, equator) + this.#lift(x, there));
    g.strokeStyle = this.colours[eye.side];
    g.setLineDash(dashOf(eye.side));
    g.lineWidth = 2.4;
    g.stroke();
    g.setLineDash([]);
  }

  /** Where the run lets the two leaves fuse: from the optic to the clear zone at the equator. */
  #fused(way: -1 | 1): void {
    const { g, eye } = this,
      bag = eye.course.scenario.bag_tissue;
    const pulls = (bag?.fibre_modulus_kPa ?? 0) > 0 || (bag?.active_tension_mN_per_mm ?? 0) > 0;
    if (!pulls || this.optic === 0) return;
    const equator = this.#reach(eye.moment.equator, way),
      inner = this.lens + way * Math.max(this.optic, (bag?.inner_diameter_mm ?? 0) / 2),
      outer = equator - way * (bag?.clear_zone_mm ?? 0);
    if (way * (outer - inner) <= 0) return;
    g.beginPath();
    this.#line(inner, outer, (x) => this.#front(x, equator));
    this.#line(outer, inner, () => -0.05);
    g.closePath();
    g.fillStyle = this.colours.line;
    g.fill();
    if (way > 0) this.#label(t().section.fused, (inner + outer) / 2, -bagDepth - 0.08);
  }

  #label(words: string, x: number, share: number): void {
    const { g } = this;
    g.font = "11px system-ui, sans-serif";
    g.fillStyle = this.colours.ink;
    g.textAlign = "center";
    g.fillText(words, this.#x(x), this.#y(share) + 4);
    g.textAlign = "left";
  }

  #letter(): void {
    const { g, box, eye } = this;
    g.font = "700 13px system-ui, sans-serif";
    g.fillStyle = this.colours[eye.side];
    g.fillText(eye.side.toUpperCase(), box.x - box.width / 2 + 4, box.y - 0.3 * box.height);
  }
}

/** The same for those who do not see it. */
export function sectionInWords(eyes: readonly SectionEye[], hour: number): string {
  const say = t().section;
  return `${say.title}, ${hoursInWords([hour, ((hour + 5) % 12) + 1])}. ${eyes.length > 0 ? say.shows : ""} ${say.note}`;
}
