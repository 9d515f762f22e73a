// SPDX-License-Identifier: BSD-3-Clause
/** What a reader points at, with a mouse, a finger or the keys: an hour of the clock on an eye, a day on a curve.
 *
 *  There is one such hour and one such day for the whole page, so that both eyes and the rose show the same hour, and all curves the same
 *  day. By keyboard: the arrows walk, Home and End go to the ends, leaving lets go. */

import { hourOfDirection } from "../state/frame.js";

const weekOfDays = 7,
  monthOfDays = 30;

export class Pointing {
  hour: number | undefined;
  day: number | undefined;
  #asked = false;

  constructor(private readonly changed: () => void) {}

  /** Pictures follow once a frame, however many events there are. */
  #tell(): void {
    if (this.#asked) return;
    this.#asked = true;
    requestAnimationFrame(() => {
      this.#asked = false;
      this.changed();
    });
  }
  #toHour(hour: number | undefined): void {
    if (this.hour === hour) return;
    this.hour = hour;
    this.#tell();
  }
  #toDay(day: number | undefined): void {
    if (this.day === day) return;
    this.day = day;
    this.#tell();
  }

  /** A picture with the clock round its middle. */
  eye(canvas: HTMLElement): void {
    const at = (event: PointerEvent): void => {
      const { left, top, width, height } = canvas.getBoundingClientRect();
      const [x, y] = [event.clientX - left - width / 2, height / 2 - (event.clientY - top)];
      this.#toHour(Math.round(hourOfDirection(x, y)) || 12);
    };
    this.#listen(canvas, at, () => this.#toHour(undefined));
    canvas.addEventListener("focus", () => this.#toHour(this.hour ?? 12));
    walk(canvas, {
      by: (steps) => this.#toHour((((this.hour ?? 12) + steps + 11) % 12) + 1),
      far: 3,
      ends: () => [1, 12],
      to: (hour) => this.#toHour(hour),
    });
  }

  /** A curve against time; `dayAt`: the day at a place across it [px]. */
  curve(canvas: HTMLElement, dayAt: (x: number) => number, duration: () => number): void {
    const within = (day: number): number => Math.min(duration(), Math.max(0, Math.round(day)));
    const at = (event: PointerEvent): void =>
      this.#toDay(within(dayAt(event.clientX - canvas.getBoundingClientRect().left)));
    this.#listen(canvas, at, () => this.#toDay(undefined));
    canvas.addEventListener("focus", () => this.#toDay(this.day ?? within(duration())));
    walk(canvas, {
      by: (steps) => this.#toDay(within((this.day ?? 0) + steps * weekOfDays)),
      far: monthOfDays / weekOfDays,
      ends: () => [0, duration()],
      to: (day) => this.#toDay(day),
    });
  }

  #listen(canvas: HTMLElement, at: (event: PointerEvent) => void, gone: () => void): void {
    canvas.addEventListener("pointermove", at);
    canvas.addEventListener("pointerdown", at);
    canvas.addEventListener("pointerleave", () => document.activeElement !== canvas && gone());
    canvas.addEventListener("blur", gone);
  }
}

interface Walk {
  by(steps: number): void;
  far: number; // steps of a page key
  ends(): [number, number];
  to(end: number): void;
}

function walk(canvas: HTMLElement, { by, far, to, ends }: Walk): void {
  canvas.addEventListener("keydown", (event) => {
    const acts: Record<string, () => void> = {
      ArrowRight: () => by(1),
      ArrowUp: () => by(1),
      ArrowLeft: () => by(-1),
      ArrowDown: () => by(-1),
      PageUp: () => by(far),
      PageDown: () => by(-far),
      Home: () => to(ends()[0]),
      End: () => to(ends()[1]),
    };
    const act = acts[event.key];
    if (act === undefined || event.ctrlKey || event.altKey || event.metaKey) return;
    event.preventDefault();
    event.stopPropagation();
    act();
  });
}
