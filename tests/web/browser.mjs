// SPDX-License-Identifier: BSD-3-Clause
// The built page in headless Chromium, or in Firefox, opened from disk, with the network off.
import assert from "node:assert/strict";
import { existsSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { page as pageFile, requireTool } from "./built.mjs";

const { chromium, _bidiFirefox } = requireTool("playwright-core");
export const address = pathToFileURL(pageFile).href;
const flags = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--mute-audio",
];

/** How long a condition may take to come true [ms]: a machine may be slow and busy. Nothing is expected to be quick. */
export const patience = Number(process.env.CAPSIM_WEB_PATIENCE ?? 240_000);

let profile, context, firefox;
const requests = [],
  errors = [];

/** One browser for a test file, with a profile folder of its own. */
export async function startBrowser(options = {}) {
  profile = mkdtempSync(join(tmpdir(), "capsim chromium "));
  context = await chromium.launchPersistentContext(profile, {
    executablePath: process.env.CAPSIM_CHROMIUM ?? "/usr/bin/chromium",
    headless: true,
    args: flags,
    acceptDownloads: true,
    viewport: { width: 1440, height: 900 },
    ...options,
  });
  await context.setOffline(true);
  context.setDefaultTimeout(patience);
  return context;
}

/** Firefox as the system has it, driven by the standard protocol; undefined where there is none. */
export async function startFirefox() {
  const executablePath = process.env.CAPSIM_FIREFOX ?? "/usr/bin/firefox-esr";
  if (!existsSync(executablePath)) return undefined;
  firefox = await _bidiFirefox.launch({ executablePath, headless: true, timeout: patience });
  context = await firefox.newContext({ viewport: { width: 1280, height: 720 } });
  context.setDefaultTimeout(patience);
  return context;
}

export async function stopBrowser() {
  await context?.close();
  await firefox?.close();
  if (profile !== undefined) rmSync(profile, { recursive: true, force: true });
}

/** Of what the first screen does not show whole, by id. */
export const cutOff = (page, ids) =>
  page.evaluate(
    (wanted) =>
      wanted.filter((id) => {
        const { top, bottom, left, right, width } = document.getElementById(id).getBoundingClientRect();
        return width === 0 || top < -0.5 || left < -0.5 || bottom > innerHeight + 0.5 || right > innerWidth + 0.5;
      }),
    ids,
  );
/** What has to be there: both eyes, the clock, the verdict; and the sizes of the screens. */
export const firstScreen = ["eye-a", "eye-b", "play", "scrub", "day", "verdict"];
export const screens = [
  [1280, 720],
  [1366, 768],
  [1024, 768],
  [390, 844],
];

export const lessonKeys = ["small", "sector", "polish", "look", "ring", "ringsize", "when", "number", "side", "laws"];
/** One lesson from its question to what is to be tried, by keys alone. */
export async function lessonByKeyboard(page, key) {
  await page.focus(`[data-lesson=${key}]`);
  await page.keyboard.press("Enter");
  await drawn(page);
  assert.equal(await page.getAttribute(`[data-lesson=${key}]`, "aria-current"), "step");
  assert.equal((await dataset(page)).day, "0.000");
  assert.equal(await page.isVisible("#result"), false, "the answer is not given away");
  await page.keyboard.press("1");
  assert.equal((await dataset(page)).step, "2");
  await page.focus("#lesson-next");
  await page.keyboard.press("Enter");
  await page.waitForFunction(() => document.body.dataset.step === "3");
  assert.ok((await page.textContent("#lesson .why")).length > 20, key); // as soon as the runs are there
  assert.match(await text(page, "lesson"), /You said “/);
  assert.match(await text(page, "verdict"), /^(At \d+ months|Half of)/);
  await page.focus("#lesson-next");
  await page.keyboard.press("Enter");
  assert.equal((await dataset(page)).step, "4");
  assert.ok(await page.isVisible("#trial"), key);
}

/** The first lesson with its answer out: everything is on the page. */
export const answered = "#lesson=small&step=3&day=365&lang=en";
/** As someone finds it who comes without a link. */
export const begin = { hash: "#lang=en", settle: "drawn" };

/** A fresh page; `settle: false` returns as soon as it is loaded, "drawn" when there are pictures. */
export async function open({
  width = 1440,
  height = 900,
  hash = answered,
  settle = true,
  colours = "light",
  reducedMotion = "no-preference",
} = {}) {
  const page = await context.newPage();
  requests.length = errors.length = 0;
  page.on("request", (request) => {
    if (!/^(blob:|data:)/.test(request.url())) requests.push(request.url());
  });
  page.on("pageerror", (error) => errors.push(error.message));
  page.on("console", (message) => {
    if (message.type() === "error") errors.push(message.text());
  });
  await page.setViewportSize({ width, height });
  await page.emulateMedia({ colorScheme: colours, reducedMotion });
  await page.goto(address + hash);
  if (settle) await (settle === "drawn" ? drawn(page) : settled(page));
  return page;
}

/** A browser for a test file, and the page that its tests share. */
export async function startWithPage(opened = { settle: "drawn" }) {
  const started = await startBrowser();
  return { context: started, page: await open(opened) };
}
export async function stopWithPage(page) {
  await close(page);
  await stopBrowser();
}

/** Closes a page; whatever it complained about, or asked the network for, fails the test. */
export async function close(page) {
  await page.close();
  assert.deepEqual(errors, [], "the page raised errors");
  assert.deepEqual(
    requests.filter((url) => url.split("#")[0] !== address),
    [],
    "the page asked for something outside itself",
  );
}

/** Waits until each eye on screen has a picture, quick or fine. */
export const drawn = (page) =>
  page.waitForFunction(() => {
    const { ready, levelA, levelB, eyes } = document.body.dataset;
    return ready === "true" && levelA !== undefined && (eyes === "1" || levelB !== undefined);
  });

/** Waits until the standard answers are in. */
export const settled = (page) =>
  page.waitForFunction(
    () =>
      document.body.dataset.busy === "false" &&
      document.body.dataset.levelA !== undefined &&
      document.getElementById("about").textContent !== "",
  );

let followed = 0;
/** Follows a link on an open page, and waits until it is as a fresh one would be: folds closed, the standard answers in.
 *  The page itself is not loaded, nor its engine made ready, once more. */
export async function follow(page, hash = answered) {
  await page.evaluate(() =>
    document.querySelectorAll("details:not(#controls *)").forEach((fold) => (fold.open = false)),
  );
  await settles(page, () => page.evaluate((to) => (location.hash = to), `${hash}&again=${++followed}`));
}

export const pixels = (page, id = "eye-a") => page.evaluate((at) => document.getElementById(at).toDataURL(), id);

/** Acts, and waits until the standard answers to that are in. */
export async function settles(page, act) {
  const before = Number((await dataset(page)).settled ?? 0);
  await act();
  await page.waitForFunction(
    (was) => Number(document.body.dataset.settled ?? 0) > was && document.body.dataset.busy === "false",
    before,
  );
}

/** Waits until the crowds behind the bands are complete. */
export const crowded = (page, sides = "AB") =>
  page.waitForFunction((wanted) => [...wanted].every((side) => document.body.dataset[`crowd${side}`] === "32"), sides);

/** Waits until the eyes under the other contraction law have had their turn: the law, or "none". */
export const otherLaws = (page, sides = "AB") =>
  page.waitForFunction(
    (wanted) => [...wanted].every((side) => document.body.dataset[`law${side}`] !== undefined),
    sides,
  );

/** Acts, and waits until the picture is another one. */
export async function moves(page, act, id = "eye-a") {
  const before = await pixels(page, id),
    { answers } = await dataset(page);
  await act();
  // Once for each answer and each day: to encode the picture costs as much as to draw it, and the answer waits for that.
  await page.waitForFunction(
    ([at, was, old]) => {
      const { answers: now, day } = document.body.dataset,
        state = `${now} ${day}`;
      if (state === window.compared || (now === old.answers && day === old.day)) return false;
      window.compared = state;
      return document.getElementById(at).toDataURL() !== was;
    },
    [id, before, { answers, day: (await dataset(page)).day }],
    { polling: 30 },
  );
}

export const openAll = (page) =>
  page.evaluate(() =>
    document.querySelectorAll("details").forEach((d) => {
      d.open = true;
    }),
  );
export const dataset = (page) => page.evaluate(() => ({ ...document.body.dataset }));
export const text = (page, id) =>
  page.evaluate((at) => document.getElementById(at).textContent.trim().replace(/\s+/g, " "), id);

/** Sets a slider as a hand would: through its events. */
export const slide = (page, id, value, rest = true) =>
  page.evaluate(
    ([at, to, resting]) => {
      const slider = document.getElementById(at);
      slider.value = String(to);
      slider.dispatchEvent(new Event("input", { bubbles: true }));
      if (resting) slider.dispatchEvent(new Event("change", { bubbles: true }));
    },
    [id, value, rest],
  );

/** A link to a pair of eyes, made the way the page makes it; without bands unless asked for. */
export const hashOf = (pair) =>
  `#s=${Buffer.from(JSON.stringify({ spread: "", ...pair })).toString("base64url")}&lang=en`;
/** The pair in a link of the page. */
export const pairIn = (link) =>
  JSON.parse(Buffer.from(new URLSearchParams(new URL(link).hash.slice(1)).get("s"), "base64url").toString("utf8"));
/** On a coarse mesh: what the page does with an answer is asked here, not how fine the answer is. */
export const eye = (rest = {}) => ({
  format: "capsim-scenario",
  version: 1,
  name: "Test eye",
  eye: "right",
  mesh: { around: 24, radial: 4 },
  ...rest,
});

export async function download(page, id) {
  const [file] = await Promise.all([page.waitForEvent("download"), page.click(`#${id}`)]);
  return { name: file.suggestedFilename(), path: await file.path() };
}
