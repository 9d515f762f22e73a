// SPDX-License-Identifier: BSD-3-Clause
/** What an eye is called: what has been set on it, until somebody gives it a name. */

import type { Scenario } from "capsim";
import { t } from "../words/texts.js";
import { titleOf } from "./eye_settings.js";
import type { Side } from "./frame.js";

export class Titles {
  readonly #derived: Partial<Record<Side, string>> = {};

  /** An eye has come on screen: from a lesson, a link, a file, by undo. */
  read(side: Side, scenario: Scenario): void {
    this.#derived[side] = titleOf(scenario);
  }

  /** Its settings have changed, and its name with them unless it is somebody's own. `given`: names that nobody typed. */
  follow(side: Side, scenario: Scenario, given: readonly string[]): void {
    const title = titleOf(scenario),
      { name = "" } = scenario;
    if (["", t().summary.plain, this.#derived[side], ...given].includes(name)) scenario.name = title;
    this.#derived[side] = title;
  }
}
