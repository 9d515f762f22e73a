// SPDX-License-Identifier: BSD-3-Clause
// Packs the engine, its worker and the API into one module that fetches nothing:
//   node bindings/web/pack.mjs <build folder>
// leaves it in <build folder>/package; and in <build folder>/split the same in pieces, for a page that is to be there before
// its engine is read: the API, which looks for the two texts in elements of the page, and each text by itself.
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { dirname, join } from "node:path";
import { gzipSync } from "node:zlib";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const out = process.argv[2];
const { build } = createRequire(join(out, "package.json"))("esbuild");

/** Resolves a bare module name to text made here. */
function made(name, contents) {
  return {
    name,
    setup(bundler) {
      bundler.onResolve({ filter: new RegExp(`^${name}$`) }, () => ({ path: name, namespace: "made" }));
      bundler.onLoad({ filter: new RegExp(`^${name}$`), namespace: "made" }, () => ({ contents }));
    },
  };
}

const settings = {
  bundle: true,
  minify: true,
  legalComments: "none",
  target: "es2022",
  alias: { "capsim-engine": join(out, "wasm/capsim_engine.mjs"), fflate: join(out, "node_modules/fflate") },
  absWorkingDir: here,
  logLevel: "warning",
};

const worker = await build({ ...settings, entryPoints: ["src/worker.ts"], format: "iife", write: false });
const workerText = worker.outputFiles[0].text;
// Packed: less than half of the bytes, and a browser unpacks them in a few milliseconds.
const binary = gzipSync(await readFile(join(out, "wasm/capsim_engine.wasm")), { level: 9 }).toString("base64");

/** The API, with functions that say where its two texts are. */
const api = (outfile, textOf) =>
  build({
    ...settings,
    entryPoints: ["src/index.ts"],
    format: "esm",
    outfile,
    plugins: [
      made("capsim-worker-text", `export const workerText = () => ${textOf("worker", workerText)};`),
      made("capsim-engine-binary", `export const packedEngine = () => ${textOf("engine", binary)};`),
    ],
  });
await api(join(out, "package/capsim.js"), (_, text) => JSON.stringify(text));

const split = join(out, "split");
await mkdir(split, { recursive: true });
await api(join(split, "capsim.js"), (name) => `document.getElementById("capsim-${name}").textContent`);
await writeFile(join(split, "worker.js"), workerText);
await writeFile(join(split, "engine.base64"), binary);

const { devDependencies, ...manifest } = JSON.parse(await readFile(join(here, "package.json"), "utf8"));
await writeFile(join(out, "package/package.json"), JSON.stringify(manifest, null, 2) + "\n");
