// SPDX-License-Identifier: BSD-3-Clause
// Lessons by key and by touch, before a class, and in the frame of a slide.
import assert from "node:assert/strict";
import test, { after, before } from "node:test";
import {
  address,
  begin,
  close,
  cutOff,
  dataset,
  drawn,
  lessonByKeyboard,
  lessonKeys,
  open,
  startBrowser,
  stopBrowser,
  text,
} from "./browser.mjs";

before(() => startBrowser({ hasTouch: true }));
after(stopBrowser);

test("every_lesson_goes_from_question_to_reveal_by_keyboard_alone", async () => {
  const page = await open(begin);
  for (const key of lessonKeys) await lessonByKeyboard(page, key);
  await close(page);
});

test("a_lesson_goes_from_question_to_reveal_by_touch_and_by_the_clock", async () => {
  const page = await open({ width: 390, height: 844, ...begin });
  await page.evaluate(() => {
    const speed = document.getElementById("speed");
    speed.value = "3"; // folded away while the question stands
    speed.dispatchEvent(new Event("change"));
  });
  await page.tap("[data-answer=b]");
  assert.equal(await text(page, "play"), "Pause");
  await page.waitForFunction(() => document.body.dataset.step === "3"); // the clock reveals it
  assert.equal((await dataset(page)).day, "365.000");
  assert.match(await text(page, "lesson"), /You said “B: Small opening”\. (Right|Not so)\./);
  await page.tap("#lesson-next");
  const before = await text(page, "verdict");
  await page.fill("#trial", "6");
  await drawn(page);
  await page.waitForFunction((was) => document.getElementById("verdict").textContent !== was, before);
  assert.match(await text(page, "lesson"), /You changed this pair/);
  await page.tap("#lesson-restart");
  assert.deepEqual([(await dataset(page)).step, (await dataset(page)).day], ["1", "0.000"]);
  await close(page);
});

/** One lesson from its question to its trial and back by taps alone. */
async function lessonByTouch(page, key) {
  const step = (to) => page.waitForFunction((s) => document.body.dataset.step === s, to);
  await page.tap(`[data-lesson=${key}]`);
  await drawn(page);
  assert.equal(await page.getAttribute(`[data-lesson=${key}]`, "aria-current"), "step");
  assert.deepEqual([(await dataset(page)).day, await page.isVisible("#result")], ["0.000", false], key);
  const answers = page.locator("[data-answer]");
  const answer = (await answers.last().textContent()).slice(1);
  await answers.last().tap();
  await step("2");
  await page.tap("#lesson-next"); // the year at once
  await step("3");
  await page.waitForSelector("#lesson .why");
  assert.ok((await text(page, "lesson")).includes(`You said “${answer}”.`), key);
  assert.match(await text(page, "verdict"), /^(At \d+ months|Half of)/, key);
  await page.tap("#lesson-next");
  await step("4");
  const trial = page.locator("#trial"),
    { width, height } = await trial.boundingBox(),
    was = await trial.inputValue();
  await trial.tap({ position: { x: width * (Number(was) > 1 ? 0.2 : 0.8), y: height / 2 } });
  assert.notEqual(await trial.inputValue(), was, `${key}: a tap sets the control`);
  assert.match(await text(page, "lesson"), /You changed this pair/, key);
  await page.tap("#lesson-back");
  await step("3");
}

test("every_lesson_goes_from_question_to_trial_by_touch_alone_on_a_phone", async () => {
  const page = await open({ width: 390, height: 844, ...begin });
  for (const key of lessonKeys) await lessonByTouch(page, key);
  await close(page);
});

test("presenting_shows_large_letters_and_obeys_the_keys", async () => {
  const page = await open({
    width: 1280,
    height: 720,
    hash: "#lesson=small&step=3&day=365&mode=present&lang=en",
    settle: "drawn",
  });
  const small = await page.evaluate(() =>
    [...document.querySelectorAll("main *, header *")]
      .filter((e) => e.checkVisibility() && [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim() !== ""))
      .filter((e) => !e.closest(".unseen, figcaption, option, canvas") && parseFloat(getComputedStyle(e).fontSize) < 28)
      .map((e) => e.outerHTML.slice(0, 80)),
  );
  assert.deepEqual(small, []);
  // What is written in the pictures is read from the last row too.
  const written = await page.evaluate(() => {
    const { fillText } = CanvasRenderingContext2D.prototype,
      letters = {},
      { clientWidth: wide } = document.getElementById("eye-a");
    CanvasRenderingContext2D.prototype.fillText = function (words, x, y, ...rest) {
      if (this.canvas.id.startsWith("eye-"))
        letters[words] = {
          size: parseFloat(/([\d.]+)px/.exec(this.font)[1]),
          off: Math.max(Math.abs(x - wide / 2), Math.abs(y - wide / 2)),
        };
      return fillText.call(this, words, x, y, ...rest);
    };
    dispatchEvent(new Event("resize"));
    return { letters, radius: (6.2 * wide) / 15 }; // of the ring that the fibres come from, in a picture of 15 mm
  });
  assert.ok(
    Object.keys(written.letters).some((words) => /^Ø \d\.\d\d$/.test(words)),
    Object.keys(written.letters).join(),
  );
  assert.deepEqual(
    Object.entries(written.letters).filter(([, { size }]) => size < 28),
    [],
  );
  const { letters, radius } = written;
  for (const hour of ["12", "3", "6", "9"])
    assert.ok(letters[hour].off - 0.36 * 28 >= radius, `${hour} stands outside the fibres`);
  const eyes = await page.evaluate(() => document.getElementById("eye-a").getBoundingClientRect().height);
  assert.ok(eyes > 0.5 * 720, `the picture is ${eyes} px of 720 high`);
  assert.deepEqual(await cutOff(page, ["eye-a", "eye-b", "play", "verdict"]), []);
  await page.evaluate(() => document.activeElement.blur());
  await page.keyboard.press("ArrowLeft");
  assert.equal((await dataset(page)).day, "182.000");
  await page.keyboard.press("b");
  assert.equal((await dataset(page)).blank, "b");
  await page.keyboard.press("b");
  assert.equal((await dataset(page)).blank, undefined);
  await page.keyboard.press("3");
  assert.match(await text(page, "lesson"), /Polished or not/);
  await page.keyboard.press("Escape");
  assert.equal((await dataset(page)).mode, "page");
  assert.equal(await page.evaluate(() => document.fullscreenElement), null);
  await page.click("#present");
  await page.waitForFunction(() => document.fullscreenElement === document.documentElement);
  await page.evaluate(() => document.activeElement.blur());
  await page.keyboard.press("Home");
  await page.keyboard.press("Space");
  await page.waitForFunction(() => Number(document.body.dataset.day) > 1);
  await page.keyboard.press("Space");
  assert.equal(await text(page, "play"), "Play");
  await page.click("#present");
  await page.waitForFunction(() => document.fullscreenElement === null && document.body.dataset.mode === "page");
  await close(page);
});

test("cautions_of_cuts_stand_beside_them_before_a_class_too", async () => {
  const show = (lesson) =>
    open({ width: 1280, height: 720, hash: `#lesson=${lesson}&step=3&day=365&mode=present&lang=en`, settle: "drawn" });
  const cut = await show("when");
  await cut.waitForFunction(() => document.getElementById("caution-cuts").checkVisibility());
  assert.match(await text(cut, "caution-cuts"), /retinal detachment/);
  const { size, top } = await cut.evaluate(() => {
    const told = document.getElementById("caution-cuts");
    return { size: parseFloat(getComputedStyle(told).fontSize), top: told.getBoundingClientRect().top };
  });
  assert.ok(size >= 28 && top < 600, `they begin ${top} px down, in letters of ${size} px`);
  assert.equal(await cut.isVisible("#plans"), false);
  await close(cut);
  const uncut = await show("small");
  assert.equal(await uncut.isVisible("#result"), false);
  await close(uncut);
});

test("in_a_sandboxed_frame_of_a_slide_it_runs_with_the_pictures_and_the_lesson_alone", async () => {
  const page = await open({ hash: "#lang=en", settle: "drawn" });
  const [frame] = await Promise.all([
    page.waitForEvent("frameattached"),
    page.evaluate((source) => {
      const slide = document.createElement("iframe");
      slide.setAttribute("sandbox", "allow-scripts");
      Object.assign(slide, { src: source, width: 960, height: 540 });
      document.body.replaceChildren(slide);
    }, `${address}#lesson=when&step=3&day=365&mode=embed&lang=en`),
  ]);
  await frame.waitForFunction(() => document.body?.dataset.levelB !== undefined);
  await frame.waitForFunction(() => /^At 12 months/.test(document.getElementById("verdict").textContent));
  const shown = await frame.evaluate(() =>
    ["eye-a", "eye-b", "play", "verdict", "lesson", "plans", "panel", "graphs", "share"].filter((id) =>
      document.getElementById(id).checkVisibility(),
    ),
  );
  assert.deepEqual(shown, ["eye-a", "eye-b", "play", "verdict", "lesson", "plans"]);
  await page.close();
});
