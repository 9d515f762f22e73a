// SPDX-License-Identifier: BSD-3-Clause
// Without a mouse, without eyes, in any colours: keys, names, roles, what is read out.
import assert from "node:assert/strict";
import { readFile } from "node:fs/promises";
import test, { after, before } from "node:test";
import { requireTool } from "./built.mjs";
import {
  answered,
  close,
  dataset,
  eye,
  hashOf,
  moves,
  open,
  openAll,
  otherLaws,
  settled,
  settles,
  startWithPage,
  stopWithPage,
  text,
} from "./browser.mjs";

// One page for the tests that look and change nothing that another of them looks at.
let common;
before(async () => {
  ({ page: common } = await startWithPage({}));
});
after(() => stopWithPage(common));

test("a_keyboard_is_enough", async () => {
  const page = await open();
  const focused = () =>
    page.evaluate(
      () => document.activeElement?.id || document.activeElement?.dataset?.hour || document.activeElement?.textContent,
    );
  const tabTo = async (wanted) => {
    for (let i = 0; i < 90; ++i) {
      await page.keyboard.press("Tab");
      if (await page.evaluate((selector) => document.activeElement?.matches(selector), wanted)) return;
    }
    assert.fail(`Tab does not reach ${wanted}; stopped at ${await focused()}`);
  };
  await tabTo("[data-lesson=number]");
  await moves(page, () => page.keyboard.press("Enter"));
  await page.keyboard.press("2");
  assert.equal((await dataset(page)).step, "2");
  await tabTo("#lesson-next");
  await page.keyboard.press("Enter");
  assert.equal((await dataset(page)).step, "3");
  await tabTo("#edit-a");
  await page.keyboard.press("Enter");
  await page.evaluate(() => document.querySelector("header button").focus());
  await tabTo("#play");
  await tabTo("#scrub");
  await page.keyboard.press("Home");
  assert.equal((await dataset(page)).day, "0.000");
  await page.keyboard.press("PageUp");
  assert.equal((await dataset(page)).day, "30.000");
  await page.keyboard.press("ArrowRight");
  assert.equal((await dataset(page)).day, "31.000");
  await page.keyboard.press("Space");
  await page.waitForFunction(() => Number(document.body.dataset.day) > 40);
  await page.keyboard.press("Space");
  assert.equal(await text(page, "play"), "Play");
  await page.keyboard.press("End");
  await tabTo("#opening-diameter");
  const value = () => page.inputValue("#opening-diameter-box").then(Number);
  await page.keyboard.press("Home");
  assert.equal(await value(), 3);
  await page.keyboard.press("End");
  assert.equal(await value(), 7);
  await page.keyboard.press("PageDown");
  assert.equal(await value(), 6.5);
  await moves(page, () => page.keyboard.press("ArrowLeft"));
  assert.equal(await value(), 6.45);
  assert.match(await page.getAttribute("#opening-diameter", "aria-valuetext"), /6\.45 millimetres/);
  await tabTo("#zonule-dial [data-hour]");
  assert.equal(await focused(), "1");
  await moves(page, () => page.keyboard.press("Home"));
  assert.equal(await page.getAttribute("#zonule-dial [data-hour='1']", "aria-valuetext"), "absent");
  await page.keyboard.press("Tab");
  assert.equal(await focused(), "2", "Tab walks round the clock");
  await tabTo("#section-cuts summary");
  await page.keyboard.press("Enter"); // opens the section
  await tabTo("#cut-dial-0 [data-hour]");
  await moves(page, () => page.keyboard.press("Enter")); // takes the cut at 12 away
  assert.equal(await page.getAttribute("#cut-dial-0 [data-hour='12']", "aria-pressed"), "false");
  const ring = await page.evaluate(
    () => getComputedStyle(document.querySelector("#cut-dial-0 [data-hour='12'] .well")).strokeWidth,
  );
  assert.equal(ring, "4px", "focus is visible");
  await tabTo("#copy-link");
  await close(page);
});

const axeFindings = (page) =>
  page.evaluate(async () => {
    const rules = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"];
    const found = await axe.run(document, { runOnly: rules });
    const where = (v) => v.nodes.slice(0, 4).map((n) => `${n.target} ${n.any[0]?.message ?? ""}`);
    return {
      violations: found.violations.map((v) => `${v.impact} ${v.id}: ${where(v).join(" | ")}`),
      contrast: found.passes.some((p) => p.id === "color-contrast"),
    };
  });

test("axe_finds_no_violation_on_the_light_the_dark_the_narrow_and_the_presented_page_nor_in_forced_colours", async (t) => {
  const page = await open({ settle: "drawn" });
  await page.evaluate(await readFile(requireTool.resolve("axe-core/axe.min.js"), "utf8"));
  const look = async (name, { colours = "light", width = 1440, forced = "none" }) => {
    await page.emulateMedia({ colorScheme: colours, forcedColors: forced });
    await page.setViewportSize({ width, height: 900 });
    const { violations, contrast } = await axeFindings(page);
    assert.deepEqual(violations, [], name);
    assert.ok(contrast, `${name}: contrast was measured`);
    t.diagnostic(`${name}: none`);
  };
  await settles(page, () => page.click("[data-lesson=when]"));
  await look("question", {});
  await page.click("[data-answer=a]");
  await page.click("#lesson-next");
  await settled(page);
  await openAll(page);
  for (const [name, settings] of Object.entries({
    light: {},
    dark: { colours: "dark" },
    narrow: { width: 390 },
    "forced colours": { forced: "active" },
    "forced colours, dark": { forced: "active", colours: "dark" },
  }))
    await look(name, settings);
  await page.click("#present");
  await page.waitForFunction(() => document.body.dataset.mode === "present");
  await look("presenting", { width: 1280 });
  await look("presenting, dark", { width: 1280, colours: "dark" });
  await look("presenting, forced colours", { width: 1280, forced: "active" });
  await page.evaluate(() => (location.hash = "#lesson=when&step=1&mode=present&lang=en"));
  await page.waitForFunction(() => document.body.dataset.step === "1");
  await look("presenting a question", { width: 1280 });
  await close(page);
});

test("each_hour_of_a_dial_is_a_slider_with_the_keys_of_one", async () => {
  const page = common,
    hour = page.locator("#zonule-dial [data-hour='4']"),
    is = async (key, percent) => {
      await page.keyboard.press(key);
      assert.equal(await hour.getAttribute("aria-valuenow"), String(percent), key);
    };
  assert.deepEqual(
    await page.$$eval("#zonule-dial [role=slider]", (all) =>
      all.map((e) => [e.tabIndex, e.getAttribute("aria-valuemin"), e.getAttribute("aria-valuemax"), !!e.ariaLabel]),
    ),
    Array(12).fill([0, "0", "100", true]),
  );
  await hour.focus();
  await is("End", 100);
  await is("ArrowLeft", 95);
  await is("ArrowDown", 90);
  await is("ArrowRight", 95);
  await is("ArrowUp", 100);
  await is("ArrowUp", 100);
  await is("PageDown", 75);
  await is("PageUp", 100);
  await is("Home", 0);
  await is("ArrowLeft", 0);
  assert.equal(await page.evaluate(() => document.activeElement.dataset.hour), "4", "the focus stays where it is");
  await settles(page, () => page.click("#undo"));
  while (await page.isEnabled("#undo")) await page.click("#undo");
  await settled(page);
});

test("a_button_changes_its_label_or_is_pressed_and_not_both", async () => {
  const page = common;
  const buttons = () =>
    page.$$eval("button, [role=button]", (all) =>
      all.map((e, i) => [
        e.id || e.dataset.day || `${i}`,
        e.getAttribute("aria-pressed") === null ? "plain" : "pressed",
        e.getAttribute("aria-label") ?? e.textContent.trim(),
      ]),
    );
  const before = await buttons();
  assert.ok(before.filter(([, kind]) => kind === "pressed").length > 6);
  const changed = async () => {
    const now = await buttons();
    return before.flatMap(([id, kind, label], i) =>
      now[i][1] !== kind || now[i][2] !== label ? [`${id} ${kind}: ${now[i][2]}`] : [],
    );
  };
  await page.click("#edit-b");
  await page.click("#visit-row >> text='1 month'");
  assert.deepEqual(
    (await changed()).filter((what) => !what.startsWith("keep plain")), // which eye would be kept
    [],
  );
  await page.click("#play");
  assert.deepEqual(
    (await changed()).filter((what) => !what.startsWith("keep")),
    ["play plain: Pause"],
  );
  await page.click("#play");
  await page.click("#edit-a");
  await page.click("#visit-row >> text='12 months'");
});

// Words that can be seen of what is told beside verdict and table: with all closed, in the first fold, and in the fold in it.
// Measured at once, as soon as all three are told: words go while a run or the clock is under way.
const foldsOf = async (page) => {
  const told = await page.waitForFunction(() => {
    const [more, inner] = ["more", "reading-fold"].map((id) => document.getElementById(id));
    const words = (selector) =>
      [...document.querySelectorAll(`${selector} *`)]
        .filter((e) => e.checkVisibility() && !e.closest("#plans, .caution"))
        .flatMap((e) => [...e.childNodes].filter((n) => n.nodeType === Node.TEXT_NODE).map((n) => n.data))
        .join(" ")
        .split(/\s+/)
        .filter((word) => /[\p{L}\d]/u.test(word)).length;
    more.open = inner.open = false;
    const open = words("#result");
    more.open = true;
    const first = words("#more"),
      hidden = !document.getElementById("reading-rest").checkVisibility();
    inner.open = true;
    const rest = words("#reading-rest");
    more.open = inner.open = false;
    return open > 10 && first > 20 && rest > first / 2 && { open, first, rest, hidden };
  });
  return told.jsonValue();
};
test("beside_verdict_and_table_at_most_sixty_words_stand_open_and_at_most_sixty_in_the_first_fold", async (t) => {
  const count = async (page, language) => {
    await settled(page);
    const { open, first, rest, hidden } = await foldsOf(page);
    t.diagnostic(`${language}: ${open} words open, ${first} in the first fold, ${rest} in the fold in it`);
    assert.ok(open <= 60, `${language}: ${open} words`);
    assert.ok(first <= 60, `${language}: ${first} words`);
    assert.ok(hidden, "the rest is one fold further");
  };
  await count(common, "en");
  const german = await open({ hash: answered.replace("lang=en", "lang=de") });
  await count(german, "de");
  await close(german);
});

test("the_trades_own_words_stand_once_where_a_resident_looks_for_them", async () => {
  const page = common;
  await openAll(page);
  const all = (await said(page)).join(" ");
  for (const word of [/capsulorhexis/gi, /phimosis/gi]) assert.equal(all.match(word)?.length, 1, String(word));
  assert.doesNotMatch(all, /chronic/i, "lasting is the one word for it");
  await page.evaluate(() => document.querySelectorAll("#result details").forEach((d) => (d.open = false)));
});

test("pictures_have_words_for_those_who_do_not_see_them", async () => {
  const page = common;
  const label = (id) => page.getAttribute(`#${id}`, "aria-label");
  assert.match(await label("eye-a"), /Front view of a right eye, day 365; opening \d\.\d\d mm.*optic of 6 mm/);
  assert.match(await label("curve-area"), /Opening area in mm² over time\. A: .* on day 365.*\. B: /);
  assert.match(await label("rose"), /12 o'clock \d/);
  await page.click("#visit-row >> text='1 week'");
  assert.match(await label("eye-b"), /day 7/);
  assert.match(await text(page, "uncertain-list"), /real eyes: read directions|8 of 10 eyes like it/);
  assert.match(await text(page, "caution"), /not for treating a patient/);
  await page.click("#visit-row >> text='12 months'");
});

/** All that is read on the page; `heard`: and what is heard in the place of pictures. */
const said = (page, heard = false) =>
  page.evaluate((listening) => {
    const labelled = listening ? "main [aria-label], main [aria-valuetext]" : "none";
    const words = [...document.querySelectorAll(labelled)]
      .filter((e) => e.checkVisibility())
      .flatMap((e) => [e.getAttribute("aria-label"), e.getAttribute("aria-valuetext")]);
    const walker = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT);
    for (let node = walker.nextNode(); node; node = walker.nextNode())
      if (node.parentElement.checkVisibility() && !node.parentElement.closest("script, style, option"))
        words.push(node.data.trim());
    return words.filter((w) => w);
  }, heard);

test("a_run_of_thirty_days_speaks_of_no_later_visit_and_of_no_year_anywhere_on_page_and_paper", async () => {
  const short = (size) => ({ ...eye(), duration_days: 30, opening: { diameter_mm: size } });
  const page = await open({ hash: hashOf({ a: short(4), b: short(5) }) });
  await otherLaws(page);
  await openAll(page);
  await page.evaluate(() => dispatchEvent(new Event("beforeprint")));
  const all = [...(await said(page, true)), await text(page, "handout")];
  assert.ok(all.length > 100 && all.some((words) => /At 1 month/.test(words)));
  assert.deepEqual(
    all.filter((words) => /\b(3|6|12) months|\byear|day (91|182|365)/.test(words)),
    [],
  );
  await close(page);
});

test("no_sentence_stands_twice_on_the_open_page_and_forced_colours_leave_the_colour_scale", async () => {
  const page = common;
  await openAll(page);
  const sentences = (await said(page))
    .flatMap((words) => words.split(/(?<=[.?!])\s+/))
    .filter((words) => /[.?!]$/.test(words) && words.split(/\s+/).length > 5);
  assert.ok(sentences.length > 20);
  assert.deepEqual(
    sentences.filter((words, i) => sentences.indexOf(words) !== i),
    [],
  );
  await page.emulateMedia({ forcedColors: "active" });
  assert.match(await page.$eval(".ramp", (e) => getComputedStyle(e).backgroundImage), /gradient/);
});

test("only_the_verdict_and_what_went_wrong_are_read_out_unasked", async () => {
  const live = await common.$$eval("[role=status], [role=alert], [aria-live=polite], [aria-live=assertive]", (all) =>
    all.map((e) => e.id),
  );
  assert.deepEqual(live.sort(), ["trouble", "verdict"]);
});
