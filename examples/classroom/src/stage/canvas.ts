// SPDX-License-Identifier: BSD-3-Clause
/** A canvas of the page as something to draw on. */

export interface Ready {
  g: CanvasRenderingContext2D;
  width: number; // px of the page
  height: number;
}

/** A canvas cleared and scaled to the pixels of the screen. */
export function ready(canvas: HTMLCanvasElement): Ready {
  const scale = Math.max(1, devicePixelRatio);
  const width = canvas.clientWidth,
    height = canvas.clientHeight;
  if (canvas.width !== Math.round(width * scale) || canvas.height !== Math.round(height * scale)) {
    canvas.width = Math.round(width * scale);
    canvas.height = Math.round(height * scale);
  }
  const g = canvas.getContext("2d")!;
  g.setTransform(scale, 0, 0, scale, 0, 0);
  g.clearRect(0, 0, width, height);
  return { g, width, height };
}
