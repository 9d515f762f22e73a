// SPDX-License-Identifier: BSD-3-Clause
/** The pair of scenarios on screen, with undo and redo, as a link and as a file. */

import type { Scenario } from "capsim";
import { clone, plainEye } from "./eye_settings.js";
import type { Side } from "./palette.js";

/** `spread`: the population whose eyes make the bands, "" for none; left out, the first one there is. */
export interface Pair {
  a: Scenario;
  b: Scenario | null;
  spread?: string;
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

/** The pair as the part of a link after "#": JSON in URL-safe base 64. */
export function toLink(pair: Pair): string {
  const bytes = new TextEncoder().encode(JSON.stringify(pair));
  return `#s=${btoa(String.fromCharCode(...bytes))
    .replaceAll("+", "-")
    .replaceAll("/", "_")
    .replace(/=+$/, "")}`;
}

/** The pair of a link; null when the link holds none, or is damaged. */
export function fromLink(hash: string): Pair | null {
  const text = /^#s=([\w-]+)$/.exec(hash)?.[1];
  if (text === undefined) return null;
  try {
    const binary = atob(text.replaceAll("-", "+").replaceAll("_", "/"));
    const pair = JSON.parse(new TextDecoder().decode(Uint8Array.from(binary, (c) => c.charCodeAt(0)))) as Pair;
    if (typeof pair !== "object" || pair?.a?.format !== "capsim-scenario") return null;
    return {
      a: pair.a,
      b: pair.b?.format === "capsim-scenario" ? pair.b : null,
      ...(typeof pair.spread === "string" ? { spread: pair.spread } : {}),
    };
  } catch {
    return null;
  }
}
