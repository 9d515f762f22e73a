// SPDX-License-Identifier: BSD-3-Clause
// Every control changes the eye it is for; what cannot be is refused in words; what was done can be undone.
import assert from "node:assert/strict";
import test, { after, before } from "node:test";
import {
  address,
  dataset,
  eye,
  follow,
  hashOf,
  moves,
  openAll,
  otherLaws,
  pairIn,
  pixels,
  settled,
  settles,
  slide,
  startWithPage,
  stopWithPage,
  text,
} from "./browser.mjs";

let context, page;
before(async () => {
  ({ context, page } = await startWithPage());
});
after(() => stopWithPage(page));

test("every_control_moves_the_picture", async (t) => {
  await follow(
    page,
    hashOf({ a: eye({ opening: { diameter_mm: 4.5 }, contraction: { chronic_signal: 0.1 } }), b: null }),
  );
  // The folds of the panel alone: words that come with an answer would push it down under the mouse.
  await page.$$eval("#panel details", (folds) => folds.forEach((fold) => (fold.open = true)));
  const wedge = (dial, hour) => page.locator(`#${dial} [data-hour="${hour}"] .well`);
  const acts = {
    "opening diameter": () => slide(page, "opening-diameter", 4),
    "opening diameter, typed": async () => {
      await page.fill("#opening-diameter-box", "4.35");
      await page.press("#opening-diameter-box", "Tab");
    },
    "centre across": () => slide(page, "opening-x", 0.3),
    "centre up": () => slide(page, "opening-y", -0.2),
    "uniformly weak": () => page.click("[data-preset=weak]"),
    "weak sector": () => page.click("[data-preset=sector]"),
    "missing sector": () => page.click("[data-preset=missing]"),
    firm: () => page.click("[data-preset=firm]"),
    "an hour of the zonule, dragged": async () => {
      const box = await wedge("zonule-dial", 9).boundingBox();
      await page.mouse.move(box.x + 4, box.y + box.height / 2);
      await page.mouse.down();
      await page.mouse.move(box.x + box.width - 4, box.y + box.height / 2, { steps: 4 });
      await page.mouse.up();
    },
    "all hours of the zonule": () => slide(page, "zonule-all", 45),
    "left eye": () => page.check("#eye input[value=left]"),
    "cells left": () => slide(page, "cells-all", 30),
    "cells at one hour": () => wedge("cells-dial", 12).click({ position: { x: 12, y: 8 } }),
    "lasting stimulus": () => slide(page, "chronic", 0.6),
    "what pulls": () => page.check("#law input[value=active_lock_in]"),
    "what pulls, back": () => page.check("#law input[value=fibre_remodelling]"),
    "the whole bag": () => page.check("#contracts input[value=bag]"),
    "the rim again": () => page.check("#contracts input[value=rim]"),
    "optic diameter": () => slide(page, "optic", 5.5),
    "axis of the haptics": () => slide(page, "axis", 6),
    "three haptics": () => page.check("#haptics input[value='3']"),
    "no lens": () => page.check("#haptics input[value='0']"),
    "two haptics": () => page.check("#haptics input[value='2']"),
    "an occasion of cuts": () => page.click("#add-cuts"),
    "day of the cuts": () => slide(page, "cut-day-0", 150),
    "length of the cuts": () => slide(page, "cut-length-0", 0.5),
    "an hour of the cuts": () => wedge("cut-dial-0", 3).click(),
    "a second occasion": () => page.click("#add-cuts"),
    "removing an occasion": () => page.click("text=Remove occasion 2"),
    "a tension ring": () => page.check("#ring input[value='12.3']"),
    "gap of the ring": () => slide(page, "ring-gap", 4),
  };
  for (const [name, act] of Object.entries(acts)) {
    await moves(page, act).catch((error) => {
      throw new Error(`${name} left the picture as it was: ${error.message}`);
    });
  }
  t.diagnostic(`${Object.keys(acts).length} controls`);
  assert.equal(await page.isVisible("#trouble"), false, await text(page, "trouble"));
});

test("an_impossible_scenario_says_why_and_recovers", async () => {
  await follow(
    page,
    hashOf({ a: eye({ events: [{ day: 91, relaxing_cuts: { hours: [12, 6], length_mm: 0.75 } }] }), b: null }),
  );
  const before = await pixels(page);
  await slide(page, "opening-diameter", 7);
  await slide(page, "cut-length-0", 2);
  await page.waitForSelector("#trouble", { state: "visible" });
  assert.match(await text(page, "trouble"), /Relaxing cuts: .*length_mm.*allowed/);
  assert.equal(await page.getAttribute("#trouble", "role"), "alert");
  await slide(page, "cut-length-0", 0.5);
  await slide(page, "opening-diameter", 5);
  await page.waitForSelector("#trouble", { state: "hidden" });
  await settled(page);
  assert.notEqual(await pixels(page), before, "the picture is that of the new scenario");
});

test("a_file_that_is_no_scenario_is_refused_in_words_and_changes_nothing", async () => {
  await follow(page);
  const before = await page.inputValue("#link");
  const give = (name, content) =>
    page.setInputFiles("#file", { name, mimeType: "application/json", buffer: Buffer.from(content) });
  await give("a.json", "{not json");
  await page.waitForFunction(() => /not JSON/.test(document.getElementById("trouble").textContent));
  await give("b.json", JSON.stringify({ ...eye(), openning: { diameter_mm: 5 } }));
  await page.waitForFunction(() => /openning/.test(document.getElementById("trouble").textContent));
  assert.equal(await page.inputValue("#link"), before);
  await moves(page, () => give("c.json", JSON.stringify(eye({ opening: { diameter_mm: 3.5 } }))));
  await page.waitForSelector("#trouble", { state: "hidden" });
  assert.equal(await page.inputValue("#opening-diameter-box"), "3.50");
});

test("a_left_eye_is_the_mirror_image_of_the_right_one", async () => {
  const lopsided = eye({
    opening: { diameter_mm: 5, center_mm: [0.2, 0] },
    lens: { axis_hour: 1 },
    zonule: { pull_mN: 60, strength: 0.5, strength_by_hour: { 3: 0, 4: 0 } },
    contraction: { fibre_modulus_kPa: 600, chronic_signal: 0.2 },
  });
  await follow(page, hashOf({ a: lopsided, b: lopsided }));
  await openAll(page);
  await page.click("#edit-b");
  await settles(page, () => page.check("#eye input[value=left]"));
  assert.equal(await page.inputValue("#opening-x-box"), "-0.20");
  await otherLaws(page); // the last of all that is read out
  const readings = await page.evaluate(() =>
    ["a", "b"].map((side) =>
      [...document.querySelectorAll(`#reading p[data-of=${side}]`)].map((p) => p.textContent.slice(1)).join(" "),
    ),
  );
  const clock = /((?:\d+(?:, | and )?)+) o'clock/g;
  const [right, left] = readings.map((words) =>
    [...words.matchAll(clock)].map(([, hours]) => hours.match(/\d+/g).map(Number)),
  );
  assert.equal(right.length, 2, "the weak hours and the loaded ones are named");
  assert.deepEqual(
    left.map((hours) => hours.map((h) => 12 - h || 12).sort((p, q) => p - q)),
    right,
  );
  assert.equal(...readings.map((words) => words.replaceAll(clock, "H")), "nasal stays nasal");
  assert.match(readings[0], /temporally/);
  // The pictures themselves: the field inside the clock, turned over, differs by the rounding of edges only.
  const off = await page.evaluate(() => {
    const [a, b] = ["eye-a", "eye-b"].map((id) => {
      const c = document.getElementById(id);
      return c.getContext("2d").getImageData(0, 0, c.width, c.height);
    });
    let differing = 0,
      count = 0;
    const n = a.width,
      r = 0.36 * n;
    for (let y = 0; y < n; ++y)
      for (let x = 0; x < n; ++x) {
        if (Math.hypot(x - n / 2, y - n / 2) > r) continue;
        ++count;
        const p = 4 * (y * n + x),
          q = 4 * (y * n + (n - 1 - x));
        if (Math.abs(a.data[p] - b.data[q]) + Math.abs(a.data[p + 1] - b.data[q + 1]) > 120) ++differing;
      }
    return differing / count;
  });
  assert.ok(off < 0.06, `${(100 * off).toFixed(1)} % of the pixels differ`); // haptics and hoop lines keep their sense of rotation
});

test("an_eye_is_called_by_what_is_set_on_it_until_it_is_given_a_name", async () => {
  const lesson = "#lesson=small&step=4&day=365&lang=en";
  await follow(page, lesson);
  await page.click("#edit-b");
  const name = () => page.textContent(".eye[data-side=b] .eye-name");
  assert.equal(await name(), "Small opening");
  await settles(page, () => slide(page, "opening-diameter", 6)); // small no longer
  assert.equal(await name(), "6.00 mm");
  await openAll(page);
  assert.equal(await page.inputValue("#name"), "6.00 mm");
  await settles(page, () => page.click("[data-preset=missing]"));
  assert.equal(await name(), "6.00 mm, fibres missing");
  await page.click("#undo");
  await page.click("#undo");
  await settled(page);
  assert.equal(await name(), "Small opening");
  await page.fill("#name", "Left eye of the talk");
  await settles(page, () => page.press("#name", "Tab"));
  await settles(page, () => slide(page, "opening-diameter", 5));
  assert.equal(await name(), "Left eye of the talk", "a name that was given stays");
  await page.click("#edit-a");
});

test("undo_redo_reset_and_the_link_bring_scenarios_back", async () => {
  await follow(page);
  await page.click("#edit-a");
  const link = () => page.inputValue("#link");
  const size = () => page.inputValue("#opening-diameter-box");
  const own = async () => pairIn(await link()).a.opening?.diameter_mm;
  const start = await link();
  assert.match(start, /#lesson=small&step=3&day=365&lang=en$/, "eyes of a lesson are named, not spelt out");
  await slide(page, "opening-diameter", 4.6);
  assert.equal(await own(), 4.6);
  await page.click("#undo");
  assert.equal(await link(), start);
  assert.equal(await size(), "5.50");
  await page.keyboard.press("Control+y");
  assert.equal(await own(), 4.6);
  await settled(page);
  await page.fill("#scrub", "182");
  await page.dispatchEvent("#scrub", "change");
  const reading = await text(page, "reading");
  const other = await context.newPage();
  await other.goto(address + new URL(await link()).hash);
  await settled(other);
  assert.equal(await text(other, "reading"), reading);
  assert.equal((await dataset(other)).day, "182.000");
  await other.reload(); // the address holds it all
  await settled(other);
  assert.equal(await text(other, "reading"), reading);
  await other.close();
  await page.click("#reset");
  assert.equal(await size(), "5.25");
  assert.equal(await page.locator("#lesson-row [aria-current]").count(), 0);
  await page.click("#undo");
  assert.equal(await own(), 4.6);
  assert.match(await text(page, "lesson"), /Small or large opening/, "the lesson's text comes back too");
  await settled(page);
});
