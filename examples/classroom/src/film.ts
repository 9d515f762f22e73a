// SPDX-License-Identifier: BSD-3-Clause
/** The year as a film: a GIF, or a WebM where the browser can record one. */

import { GifWriter, paletteOf } from "./gif.js";
import { drawFrame, type Show, sidesOf } from "./sheet.js";

const frames = 40;
const height = 560;
const widthOf = (show: Show): number => (sidesOf(show).length === 2 ? 820 : 420);

export const commentOf = (show: Show): string =>
  JSON.stringify({ caution: show.cautions, scenarios: sidesOf(show).map((s) => show.scenarios[s]) });

function canvasFor(show: Show): { canvas: HTMLCanvasElement; g: CanvasRenderingContext2D } {
  const canvas = document.createElement("canvas");
  canvas.width = widthOf(show);
  canvas.height = height;
  return { canvas, g: canvas.getContext("2d", { willReadFrequently: true })! };
}

const breath = (): Promise<void> => new Promise((go) => setTimeout(go, 0));

export async function makeGif(show: Show, progress: (share: number) => void): Promise<Blob> {
  const { canvas, g } = canvasFor(show);
  const pixelsOn = (day: number): Uint8ClampedArray => {
    drawFrame(g, canvas.width, canvas.height, { ...show, day });
    return g.getImageData(0, 0, canvas.width, canvas.height).data;
  };
  const samples = [0, 0.4, 1].map((share) => pixelsOn(share * show.duration));
  const gif = new GifWriter(canvas.width, canvas.height, paletteOf(samples), commentOf(show));
  for (let i = 0; i < frames; ++i) {
    gif.add(pixelsOn((show.duration * i) / (frames - 1)), i === 0 ? 80 : i === frames - 1 ? 200 : 12);
    progress((i + 1) / frames);
    await breath(); // the page stays alive
  }
  return new Blob([gif.finish()], { type: "image/gif" });
}

export function filmType(): string | undefined {
  if (typeof MediaRecorder === "undefined") return undefined;
  return ["video/webm;codecs=vp9", "video/webm;codecs=vp8", "video/webm"].find((type) =>
    MediaRecorder.isTypeSupported(type),
  );
}

/** Recorded as it plays: takes as long as the film, six seconds. */
export async function makeFilm(show: Show, progress: (share: number) => void): Promise<Blob> {
  const type = filmType();
  if (type === undefined) throw new Error("this browser cannot record a film");
  const { canvas, g } = canvasFor(show);
  drawFrame(g, canvas.width, canvas.height, { ...show, day: 0 });
  const recorder = new MediaRecorder(canvas.captureStream(25), { mimeType: type, videoBitsPerSecond: 3_000_000 });
  const parts: Blob[] = [];
  recorder.ondataavailable = (event) => {
    if (event.data.size > 0) parts.push(event.data);
  };
  const stopped = new Promise((done) => (recorder.onstop = done));
  recorder.start();
  const seconds = 6,
    began = performance.now();
  for (let share = 0; share < 1; ) {
    share = Math.min(1, (performance.now() - began) / (1000 * seconds));
    drawFrame(g, canvas.width, canvas.height, { ...show, day: share * show.duration });
    progress(share);
    await new Promise((go) => setTimeout(go, 40));
  }
  recorder.stop();
  await stopped;
  return new Blob(parts, { type: "video/webm" });
}
