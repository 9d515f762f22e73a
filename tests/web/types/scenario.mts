// SPDX-License-Identifier: BSD-3-Clause
// What the types of a scenario and of a history accept and refuse; the type checker is the test. A refusal that is none
// is an error of its own.
import type { History, Scenario } from "../../../bindings/web/src/index.js";

const head = { format: "capsim-scenario", version: 1 } as const;

export const accepted: Scenario[] = [
  head,
  { ...head, eye: null },
  { ...head, eye: "left", mesh: { level: "fine" } },
  { ...head, mesh: { around: 48, radial: 6 }, lens: null, tension_ring: {} },
  { ...head, zonule: { strength_by_hour: { "4": 0.2 }, failure_elongation_mm: null } },
  { ...head, events: [{ day: 30, relaxing_cuts: { hours: [12, 6] } }] },
];

export const refused: Scenario[] = [
  // @ts-expect-error An eye whose side is not told is null.
  { ...head, eye: "unspecified" },
  // @ts-expect-error No such level.
  { ...head, mesh: { level: "finest" } },
  // @ts-expect-error A misspelt field.
  { ...head, opening: { diamter_mm: 5 } },
  // @ts-expect-error A misspelt rate of the law.
  { ...head, contraction: { tissue_per_dya: 1 } },
  // @ts-expect-error Hours run from 1 to 12.
  { ...head, zonule: { strength_by_hour: { "13": 0.2 } } },
  // @ts-expect-error One action for each event.
  { ...head, events: [{ day: 30, relaxing_cuts: { hours: [12] }, tension_ring: {} }] },
  // @ts-expect-error An event needs an action.
  { ...head, events: [{ day: 30 }] },
];

export function reading(history: History): number {
  // @ts-expect-error A misspelt series.
  history.values("opening_aera_mm2");
  // @ts-expect-error A misspelt diagnostic.
  void history.text.diagnostics.newton_iteration;
  return history.value("opening_area_mm2", 0) + history.text.diagnostics.newton_iterations;
}
