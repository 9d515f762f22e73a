// SPDX-License-Identifier: BSD-3-Clause
/** The year as a film: a GIF, or a WebM where the browser can record one. */

import type { Lesson } from "../lessons/lesson_list.js";
import { visits } from "../state/course.js";
import { GifWriter, paletteOf } from "./gif.js";
import { drawFrame } from "./sheet.js";
import { type Show, sidesOf } from "../state/show.js";

const frames = 40;
/** A GIF of the larger size would be too heavy to send. */
const gifSize = { width: 960, height: 540 },
  filmSize = { width: 1280, height: 720 };

export const commentOf = (show: Show): string =>
  JSON.stringify({ caution: show.cautions, scenarios: sidesOf(show).map((s) => show.scenarios[s]) });

function canvasFor(size: { width: number; height: number }): {
  canvas: HTMLCanvasElement;
  g: CanvasRenderingContext2D;
} {
  const canvas = document.createElement("canvas");
  Object.assign(canvas, size);
  return { canvas, g: canvas.getContext("2d", { willReadFrequently: true })! };
}

/** Days at which a film pauses. */
const stops = (show: Show): number[] =>
  [
    ...visits.map((v) => v.day),
    ...sidesOf(show).flatMap((side) => (show.scenarios[side]?.events ?? []).map((e) => e.day)),
  ].filter((day) => day > 0 && day < show.duration);

const breath = (): Promise<void> => new Promise((go) => setTimeout(go, 0));

export async function makeGif(
  show: Show,
  lesson: Lesson | undefined,
  progress: (share: number) => void,
): Promise<Blob> {
  const { canvas, g } = canvasFor(gifSize);
  const pixelsOn = (day: number): Uint8ClampedArray => {
    drawFrame(g, canvas.width, canvas.height, { ...show, day }, lesson);
    return g.getImageData(0, 0, canvas.width, canvas.height).data;
  };
  const samples = [0, 0.4, 1].map((share) => pixelsOn(share * show.duration));
  const gif = new GifWriter(canvas.width, canvas.height, paletteOf(samples), commentOf(show));
  for (let i = 0; i < frames; ++i) {
    const day = (show.duration * i) / (frames - 1),
      step = show.duration / (frames - 1);
    // The frame nearest a visit or an event shows that very day, and stays.
    const stop = stops(show).find((d) => Math.abs(d - day) <= step / 2);
    gif.add(pixelsOn(stop ?? day), i === 0 ? 80 : i === frames - 1 ? 200 : stop === undefined ? 12 : 60);
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
export async function makeFilm(
  show: Show,
  lesson: Lesson | undefined,
  progress: (share: number) => void,
): Promise<Blob> {
  const type = filmType();
  if (type === undefined) throw new Error("this browser cannot record a film");
  const { canvas, g } = canvasFor(filmSize);
  drawFrame(g, canvas.width, canvas.height, { ...show, day: 0 }, lesson);
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
    drawFrame(g, canvas.width, canvas.height, { ...show, day: share * show.duration }, lesson);
    progress(share);
    await new Promise((go) => setTimeout(go, 40));
  }
  recorder.stop();
  await stopped;
  return new Blob(parts, { type: "video/webm" });
}
