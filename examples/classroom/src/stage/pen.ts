// SPDX-License-Identifier: BSD-3-Clause
/** What a picture of the eye asks of what it is drawn on: a canvas on screen, or the pen that writes SVG. */

type Stroke =
  | "arc"
  | "beginPath"
  | "clip"
  | "closePath"
  | "createConicGradient"
  | "fill"
  | "fillRect"
  | "fillText"
  | "lineTo"
  | "measureText"
  | "moveTo"
  | "quadraticCurveTo"
  | "rect"
  | "restore"
  | "save"
  | "scale"
  | "setLineDash"
  | "stroke"
  | "strokeRect";
type Look = "fillStyle" | "font" | "lineCap" | "lineJoin" | "lineWidth" | "strokeStyle" | "textAlign" | "textBaseline";

/** What is needed of a canvas to draw a picture: a canvas has it, and so has the pen. */
export type Pen = Pick<CanvasRenderingContext2D, Stroke | Look>;
