// SPDX-License-Identifier: BSD-3-Clause
// Plans that are kept in the address, and links made to break the page.
import assert from "node:assert/strict";
import test, { after, before } from "node:test";
import { close, drawn, eye, hashOf, open, startBrowser, stopBrowser, text } from "./browser.mjs";

before(() => startBrowser());
after(stopBrowser);

test("plans_are_kept_as_further_rows_that_come_back_with_the_address_and_go_again", async () => {
  const mesh = { around: 24, radial: 4 };
  const named = (name, size) => ({ ...eye(), name, mesh, duration_days: 60, opening: { diameter_mm: size } });
  const page = await open({ hash: hashOf({ a: named("One", 4), b: named("Two", 5) }) });
  const rows = () =>
    page.$$eval("#plans tbody", (all) =>
      all.map((body) => [body.dataset.plan, ...[...body.rows].flatMap((r) => [...r.cells].map((c) => c.textContent))]),
    );
  const rowsOf = (count) => page.waitForFunction((n) => document.querySelectorAll("#plans tbody").length === n, count);
  await page.click("#keep");
  await rowsOf(3);
  assert.deepEqual((await rows())[2].slice(1, 4), ["C One", ...(await rows())[0].slice(2, 4)], "A once more");
  await page.click("#edit-b");
  await page.click("#keep");
  await rowsOf(4);
  assert.equal((await rows())[3][1], "D Two");
  assert.equal(await page.isDisabled("#keep"), true, "four at most");
  for (const [width, height] of [
    [1280, 720],
    [390, 844],
  ]) {
    await page.setViewportSize({ width, height });
    assert.deepEqual(
      await page.$eval("#plans", (box) => [
        box.scrollWidth <= box.clientWidth,
        box.getBoundingClientRect().right <= innerWidth,
      ]),
      [true, true],
      `the table at ${width} px`,
    );
  }
  await page.reload();
  await rowsOf(4);
  await page.click("#drop-c");
  await rowsOf(3);
  assert.equal((await rows())[2][1], "C Two");
  await page.click("#undo");
  await rowsOf(4);
  await close(page);
});

test("links_made_to_break_the_page_leave_it_alive_and_say_why", async () => {
  const scenario = (rest) => hashOf({ a: { ...eye(), ...rest }, b: null });
  const hostile = {
    "no name": scenario({ name: { toString: 1 } }),
    markup: scenario({ name: "<img src=x onerror=alert(1)>" }),
    "an opening that is text": scenario({ opening: "x" }),
    "an opening that is nothing": scenario({ opening: null }),
    "events that are no list": scenario({ events: { day: 1 } }),
    "cuts without hours": scenario({ events: [{ day: 1, relaxing_cuts: {} }] }),
    "hours that are text": scenario({ events: [{ day: 1, relaxing_cuts: { hours: "12" } }] }),
    "a zonule that is a list": scenario({ zonule: [] }),
    "strengths that are text": scenario({ zonule: { strength_by_hour: "all" } }),
    "hour 13": scenario({ zonule: { strength_by_hour: { 13: 1 } } }),
    "a huge number": scenario({ opening: { diameter_mm: 1e308 } }),
    "a lens that is a number": scenario({ lens: 6 }),
    "many events": scenario({
      events: Array.from({ length: 708 }, () => ({ day: -1, relaxing_cuts: { hours: [13] } })),
    }),
    "version 99": scenario({ version: 99 }),
    "no eye": "#s=bnVsbA",
    nonsense: "#s=!!!!&lesson=__proto__&step=NaN&day=1e99&mode=x&lang=constructor",
    "another prototype": hashOf({
      a: JSON.parse('{"format":"capsim-scenario","version":1,"__proto__":{"x":1}}'),
      b: null,
    }),
  };
  // A page that begins with such a link; most of them reach one that is there already, by the same way.
  const afresh = ["markup", "no eye", "nonsense", "another prototype"];
  const there = await open({ settle: "drawn" });
  for (const [name, hash] of Object.entries(hostile)) {
    const begins = afresh.includes(name);
    const page = begins ? await open({ hash, settle: false }) : there;
    if (!begins) {
      await page.evaluate(() => (document.getElementById("trouble").hidden = true)); // of the link before
      await page.evaluate((to) => (location.hash = to), `${hash}&as=${encodeURIComponent(name)}`);
      await page.waitForSelector("#trouble", { state: "visible" });
    }
    await drawn(page);
    assert.ok(await page.evaluate(() => document.getElementById("eye-a").width > 50), `${name}: an eye is drawn`);
    const lines = await page.locator("#trouble li").count();
    assert.ok(lines <= 5, `${name}: ${lines} lines`);
    if (name === "many events") assert.match(await text(page, "trouble"), /and \d{3,} more/);
    if (!["markup", "another prototype"].includes(name))
      assert.ok(await page.isVisible("#trouble"), `${name} is refused`);
    await page.fill("#scrub", "0");
    await page.click("#play"); // alive
    await page.waitForFunction(() => Number(document.body.dataset.day) > 1);
    await page.click("#play");
    if (begins) await close(page);
  }
  await there.click("#reset");
  assert.equal(await there.isVisible("#trouble"), false, "what went wrong is no longer said");
  await close(there);
});

test("more_links_made_to_break_the_page_are_refused_in_words_that_name_the_eye_and_leave_what_is_on_screen", async () => {
  const scenario = (rest) => hashOf({ a: { ...eye(), ...rest }, b: null });
  const wide = { ...eye(), opening: { diameter_mm: 99 } };
  const refused = {
    "a kept plan that is nothing": hashOf({ a: eye(), b: null, kept: [null] }),
    "a name of a hundred thousand letters": scenario({ name: "W".repeat(100_000) }),
    "half a letter": scenario({ name: "\ud800" }),
    "a run of a million years": scenario({ duration_days: 1e9 }),
    "a mesh that no memory holds": scenario({ mesh: { around: 100_000, radial: 100_000 } }),
    "a row each moment": scenario({ output_every_days: 1e-9 }),
    "an event on no day": scenario({ events: [{ day: null, relaxing_cuts: { hours: [12] } }] }),
    "three thousand brackets": scenario({ notes: JSON.parse("[".repeat(3000) + "]".repeat(3000)) }),
    "a lens that is a list": scenario({ lens: [] }),
    "a ring in quotes": scenario({ tension_ring: { free_diameter_mm: "12" } }),
    "a version in quotes": scenario({ version: "1" }),
    "both eyes at once": scenario({ eye: "both" }),
    "an hour called constructor": scenario({ zonule: { strength_by_hour: { constructor: 0 } } }),
    "a law of nobody": scenario({ contraction: { law: "nope" } }),
    "an optic of an atom": scenario({ lens: { optic_diameter_mm: 1e-300 } }),
    "twelve times the same cut": scenario({
      events: Array.from({ length: 12 }, () => ({ day: 30, relaxing_cuts: { hours: [12], length_mm: 1 } })),
    }),
    "a second eye": hashOf({ a: eye(), b: wide }),
    "a first and a third": hashOf({ a: wide, b: eye(), kept: [wide] }),
  };
  const page = await open({ settle: "drawn" });
  const names = () => page.$$eval(".eye-name", (all) => all.map((e) => e.textContent));
  const before = await names();
  for (const [name, hash] of Object.entries(refused)) {
    await page.evaluate(() => document.getElementById("trouble").replaceChildren());
    await page.evaluate((to) => (location.hash = to), `${hash}&as=${encodeURIComponent(name)}`);
    await page.waitForFunction(() => document.querySelector("#trouble p") !== null);
    const said = await text(page, "trouble");
    if (name === "a second eye") assert.match(said, /^Eye B of this link/);
    else if (name === "a first and a third") assert.match(said, /^Eyes A and C of this link/);
    else assert.match(said, /^(Eye A of this link cannot be run|The link is damaged)/, name);
    assert.ok(said.length < 900, `${name}: ${said.length} letters`);
    assert.ok((await page.locator("#trouble li").count()) <= 5, name);
    assert.deepEqual(await names(), before, name);
  }
  await close(page);
});

test("a_link_followed_while_the_page_comes_up_is_where_it_comes_up", async () => {
  const own = hashOf({ a: { ...eye(), name: "Followed", opening: { diameter_mm: 4.4 } }, b: null });
  // Before the page listens, when it has just begun to (its engine is not there to check an eye), and for each a lesson and an eye.
  for (const moment of ["read", "listening"])
    for (const link of ["#lesson=when&step=1&day=91", own]) {
      const page = await open({ hash: "#lesson=small", settle: false });
      await page.addInitScript(
        ([when, to]) => {
          if (location.hash !== "#lesson=small") return;
          const go = () => (location.hash = to);
          if (when === "read") return document.addEventListener("DOMContentLoaded", go);
          const listen = window.addEventListener;
          window.addEventListener = (what, ...rest) => {
            listen.call(window, what, ...rest);
            if (what === "hashchange") setTimeout(go);
          };
        },
        [moment, link],
      );
      await page.evaluate(() => (history.replaceState(null, "", "#lesson=small"), location.reload()));
      await page.waitForFunction(
        (whole) => (whole ? document.body.dataset.eyes === "1" : location.hash.includes("lesson=when")),
        link === own,
      );
      await drawn(page);
      assert.equal((await text(page, "trouble")).trim(), "", `${moment}, ${link}`);
      if (link === own) assert.match(await text(page, "plans"), /Followed/, moment);
      await close(page);
    }
});
