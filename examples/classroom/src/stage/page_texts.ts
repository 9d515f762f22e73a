// SPDX-License-Identifier: BSD-3-Clause
/** Puts the words of the language in use where the page has places for them. */

import { languages, t } from "../words/texts.js";

function wordAt(path: string): string {
  const found = path.split(".").reduce<unknown>((at, key) => (at as Record<string, unknown>)?.[key], t());
  if (typeof found !== "string") throw new Error(`no words at ${path}`);
  return found;
}

export function fillPage(): void {
  document.documentElement.lang = t().locale;
  document.title = t().title;
  for (const element of document.querySelectorAll<HTMLElement>("[data-t]"))
    element.textContent = wordAt(element.dataset.t!);
  for (const element of document.querySelectorAll<HTMLElement>("[data-label]"))
    element.setAttribute("aria-label", wordAt(element.dataset.label!));
  document.getElementById("scrub")!.setAttribute("aria-valuetext", t().day(0));
  const choice = document.getElementById("language") as HTMLSelectElement;
  for (const [code, { language }] of Object.entries(languages)) choice.append(new Option(language, code));
  choice.value = t().locale;
}
