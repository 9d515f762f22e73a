// SPDX-License-Identifier: BSD-3-Clause
// Where the things under test are: $CAPSIM_BUILD_DIR/web, set by tests/web/run.sh.
import { execFileSync } from "node:child_process";
import { readFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

export const here = dirname(fileURLToPath(import.meta.url));
export const built = process.env.CAPSIM_WEB_BUILD;
if (!built) throw new Error("CAPSIM_WEB_BUILD is not set; use tests/run.sh web");

export const capsim = await import(pathToFileURL(join(built, "package/capsim.js")).href);
/** Development packages live in the build folder, not beside the sources. */
export const requireTool = createRequire(join(built, "package.json"));
export const page = join(built, "classroom/classroom.html");

/** The page's own modules without a page: `exports` as statements of a module in examples/classroom/src. */
export async function pageModules(exports) {
  const { build } = requireTool("esbuild");
  const made = await build({
    stdin: { contents: exports, loader: "ts", resolveDir: join(here, "../../examples/classroom/src") },
    bundle: true,
    format: "esm",
    write: false,
    alias: {
      capsim: join(built, "package/capsim.js"),
      uqr: join(built, "node_modules/uqr"),
      fflate: join(built, "node_modules/fflate"),
      "webm-muxer": join(built, "node_modules/webm-muxer"),
    },
    logLevel: "warning",
  });
  return import(`data:text/javascript;base64,${Buffer.from(made.outputFiles[0].text).toString("base64")}`);
}

export async function scenario(name) {
  return JSON.parse(await readFile(join(here, "scenarios", `${name}.json`), "utf8"));
}

/** Results of the native library for scenario files: {path: {status, seconds, series}}. */
export function nativeResults(paths, repeat = 1) {
  const text = execFileSync(
    process.env.CAPSIM_PYTHON ?? "python3",
    [join(here, "native_results.py"), "--repeat", String(repeat), ...paths],
    { encoding: "utf8", maxBuffer: 1 << 28 },
  );
  return JSON.parse(text.replaceAll(/\bNaN\b/g, "null"));
}
