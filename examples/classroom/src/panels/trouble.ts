// SPDX-License-Identifier: BSD-3-Clause
/** What cannot be computed, and why, in words; gone as soon as it can. */

import type { Violation } from "capsim";
import { t } from "../words/texts.js";
import type { Side } from "../stage/palette.js";

// Where the reader finds the field that a violation speaks of.
const places: [RegExp, string][] = [
  [/^opening/, "Opening"],
  [/^zonule/, "Zonule"],
  [/^lens/, "Lens"],
  [/^tension_ring/, "Tension ring"],
  [/^contraction/, "Cells and healing"],
  [/^events/, "Relaxing cuts"],
];

/** Lines of a message, the last of them "and so many more". */
const most = 5;

export class Trouble {
  readonly #open = new Map<Side | "link", { words: string; violations: readonly Violation[] }>();

  constructor(private readonly root: HTMLElement) {}

  show(side: Side | "link", words: string, violations: readonly Violation[]): void {
    this.#open.set(side, { words, violations });
    this.#draw();
  }
  clear(side: Side | "link"): void {
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
          for (const v of violations.slice(0, violations.length > most ? most - 1 : most)) {
            const item = document.createElement("li");
            const place = places.find(([pattern]) => pattern.test(v.path))?.[1];
            item.textContent = `${place ? `${place}: ` : ""}${v.path}${v.value ? ` is ${v.value}` : ""}; allowed is ${v.limit}${v.hint ? `. ${v.hint}` : ""}`;
            list.append(item);
          }
          if (violations.length > most)
            list.append(
              Object.assign(document.createElement("li"), {
                textContent: t().trouble.more(violations.length - most + 1),
              }),
            );
          box.append(list);
        }
        return box;
      }),
    );
  }
}
