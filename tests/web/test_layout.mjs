// SPDX-License-Identifier: BSD-3-Clause
// What is on the first screen, and what fits where.
import assert from "node:assert/strict";
import { stat } from "node:fs/promises";
import test, { after, before } from "node:test";
import { pageModules, page as pageFile } from "./built.mjs";
import {
  answered,
  begin,
  close,
  crowded,
  cutOff,
  eye,
  firstScreen,
  hashOf,
  lessonKeys,
  open,
  openAll,
  otherLaws,
  screens,
  startBrowser,
  stopBrowser,
  text,
} from "./browser.mjs";

before(() => startBrowser({ hasTouch: true }));
after(stopBrowser);

test("from_phone_to_projector_eyes_clock_play_and_verdict_are_on_the_first_screen", async () => {
  for (const hash of [begin.hash, "#lesson=when&step=3&day=365&lang=en"]) {
    const page = await open({ hash, settle: "drawn" });
    for (const [width, height] of screens) {
      const where = `${hash} at ${width} by ${height}`;
      await page.setViewportSize({ width, height });
      assert.deepEqual(await cutOff(page, firstScreen), [], where);
      const [a, b] = await page.evaluate(() =>
        ["eye-a", "eye-b"].map((id) => document.getElementById(id).getBoundingClientRect().width),
      );
      assert.equal(a, b, where);
      assert.ok(a >= 0.24 * Math.min(width, 1100), `${where}: eyes of ${a} px`);
      assert.ok(await page.evaluate(() => document.documentElement.scrollWidth <= innerWidth), `${where}: to the side`);
      assert.equal(await page.isVisible("#visit-row"), width > 860, `${where}: visits, which a phone has no room for`);
    }
    await close(page);
  }
});

// Of the names of all lessons' plans, put where they are shown, and of the lessons' numbers: what is cut off at its end.
const cutShort = (page, names) =>
  page.evaluate((all) => {
    const row = document.getElementById("lesson-row"),
      place = document.querySelector(".eye-name");
    const short = all.filter((name) => {
      place.textContent = name;
      return place.scrollWidth > place.clientWidth;
    });
    return short.concat(row.checkVisibility() && row.scrollWidth > row.clientWidth + 1 ? ["lessons"] : []);
  }, names);

test("no_name_of_a_lessons_plan_is_cut_short_on_a_phone_before_a_class_or_in_a_slide", async () => {
  const { languages } = await pageModules('export * from "./words/texts.js";');
  for (const [language, { lessons }] of Object.entries(languages)) {
    const names = Object.values(lessons).flatMap(({ a, b }) => (b === "" ? [a] : [a, b]));
    assert.equal(names.length, 2 * lessonKeys.length - 1);
    const page = await open({ hash: `#lesson=when&lang=${language}`, settle: "drawn" });
    for (const [width, height, mode] of [
      [390, 844, "page"],
      [640, 360, "embed"], // a third of a slide
      [1280, 720, "present"],
    ]) {
      await page.setViewportSize({ width, height });
      await page.evaluate((hash) => (location.hash = hash), `#lesson=when&mode=${mode}&lang=${language}&again`);
      await page.waitForFunction((to) => document.body.dataset.mode === to, mode);
      await page.waitForFunction(() => document.getElementById("verdict").textContent !== "");
      assert.deepEqual(await cutShort(page, names), [], `${language} ${mode}`);
      const caution = await page.evaluate(() => document.querySelector(".short").getBoundingClientRect().bottom);
      if (mode !== "page") assert.ok(caution <= height, `${language} ${mode}: the caution ends at ${caution}`);
    }
    await close(page);
  }
});

test("a_screen_of_1024_pixels_has_its_head_in_one_line_in_every_language", async () => {
  const { languages } = await pageModules('export * from "./words/texts.js";');
  for (const language of Object.keys(languages)) {
    const page = await open({ width: 1024, height: 768, hash: `#lang=${language}`, settle: "drawn" });
    assert.ok(await page.evaluate(() => document.querySelector("header").offsetHeight < 60), language);
    await close(page);
  }
});

/** What of the tables does not lie whole in its box, or is broken over lines where it should not be. */
const clipped = (page) =>
  page.evaluate(() => {
    const wrong = [];
    for (const id of ["plans", "visits"]) {
      const box = document.getElementById(id),
        { left, right } = box.getBoundingClientRect();
      if (box.scrollWidth > box.clientWidth) wrong.push(`${id}: ${box.scrollWidth} px in ${box.clientWidth}`);
      for (const cell of box.querySelectorAll("th, td")) {
        const part = document.createRange();
        part.selectNodeContents(cell);
        const own = [...part.getClientRects()];
        if (own.some((line) => line.left < left - 1 || line.right > right + 1))
          wrong.push(`${id}: ${cell.textContent}`);
        const lines = new Set(own.map(({ top }) => Math.round(top)));
        if (id === "plans" && cell.tagName === "TD" && lines.size > 1)
          wrong.push(`${id}: ${cell.textContent} in two lines`);
      }
    }
    return wrong;
  });

test("no_table_clips_when_all_its_columns_are_in", async () => {
  // With cuts, a crowd and the other idea of what pulls: six columns, which come one after the other.
  const cut = (size) =>
    eye({
      name: `Opening of ${size} mm`,
      duration_days: 60,
      opening: { diameter_mm: size },
      events: [{ day: 30, relaxing_cuts: { hours: [12, 3, 6, 9], length_mm: 0.75 } }],
    });
  for (const language of ["en", "de"]) {
    const page = await open({
      hash: hashOf({ a: cut(4), b: cut(4.5), spread: "age_related_cataract" }).replace("lang=en", `lang=${language}`),
    });
    await crowded(page);
    await otherLaws(page);
    await openAll(page);
    assert.equal(await page.$eval("#plans table", (table) => table.tHead.rows[0].cells.length), 6);
    for (const [width, height] of [...screens, [360, 800], [640, 360], [900, 700], [1920, 1080]]) {
      await page.setViewportSize({ width, height });
      await page.evaluate(() => new Promise((go) => requestAnimationFrame(() => requestAnimationFrame(go))));
      await page.waitForTimeout(60);
      assert.deepEqual(await clipped(page), [], `${language}, ${width} px`);
      const stacked = await page.$eval("#plans table", (table) => table.classList.contains("stacked"));
      if (width <= 390) {
        assert.equal(stacked, true);
        const said = await page.$$eval("#plans tbody td", (all) =>
          all.map((cell) => getComputedStyle(cell, "::before").content),
        );
        assert.ok(
          said.every((words) => words.length > 6),
          "each number says what it is",
        );
      }
      if (width === 1920) assert.equal(stacked, false, "with room enough it is a table");
    }
    await close(page);
  }
});

test("on_a_phone_the_eyes_stay_in_view_while_a_control_is_used", async () => {
  const page = await open({ width: 390, height: 844, hash: "#lesson=small&step=4&day=365&lang=en", settle: "drawn" });
  await page.evaluate(() => document.getElementById("zonule-dial").scrollIntoView({ block: "end" }));
  assert.deepEqual(await cutOff(page, ["eye-a", "eye-b"]), []);
  assert.equal(
    await page.evaluate(() => getComputedStyle(document.getElementById("zonule-dial")).touchAction),
    "pan-y",
    "a swipe over the dial scrolls",
  );
  await close(page);
});

test("no_letter_of_a_picture_touches_the_edge_of_a_phone", async () => {
  const page = await open({ width: 390, height: 844, ...begin });
  const near = await page.evaluate(() => {
    const { fillText } = CanvasRenderingContext2D.prototype,
      { clientWidth: wide } = document.getElementById("eye-a"),
      found = {};
    CanvasRenderingContext2D.prototype.fillText = function (words, x, ...rest) {
      const { width } = this.measureText(words),
        left = this.textAlign === "right" ? x - width : this.textAlign === "center" ? x - width / 2 : x;
      if (this.canvas.id.startsWith("eye-")) found[words] = Math.min(left, wide - left - width);
      return fillText.call(this, words, x, ...rest);
    };
    dispatchEvent(new Event("resize"));
    return found;
  });
  assert.ok("temporal" in near && "nasal" in near);
  assert.deepEqual(
    Object.entries(near).filter(([, distance]) => distance < 5.5),
    [],
  );
  await close(page);
});

test("the_stage_stays_beside_the_controls_and_covers_nothing_of_what_comes_below", async () => {
  for (const [width, height] of [
    [1280, 720],
    [390, 844],
  ]) {
    const page = await open({ width, height, hash: answered, settle: "drawn" });
    const covered = await page.evaluate(() =>
      ["graphs-title", "curve-area", "crowd-title", "dots", "save-png"].filter((id) => {
        const element = document.getElementById(id);
        element.scrollIntoView({ block: "center" });
        const { left, top, width: w, height: h } = element.getBoundingClientRect();
        return !element.contains(document.elementFromPoint(left + Math.min(20, w / 2), top + h / 2));
      }),
    );
    assert.deepEqual(covered, [], `${width}`);
    await close(page);
  }
});

test("at_twice_the_size_the_picture_is_on_the_first_screen", async () => {
  const page = await open({ width: 640, height: 360, ...begin }); // 1280 by 720 at 200 %
  assert.deepEqual(await cutOff(page, ["eye-a", "eye-b"]), []);
  await close(page);
});

test("an_oval_opening_is_an_oval_in_its_control_and_long_names_and_tables_stay_inside", async () => {
  const name = "A patient's eye with a very long name that nobody would write on a slide of a lecture ".repeat(3);
  const hash = hashOf({ a: { ...eye(), name, opening: { diameters_mm: [5.5, 4.5], axis_hour: 2 } }, b: eye() });
  for (const [width, height] of [
    [1280, 720],
    [390, 844],
  ]) {
    const page = await open({ width, height, hash, settle: "drawn" });
    assert.match(await text(page, "controls"), /5\.50? (by|×) 4\.50?/);
    const written = await page.evaluate(() => {
      const { fillText } = CanvasRenderingContext2D.prototype,
        all = [];
      CanvasRenderingContext2D.prototype.fillText = function (words, ...rest) {
        if (this.canvas.id === "eye-a") all.push(words);
        return fillText.call(this, words, ...rest);
      };
      document.getElementById("scrub").value = "0";
      document.getElementById("scrub").dispatchEvent(new Event("input", { bubbles: true }));
      CanvasRenderingContext2D.prototype.fillText = fillText;
      return all;
    });
    const [, long, short] = /^(\d\.\d\d) × (\d\.\d\d) mm$/.exec(written.find((words) => words.includes("×")));
    assert.ok(Math.abs(long - 5.5) < 0.03 && Math.abs(short - 4.5) < 0.03, `${long} by ${short}`);
    const outside = await page.evaluate(() =>
      [...document.querySelectorAll("#plans table, #visits table, figcaption, #panel, #result")]
        .filter((e) => e.checkVisibility())
        .filter((e) => e.getBoundingClientRect().right > innerWidth + 0.5 || e.scrollWidth > e.clientWidth + 1)
        .filter((e) => getComputedStyle(e).overflow !== "hidden")
        .map((e) => e.id || e.tagName),
    );
    assert.deepEqual(outside, []);
    await close(page);
  }
});

test("narrow_screens_need_no_sideways_scrolling_and_have_large_targets", async () => {
  const page = await open({ settle: "drawn" });
  await openAll(page);
  for (const width of [360, 390, 768, 1024, 1440]) {
    await page.setViewportSize({ width, height: 900 });
    const { wide, small } = await page.evaluate(() => ({
      wide: document.documentElement.scrollWidth - innerWidth,
      small: [...document.querySelectorAll("button, input:not([type=file]), select, summary, .dial")]
        .filter((e) => {
          const box = e.getBoundingClientRect();
          return box.width > 0 && (box.width < 24 || box.height < 24);
        })
        .map((e) => e.id || e.outerHTML.slice(0, 60)),
    }));
    assert.ok(wide <= 0, `${wide} px too wide at ${width}`);
    assert.deepEqual(small, [], `targets below 24 px at ${width}`);
  }
  await close(page);
});

test("true_size_draws_a_millimetre_as_a_millimetre", async () => {
  const page = await open();
  await openAll(page);
  await page.check("#true-size");
  const width = await page.evaluate(() => document.getElementById("eye-a").getBoundingClientRect().width);
  assert.ok(Math.abs(width - (15 * 96) / 25.4) < 1, `15 mm are ${width} px`);
  await page.fill("#screen-mm", "2.5"); // the screen shows too large: draw smaller
  const smaller = await page.evaluate(() => document.getElementById("eye-a").getBoundingClientRect().width);
  assert.ok(Math.abs(smaller / width - 0.8) < 0.02);
  await close(page);
});

test("the_page_weighs_at_most_two_megabytes_with_everything_in_it", async () => {
  const { size } = await stat(pageFile);
  assert.ok(size <= 2e6, `${size} bytes`);
  assert.ok(size > 2e5, "the engine is in it");
});
