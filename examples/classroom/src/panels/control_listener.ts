// SPDX-License-Identifier: BSD-3-Clause
/** What the controls ask of the page: the scenario they edit, and word of every change. */

import type { Scenario } from "capsim";

export interface ControlListener {
  scenario(): Scenario; // the one being edited
  begin(): void; // before a change
  changed(resting: boolean): void;
  mirror(eye: "right" | "left"): void;
}
