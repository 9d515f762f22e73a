// SPDX-License-Identifier: BSD-3-Clause
/** The eye turned over: what is nasal stays nasal. */

import type { Engine, Scenario } from "capsim";

/** Changes the scenario into its mirror twin; what a file chose for mesh and numerics stays. Nothing when it is that eye already. */
export function mirrorEye(engine: Engine, scenario: Scenario, eye: "right" | "left"): void {
  if ((scenario.eye ?? "right") === eye) return;
  const { mesh, numerics, output_every_days, ...twin } = engine.mirrored({ ...scenario, eye: scenario.eye ?? "right" });
  const kept = {
    ...(scenario.mesh ? { mesh } : {}),
    ...(scenario.numerics ? { numerics } : {}),
    ...(scenario.output_every_days ? { output_every_days } : {}),
  };
  for (const key of Object.keys(scenario)) delete (scenario as unknown as Record<string, unknown>)[key];
  Object.assign(scenario, twin, kept, { eye });
}
