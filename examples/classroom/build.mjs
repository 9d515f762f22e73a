// SPDX-License-Identifier: BSD-3-Clause
// Makes the page: one HTML file that holds everything and fetches nothing.
//   node examples/classroom/build.mjs <folder with the built package>     default: build/web
// leaves <folder>/classroom/classroom.html; bindings/web/build.sh makes the package first.
import { execFileSync } from "node:child_process";
import { mkdir, readFile, writeFile } from "node:fs/promises";
import { createRequire } from "node:module";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

const here = dirname(fileURLToPath(import.meta.url));
const web = resolve(process.argv[2] ?? join(here, "../../build/web"));
const { build } = createRequire(join(web, "package.json"))("esbuild");
const out = join(web, "classroom");
await mkdir(out, { recursive: true });

/** What is bundled into the page. */
const libraries = Object.fromEntries(
  ["uqr", "webm-muxer", "fflate"].map((name) => [name, join(web, "node_modules", name)]),
);

// Types first: the page must agree with the package's own types.
await writeFile(
  join(out, "tsconfig.json"),
  JSON.stringify({
    compilerOptions: {
      target: "ES2022",
      module: "ESNext",
      moduleResolution: "Bundler",
      lib: ["ES2023", "DOM", "DOM.Iterable"],
      strict: true,
      noUncheckedIndexedAccess: true,
      exactOptionalPropertyTypes: true,
      verbatimModuleSyntax: true,
      noUnusedLocals: true,
      types: [],
      noEmit: true,
      paths: {
        capsim: [join(web, "package/types/index.d.ts")],
        ...Object.fromEntries(Object.entries(libraries).map(([name, folder]) => [name, [folder]])),
      },
      skipLibCheck: true,
    },
    include: [join(here, "src")],
  }),
);
execFileSync(join(web, "node_modules/.bin/tsc"), ["-p", join(out, "tsconfig.json")], { stdio: "inherit" });

/** A bundle of the page's modules; `capsim`: which form of the package it is made with. */
const bundle = async (what, capsim) =>
  (
    await build({
      bundle: true,
      target: "es2022",
      charset: "utf8",
      legalComments: "none",
      logLevel: "warning",
      alias: { capsim: join(web, capsim), ...libraries },
      write: false,
      ...what,
    })
  ).outputFiles[0].text;

const script = async (name) =>
  (
    await bundle({ entryPoints: [join(here, "src", name)], minify: true, format: "iife" }, "split/capsim.js")
  ).replaceAll("</script", "<\\/script");
const style = await build({ entryPoints: [join(here, "page.css")], minify: true, write: false, target: "es2022" });

// The eyes of the lessons, run by the engine that goes into the page.
const asked = `export { loadEngine } from "capsim"; export { shippedBy } from "./state/shipped.js";`;
const runs = await bundle(
  { stdin: { contents: asked, loader: "ts", resolveDir: join(here, "src") }, format: "esm" },
  "package/capsim.js",
);
const { loadEngine, shippedBy } = await import(`data:text/javascript;base64,${Buffer.from(runs).toString("base64")}`);

const parts = {
  STYLE: style.outputFiles[0].text,
  EYES: JSON.stringify(shippedBy(await loadEngine())),
  FIRST: await script("first.ts"),
  MAIN: await script("main.ts"),
  WORKER: await readFile(join(web, "split/worker.js"), "utf8"),
  ENGINE: await readFile(join(web, "split/engine.base64"), "utf8"),
};
for (const name of ["EYES", "WORKER", "ENGINE"])
  if (/<\/script|<!--/i.test(parts[name])) throw new Error(`${name} would end before its end`);
const page = (await readFile(join(here, "page.html"), "utf8")).replace(/\/\*([A-Z]+)\*\//g, (_, name) => parts[name]);
await writeFile(join(out, "classroom.html"), page);
console.log(`${join(out, "classroom.html")}: ${Math.round(page.length / 1024)} KiB`);
