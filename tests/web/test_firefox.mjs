// SPDX-License-Identifier: BSD-3-Clause
// The page in Firefox: every lesson by keyboard, the first screen, and what can be taken along.
import assert from "node:assert/strict";
import test, { after, before } from "node:test";
import {
  close,
  cutOff,
  drawn,
  eye,
  firstScreen,
  hashOf,
  lessonByKeyboard,
  lessonKeys,
  open,
  screens,
  startFirefox,
  stopBrowser,
  text,
} from "./browser.mjs";

let context;
before(async () => {
  context = await startFirefox();
});
after(stopBrowser);
const inFirefox = (name, run) =>
  test(name, async (t) => (context === undefined ? t.skip("Firefox can not be installed here") : run(t)));

inFirefox("in_firefox_every_lesson_goes_from_question_to_reveal_by_keyboard_alone", async () => {
  const page = await open({ hash: "#lang=en", settle: "drawn" });
  for (const key of lessonKeys) await lessonByKeyboard(page, key);
  await close(page);
});

inFirefox("in_firefox_eyes_clock_play_and_verdict_are_on_the_first_screen", async () => {
  const page = await open({ hash: "#lesson=when&step=3&day=365&lang=en", settle: "drawn" });
  for (const [width, height] of screens) {
    await page.setViewportSize({ width, height });
    await page.waitForFunction((wide) => innerWidth === wide, width);
    assert.deepEqual(await cutOff(page, firstScreen), [], `${width} by ${height}`);
  }
  await close(page);
});

inFirefox("in_firefox_pictures_film_numbers_and_handout_are_made", async () => {
  const page = await open({
    hash: hashOf({ a: { ...eye(), duration_days: 20, mesh: { around: 24, radial: 4 } }, b: null }),
  });
  // What a download would hold, taken where the page hands it over.
  await page.evaluate(() => {
    window.taken = {};
    HTMLAnchorElement.prototype.click = async function () {
      const bytes = new Uint8Array(await (await fetch(this.href)).arrayBuffer());
      window.taken[this.download] = { size: bytes.length, head: String.fromCharCode(...bytes.slice(0, 60)) };
    };
  });
  const made = async (id, name) => {
    await page.click(`#${id}`);
    await page.waitForFunction((wanted) => window.taken[wanted] !== undefined, name);
    return page.evaluate((wanted) => window.taken[wanted], name);
  };
  assert.match((await made("save-png", "capsule-opening-day-020.png")).head, /^.PNG/);
  assert.match((await made("save-svg", "capsule-opening-day-020.svg")).head, /<svg[^>]*1920/);
  assert.match((await made("save-visits", "capsule-opening-visits.zip")).head, /^PK.*day-000\.png/s);
  const gif = await made("save-gif", "capsule-opening.gif");
  assert.match(gif.head, /^GIF89a/);
  assert.ok(gif.size > 50_000, `${gif.size} bytes`);
  assert.match((await made("save-csv", "capsule-opening.csv")).head, /^# For research and teaching/);
  assert.match((await made("save-json", "capsule-opening.json")).head, /capsim-classroom-result/);
  assert.match((await made("save-scenario", "scenario-a.json")).head, /capsim-scenario/);
  await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
  assert.match(await text(page, "handout"), /My prediction, and why:.*Follow-up visits.*not for treating a patient/s);
  assert.equal(await page.locator("#handout .qr svg").count(), 1);
  await drawn(page);
  await close(page);
});
