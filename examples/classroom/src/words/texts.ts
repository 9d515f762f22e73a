// SPDX-License-Identifier: BSD-3-Clause
/** The language in use. One folder each; the page asks for its words and for the look of its numbers here and nowhere else. */

import { de } from "./de/index.js";
import { en, type Texts } from "./en/index.js";

export type { Texts };
export const languages: Record<string, Texts> = { en, de };

let chosen: Texts = en;

export const t = (): Texts => chosen;

/** Takes a language by its two letters; one that is not there leaves English. */
export function speak(language: string | undefined): void {
  chosen = language !== undefined && Object.hasOwn(languages, language) ? languages[language]! : en;
}

/** A number as the language writes it, with a minus sign that is one. */
export const fixed = (value: number, digits: number): string => inText(value.toFixed(digits));
/** The same of a number that is text already: "0.75", "-2". */
export const inText = (number: string): string =>
  (/^-0(\.0*)?$/.test(number) ? number.slice(1) : number).replace("-", "−").replace(".", chosen.decimal);

/** What the library says in English, in the language in use; as it is where no translation is known. */
export function fromLibrary(words: string): string {
  const { research, cuts } = en.library;
  return words === research ? chosen.library.research : words === cuts ? chosen.library.cuts : words;
}

/** What a flag of a result says. */
export const flagInWords = ({ code, text }: { code: string; text: string }): string =>
  chosen.library.flag(code, text, text.match(/-?\d+(\.\d+)?/g) ?? []);

/** The kind of eyes a population stands for. */
export const populationInWords = ({ name, description }: { name: string; description: string }): string =>
  chosen.library.populations[name] ?? description.replace(/\.$/, "");
