// SPDX-License-Identifier: BSD-3-Clause
/** The three pieces that the build makes: emscripten's loader, the binary, and the worker's text. */

declare module "capsim-engine" {
  const createCapsimEngine: import("./engine_module.js").EngineLoader;
  export default createCapsimEngine;
}

declare module "capsim-engine-binary" {
  /** The binary, packed, in base 64. */
  export const packedEngine: () => string;
}

declare module "capsim-worker-text" {
  export const workerText: () => string;
}

/** What is used of the library that unpacks where the browser does not; it is bundled in. */
declare module "fflate" {
  export function gunzipSync(packed: Uint8Array): Uint8Array<ArrayBuffer>;
}
