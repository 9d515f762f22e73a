// SPDX-License-Identifier: BSD-3-Clause
/** The year as a film: a GIF, or a WebM where the browser can encode one. */

import { ArrayBufferTarget, Muxer } from "webm-muxer";
import type { Lesson } from "../lessons/lesson_list.js";
import { visits } from "../state/course.js";
import { GifWriter, paletteOf } from "./gif.js";
import { drawFrame } from "./sheet.js";
import { type Show, sidesOf } from "../state/show.js";

const frames = 40;
const filmSize = { width: 1280, height: 720 };

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
export const restsOf = (show: Show): number[] =>
  [
    ...visits.map((v) => v.day),
    ...sidesOf(show).flatMap((side) => (show.scenarios[side]?.events ?? []).map((e) => e.day)),
  ].filter((day) => day > 0 && day < show.duration);

/** The days on which a film rests, from surgery to the last. */
export const staysOf = (show: Show): number[] =>
  [...new Set([0, ...restsOf(show), show.duration])].sort((p, q) => p - q);

const breath = (): Promise<void> => new Promise((go) => setTimeout(go, 0));

export async function makeGif(
  show: Show,
  lesson: Lesson | undefined,
  progress: (share: number) => void,
): Promise<Blob> {
  const { canvas, g } = canvasFor(filmSize);
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
    const stop = restsOf(show).find((d) => Math.abs(d - day) <= step / 2);
    gif.add(pixelsOn(stop ?? day), i === 0 ? 80 : i === frames - 1 ? 200 : stop === undefined ? 12 : 60);
    progress((i + 1) / frames);
    await breath(); // the page stays alive
  }
  return new Blob([gif.finish()], { type: "image/gif" });
}

export const canFilm = typeof VideoEncoder !== "undefined";

/** A day and how long it stays, in seconds: at most this many pictures a second between two pauses. */
const perSecond = 20,
  secondsOfYear = 7,
  pause = 0.8,
  lastPause = 2;

/** The pictures of a film in their order: the days glide by and rest at every visit and event. */
export function filmPlan(days: number, rests: readonly number[]): { day: number; seconds: number }[] {
  const stay = [...new Set([0, ...rests, days])].sort((p, q) => p - q);
  const moving = Array.from(
    { length: perSecond * secondsOfYear },
    (_, i) => (days * (i + 1)) / (perSecond * secondsOfYear),
  );
  const all = [...stay, ...moving.filter((day) => stay.every((d) => Math.abs(d - day) > 1e-6))].sort((p, q) => p - q);
  return all.map((day) => ({
    day,
    seconds: day === days ? lastPause : stay.includes(day) ? pause : 1 / perSecond,
  }));
}

/** Encoded picture by picture, each with its own time: the film lasts what its header says, however slow the machine. */
export async function makeFilm(
  show: Show,
  lesson: Lesson | undefined,
  progress: (share: number) => void,
): Promise<Blob> {
  const { width, height } = filmSize;
  const target = new ArrayBufferTarget();
  const muxer = new Muxer({ target, video: { codec: "V_VP8", width, height } });
  const failed: { error?: Error } = {};
  const encoder = new VideoEncoder({
    output: (chunk, about) => muxer.addVideoChunk(chunk, about),
    error: (error) => (failed.error = error),
  });
  encoder.configure({ codec: "vp8", width, height, bitrate: 3_000_000, latencyMode: "realtime" });
  const { canvas, g } = canvasFor(filmSize);
  const plan = filmPlan(show.duration, restsOf(show));
  let at = 0;
  const add = (seconds: number, keyFrame: boolean): void => {
    const frame = new VideoFrame(canvas, { timestamp: Math.round(at * 1e6), duration: Math.round(seconds * 1e6) });
    encoder.encode(frame, { keyFrame });
    frame.close();
    at += seconds;
  };
  for (const [i, { day, seconds }] of plan.entries()) {
    drawFrame(g, width, height, { ...show, day }, lesson);
    add(seconds, seconds >= pause);
    if (i === plan.length - 1) add(1 / perSecond, false); // the end of the last pause is in the file too
    progress((i + 1) / plan.length);
    do await breath();
    while (encoder.encodeQueueSize > 4 && failed.error === undefined);
    if (failed.error !== undefined) throw failed.error;
  }
  await encoder.flush();
  encoder.close();
  muxer.finalize();
  return new Blob([target.buffer], { type: "video/webm" });
}
