// SPDX-License-Identifier: BSD-3-Clause
/** Plans kept beside the two on screen: up to two further rows of the table, C and D. */

import type { Scenario } from "capsim";
import { runnable } from "../state/eye_settings.js";
import { keptPlans, type Plan, type Side } from "../state/frame.js";
import type { Notebook } from "../state/notebook.js";
import { t } from "../words/texts.js";

const keep = (): HTMLButtonElement => document.getElementById("keep") as HTMLButtonElement;

/** What the kept plans need of the page. */
export interface PlansPage {
  readonly notebook: Notebook;
  readonly editing: Side;
  scenarioOf(plan: Plan): Scenario | undefined;
  readonly answers: { forget(plan: Plan): void };
  readonly desk: { want(plan: Plan, scenario: Scenario, replaced: boolean): void; clear(plan: Plan): void };
  refreshButtons(): void;
  tell(): void;
}

export class KeptPlans {
  readonly #runs: Partial<Record<Plan, string | undefined>> = {}; // what stands behind C and D

  constructor(private readonly room: PlansPage) {
    keep().addEventListener("click", () => {
      const { notebook, editing } = room;
      this.#change([...(notebook.pair.kept ?? []), runnable(notebook.scenario(editing))]);
    });
  }

  /** The button names the eye that would be kept. */
  name(): void {
    keep().textContent = t().table.keep(this.room.editing.toUpperCase());
  }

  /** Has the plans run that are new, and forgets those that are no longer there. */
  solve(): void {
    const { room } = this,
      kept = room.notebook.pair.kept ?? [];
    for (const plan of keptPlans) {
      const scenario = room.scenarioOf(plan),
        text = JSON.stringify(scenario);
      if (this.#runs[plan] === text) continue; // its run stands, or is on its way
      this.#runs[plan] = text;
      room.answers.forget(plan);
      if (scenario === undefined) room.desk.clear(plan);
      else room.desk.want(plan, scenario, true);
    }
    this.name();
    keep().disabled = kept.length >= keptPlans.length;
    document.getElementById("dropped")!.replaceChildren(...kept.map((_, i) => this.#drop(kept, i)));
  }

  #drop(kept: readonly Scenario[], index: number): HTMLButtonElement {
    const plan = keptPlans[index]!,
      drop = document.createElement("button");
    Object.assign(drop, { type: "button", id: `drop-${plan}`, textContent: t().table.drop(plan.toUpperCase()) });
    drop.addEventListener("click", () => this.#change(kept.filter((_, k) => k !== index)));
    return drop;
  }

  /** Other plans are kept from now on; A and B stay as they are, and are not run again. */
  #change(kept: readonly Scenario[]): void {
    const { notebook } = this.room;
    notebook.remember();
    if (kept.length === 0) delete notebook.pair.kept;
    else notebook.pair.kept = structuredClone([...kept]);
    this.solve();
    this.room.refreshButtons();
    this.room.tell();
  }
}
