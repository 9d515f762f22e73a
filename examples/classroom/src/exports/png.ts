// SPDX-License-Identifier: BSD-3-Clause
/** Words inside a PNG file: the caution and the scenario travel with the picture. */

let table: Uint32Array | undefined;

function crc32(bytes: Uint8Array): number {
  table ??= Uint32Array.from({ length: 256 }, (_, n) => {
    let c = n;
    for (let k = 0; k < 8; ++k) c = c & 1 ? 0xedb88320 ^ (c >>> 1) : c >>> 1;
    return c >>> 0;
  });
  let crc = 0xffffffff;
  for (const byte of bytes) crc = table[(crc ^ byte) & 255]! ^ (crc >>> 8);
  return (crc ^ 0xffffffff) >>> 0;
}

/** The PNG with international text chunks (UTF-8) put before its end. */
export function withWords(png: Uint8Array, words: Record<string, string>): Uint8Array<ArrayBuffer> {
  const encoder = new TextEncoder();
  const chunks = Object.entries(words).map(([key, text]) => {
    const data = encoder.encode(`iTXt${key}\0\0\0\0\0${text}`);
    const chunk = new Uint8Array(data.length + 8);
    const view = new DataView(chunk.buffer);
    view.setUint32(0, data.length - 4);
    chunk.set(data, 4);
    view.setUint32(data.length + 4, crc32(data));
    return chunk;
  });
  const end = png.length - 12; // IEND is the last chunk, without data
  const all = new Uint8Array(png.length + chunks.reduce((sum, c) => sum + c.length, 0));
  all.set(png.subarray(0, end));
  let at = end;
  for (const chunk of chunks) {
    all.set(chunk, at);
    at += chunk.length;
  }
  all.set(png.subarray(end), at);
  return all;
}
