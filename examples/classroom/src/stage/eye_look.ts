// SPDX-License-Identifier: BSD-3-Clause
/** How an eye is to be shown: where, how large, in which colours, with which letters. */

import type { Scenario } from "capsim";
import type { Side } from "./palette.js";

export const ciliaryRadius = (s: Scenario): number => (s.zonule?.ciliary_ring_diameter_mm ?? 12.4) / 2;
/** Half of the width of the picture, mm. */
export const halfView = 7.5;

export interface EyeLook {
  x: number; // of the centre, px
  y: number;
  pxPerMm: number;
  loadTop: number; // load at the top of the colour scale, mN
  side: Side;
  labels: boolean; // clock hours, nasal/temporal, scale bar
  letters?: number; // height of the letters, px, where the last row is to read them; left out: by the size of the picture
  pointed?: number; // clock hour that is pointed at
  tellDay?: boolean; // in a small picture too: it is not that of the clock
}

/** Large letters, or a small picture, leave room for the quarters only. */
export const sparing = ({ letters, pxPerMm }: EyeLook): boolean => letters !== undefined || pxPerMm < 16;
