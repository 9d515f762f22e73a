// SPDX-License-Identifier: BSD-3-Clause
/** What contracts: tissue under the rim alone, or the whole bag, with tissue on both leaves outside the optic, too.
 *
 *  The numbers are those of the library's population, read from its own file: the middle eye of those without known risk. What the
 *  zonule holds is the eye's own in both. */

import type { Scenario } from "capsim";
import { laws } from "../../../../libcapsim/data/populations/age_related_cataract_whole_bag.json";

/** How populations are called that were fitted to the whole bag. */
const suffix = "_whole_bag";
/** The kind of eyes that a population is of, whichever contracts in it: the name of the one with the rim alone. */
export const kindOf = (population: string): string => population.replace(suffix, "");
/** The population of a kind of eyes that was fitted to what contracts in this one. */
export const populationFor = (kind: string, scenario: Scenario): string =>
  kindOf(kind) + (wholeBag(scenario) ? suffix : "");

export const wholeBag = ({ bag_tissue: tissue }: Scenario): boolean =>
  (tissue?.fibre_modulus_kPa ?? 0) > 0 || (tissue?.active_tension_mN_per_mm ?? 0) > 0;

type Section = Record<string, unknown>;

/** Sections that nothing is left in go, so that an eye set there and back is the eye it was. */
function clear(s: Scenario): void {
  const sections = s as unknown as Record<string, Section | undefined>;
  for (const { settings } of Object.values(laws))
    for (const { path } of settings) {
      const [section, field] = path.split(".") as [string, string];
      const { [field]: _gone, ...rest } = sections[section] ?? {};
      if (Object.keys(rest).length > 0) sections[section] = rest;
      else delete sections[section];
    }
}

/** Lets the whole bag contract under the scenario's own law, or the rim alone. */
export function setWholeBag(s: Scenario, whole: boolean): void {
  clear(s);
  if (!whole) return;
  const sections = s as unknown as Record<string, Section | undefined>;
  for (const { path, value } of laws[s.contraction?.law ?? "fibre_remodelling"].settings) {
    const [section, field] = path.split(".") as [string, string];
    sections[section] = { ...sections[section], [field]: value };
  }
}
