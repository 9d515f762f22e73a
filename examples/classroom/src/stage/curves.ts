// SPDX-License-Identifier: BSD-3-Clause
/** Four quantities against time, A and B on the same axes, with their bands and the day of the pictures. */

import { type Course, visits } from "../state/course.js";
import type { Band, Crowd } from "../state/crowd.js";
import { cutOccasions } from "../state/eye_settings.js";
import type { OtherLaw, OtherLaws } from "../state/other_law.js";
import { type Quantity, valueAt } from "../state/quantity.js";
import type { Courses, Crowds } from "../state/show.js";
import { fixed, inText, t } from "../words/texts.js";
import { dashOf, otherDashOf, type PageColours, type Side } from "./palette.js";

/** Where the line of the other contraction law is drawn: in the opening itself, which is what the law is about. */
const showsLaw = ({ key }: Quantity): boolean => key === "area" || key === "diameter";
const curveOf = (quantity: Quantity, course: Course): { day: number; value: number }[] =>
  course.curve((v) => quantity.of(v, course.scenario.lens !== null) / (quantity.per ?? 1));
/** The band in the unit of the curve. */
function bandOf({ key, per = 1 }: Quantity, crowd: Crowd): Band {
  const band = crowd.band(key),
    shown = (values: number[]): number[] => values.map((v) => v / per);
  return per === 1 ? band : { day: band.day, low: shown(band.low), median: shown(band.median), high: shown(band.high) };
}

const otherCurve = (quantity: Quantity, law: OtherLaw, course: Course): { day: number; value: number }[] =>
  curveOf(quantity, law.other).map(({ day, value }) => ({
    day,
    value: value + valueAt(quantity, course, day) - valueAt(quantity, law.own, day),
  }));

/** Axis limits shared by all courses, bands and lines of the other law, on round numbers. */
export function limits(
  quantity: Quantity,
  courses: Courses,
  crowds: Crowds = {},
  laws: OtherLaws = {},
): { low: number; high: number; step: number } {
  let low = Infinity,
    high = -Infinity;
  for (const side of ["a", "b"] as const) {
    const course = courses[side],
      law = showsLaw(quantity) ? laws[side] : undefined;
    if (!course) continue;
    for (const { value } of [...curveOf(quantity, course), ...(law ? otherCurve(quantity, law, course) : [])]) {
      low = Math.min(low, value);
      high = Math.max(high, value);
    }
  }
  for (const crowd of Object.values(crowds)) {
    const band = bandOf(quantity, crowd);
    low = Math.min(low, ...band.low);
    high = Math.max(high, ...band.high);
  }
  if (!Number.isFinite(low)) [low, high] = [0, 1];
  if (quantity.key === "decentration") low = 0;
  const least = { area: 4, diameter: 0.8, decentration: 0.4, load: 10 }[quantity.key] / (quantity.per ?? 1);
  if (high - low < least) {
    const middle = (high + low) / 2;
    [low, high] = quantity.key === "decentration" ? [0, least] : [middle - least / 2, middle + least / 2];
  }
  const rough = (high - low) / 3;
  const power = 10 ** Math.floor(Math.log10(rough));
  const step = [1, 2, 2.5, 5, 10].map((m) => m * power).find((s) => s >= rough)!;
  low = Math.max(0, Math.floor(low / step) * step);
  return { low, high: Math.ceil(high / step - 1e-9) * step, step };
}

export interface CurveBox {
  x: number;
  y: number;
  width: number;
  height: number;
}
const margin = { left: 44, right: 12, top: 30, bottom: 26 };

export function dayAt(box: CurveBox, x: number, duration: number): number {
  const inner = box.width - margin.left - margin.right;
  return Math.min(duration, Math.max(0, ((x - box.x - margin.left) / inner) * duration));
}

export function drawCurve(
  g: CanvasRenderingContext2D,
  box: CurveBox,
  quantity: Quantity,
  courses: Courses,
  day: number,
  duration: number,
  colours: PageColours,
  crowds: Crowds = {},
  laws: OtherLaws = {},
  pointed?: number,
): void {
  new CurveDrawing(g, box, quantity, limits(quantity, courses, crowds, laws), duration, colours).draw(
    courses,
    day,
    crowds,
    laws,
    pointed,
  );
}

class CurveDrawing {
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;

  constructor(
    private readonly g: CanvasRenderingContext2D,
    private readonly box: CurveBox,
    private readonly quantity: Quantity,
    private readonly span: { low: number; high: number; step: number },
    private readonly duration: number,
    private readonly colours: PageColours,
  ) {
    this.left = box.x + margin.left;
    this.right = box.x + box.width - margin.right;
    this.top = box.y + margin.top;
    this.bottom = box.y + box.height - margin.bottom;
  }

  #x(day: number): number {
    return this.left + (day / this.duration) * (this.right - this.left);
  }
  #y(value: number): number {
    const { low, high } = this.span;
    return this.bottom - ((value - low) / (high - low)) * (this.bottom - this.top);
  }

  draw(courses: Courses, day: number, crowds: Crowds, laws: OtherLaws, pointed: number | undefined): void {
    const { g, quantity } = this;
    g.save();
    g.lineJoin = "round";
    this.#values();
    this.#months();
    for (const side of ["b", "a"] as const) {
      const crowd = crowds[side];
      if (crowd) this.#band(side, bandOf(quantity, crowd));
    }
    this.#today(day);
    for (const side of ["b", "a"] as const) if (courses[side]) this.#course(side, courses, day);
    if (showsLaw(quantity))
      for (const side of ["b", "a"] as const) {
        const law = laws[side],
          course = courses[side];
        if (law && course) this.#law(side, law, course);
      }
    if (pointed !== undefined) this.#pointed(courses, pointed);
    g.restore();
  }

  #values(): void {
    const { g, box, quantity, colours, left, right } = this,
      { low, high, step } = this.span;
    g.font = "600 14px system-ui, sans-serif";
    g.fillStyle = colours.ink;
    g.textAlign = "left";
    g.textBaseline = "alphabetic";
    g.fillText(`${quantity.name} [${quantity.unit}]`, box.x + 4, box.y + 17, box.width - 8);
    g.font = "12px system-ui, sans-serif";
    g.textBaseline = "middle";
    g.lineWidth = 1;
    for (let v = low; v <= high + step / 2; v += step) {
      g.strokeStyle = colours.line;
      g.beginPath();
      g.moveTo(left, this.#y(v));
      g.lineTo(right, this.#y(v));
      g.stroke();
      g.fillStyle = colours.faint;
      g.textAlign = "right";
      g.fillText(inText(String(Number(v.toFixed(3)))), left - 6, this.#y(v));
    }
  }

  #months(): void {
    const { g, colours, right, bottom, duration } = this;
    g.textAlign = "center";
    const months = duration > 500 ? 6 : duration > 200 ? 3 : 1;
    for (let m = 0; (m * 365) / 12 <= duration + 1; m += months) {
      const x = this.#x(Math.min(duration, (m * 365) / 12));
      g.fillStyle = colours.faint;
      // The last one ends with the axis, so that a longer word has room.
      g.textAlign = x > right - 8 ? "right" : "center";
      g.fillText(m === 0 ? "0" : t().picture.months(m), Math.min(x, right + 8), bottom + 14);
      g.strokeStyle = colours.line;
      g.beginPath();
      g.moveTo(x, bottom);
      g.lineTo(x, bottom + 4);
      g.stroke();
    }
  }

  /** The day of the pictures. */
  #today(day: number): void {
    const { g } = this;
    g.strokeStyle = this.colours.faint;
    g.lineWidth = 1.5;
    g.beginPath();
    g.moveTo(this.#x(day), this.top);
    g.lineTo(this.#x(day), this.bottom);
    g.stroke();
  }

  /** The day that is pointed at, with the value of each line on it. */
  #pointed(courses: Courses, day: number): void {
    const { g, quantity, colours, top, bottom, left, right } = this,
      x = this.#x(day),
      before = x > (left + right) / 2;
    g.setLineDash([2, 3]);
    g.strokeStyle = colours.ink;
    g.lineWidth = 1;
    g.beginPath();
    g.moveTo(x, top);
    g.lineTo(x, bottom);
    g.stroke();
    g.setLineDash([]);
    g.font = "700 13px system-ui, sans-serif";
    g.textAlign = before ? "right" : "left";
    g.textBaseline = "middle";
    const shown = (["a", "b"] as const).flatMap((side) => {
      const course = courses[side];
      return course === undefined || day > course.lastDay ? [] : [{ side, value: valueAt(quantity, course, day) }];
    });
    // Written beside their points, one above the other where these lie close.
    shown.sort((p, q) => q.value - p.value);
    let above = -Infinity;
    for (const { side, value } of shown) {
      g.fillStyle = colours[side];
      g.beginPath();
      g.arc(x, this.#y(value), 3.5, 0, 2 * Math.PI);
      g.fill();
      const y = Math.max(above + 16, Math.min(this.#y(value), bottom - (above === -Infinity ? 24 : 8)));
      above = y;
      const words = `${side.toUpperCase()} ${fixed(value, quantity.digits)}`;
      g.strokeStyle = colours.paper;
      g.lineWidth = 4;
      g.strokeText(words, x + (before ? -8 : 8), y);
      g.fillText(words, x + (before ? -8 : 8), y);
    }
    g.font = "12px system-ui, sans-serif";
  }

  #course(side: Side, courses: Courses, day: number): void {
    const { g, quantity, colours } = this,
      course = courses[side]!;
    const points = curveOf(quantity, course);
    g.strokeStyle = g.fillStyle = side === "a" ? colours.a : colours.b;
    this.#occasions(course);
    g.setLineDash(dashOf(side));
    g.lineWidth = 2.2;
    g.beginPath();
    points.forEach(({ day: d, value }, i) =>
      i === 0 ? g.moveTo(this.#x(d), this.#y(value)) : g.lineTo(this.#x(d), this.#y(value)),
    );
    g.stroke();
    g.setLineDash([]);
    g.beginPath();
    g.arc(this.#x(course.at(day).day), this.#y(valueAt(quantity, course, day)), 4, 0, 2 * Math.PI);
    g.fill();
    this.#letter(side, courses, points[points.length - 1]!);
  }

  /** A small wedge on the axis for each occasion of cuts. */
  #occasions(course: Course): void {
    const { g, bottom } = this;
    for (const occasion of cutOccasions(course.scenario)) {
      if (occasion.day > course.lastDay) continue;
      const x = this.#x(occasion.day);
      g.beginPath();
      g.moveTo(x, bottom);
      g.lineTo(x - 4, bottom + 6);
      g.lineTo(x + 4, bottom + 6);
      g.closePath();
      g.fill();
    }
  }

  #letter(side: Side, courses: Courses, end: { day: number; value: number }): void {
    const { g, top, bottom } = this;
    const other = courses[side === "a" ? "b" : "a"];
    const otherEnd = other ? curveOf(this.quantity, other).at(-1)!.value : undefined;
    const above = otherEnd === undefined || end.value > otherEnd || (end.value === otherEnd && side === "a");
    g.font = "700 13px system-ui, sans-serif";
    g.textAlign = "right";
    g.textBaseline = "middle";
    g.fillText(
      side.toUpperCase(),
      this.#x(end.day) - 8,
      Math.min(bottom - (above ? 26 : 12), Math.max(top + 8, this.#y(end.value) + (above ? -12 : 13))),
    );
    g.font = "12px system-ui, sans-serif";
  }

  // Thin, in the eye's colour, with dashes of its own and its name on the paper's colour beside it.
  #law(side: Side, law: OtherLaw, course: Course): void {
    const { g, quantity, colours, top, bottom } = this;
    const points = otherCurve(quantity, law, course);
    g.save();
    g.strokeStyle = g.fillStyle = side === "a" ? colours.a : colours.b;
    g.setLineDash(otherDashOf(side));
    g.lineWidth = 1.7;
    g.beginPath();
    points.forEach(({ day: d, value }, i) =>
      i === 0 ? g.moveTo(this.#x(d), this.#y(value)) : g.lineTo(this.#x(d), this.#y(value)),
    );
    g.stroke();
    g.setLineDash([]);
    const at = (side === "a" ? 0.42 : 0.72) * course.lastDay,
      value = law.instead(course, (of) => valueAt(quantity, of, at));
    const name = side.toUpperCase();
    const y = this.#y(value) + (value >= valueAt(quantity, course, at) ? -9 : 10);
    const asOne = points.every((p) => Math.abs(this.#y(p.value) - this.#y(valueAt(quantity, course, p.day))) < 3);
    g.font = "600 12px system-ui, sans-serif";
    g.textAlign = "center";
    g.textBaseline = "middle";
    g.lineWidth = 3;
    g.strokeStyle = colours.paper;
    const label: [string, number, number] = [
      t().picture.other(name, asOne),
      this.#x(at),
      Math.min(bottom - 8, Math.max(top + 6, y)),
    ];
    g.strokeText(...label);
    g.fillText(...label);
    g.restore();
  }

  // A tint, hatched one way for A and the other way for B, between two thin lines of the eye's own dashes.
  #band(side: Side, band: Band): void {
    const { g, colours, left, right, top, bottom } = this;
    const along = (values: readonly number[], backwards = false): void => {
      const order = [...band.day.keys()];
      for (const i of backwards ? order.reverse() : order) g.lineTo(this.#x(band.day[i]!), this.#y(values[i]!));
    };
    g.save();
    g.strokeStyle = g.fillStyle = side === "a" ? colours.a : colours.b;
    g.beginPath();
    along(band.high);
    along(band.low, true);
    g.closePath();
    g.globalAlpha = 0.13;
    g.fill();
    g.save();
    g.clip();
    g.globalAlpha = 0.38;
    g.lineWidth = 1;
    g.beginPath();
    const tall = bottom - top,
      slant = side === "a" ? tall : -tall;
    for (let x = left - tall; x < right + tall; x += 9) {
      g.moveTo(x, bottom);
      g.lineTo(x + slant, top);
    }
    g.stroke();
    g.restore();
    g.globalAlpha = 0.75;
    g.lineWidth = 1;
    g.setLineDash(dashOf(side));
    for (const edge of [band.low, band.high]) {
      g.beginPath();
      along(edge);
      g.stroke();
    }
    g.restore();
  }
}

/** The curve in words, for those who do not see it. */
export function curveInWords(quantity: Quantity, courses: Courses, crowds: Crowds = {}, laws: OtherLaws = {}): string {
  const say = t().words,
    { per = 1 } = quantity;
  const text = (value: number): string => fixed(value, quantity.digits);
  const parts = (["a", "b"] as const).flatMap((side) => {
    const course = courses[side];
    if (!course) return [];
    const days = [0, ...visits.map((v) => v.day).filter((d) => d <= course.lastDay && d >= 30)];
    const end = crowds[side]?.at(quantity.key, course.lastDay);
    const law = showsLaw(quantity) ? laws[side] : undefined;
    const last = (of: Course): number => valueAt(quantity, of, of.lastDay);
    return [
      `${side.toUpperCase()}: ${days.map((d) => say.onDay(text(valueAt(quantity, course, d)), d)).join(", ")}` +
        (end ? say.bandEnds(text(end[0] / per), text(end[2] / per)) : "") +
        (law ? say.lawEnds(text(law.instead(course, last)), text(last(course))) : ""),
    ];
  });
  const told = parts.length > 0 ? parts.join(". ") : say.untold;
  return say.curve(quantity.name, per === 1 ? quantity.unit : say.timesWhole, told);
}
