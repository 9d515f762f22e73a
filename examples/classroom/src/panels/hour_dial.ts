// SPDX-License-Identifier: BSD-3-Clause
/** A clock of twelve hours to set: each hour a level that can be dragged, or a mark that can be clicked.
 *  By keyboard each level is a slider as every other: Tab walks round the clock, the arrows (Page, Home, End) set the hour. Marks are
 *  buttons of one group: the arrows walk, Enter and space press. */

import { allHours, angleOfHour, hourOfDirection, hoursInWords } from "../state/frame.js";

const svg = <K extends keyof SVGElementTagNameMap>(
  name: K,
  attributes: Record<string, string | number>,
): SVGElementTagNameMap[K] => {
  const element = document.createElementNS("http://www.w3.org/2000/svg", name);
  for (const [key, value] of Object.entries(attributes)) element.setAttribute(key, String(value));
  return element;
};

const inner = 26,
  outer = 88,
  half = 110;

export interface DialSettings {
  id: string;
  label: string;
  kind: "levels" | "marks";
  what: (level: number) => string; // a level in words, "40 percent of full strength"
  change(values: number[], resting: boolean): void;
  begin?(): void;
}

export class HourDial {
  readonly element: SVGSVGElement;
  readonly #hours: { group: SVGGElement; fill: SVGPathElement; text: SVGTextElement }[] = [];
  #values: number[] = allHours.map(() => 0);
  #dragged = false;

  constructor(private readonly settings: DialSettings) {
    this.element = svg("svg", {
      viewBox: `${-half} ${-half} ${2 * half} ${2 * half}`,
      class: `dial ${settings.kind}`,
      role: "group",
      "aria-label": settings.label,
      id: settings.id,
    });
    for (const hour of allHours) {
      const group = svg("g", {
        role: settings.kind === "levels" ? "slider" : "button",
        tabindex: settings.kind === "levels" || hour === 12 ? 0 : -1,
        "data-hour": hour,
      });
      if (settings.kind === "levels") {
        group.setAttribute("aria-valuemin", "0");
        group.setAttribute("aria-valuemax", "100");
      }
      const fill = svg("path", { class: "fill" });
      const a = angleOfHour(hour);
      const text = svg("text", { x: 99 * Math.cos(a), y: -99 * Math.sin(a) + 4, class: "hour" });
      text.textContent = String(hour);
      group.append(svg("path", { class: "well", d: wedge(hour, inner, outer) }), fill, text);
      group.addEventListener("keydown", (event) => this.#key(event, hour));
      this.#hours.push({ group, fill, text });
      this.element.append(group);
    }
    if (settings.kind === "levels") this.#listenToDrag();
    else
      this.element.addEventListener("click", (event) => {
        const hour = this.#hourAt(event).hour;
        this.settings.begin?.();
        this.#put(hour, this.#values[hour - 1] === 1 ? 0 : 1, true);
        this.#focus(hour);
      });
  }

  set(values: readonly number[]): void {
    this.#values = [...values];
    this.#hours.forEach(({ group, fill, text }, i) => {
      const hour = allHours[i]!,
        value = values[i]!;
      fill.setAttribute("d", value > 0 ? wedge(hour, inner, inner + (outer - inner) * value) : "");
      group.classList.toggle("none", value === 0);
      if (this.settings.kind === "marks") group.setAttribute("aria-pressed", String(value === 1));
      else {
        group.setAttribute("aria-valuenow", String(Math.round(100 * value)));
        group.setAttribute("aria-valuetext", this.settings.what(value));
      }
      group.setAttribute("aria-label", hoursInWords([hour]));
      text.textContent = String(hour);
    });
  }

  #put(hour: number, value: number, resting: boolean): void {
    this.#values[hour - 1] = Math.round(20 * Math.min(1, Math.max(0, value))) / 20;
    this.set(this.#values);
    this.settings.change([...this.#values], resting);
  }

  #listenToDrag(): void {
    const drag = (event: PointerEvent, resting: boolean): void => {
      const { hour, level } = this.#hourAt(event);
      this.#put(hour, level, resting);
    };
    this.element.addEventListener("pointerdown", (event) => {
      this.element.setPointerCapture(event.pointerId);
      this.#dragged = true;
      this.settings.begin?.();
      drag(event, false);
      this.#focus(this.#hourAt(event).hour);
      event.preventDefault();
    });
    this.element.addEventListener("pointermove", (event) => {
      if (this.#dragged) drag(event, false);
    });
    this.element.addEventListener("pointerup", (event) => {
      if (this.#dragged) {
        this.#dragged = false;
        drag(event, true);
      }
    });
    this.element.addEventListener("pointercancel", () => {
      this.#dragged = false;
    });
  }

  #hourAt(event: MouseEvent): { hour: number; level: number } {
    const box = this.element.getBoundingClientRect();
    const x = ((event.clientX - box.left) / box.width) * 2 * half - half,
      y = half - ((event.clientY - box.top) / box.height) * 2 * half;
    const hour = Math.round(hourOfDirection(x, y)) || 12;
    return { hour, level: (Math.hypot(x, y) - inner) / (outer - inner) };
  }

  #focus(hour: number): void {
    if (this.settings.kind === "marks")
      for (const { group } of this.#hours)
        group.setAttribute("tabindex", group.dataset.hour === String(hour) ? "0" : "-1");
    this.#hours[hour - 1]!.group.focus();
  }

  #key(event: KeyboardEvent, hour: number): void {
    if (event.ctrlKey || event.altKey || event.metaKey) return;
    const act = this.settings.kind === "levels" ? this.#setting(event.key, hour) : this.#walking(event.key, hour);
    if (act === undefined) return;
    act();
    event.preventDefault();
    event.stopPropagation();
  }

  #setting(key: string, hour: number): (() => void) | undefined {
    const value = this.#values[hour - 1]!;
    const to: Record<string, number> = {
      ArrowRight: value + 0.05,
      ArrowUp: value + 0.05,
      ArrowLeft: value - 0.05,
      ArrowDown: value - 0.05,
      PageUp: value + 0.25,
      PageDown: value - 0.25,
      Home: 0,
      End: 1,
    };
    const set = to[key];
    return set === undefined
      ? undefined
      : () => {
          this.settings.begin?.();
          this.#put(hour, set, true);
        };
  }

  #walking(key: string, hour: number): (() => void) | undefined {
    switch (key) {
      case "ArrowRight":
      case "ArrowDown":
        return () => this.#focus((hour % 12) + 1);
      case "ArrowLeft":
      case "ArrowUp":
        return () => this.#focus(((hour + 10) % 12) + 1);
      case "Enter":
      case " ":
        return () => {
          this.settings.begin?.();
          this.#put(hour, this.#values[hour - 1] === 1 ? 0 : 1, true);
        };
      default:
        return undefined;
    }
  }
}

function wedge(hour: number, r0: number, r1: number): string {
  const a0 = angleOfHour(hour - 0.47),
    a1 = angleOfHour(hour + 0.47);
  const p = (r: number, a: number): string => `${(r * Math.cos(a)).toFixed(2)} ${(-r * Math.sin(a)).toFixed(2)}`;
  return `M${p(r0, a0)}A${r0} ${r0} 0 0 1 ${p(r0, a1)}L${p(r1, a1)}A${r1} ${r1} 0 0 0 ${p(r1, a0)}Z`;
}
