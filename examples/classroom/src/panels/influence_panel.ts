// SPDX-License-Identifier: BSD-3-Clause
/** Which hours matter: asked when its fold is open, for the eye that is being changed, in a worker of its own. */

import { CapsimError, type Scenario, Solver } from "capsim";
import { influenceOf, influenceRequest, type Influence, places, strongest } from "../state/influence.js";
import type { Side } from "../state/frame.js";
import { t } from "../words/texts.js";

export interface InfluencePage {
  editing(): Side;
  scenario(): Scenario;
  /** There is another influence to be drawn, or none. */
  changed(): void;
}

/** A control that has not moved for this long rests. */
const restMilliseconds = 400;
const $ = <T extends HTMLElement = HTMLElement>(id: string): T => document.getElementById(id) as T;

export class InfluencePanel {
  readonly #solver = new Solver();
  readonly #fold = $<HTMLDetailsElement>("influence-fold");
  #under: AbortController | undefined;
  #rest: ReturnType<typeof setTimeout> | undefined;
  #about = ""; // the eye that was asked about
  shown: Influence | undefined;

  constructor(private readonly page: InfluencePage) {
    this.#fold.addEventListener("toggle", () => this.eyeChanged());
  }

  eyeChanged(): void {
    clearTimeout(this.#rest);
    if (this.#fold.open) this.#rest = setTimeout(() => void this.#ask(), restMilliseconds);
  }

  async #ask(): Promise<void> {
    const scenario = this.page.scenario(),
      side = this.page.editing(),
      about = side + JSON.stringify(scenario);
    if (about === this.#about) return this.page.changed(); // drawn before the fold had a width
    this.#about = about;
    this.#under?.abort();
    const { signal } = (this.#under = new AbortController());
    this.#say(undefined, t().influence.running);
    try {
      const found = await this.#solver.sensitivities(influenceRequest(scenario), { signal });
      if (signal.aborted) return;
      const influence = influenceOf(found);
      this.#say(influence, influence === undefined ? t().influence.none : wordsOf(side, influence));
    } catch (error) {
      if (!(error instanceof CapsimError)) throw error;
      if (!signal.aborted) this.#say(undefined, t().influence.none);
    }
  }

  #say(influence: Influence | undefined, words: string): void {
    this.shown = influence;
    $("influence-words").textContent = words;
    for (const place of places) $(`influence-${place}`).setAttribute("aria-label", `${t().influence[place]}. ${words}`);
    this.page.changed();
  }
}

/** What matters most, in a sentence for each place. */
export function wordsOf(side: Side, influence: Influence): string {
  const words = t().influence;
  return [
    words.about(side.toUpperCase()),
    ...places.map((place) => {
      const most = strongest(influence[place]);
      return most === undefined ? words.alike[place] : words.most[place](most.hour, most.change);
    }),
  ].join(" ");
}
