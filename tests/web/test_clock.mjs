// SPDX-License-Identifier: BSD-3-Clause
// The clock of both pictures, and what is read off them and off the curves.
import assert from "node:assert/strict";
import test, { after, before } from "node:test";
import {
  answered,
  close,
  dataset,
  eye,
  follow,
  hashOf,
  open,
  openAll,
  otherLaws,
  pixels,
  settles,
  startWithPage,
  stopWithPage,
  text,
} from "./browser.mjs";

let page;
before(async () => {
  ({ page } = await startWithPage());
});
after(() => stopWithPage(page));

test("nothing_moves_before_it_is_asked_to", async () => {
  await follow(page);
  const [day, picture] = [(await dataset(page)).day, await pixels(page)];
  await page.waitForTimeout(800);
  assert.equal((await dataset(page)).day, day);
  assert.equal(await pixels(page), picture);
});

test("both_eyes_run_on_one_clock_with_one_scale", async () => {
  await follow(page);
  assert.match(await text(page, "difference"), /^B minus A, day 365: area −/);
  const [a, b] = [await pixels(page), await pixels(page, "eye-b")];
  assert.notEqual(a, b);
  await page.fill("#scrub", "20");
  assert.match(await text(page, "difference"), /day 20/);
  assert.notEqual(await pixels(page), a);
  assert.notEqual(await pixels(page, "eye-b"), b);
  const widths = await page.evaluate(() => ["eye-a", "eye-b"].map((id) => document.getElementById(id).width));
  assert.equal(widths[0], widths[1], "a millimetre is as long in both pictures");
  await settles(page, () => page.click("#copy")); // A to B: the same eye twice has no difference
  assert.match(
    await text(page, "difference"),
    /area ±0\.0 mm², diameter ±0\.00 mm, decentration ±0\.00 mm, zonule load ±0\.0 mN/,
  );
  await openAll(page);
  await page.uncheck("#compare");
  assert.equal(await page.isVisible("#eye-b"), false);
  assert.equal(await text(page, "difference"), "");
});

test("the_clock_plays_pauses_steps_and_scrubs", async () => {
  await follow(page);
  const day = async () => Number((await dataset(page)).day);
  await openAll(page);
  await page.fill("#scrub", "0");
  await page.click("#forth");
  assert.equal(await day(), 7);
  await page.click("#back");
  assert.equal(await day(), 0);
  await page.selectOption("#speed", "3");
  await page.click("#play");
  await page.waitForFunction(() => Number(document.body.dataset.day) > 30);
  await page.click("#play");
  const stopped = await day();
  await page.waitForTimeout(300);
  assert.equal(await day(), stopped);
  assert.equal(await text(page, "play"), "Play");
  for (const [name, to] of [
    ["1 day", 1],
    ["1 week", 7],
    ["1 month", 30],
    ["3 months", 91],
    ["6 months", 182],
    ["12 months", 365],
  ]) {
    await page.click(`#visit-row >> text="${name}"`);
    assert.equal(await day(), to);
    assert.match(await text(page, "reading"), new RegExp(`At ${name} the opening is \\d`));
  }
  await page.locator("#curve-area").scrollIntoViewIfNeeded();
  const curve = await page.locator("#curve-area").boundingBox();
  await page.mouse.click(curve.x + curve.width / 2, curve.y + curve.height / 2);
  const middle = await day();
  assert.ok(middle > 150 && middle < 250, `clicked the middle of the year, got day ${middle}`);
  await page.click("#play");
  await page.waitForFunction(
    () => Number(document.body.dataset.day) === 365 && document.getElementById("play").textContent === "Play",
  );
});

test("words_of_a_day_are_hidden_while_the_clock_moves_on_and_come_back_with_the_day_it_rests_on", async () => {
  await follow(page, answered);
  await page.click("#more > summary");
  assert.equal(await page.isVisible("#reading-first"), true);
  await page.click("#play"); // from the end it begins anew
  await page.waitForFunction(() => Number(document.body.dataset.day) > 3);
  assert.equal(await page.isVisible("#reading-first"), false, "they are of another day");
  assert.match(await text(page, "verdict"), /^(On day|At \d|Day)/, "the verdict follows");
  await page.click("#play");
  assert.equal(await page.isVisible("#reading-first"), true);
  const day = Math.round(Number((await dataset(page)).day));
  assert.match(await text(page, "reading-first"), new RegExp(`day ${day} `));
});

test("where_motion_is_to_be_avoided_playing_shows_one_still_after_another", async () => {
  const page = await open({ reducedMotion: "reduce" });
  await openAll(page);
  await page.fill("#scrub", "0");
  await page.selectOption("#speed", "3");
  await page.evaluate(() => {
    window.days = new Set();
    new MutationObserver(() => window.days.add(Number(document.body.dataset.day))).observe(document.body, {
      attributes: true,
    });
  });
  await page.click("#play");
  await page.waitForFunction(() => window.days.size >= 4);
  await page.click("#play");
  const days = await page.evaluate(() => [...window.days]);
  for (const day of days)
    assert.ok(
      [0, 1, 7, 30, 61, 91, 122, 152, 182, 213, 243, 274, 304, 335, 365].includes(day),
      `day ${day} is not one of the stills`,
    );
  await close(page);
});

test("what_the_opening_has_lost_is_tinted_and_the_view_from_the_side_says_that_it_is_a_sketch", async () => {
  await follow(page, hashOf({ a: { ...eye(), duration_days: 30, mesh: { around: 24, radial: 4 } } }));
  // Where the tint is, the opening's red outweighs its blue more than on day 0: the share of such points of the picture.
  const tinted = () =>
    page.evaluate(() => {
      const canvas = document.getElementById("eye-a"),
        { width, height } = canvas,
        { data } = canvas.getContext("2d").getImageData(0, 0, width, height);
      let count = 0;
      for (let i = 0; i < data.length; i += 4) if (data[i] - data[i + 2] > 60 && data[i] > 120) ++count;
      return count / (width * height);
    });
  await page.focus("#scrub");
  await page.keyboard.press("Home");
  await page.waitForFunction(() => document.body.dataset.day === "0.000");
  const before = await tinted();
  await page.keyboard.press("End");
  await page.waitForFunction(() => document.body.dataset.day === "30.000");
  assert.ok((await tinted()) > before + 1e-3, `${await tinted()} of the picture is tinted, ${before} on day 0`);
  const written = await page.evaluate(() => {
    const { fillText } = CanvasRenderingContext2D.prototype,
      words = [];
    CanvasRenderingContext2D.prototype.fillText = function (text, ...rest) {
      if (this.canvas.id === "section") words.push(text);
      return fillText.call(this, text, ...rest);
    };
    dispatchEvent(new Event("resize"));
    CanvasRenderingContext2D.prototype.fillText = fillText;
    return words.join(" ") + document.getElementById("section").closest("figure")?.textContent;
  });
  assert.match(written, /sketch/);
});

test("an_hour_pointed_at_is_read_off_on_both_eyes_and_a_day_on_every_curve", async () => {
  const short = { ...eye(), duration_days: 30, mesh: { around: 24, radial: 4 }, opening: { diameter_mm: 4.5 } };
  const gap = { ...short, zonule: { strength_by_hour: { 4: 0 } } };
  await follow(page, hashOf({ a: short, b: gap }));
  await otherLaws(page); // the last that changes a picture by itself
  const names = ["eye-a", "eye-b", "rose", "section", "curve-area", "curve-load"];
  const pictures = async () =>
    Object.fromEntries(await Promise.all(names.map(async (id) => [id, await pixels(page, id)])));
  const changed = async (before, act, said) => {
    await act();
    await page.waitForFunction(said);
    const now = await pictures();
    return names.filter((id) => now[id] !== before[id]);
  };
  assert.equal(await page.isVisible("#pointed"), false);
  const box = await page.locator("#eye-b").boundingBox();
  const atFour = [box.x + box.width * (0.5 + 0.3 * Math.cos(Math.PI / 6)), box.y + box.height * (0.5 + 0.3 * 0.5)];
  assert.deepEqual(
    await changed(
      await pictures(),
      () => page.mouse.move(...atFour),
      () => !document.getElementById("pointed").hidden,
    ),
    ["eye-a", "eye-b", "rose", "section"],
  );
  // 4 o'clock has no fibres in B: they carry nothing.
  assert.match(
    await text(page, "pointed"),
    /^4 o'clock: A rim \d\.\d\d mm in, \d\.\d times a healthy hour; B .* 0\.0 times/,
  );
  await page.mouse.move(5, 5);
  await page.waitForFunction(() => document.getElementById("pointed").hidden);
  assert.deepEqual(
    await changed(
      await pictures(),
      async () => {
        await page.focus("#curve-area");
        await page.keyboard.press("Home");
        for (let i = 0; i < 3; ++i) await page.keyboard.press("ArrowRight");
      },
      () => document.getElementById("curve-load").getAttribute("aria-valuenow") === "21",
    ),
    ["curve-area", "curve-load"],
  );
  assert.match(await page.getAttribute("#curve-area", "aria-valuetext"), /^day 21: A \d+\.\d mm², B \d+\.\d mm²$/);
  assert.equal((await dataset(page)).day, "30.000", "pointing does not move the clock");
});

test("loads_are_told_as_times_a_healthy_one_and_in_millinewton_on_demand", async () => {
  await follow(page, hashOf({ a: { ...eye(), duration_days: 30, zonule: { pull_mN: 24 } }, b: null }));
  const told = async () => [await text(page, "reading"), await page.getAttribute("#curve-load", "aria-label")];
  const [words, curve] = await told();
  const times = Number(/The zonule carries (\d\.\d) times what a healthy one does/.exec(words)[1]);
  assert.match(curve, /in multiples of a healthy one over time/);
  await page.evaluate(() => (document.getElementById("view-fold").open = true));
  await page.check("#in-millinewton");
  const [inMillinewton, curveInMillinewton] = await told();
  const load = Number(/The zonule carries (\d+) mN in all/.exec(inMillinewton)[1]);
  assert.ok(Math.abs(load - 24 * times) <= 0.5 + 24 * 0.05, `${load} mN, ${times} times 24`);
  assert.match(curveInMillinewton, /in mN over time/);
});
