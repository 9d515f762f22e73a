// SPDX-License-Identifier: BSD-3-Clause
/** Loading the engine: its binary travels inside this module, so nothing is fetched. */

import createCapsimEngine from "capsim-engine";
import { engineBinaryBase64 } from "capsim-engine-binary";
import { gunzipSync } from "fflate";
import { Engine } from "./engine_core.js";

let compiled: Promise<WebAssembly.Module> | undefined;

/** The compiled engine; compiled once, and may be posted to workers. */
export function compileEngine(): Promise<WebAssembly.Module> {
  compiled ??= unpacked(bytesOfBase64(engineBinaryBase64)).then((bytes) => WebAssembly.compile(bytes));
  return compiled;
}

/** An engine of its own, ready to run. */
export async function loadEngine(): Promise<Engine> {
  return Engine.create(createCapsimEngine, await compileEngine());
}

async function unpacked(packed: Uint8Array<ArrayBuffer>): Promise<BufferSource> {
  // Browsers of 2022 and before have no unpacking of their own.
  if (typeof DecompressionStream === "undefined") return gunzipSync(packed);
  return new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

function bytesOfBase64(text: string): Uint8Array<ArrayBuffer> {
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < binary.length; ++i) bytes[i] = binary.charCodeAt(i);
  return bytes;
}
