// SPDX-License-Identifier: BSD-3-Clause
/** The language in use. One file each; the page asks for its words here and nowhere else. */

import { de } from "./de.js";
import { en, type Texts } from "./en.js";

export type { Texts };
export const languages: Record<string, Texts> = { en, de };

let chosen: Texts = en;

export const t = (): Texts => chosen;

/** Takes a language by its two letters; one that is not there leaves English. */
export function speak(language: string | undefined): void {
  chosen = language !== undefined && Object.hasOwn(languages, language) ? languages[language]! : en;
}
