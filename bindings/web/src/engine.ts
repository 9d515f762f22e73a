// SPDX-License-Identifier: BSD-3-Clause
/** Loading the engine: its binary travels inside this module, so nothing is fetched. */

import createCapsimEngine from "capsim-engine";
import { packedEngine } from "capsim-engine-binary";
import { Engine } from "./engine_core.js";
import { compilePacked } from "./unpack.js";

let compiled: Promise<WebAssembly.Module> | undefined;

/** The compiled engine; compiled once, and may be posted to workers. */
export function compileEngine(): Promise<WebAssembly.Module> {
  compiled ??= compilePacked(packedEngine());
  return compiled;
}

/** The compiled engine where there is one, or is about to be; else what is to be compiled, and `by` says how it came
 *  out: undefined where it did not come at all, and this thread does it. */
export function engineOrPacked(by: Promise<WebAssembly.Module | undefined>): Promise<WebAssembly.Module> | string {
  if (compiled !== undefined) return compiled;
  compiled = by.then((module) => module ?? compilePacked(packedEngine()));
  compiled.catch(() => undefined); // told to whoever asks for it
  return packedEngine();
}

/** An engine of its own, ready to run. */
export async function loadEngine(): Promise<Engine> {
  return Engine.create(createCapsimEngine, await compileEngine());
}
