// SPDX-License-Identifier: BSD-3-Clause
/** An animated GIF from frames of pixels: one palette for all frames, so that colours do not flicker. */

export class GifWriter {
  #bytes: number[] = [];
  #nearest = new Int16Array(32768).fill(-1); // palette index of each 15-bit colour
  #before: Uint8Array | undefined;

  constructor(
    readonly width: number,
    readonly height: number,
    private readonly palette: number[][],
    comment: string,
  ) {
    const out = this.#bytes;
    out.push(...ascii("GIF89a"), ...word(width), ...word(height), 0xf7, 0, 0);
    for (let i = 0; i < 256; ++i) out.push(...(palette[i] ?? [0, 0, 0]));
    out.push(0x21, 0xff, 11, ...ascii("NETSCAPE2.0"), 3, 1, 0, 0, 0); // play for ever
    out.push(0x21, 0xfe);
    const text = new TextEncoder().encode(comment);
    for (let i = 0; i < text.length; i += 255) {
      const part = text.subarray(i, i + 255);
      out.push(part.length, ...part);
    }
    out.push(0);
  }

  /** `hundredths`: how long the frame stays, in 1/100 s. Index 255 is kept for "as in the frame before". */
  add(pixels: Uint8ClampedArray, hundredths: number): void {
    const count = this.width * this.height;
    const indexed = new Uint8Array(count),
      sent = new Uint8Array(count);
    for (let i = 0; i < count; ++i) {
      const [r, g, b] = [pixels[4 * i]!, pixels[4 * i + 1]!, pixels[4 * i + 2]!];
      const key = ((r >> 3) << 10) | ((g >> 3) << 5) | (b >> 3);
      let index = this.#nearest[key]!;
      if (index < 0) index = this.#nearest[key] = this.#search(r, g, b);
      indexed[i] = index;
      sent[i] = this.#before !== undefined && this.#before[i] === index ? 255 : index;
    }
    this.#before = indexed;
    const out = this.#bytes;
    out.push(0x21, 0xf9, 4, 0x05, ...word(hundredths), 255, 0);
    out.push(0x2c, 0, 0, 0, 0, ...word(this.width), ...word(this.height), 0);
    this.#compress(sent);
  }

  finish(): Uint8Array<ArrayBuffer> {
    this.#bytes.push(0x3b);
    return Uint8Array.from(this.#bytes);
  }

  #search(r: number, g: number, b: number): number {
    let best = 0,
      least = Infinity;
    this.palette.forEach(([pr, pg, pb], i) => {
      const off = (r - pr!) ** 2 + (g - pg!) ** 2 + (b - pb!) ** 2;
      if (off < least) {
        least = off;
        best = i;
      }
    });
    return best;
  }

  // Lempel-Ziv-Welch with codes of 9 to 12 bits, in blocks of up to 255 bytes.
  #compress(data: Uint8Array): void {
    const out = this.#bytes,
      block: number[] = [];
    const clear = 256,
      end = 257;
    let bits = 0,
      held = 0,
      size = 9,
      next = 258;
    let codes = new Map<number, number>();
    const flush = (): void => {
      if (block.length > 0) {
        out.push(block.length, ...block);
        block.length = 0;
      }
    };
    const emit = (code: number): void => {
      held |= code << bits;
      bits += size;
      while (bits >= 8) {
        block.push(held & 255);
        held >>>= 8;
        bits -= 8;
        if (block.length === 255) flush();
      }
    };
    out.push(8);
    emit(clear);
    let prefix = data[0]!;
    for (let i = 1; i < data.length; ++i) {
      const key = (prefix << 8) | data[i]!;
      const known = codes.get(key);
      if (known !== undefined) {
        prefix = known;
        continue;
      }
      emit(prefix);
      codes.set(key, next);
      if (next === 1 << size && size < 12) ++size;
      ++next;
      if (next > 4095) {
        emit(clear);
        codes = new Map();
        size = 9;
        next = 258;
      }
      prefix = data[i]!;
    }
    emit(prefix);
    emit(end);
    if (bits > 0) block.push(held & 255);
    flush();
    out.push(0);
  }
}

/** Up to 255 colours that stand for those in the samples, by splitting the fullest box at its median. */
export function paletteOf(samples: Uint8ClampedArray[]): number[][] {
  const counts = new Map<number, number>();
  for (const pixels of samples)
    for (let i = 0; i < pixels.length; i += 4) {
      const key = ((pixels[i]! >> 3) << 10) | ((pixels[i + 1]! >> 3) << 5) | (pixels[i + 2]! >> 3);
      counts.set(key, (counts.get(key) ?? 0) + 1);
    }
  interface Colour {
    rgb: number[];
    count: number;
  }
  const all: Colour[] = [...counts].map(([key, count]) => ({
    rgb: [(key >> 10) & 31, (key >> 5) & 31, key & 31].map((v) => (v << 3) | (v >> 2)),
    count,
  }));
  const spread = (box: Colour[]): { channel: number; width: number } => {
    let channel = 0,
      width = -1;
    for (let c = 0; c < 3; ++c) {
      const values = box.map((p) => p.rgb[c]!);
      const w = Math.max(...values) - Math.min(...values);
      if (w > width) {
        width = w;
        channel = c;
      }
    }
    return { channel, width };
  };
  const weight = (box: Colour[]): number => Math.sqrt(box.reduce((sum, p) => sum + p.count, 0)) * spread(box).width;
  const boxes = [{ colours: all, weight: weight(all) }];
  while (boxes.length < 255) {
    boxes.sort((a, b) => b.weight - a.weight);
    const { colours } = boxes[0]!;
    if (colours.length < 2 || boxes[0]!.weight <= 0) break;
    boxes.shift();
    const { channel } = spread(colours);
    colours.sort((a, b) => a.rgb[channel]! - b.rgb[channel]!);
    const total = colours.reduce((sum, p) => sum + p.count, 0);
    let cut = 0;
    for (let sum = 0; cut < colours.length - 1 && sum < total / 2; ++cut) sum += colours[cut]!.count;
    for (const part of [colours.slice(0, Math.max(1, cut)), colours.slice(Math.max(1, cut))])
      boxes.push({ colours: part, weight: weight(part) });
  }
  return boxes.map(({ colours }) => {
    const total = colours.reduce((sum, p) => sum + p.count, 0);
    return [0, 1, 2].map((c) => Math.round(colours.reduce((sum, p) => sum + p.rgb[c]! * p.count, 0) / total));
  });
}

const ascii = (text: string): number[] => [...text].map((c) => c.charCodeAt(0));
const word = (value: number): number[] => [value & 255, value >> 8];
