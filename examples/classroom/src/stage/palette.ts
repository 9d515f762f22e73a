// SPDX-License-Identifier: BSD-3-Clause
/** Colours of the pictures. A and B differ in colour, in line pattern and by their letter; load differs in
 *  colour and in thickness, so that nothing hangs on colour vision. */

import type { Side } from "../state/frame.js";
export type { Side };

/** The eye is drawn on the same dark field in both themes: pictures taken on different days compare. */
export const eyeColours = {
  field: "#0e1b24",
  ciliaryBody: "#2a3c49",
  ciliaryEdge: "#6f8796",
  posterior: "#1c3442",
  leaf: "rgba(176,214,228,0.30)",
  leafEdge: "#a9cad6",
  rim: "#ffffff",
  startRim: "#d7e3e8",
  tissue: "#f3e6dc",
  lost: "rgba(255,120,96,0.42)",
  optic: "rgba(88,164,176,0.26)",
  opticEdge: "#8fe0dc",
  haptic: "#7cc6e8",
  ring: "#e9b44c",
  cut: "#ff9e7a",
  text: "#f2f7f9",
  faint: "#b8c8d0",
  absent: "#ff8f7d",
} as const;

export interface PageColours {
  paper: string;
  ink: string;
  faint: string;
  line: string;
  a: string;
  b: string;
}
const light: PageColours = {
  paper: "#ffffff",
  ink: "#17242c",
  faint: "#52636d",
  line: "#d3dbdf",
  a: "#005a9c",
  b: "#b24a00",
};
const dark: PageColours = {
  paper: "#16232c",
  ink: "#eaf1f4",
  faint: "#a9bac4",
  line: "#33454f",
  a: "#6cb8f0",
  b: "#f5a05a",
};
export const paperColours: PageColours = light; // exports are on white

export function pageColours(): PageColours {
  const chosen = document.documentElement.dataset.theme;
  const isDark = chosen === "dark" || (chosen !== "light" && matchMedia("(prefers-color-scheme: dark)").matches);
  return isDark ? dark : light;
}

/** Of the thin line for the same eye under the other contraction law. */
export const otherDashOf = (side: Side): number[] => (side === "a" ? [1.5, 3] : [8, 3, 1.5, 3]);
export const dashOf = (side: Side): number[] => (side === "a" ? [] : [7, 4]);

// Five steps from dark blue to light yellow, monotonic in lightness, readable with any colour vision.
const steps: [number, number, number][] = [
  [74, 98, 138],
  [106, 122, 140],
  [150, 148, 130],
  [205, 180, 98],
  [255, 232, 92],
];

/** Colour of a load between 0 and `top`. */
export function loadColour(load: number, top: number): string {
  const t = Math.min(1, Math.max(0, top > 0 ? load / top : 0)) * (steps.length - 1);
  const i = Math.min(steps.length - 2, Math.floor(t));
  const [from, to] = [steps[i]!, steps[i + 1]!];
  return `rgb(${from.map((v, k) => Math.round(v + (t - i) * (to[k]! - v))).join(",")})`;
}
