// SPDX-License-Identifier: BSD-3-Clause
// How long a teacher waits for an answer of the classroom page, beside the native library on the same machine.
//
//   node benchmarks/classroom_answer.mjs [folder of the web build] [other pages ...]
//
// The folder is build/web by default; `bash tests/run.sh web` builds it. Other pages (classroom.html of other commits) take turns with this
// one for the first picture, and nothing else is measured then.
//
// Prints a report and checks nothing. What was aimed at is printed beside what was measured. Runs with the native
// library take turns with those in the browser, so that a busy moment of the machine hits both; the smallest time
// of several is the one least disturbed. Needs Chromium ($CAPSIM_CHROMIUM) and the Python package for the native side.
import { existsSync } from "node:fs";
import { mkdtemp, rm, writeFile } from "node:fs/promises";
import { cpus, loadavg, tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";

const root = resolve(dirname(fileURLToPath(import.meta.url)), "..");
const web = (process.env.CAPSIM_WEB_BUILD = resolve(process.argv[2] ?? join(root, "build/web")));
process.env.CAPSIM_PYTHON ??= "/usr/bin/python3";
if (!process.env.PYTHONPATH && existsSync(join(web, "../python"))) process.env.PYTHONPATH = join(web, "../python");
const { capsim, nativeResults, page: pageFile, pageModules } = await import("../tests/web/built.mjs");
const { lessons, setWholeBag } = await pageModules(
  `export { lessons } from "./lessons/lesson_list.js"; export { setWholeBag } from "./state/whole_bag.js";`,
);
const { answered, crowded, eye, hashOf, open, otherLaws, startBrowser, stopBrowser } = await import(
  "../tests/web/browser.mjs"
);

let context;
/** A link to a pair that no lesson has, on its last day. */
const ownEyes = `${hashOf({ a: eye({ opening: { diameter_mm: 5.45 } }), b: eye({ opening: { diameter_mm: 4.05 } }) })}&day=365`;
const folder = await mkdtemp(join(tmpdir(), "capsim classroom "));
const sorted = (times) => [...times].sort((p, q) => p - q);
const list = (times) =>
  sorted(times)
    .map((v) => v.toFixed(0))
    .join(" ");
const line = (what, measured, aim = "") => console.log(`${what.padEnd(44)} ${measured.padEnd(44)} ${aim}`);

async function native(scenario, repeat) {
  const path = join(folder, "scenario.json");
  await writeFile(path, JSON.stringify(scenario));
  return 1000 * nativeResults([path], repeat)[path].seconds;
}

/** Another opening each time: an engine that meets an eye again has its unloaded shape already. */
const another = (scenario, i) => ({ ...scenario, opening: { diameter_mm: 5 + 0.01 * i } });

/** What a quick answer of the page is made of, by the native library. */
const quick = (rest = {}) => native(eye({ ...rest, mesh: { around: 24, radial: 4 }, output_every_days: 14 }), 9);

async function wholeYear() {
  const engine = await capsim.loadEngine();
  for (const [level, mesh] of [
    ["coarse", { around: 24, radial: 4 }],
    ["standard", { around: 48, radial: 6 }],
  ]) {
    const scenario = eye({ mesh }),
      times = [];
    let best = Infinity;
    for (let turn = 0; turn < 3; ++turn) {
      for (let i = 0; i < 3; ++i) {
        const began = performance.now();
        engine.simulate(another(scenario, 3 * turn + i));
        times.push(performance.now() - began);
      }
      best = Math.min(best, await native(another(scenario, 3 * turn), 3));
    }
    const least = Math.min(...times);
    line(
      `one year, ${level} level (node), ms`,
      `${least.toFixed(0)} against ${best.toFixed(0)} native: ratio ${(least / best).toFixed(2)}`,
      "ratio at most 2.5",
    );
  }
}

async function margin() {
  const engine = await capsim.loadEngine(),
    plain = [],
    asked = [];
  for (
    let i = 0;
    i < 7;
    ++i // in turns
  )
    for (const [times, runawayMargin] of [
      [plain, false],
      [asked, true],
    ]) {
      const began = performance.now();
      engine.simulate(another(eye({ mesh: { around: 48, radial: 6 } }), asked.length + plain.length), {
        runawayMargin,
      });
      times.push(performance.now() - began);
    }
  line(
    "the margin to runaway, standard level, ms",
    `${(Math.min(...asked) - Math.min(...plain)).toFixed(0)} on top of ${Math.min(...plain).toFixed(0)}`,
  );
}

/** Marks the end of the task that draws eye A: the one who fills its leaf, of which rim and equator are the edges. And the first frame after it. */
function markEye() {
  const { fill } = CanvasRenderingContext2D.prototype;
  let seen = false;
  const frame = () => {
    const { port1, port2 } = new MessageChannel();
    port1.onmessage = () => performance.mark("eye-shown");
    port2.postMessage(0);
  };
  CanvasRenderingContext2D.prototype.fill = function (...how) {
    if (!seen && this.canvas.id === "eye-a" && how.includes("evenodd")) {
      seen = true;
      queueMicrotask(() => performance.mark("eye-drawn"));
      requestAnimationFrame(frame);
    }
    return fill.apply(this, how);
  };
}

/** Pages in turns, opened at `hash`: milliseconds from the call to the first picture, to its frame, and to an answer of the engine. */
async function firstPictures(what, hash, pages) {
  const times = pages.map(() => ({ drawn: [], shown: [], answer: [] }));
  for (let i = 0; i < 7; ++i)
    for (const [k, file] of pages.entries()) {
      const page = await context.newPage();
      await page.addInitScript(markEye);
      await page.goto(pathToFileURL(file).href + hash);
      await page.waitForFunction(() => document.body.dataset.levelA !== undefined);
      times[k].answer.push(await page.evaluate(() => performance.now()));
      await page.waitForFunction(() => performance.getEntriesByName("eye-shown").length > 0);
      for (const at of ["drawn", "shown"])
        times[k][at].push(await page.evaluate((m) => performance.getEntriesByName(`eye-${m}`)[0].startTime, at));
      await page.close();
    }
  const best = await quick({ opening: { diameter_mm: 5.5 } });
  for (const [k, file] of pages.entries()) {
    if (pages.length > 1) console.log(file);
    const { drawn, shown, answer } = times[k];
    line(`first picture, ${what}, ms`, list(drawn), "at most a third of the page at b2597cc");
    line("  and its frame, ms", list(shown));
    line("  an answer of the engine in the page, ms", list(answer));
    line(
      "  over a native run of its first eye",
      `${(sorted(drawn)[3] / best).toFixed(1)} (${best.toFixed(0)} ms native)`,
    );
  }
}

/** An eye of the page whose whole bag contracts, and those of the lesson on rings. */
const contracting = eye();
setWholeBag(contracting, true);
const ring = lessons().find(({ key }) => key === "ring");
const stepped = [
  ["the rim contracts", eye(), "at most 150"],
  ["the whole bag contracts", contracting, ""],
  ["the same, a tenth of the fibres", ring.a, ""],
  ["and a ring", ring.b, ""],
];

async function sliderStep(what, about, aim) {
  const page = await open({ hash: hashOf({ a: about, b: null }) });
  const times = await page.evaluate(async () => {
    const slider = document.getElementById("opening-diameter"),
      times = [];
    let drawn = () => undefined; // told at the end of the task that draws an answer
    new MutationObserver(() => drawn()).observe(document.body, { attributeFilter: ["data-answers"] });
    for (let i = 0; i < 16; ++i) {
      const next = new Promise((go) => (drawn = go)),
        began = performance.now();
      slider.value = String(4.5 + 0.05 * i);
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      await next;
      times.push(performance.now() - began); // solved, carried over and drawn
      await new Promise((go) => setTimeout(go, 40));
    }
    return times.slice(2); // the first ones still compile
  });
  const best = await quick({ ...about, opening: { diameter_mm: 4.8 } });
  const [least, middle] = [sorted(times)[0], sorted(times)[Math.floor(times.length / 2)]];
  line(`step of a slider to its picture, ms: ${what}`, list(times), aim);
  line(
    "  over a native run of it",
    `${(least / best).toFixed(2)} quickest, ${(middle / best).toFixed(2)} middle (${best.toFixed(0)} ms native)`,
  );
  await page.close();
}

async function band(what, about) {
  const page = await open({ hash: hashOf({ a: about, b: null, spread: "age_related_cataract" }) });
  const began = performance.now();
  await crowded(page, "A");
  const took = performance.now() - began;
  line(`standard answer to a band of 32 eyes, ms: ${what}`, took.toFixed(0));
  line("  over 32 native runs", (took / (32 * (await quick(about)))).toFixed(2));
  const banded = performance.now();
  await otherLaws(page, "A");
  line("  and on to the other contraction law, ms", (performance.now() - banded).toFixed(0));
  await page.close();
}

console.log(`${cpus().length} cores, load ${loadavg()[0].toFixed(1)}; node ${process.version}`);
try {
  const pages = [pageFile, ...process.argv.slice(3)];
  if (pages.length === 1) {
    await wholeYear();
    await margin();
  }
  context = await startBrowser();
  await firstPictures("the page as it is opened", "", pages);
  await firstPictures("a link to a lesson at 12 months", answered, pages);
  await firstPictures("a link to eyes of one's own", ownEyes, pages);
  if (pages.length === 1) {
    for (const one of stepped) await sliderStep(...one);
    for (const [what, about] of stepped.slice(0, 2)) await band(what, about);
  }
} finally {
  await stopBrowser();
  await rm(folder, { recursive: true });
}
