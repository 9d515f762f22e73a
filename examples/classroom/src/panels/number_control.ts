// SPDX-License-Identifier: BSD-3-Clause
/** A number with a slider and a box beside it, which always agree. */

import { fixed } from "../words/texts.js";

export interface NumberSettings {
  id: string;
  label: string;
  unit: string; // as printed
  spoken: string; // as said by a screen reader
  min: number;
  max: number;
  step: number;
  digits: number;
  note?: string;
  /** `resting`: the control has come to rest (released, or typed and left). */
  change(value: number, resting: boolean): void;
  begin?(): void; // before the first change of a series
}

export class NumberControl {
  readonly element = document.createElement("div");
  readonly #slider = document.createElement("input");
  readonly #box = document.createElement("input");
  #moving = false;

  constructor(private readonly settings: NumberSettings) {
    const { id, label, unit, min, max, step, note } = settings;
    this.element.className = "number";
    this.element.innerHTML = `<label for="${id}">${label}</label>`;
    Object.assign(this.#slider, { type: "range", id, min: String(min), max: String(max), step: String(step) });
    Object.assign(this.#box, {
      type: "number",
      id: `${id}-box`,
      min: String(min),
      max: String(max),
      step: String(step),
      inputMode: "decimal",
    });
    this.#box.setAttribute("aria-label", `${label}, ${settings.spoken}`);
    const unitText = document.createElement("span");
    unitText.className = "unit";
    unitText.textContent = unit;
    this.element.append(this.#slider, this.#box, unitText);
    if (note) {
      const text = document.createElement("p");
      Object.assign(text, { className: "note", id: `${id}-note`, textContent: note });
      this.#slider.setAttribute("aria-describedby", text.id);
      this.element.append(text);
    }
    this.#slider.addEventListener("input", () => this.#move(this.#slider.valueAsNumber, false));
    this.#slider.addEventListener("change", () => this.#move(this.#slider.valueAsNumber, true));
    // Typing may pass through numbers that are not meant; the box counts when it holds an allowed one.
    this.#box.addEventListener("input", () => {
      if (this.#box.checkValidity() && this.#box.value !== "") this.#move(this.#box.valueAsNumber, false);
    });
    this.#box.addEventListener("change", () => {
      const value = Number.isFinite(this.#box.valueAsNumber)
        ? Math.min(max, Math.max(min, this.#box.valueAsNumber))
        : this.#slider.valueAsNumber;
      this.#move(value, true);
    });
    // Steps of the page's own, so that every browser takes Page Up and Page Down for ten steps.
    this.#slider.addEventListener("keydown", (event) => {
      const jump = event.key === "PageUp" ? 10 : event.key === "PageDown" ? -10 : 0;
      if (jump === 0) return;
      event.preventDefault();
      this.#move(Math.min(max, Math.max(min, this.#slider.valueAsNumber + jump * step)), true);
    });
  }

  set(value: number): void {
    this.#slider.value = String(value);
    if (document.activeElement !== this.#box || !this.#moving) this.#box.value = value.toFixed(this.settings.digits);
    this.#slider.setAttribute("aria-valuetext", `${fixed(value, this.settings.digits)} ${this.settings.spoken}`);
  }

  set disabled(value: boolean) {
    this.#slider.disabled = this.#box.disabled = value;
    this.element.classList.toggle("off", value);
  }

  #move(value: number, resting: boolean): void {
    if (!this.#moving) {
      this.settings.begin?.();
      this.#moving = true;
    }
    this.set(value);
    if (resting) {
      this.#moving = false;
      this.#box.value = value.toFixed(this.settings.digits);
    }
    this.settings.change(value, resting);
  }
}
