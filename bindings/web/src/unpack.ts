// SPDX-License-Identifier: BSD-3-Clause
/** From the text that travels inside the package to the compiled engine; in the page or in a worker. */

import { gunzipSync } from "fflate";

export async function compilePacked(base64: string): Promise<WebAssembly.Module> {
  return WebAssembly.compile(await unpacked(bytesOfBase64(base64)));
}

async function unpacked(packed: Uint8Array<ArrayBuffer>): Promise<BufferSource> {
  // Browsers of 2022 and before have no unpacking of their own.
  if (typeof DecompressionStream === "undefined") return gunzipSync(packed);
  return new Response(new Blob([packed]).stream().pipeThrough(new DecompressionStream("gzip"))).arrayBuffer();
}

function bytesOfBase64(text: string): Uint8Array<ArrayBuffer> {
  // Browsers of 2024 and before have no such thing of their own.
  const own = Uint8Array as unknown as { fromBase64?: (text: string) => Uint8Array<ArrayBuffer> };
  if (own.fromBase64 !== undefined) return own.fromBase64(text);
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < binary.length; ++i) bytes[i] = binary.charCodeAt(i);
  return bytes;
}
