// SPDX-License-Identifier: BSD-3-Clause
// What is seen before anything has been computed: eyes that came with the page, and nothing that its engine has not said.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import test, { after, before } from "node:test";
import { capsim, page as pageFile, pageModules } from "./built.mjs";
import { address, answered, close, drawn, eye, hashOf, open, startBrowser, stopBrowser } from "./browser.mjs";

let context, file, shippedEyes, lessons, keyOf, engine;
before(async () => {
  context = await startBrowser();
  file = await readFile(pageFile, "utf8");
  shippedEyes = JSON.parse(/<script type="application\/json" id="shipped-eyes">(.*?)<\/script>/.exec(file)[1]);
  ({ lessons, keyOf } = await pageModules(
    'export { keyOf } from "./state/shipped.js"; export { lessons } from "./lessons/lesson_list.js";',
  ));
  engine = await capsim.loadEngine();
});
after(stopBrowser);

const eyesOf = (lesson) => (lesson.b === null ? [lesson.a] : [lesson.a, lesson.b]);
const coarse = (scenario) => ({ ...scenario, mesh: { around: 24, radial: 4 }, output_every_days: 14 });

test("the_eyes_that_come_with_the_page_are_those_of_its_engine_to_the_digits_shown", () => {
  const same5 = (value, exact, what) => assert.ok(Math.abs(value - exact) <= 5.01e-6, `${what}: ${value}, ${exact}`);
  assert.equal(shippedEyes.version, engine.about.version);
  const wanted = new Set(lessons().flatMap((lesson) => eyesOf(lesson).map(keyOf)));
  assert.deepEqual(Object.keys(shippedEyes.eyes).sort(), [...wanted].sort());
  for (const lesson of lessons())
    for (const scenario of eyesOf(lesson)) {
      const history = engine.simulate(coarse(scenario)),
        { loadTop, moments } = JSON.parse(shippedEyes.eyes[keyOf(scenario)]);
      assert.equal(moments.length, 2);
      same5(loadTop, Math.max(...history.values("zonule_load_mN")), "the top of the colour scale");
      for (const [moment, day] of [
        [moments[0], 0],
        [moments[1], lesson.day],
      ]) {
        const row = history.day.lastIndexOf(day),
          what = `${lesson.key} ${scenario.name}, day ${day}`;
        const same = (held, series) =>
          [held].flat(2).forEach((value, i) => same5(value, history.value(series, row, i), `${what}, ${series}`));
        assert.equal(moment.day, day);
        same(moment.diameter, "opening_diameter_mm");
        assert.equal(moment.diameter.toFixed(2), history.value("opening_diameter_mm", row).toFixed(2), what);
        same(moment.area, "opening_area_mm2");
        same(moment.rim, "rim_outline_mm");
        same(moment.equator, "equator_outline_mm");
        same(moment.lens, "lens_center_mm");
        same(moment.opening, "opening_center_mm");
        same(moment.load, "zonule_load_mN");
        same(moment.tissueByHour, "fibrous_tissue_by_hour");
        assert.equal(moment.ring !== null, scenario.tension_ring !== undefined, what);
        if (moment.ring !== null) same(moment.ring, "ring_outline_mm");
      }
    }
});

/** Every place of a scenario where a value stands. */
const leaves = (value, path = []) =>
  typeof value === "object" && value !== null && Object.keys(value).length > 0
    ? Object.entries(value).flatMap(([key, held]) => leaves(held, [...path, key]))
    : [path];
/** The scenario with one value changed, made where there was none. */
function changed(scenario, path, to) {
  const copy = structuredClone(scenario);
  let at = copy;
  for (const key of path.slice(0, -1)) at = at[key] ??= {};
  at[path.at(-1)] = to;
  return copy;
}

test("an_eye_that_differs_from_one_of_a_lesson_in_any_field_did_not_come_with_the_page", () => {
  const comes = (scenario) => Object.hasOwn(shippedEyes.eyes, keyOf(scenario));
  let asked = 0;
  for (const scenario of lessons().flatMap(eyesOf)) {
    assert.ok(comes(scenario));
    assert.ok(comes({ ...scenario, name: "of another name" }), "its name is not in the picture");
    assert.ok(comes({ ...Object.fromEntries(Object.entries(scenario).reverse()), events: scenario.events ?? [] }));
    for (const path of leaves({ ...engine.complete(scenario), ...scenario })) {
      if (path[0] === "name") continue;
      const was = path.reduce((at, key) => at?.[key], scenario);
      const others = typeof was === "number" ? [was * 1.0001 + 1e-6, -was, String(was)] : [0.123, "other", true];
      for (const other of others.filter((value) => value !== was && !Object.is(value, -0))) {
        assert.equal(comes(changed(scenario, path, other)), false, `${path.join(".")} = ${other}`);
        ++asked;
      }
    }
    for (const more of [{ notes: "x" }, { mesh: { around: 48 } }, { duration_days: 364 }])
      assert.equal(comes({ ...scenario, ...more }), false);
  }
  assert.ok(asked > 1000, `${asked} changes`);
  for (const name of ["__proto__", "constructor", "toString"])
    assert.equal(Object.hasOwn(shippedEyes.eyes, name), false);
});

test("before_the_first_picture_a_browser_reads_a_fifth_of_the_page_and_no_engine", () => {
  const [eyes, first, end, side, worker, packed, main] = [
    'id="shipped-eyes"',
    "<script>",
    "</script>\n\n  <div",
    'id="side"',
    'id="capsim-worker"',
    'id="capsim-engine">H4sI',
    "<script>",
  ]
    .reduce((found, what) => [...found, file.indexOf(what, found.at(-1))], [0])
    .slice(1);
  const order = [eyes, first, end, side, worker, packed, main];
  assert.ok(
    order.every((at, i) => at > (order[i - 1] ?? 0)),
    order.join(),
  );
  assert.ok(end < file.length / 5, `${end} of ${file.length} characters`);
  assert.ok(end - first < 1e5, `a script of ${end - first} characters`);
});

test("digits_that_no_picture_shows_do_not_choose_the_hour_that_is_magnified", async () => {
  const { hourOfLongestWay } = await pageModules('export { hourOfLongestWay } from "./stage/rim.js";');
  /** A round rim whose way at some hours is longer than at the others [mm]. */
  const rim = (radius, longer = {}) =>
    Array.from({ length: 144 }, (_, i) => {
      const hour = i / 12 || 12,
        angle = Math.PI / 2 - (i / 72) * Math.PI,
        r = radius - (longer[hour] ?? 0);
      return [r * Math.cos(angle), r * Math.sin(angle)];
    });
  const hours = [12, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11],
    start = { rim: rim(2.7), opening: [0, 0] },
    chosen = (longer) => hourOfLongestWay(start, { rim: rim(2.65, longer) }, hours);
  for (const noise of [0, 4e-5, -4e-5]) assert.equal(chosen({ 3: 0.02, 9: 0.02 + noise }), 3, `${noise} mm`);
  assert.equal(chosen({ 3: 0.02, 9: 0.025 }), 9);
  assert.equal(chosen({}), 12);
  assert.equal(hourOfLongestWay(start, start, []), undefined);
});

/** Opens a page at `hash`, and notes in which order the worker tells of eye A, and the page draws and says it. */
async function orderOf(hash, viewport) {
  const page = await context.newPage();
  if (viewport) await page.setViewportSize(viewport);
  await page.addInitScript(() => {
    window.order = [];
    const note = (what) => {
      const said = ["verdict", "plans", "reading-first"].map((id) => document.getElementById(id)?.textContent ?? "");
      const words = (part) => document.querySelector(`.eye[data-side=a] .${part}`)?.textContent;
      const picture = document.getElementById("eye-a")?.toDataURL();
      const shades = (id) => {
        const canvas = document.getElementById(id);
        return new Set(canvas?.getContext("2d").getImageData(0, 0, canvas.width, canvas.height).data).size;
      };
      const [shadesOfA, shadesOfB] = ["eye-a", "eye-b"].map(shades);
      const box = JSON.stringify(document.getElementById("eye-a")?.getBoundingClientRect());
      const eye = { name: words("eye-name"), level: words("level"), picture, shadesOfA, shadesOfB, box };
      window.order.push({ what, said: said.join(""), written, ...eye });
    };
    let written = [];
    const { fillText } = CanvasRenderingContext2D.prototype;
    CanvasRenderingContext2D.prototype.fillText = function (words, ...rest) {
      if (this.canvas.id === "eye-a") written = [...written.slice(-40), words];
      return fillText.call(this, words, ...rest);
    };
    const mark = performance.mark.bind(performance);
    performance.mark = (name, options) => {
      note(name);
      return mark(name, options);
    };
    window.Worker = class extends Worker {
      constructor(...given) {
        super(...given);
        this.addEventListener("message", ({ data }) => {
          // What the page makes of it is noted, too.
          if (!["begun", "history", "problem"].includes(data.kind)) return;
          note(data.kind);
          setTimeout(() => note(`after ${data.kind}`));
        });
      }
    };
  });
  await page.goto(address + hash);
  await drawn(page); // by the engine
  await page.waitForFunction(() => window.order.some(({ what }) => what === "after history"));
  const order = await page.evaluate(() => window.order);
  const apart = (p, q) => page.evaluate(differing, [p, q]);
  const found = (what) => order.find((noted) => noted.what === what);
  return { page, order, found, apart };
}

/** The most that any pixel of two pictures differs by, of 255; and the share of pixels that differ clearly. */
async function differing(sources) {
  const [p, q] = await Promise.all(
    sources.map(async (source) => {
      const image = new Image();
      image.src = source;
      await image.decode();
      const { naturalWidth: width, naturalHeight: height } = image;
      const g = new OffscreenCanvas(width, height).getContext("2d");
      g.drawImage(image, 0, 0);
      return g.getImageData(0, 0, width, height).data;
    }),
  );
  if (p.length !== q.length) return { most: 255, share: 1 };
  let most = 0,
    clearly = 0;
  for (let i = 0; i < p.length; ++i) {
    const off = Math.abs(p[i] - q[i]);
    most = Math.max(most, off);
    if (off > 20) ++clearly;
  }
  return { most, share: clearly / p.length };
}

for (const [what, hash] of [
  ["as_it_is_opened", "#lesson=small&step=1&day=0&lang=en"],
  ["by_a_link_to_twelve_months", answered],
])
  test(`the_eyes_of_a_lesson_are_drawn_before_a_worker_is_there_and_nothing_is_said_of_them_${what}`, async () => {
    const { page, order, found, apart } = await orderOf(hash);
    const [first] = order;
    assert.equal(first.what, "first-picture");
    assert.equal(first.said, "", "no number of a year that has not been run");
    const [history, whole] = [found("history"), found("after history")];
    assert.equal(history.said, "");
    assert.ok(history.written.includes(hash === answered ? "day 365" : "day 0"));
    assert.match(history.name, /\d\.\d|small|large/i, "whose eye it is");
    assert.equal(history.level, "quick");
    // The quick answer of the engine draws the same once more: but for the last digits of what was shipped.
    const { most } = await apart(first.picture, whole.picture);
    assert.equal(first.box, whole.box, "the picture stays in its place while the page fills");
    assert.ok(most <= 12, `a pixel differs by ${most} of 255`);
    await close(page);
  });

test("one_eye_alone_and_an_eye_with_a_ring_are_there_at_once_too", async () => {
  for (const [key, day] of [
    ["look", 0],
    ["ringsize", 365],
  ]) {
    const { page, order } = await orderOf(`#lesson=${key}&step=3&day=${day}&lang=en`);
    assert.equal(order[0].what, "first-picture", key);
    assert.ok(order[0].shadesOfA > 50 && order[0].shadesOfB > 50 === (key !== "look"), key);
    assert.ok(order[0].written.includes(`day ${day}`), key);
    await close(page);
  }
});

test("an_eye_of_ones_own_is_drawn_as_soon_as_it_is_at_rest_and_on_a_later_day_says_that_it_is_of_day_0", async () => {
  const own = { a: eye({ opening: { diameter_mm: 5.55 } }), b: null };
  const today = await orderOf(`${hashOf(own)}&day=0`);
  assert.deepEqual(
    today.order.slice(0, 2).map(({ what }) => what),
    ["begun", "first-picture"],
  );
  assert.equal(today.found("after begun").level, "quick");
  assert.equal(today.found("history").said, "");
  await close(today.page);
  for (const viewport of [undefined, { width: 390, height: 844 }]) {
    const later = await orderOf(`${hashOf(own)}&day=365`, viewport);
    assert.deepEqual(
      later.order.slice(0, 2).map(({ what }) => what),
      ["begun", "first-picture"],
    );
    const early = later.found("after begun");
    assert.ok(early.level === "so far only day 0" || later.found("after history") !== undefined);
    assert.ok(later.found("first-picture").written.includes("day 0"), "and it says so in the picture, on a phone too");
    assert.ok(!later.found("first-picture").written.includes("day 365"));
    assert.equal(later.found("history").said, "");
    const { share } = await later.apart(later.found("first-picture").picture, later.found("after history").picture);
    assert.ok(share > 0.001, "the year has changed it");
    await close(later.page);
  }
});

test("a_pair_of_which_one_eye_is_that_of_a_lesson_shows_that_one_first_and_waits_for_the_other", async () => {
  const { a } = lessons()[0];
  const { page, order } = await orderOf(`${hashOf({ a, b: { ...a, opening: { diameter_mm: 5.51 } } })}&day=0`);
  assert.equal(order[0].what, "first-picture");
  assert.ok(order[0].shadesOfA > 50, "A is drawn");
  assert.equal(order[0].shadesOfB, 1, "and nothing of B");
  await close(page);
});

test("the_picture_of_another_lesson_is_there_in_the_task_of_the_click_on_it", async () => {
  const page = await open({ hash: "#lesson=small&lang=en" });
  const apart = await page.evaluate(() => {
    const before = document.getElementById("eye-a").toDataURL();
    document.querySelector("[data-lesson=ring]").click();
    const at = document.querySelector(".eye[data-side=a] .eye-name").textContent;
    return { changed: document.getElementById("eye-a").toDataURL() !== before, at };
  });
  assert.equal(apart.changed, true);
  assert.match(apart.at, /ring/i);
  await close(page);
});
