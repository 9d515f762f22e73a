// SPDX-License-Identifier: BSD-3-Clause
/** What cannot be computed, and why, in words; gone as soon as it can. */

import type { Violation } from "capsim";
import { t } from "../words/texts.js";
import type { Side } from "../stage/palette.js";

/** Where the reader finds the field that a violation speaks of, in the words of the panel. */
const places = ["opening", "zonule", "lens", "tension_ring", "contraction", "events"] as const;
const panelOf = (place: (typeof places)[number]): string => {
  const { opening, zonule, lens, ring, healing, cuts } = t().panel;
  return { opening, zonule, lens, tension_ring: ring, contraction: healing, events: cuts }[place];
};

/** Lines of a message, the last of them "and so many more". */
const most = 5;

export class Trouble {
  readonly #open = new Map<Side | "link", { words: string; violations: readonly Violation[]; detail: string }>();

  constructor(private readonly root: HTMLElement) {}

  /** `detail`: what the library says about it, in English. */
  show(side: Side | "link", words: string, violations: readonly Violation[], detail = ""): void {
    this.#open.set(side, { words, violations, detail });
    this.#draw();
  }
  clear(side: Side | "link"): void {
    if (this.#open.delete(side)) this.#draw();
  }

  #draw(): void {
    this.root.hidden = this.#open.size === 0;
    this.root.replaceChildren(
      ...[...this.#open].map(([side, { words, violations, detail }]) => {
        const box = document.createElement("div");
        box.dataset.side = side;
        const head = document.createElement("p");
        head.textContent = words;
        if (detail !== "")
          head.append(" ", Object.assign(document.createElement("span"), { lang: "en", textContent: detail }));
        box.append(head);
        if (violations.length > 0) {
          const list = document.createElement("ul");
          for (const v of violations.slice(0, violations.length > most ? most - 1 : most)) {
            const item = document.createElement("li");
            const place = places.find((name) => v.path.startsWith(name));
            // What is allowed is the library's own to say, in English.
            const allowed = Object.assign(document.createElement("span"), {
              lang: "en",
              textContent: `${v.limit}${v.hint ? `. ${v.hint}` : ""}`,
            });
            item.append(
              `${place ? `${panelOf(place)}: ` : ""}${t().trouble.is(v.path, v.value)}; ${t().trouble.allowed} `,
              allowed,
            );
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
