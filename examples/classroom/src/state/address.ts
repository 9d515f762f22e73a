// SPDX-License-Identifier: BSD-3-Clause
/** What stands behind "#" in the address: the lesson, its step, the day, how it is shown, and eyes of one's own.
 *
 *  Anything may stand in a link. What is not understood is left out; eyes are believed only after the engine has checked them. */

import { fromBase64, type Pair, toBase64 } from "./notebook.js";

export type Mode = "page" | "present" | "embed";
const modes: readonly string[] = ["page", "present", "embed"];

export interface Address {
  lesson?: string;
  step?: number; // 1 to 4
  day?: number;
  mode?: Mode;
  language?: string;
  eyes?: Pair | "damaged";
}

/** Longer ones are not read: two scenarios need some thousand characters. */
const longest = 200_000;
/** A number as a person would write it; undefined for anything else. */
const numberIn = (text: string | null, low: number, high: number): number | undefined => {
  if (text === null || !/^\d{1,5}(\.\d{1,3})?$/.test(text)) return undefined;
  return Math.min(high, Math.max(low, Number(text)));
};

export function readAddress(hash: string): Address {
  const address: Address = {};
  if (hash.length > longest) return { eyes: "damaged" };
  const fields = new URLSearchParams(hash.replace(/^#/, ""));
  const lesson = fields.get("lesson"),
    step = numberIn(fields.get("step"), 1, 4),
    day = numberIn(fields.get("day"), 0, 36500),
    mode = fields.get("mode"),
    language = fields.get("lang"),
    eyes = fields.get("s");
  if (lesson !== null) address.lesson = lesson;
  if (step !== undefined) address.step = Math.round(step);
  if (day !== undefined) address.day = day;
  if (mode !== null && modes.includes(mode)) address.mode = mode as Mode;
  if (language !== null) address.language = language;
  if (eyes !== null) address.eyes = fromBase64(eyes) ?? "damaged";
  return address;
}

/** Where the class finds the page, as a person typed it: its address without what stands behind "#"; undefined for anything else. */
export function published(typed: string): string | undefined {
  try {
    const url = new URL(typed.trim());
    return /^https?:$/.test(url.protocol) ? url.href.split("#")[0] : undefined;
  } catch {
    return undefined;
  }
}

/** What a code on paper says: the address; of a page on a disk, which no phone can reach, what stands behind "#". */
export const codeOf = (link: string): string => (/^https?:/.test(link) ? link : link.slice(link.indexOf("#")));

export function writeAddress(address: Address): string {
  const fields: string[] = [];
  const { eyes, lesson, step, day, mode, language } = address;
  if (eyes !== undefined && eyes !== "damaged") fields.push(`s=${toBase64(eyes)}`);
  if (lesson !== undefined) fields.push(`lesson=${encodeURIComponent(lesson)}`);
  if (step !== undefined) fields.push(`step=${step}`);
  if (day !== undefined) fields.push(`day=${Math.round(day)}`);
  if (mode !== undefined && mode !== "page") fields.push(`mode=${mode}`);
  if (language !== undefined) fields.push(`lang=${language}`);
  return `#${fields.join("&")}`;
}
