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
        uqr: [join(web, "node_modules/uqr")],
        "webm-muxer": [join(web, "node_modules/webm-muxer")],
      },
      skipLibCheck: true,
    },
    include: [join(here, "src")],
  }),
);
execFileSync(join(web, "node_modules/.bin/tsc"), ["-p", join(out, "tsconfig.json")], { stdio: "inherit" });

const script = await build({
  entryPoints: [join(here, "src/main.ts")],
  bundle: true,
  minify: true,
  format: "iife",
  target: "es2022",
  charset: "utf8",
  legalComments: "none",
  alias: {
    capsim: join(web, "package/capsim.js"),
    uqr: join(web, "node_modules/uqr"),
    "webm-muxer": join(web, "node_modules/webm-muxer"),
  },
  write: false,
  logLevel: "warning",
});
const style = await build({ entryPoints: [join(here, "page.css")], minify: true, write: false, target: "es2022" });

const page = (await readFile(join(here, "page.html"), "utf8"))
  .replace("/*STYLE*/", () => style.outputFiles[0].text)
  .replace("/*SCRIPT*/", () => script.outputFiles[0].text.replaceAll("</script", "<\\/script"));
await writeFile(join(out, "classroom.html"), page);
console.log(`${join(out, "classroom.html")}: ${Math.round(page.length / 1024)} KiB`);
