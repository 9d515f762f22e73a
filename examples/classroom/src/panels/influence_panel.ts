// SPDX-License-Identifier: BSD-3-Clause
/** Which hours matter: asked when its fold is open, for the eye that is being changed, in a worker of its own. */

import { CapsimError, type Scenario, type Sensitivities, Solver } from "capsim";
import {
  influenceOf,
  influenceRequest,
  type Influence,
  type Measure,
  measures,
  places,
  strongest,
} from "../state/influence.js";
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
  readonly #of = $<HTMLSelectElement>("influence-of");
  #about = ""; // the eye that was asked about
  #found: { side: Side; derivatives: Sensitivities } | undefined;
  shown: Influence | undefined;

  constructor(private readonly page: InfluencePage) {
    this.#fold.addEventListener("toggle", () => this.eyeChanged());
    for (const measure of Object.keys(measures) as Measure[])
      this.#of.append(new Option(t().influence.of[measure], measure));
    this.#of.addEventListener("change", () => this.#tell());
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
    this.#found = undefined;
    const { signal } = (this.#under = new AbortController());
    this.#say(undefined, t().influence.running);
    try {
      const derivatives = await this.#solver.sensitivities(influenceRequest(scenario), { signal });
      if (signal.aborted) return;
      this.#found = { side, derivatives };
      this.#tell();
    } catch (error) {
      if (!(error instanceof CapsimError)) throw error;
      if (!signal.aborted) this.#say(undefined, t().influence.none);
    }
  }

  /** What was found, of the measure that is chosen: one run has them all. */
  #tell(): void {
    if (this.#found === undefined) return;
    const influence = influenceOf(this.#found.derivatives, this.#of.value as Measure);
    this.#say(influence, influence === undefined ? t().influence.none : wordsOf(this.#found.side, influence));
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
      const most = strongest(influence[place], influence.measure);
      return most === undefined ? words.alike[place] : words.most[influence.measure][place](most.hour, most.change);
    }),
  ].join(" ");
}
