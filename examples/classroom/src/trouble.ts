// SPDX-License-Identifier: BSD-3-Clause
/** What cannot be computed, and why, in words; gone as soon as it can. */

import type { Violation } from "capsim";
import type { Side } from "./palette.js";

// Where the reader finds the field that a violation speaks of.
const places: [RegExp, string][] = [
  [/^opening/, "Opening"],
  [/^zonule/, "Zonule"],
  [/^lens/, "Lens"],
  [/^tension_ring/, "Tension ring"],
  [/^contraction/, "Cells and healing"],
  [/^events/, "Relaxing cuts"],
];

export class Trouble {
  readonly #open = new Map<Side, { words: string; violations: readonly Violation[] }>();

  constructor(private readonly root: HTMLElement) {}

  show(side: Side, words: string, violations: readonly Violation[]): void {
    this.#open.set(side, { words, violations });
    this.#draw();
  }
  clear(side: Side): void {
    if (this.#open.delete(side)) this.#draw();
  }

  #draw(): void {
    this.root.hidden = this.#open.size === 0;
    this.root.replaceChildren(
      ...[...this.#open].map(([side, { words, violations }]) => {
        const box = document.createElement("div");
        box.dataset.side = side;
        const head = document.createElement("p");
        head.textContent = words;
        box.append(head);
        if (violations.length > 0) {
          const list = document.createElement("ul");
          for (const v of violations) {
            const item = document.createElement("li");
            const place = places.find(([pattern]) => pattern.test(v.path))?.[1];
            item.textContent = `${place ? `${place}: ` : ""}${v.path}${v.value ? ` is ${v.value}` : ""}; allowed is ${v.limit}${v.hint ? `. ${v.hint}` : ""}`;
            list.append(item);
          }
          box.append(list);
        }
        return box;
      }),
    );
  }
}
