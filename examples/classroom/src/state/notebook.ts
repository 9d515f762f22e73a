// SPDX-License-Identifier: BSD-3-Clause
/** The pair of scenarios on screen, with undo and redo, as a link and as a file. */

import type { Scenario } from "capsim";
import { clone, plainEye } from "./eye_settings.js";
import { keptPlans, type Side } from "./frame.js";

/** `spread`: the population whose eyes make the bands, "" for none; left out, the first one there is. */
export interface Pair {
  a: Scenario;
  b: Scenario | null;
  spread?: string;
  lesson?: string; // whose eyes these are, or were
  kept?: Scenario[]; // further plans of the table
}

export const freshPair = (): Pair => ({ a: plainEye(), b: null });

export class Notebook {
  #pair: Pair;
  #past: string[] = [];
  #future: string[] = [];

  constructor(pair: Pair) {
    this.#pair = clone(pair);
  }

  get pair(): Pair {
    return this.#pair;
  }
  scenario(side: Side): Scenario {
    return side === "b" && this.#pair.b ? this.#pair.b : this.#pair.a;
  }
  get canUndo(): boolean {
    return this.#past.length > 0;
  }
  get canRedo(): boolean {
    return this.#future.length > 0;
  }

  /** Remembers the pair as it is now; call it before a change. */
  remember(): void {
    const now = JSON.stringify(this.#pair);
    if (this.#past.at(-1) !== now) this.#past.push(now);
    if (this.#past.length > 200) this.#past.shift();
    this.#future = [];
  }
  /** Drops the last remembered pair when nothing has changed since. */
  forgetIdle(): void {
    if (this.#past.at(-1) === JSON.stringify(this.#pair)) this.#past.pop();
  }

  replace(pair: Pair): void {
    this.remember();
    this.#pair = clone(pair);
  }
  undo(): boolean {
    return this.#move(this.#past, this.#future);
  }
  redo(): boolean {
    return this.#move(this.#future, this.#past);
  }

  #move(from: string[], to: string[]): boolean {
    const text = from.pop();
    if (text === undefined) return false;
    to.push(JSON.stringify(this.#pair));
    this.#pair = JSON.parse(text) as Pair;
    return true;
  }
}

/** The pair as JSON in URL-safe base 64. */
export function toBase64(pair: Pair): string {
  const bytes = new TextEncoder().encode(JSON.stringify(pair));
  let binary = "";
  for (const byte of bytes) binary += String.fromCharCode(byte);
  return btoa(binary).replaceAll("+", "-").replaceAll("/", "_").replace(/=+$/, "");
}

const isObject = (value: unknown): value is Record<string, unknown> =>
  typeof value === "object" && value !== null && !Array.isArray(value);
const isScenario = (value: unknown): value is Scenario => isObject(value) && value.format === "capsim-scenario";

/** The pair of a link, its scenarios not checked yet; null when the link holds none, or is damaged. */
export function fromBase64(text: string): Pair | null {
  if (!/^[\w-]+$/.test(text)) return null;
  try {
    const binary = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
    const pair: unknown = JSON.parse(new TextDecoder().decode(Uint8Array.from(binary, (c) => c.charCodeAt(0))));
    if (!isObject(pair) || !isScenario(pair.a)) return null;
    if (pair.b !== undefined && pair.b !== null && !isScenario(pair.b)) return null;
    const { kept } = pair;
    if (kept !== undefined && !(Array.isArray(kept) && kept.length <= keptPlans.length && kept.every(isScenario)))
      return null;
    return {
      ...(kept === undefined ? {} : { kept: kept as Scenario[] }),
      a: pair.a,
      b: pair.b ?? null,
      ...(typeof pair.spread === "string" ? { spread: pair.spread } : {}),
    };
  } catch {
    return null;
  }
}
